"""The area in which a walk began, as corners typed or drawn on the map of a ground."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from pacewright.desk.models import Ground
from pacewright.desk.notebook.ground_keeping import terrain_of
from pacewright.exceptions import Complaint, ValueComplaint

Corner = tuple[float, float]
"""Latitude and longitude in degrees."""

MOST_CORNERS: Final = 60


def corners_of(text: str) -> tuple[Corner, ...]:
    """The corners of an area as they are typed, parted by semicolons; none where nothing is typed.

    Raises
    ------
    Complaint
        A corner is no place, or there are too few or too many.
    """
    from pacewright.ground.grid_text import parse_place

    parts = [part.strip() for part in text.split(";") if part.strip()]
    if not parts:
        return ()
    if not 3 <= len(parts) <= MOST_CORNERS:
        raise ValueComplaint(
            f"an area has 3 to {MOST_CORNERS} corners, and this one has {len(parts)}",
            "Set corners on the map, or type places parted by semicolons",
        )
    found = []
    for number, part in enumerate(parts, 1):
        try:
            place = parse_place(part)
        except Complaint as complaint:
            raise type(complaint)(f"corner {number}: {complaint.what}", complaint.do) from None
        found.append((place.latitude_deg, place.longitude_deg))
    return tuple(found)


@contextmanager
def area_file(corners: Sequence[Corner]) -> Iterator[tuple[str, ...]]:
    """An area as the file that a search takes, as long as it is needed; no file for no corners."""
    if not corners:
        yield ()
        return
    ring = [[longitude, latitude] for latitude, longitude in (*corners, corners[0])]
    shape = {"type": "Polygon", "coordinates": [ring]}
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "area.geojson"
        file.write_text(
            json.dumps({"type": "Feature", "properties": {}, "geometry": shape}), encoding="utf-8"
        )
        yield (str(file),)


def area_map_of(ground: Ground) -> dict[str, Any]:
    """The map of a ground to draw an area on, and where its corners lie.

    Raises
    ------
    Complaint
        The ground cannot be read.
    """
    from pacewright.answers.located_walk import position_at
    from pacewright.drawing.area_map import draw_area_map

    terrain = terrain_of(ground)
    drawn = draw_area_map(terrain, f"Map of {ground.name}")
    west, south, east, north = drawn.bounds
    places = [
        position_at(terrain.crs, x, y)
        for x, y in ((west, north), (east, north), (west, south), (east, south))
    ]
    told = ";".join(f"{one.latitude_deg:.7f},{one.longitude_deg:.7f}" for one in places)
    return {"area_map": drawn.drawing, "area_corners": told}
