"""The user's own lines, points and barred areas for a plan: GeoJSON, GeoPackage or GPX.

A property `kind` says what a walker calls it (track, stream, wall), `name` what it is called. Every area is
kept off. In GPX tracks and routes are lines of the kind `track`, waypoints are points.
"""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from pacewright.answers.plan_question import Named
from pacewright.exceptions import Complaint, FormatComplaint, Where
from pacewright.files.disk import read_bytes
from pacewright.files.gpx_stream import MOST_POINTS, place_of, stream
from pacewright.files.shape_files import shapes_of
from pacewright.route.planning.lines import Line

USUAL_KIND: Final = "track"
_LONGEST_WORD: Final = 40
_IN_DEGREES: Final = "EPSG:4326"


@dataclass(frozen=True, slots=True, eq=False)
class Features:
    """What a file holds, on a grid: lines, points, and areas to keep off."""

    lines: tuple[Line, ...]
    points: tuple[Named, ...]
    barred: tuple[tuple[str, NDArray[np.float64]], ...]


@dataclass(frozen=True, slots=True)
class _Shape:
    kind: str
    name: str
    what: str
    parts: list[Any]


def read_features(path: str, crs: str) -> Features:
    """Read lines, points and areas, and lay them on a grid.

    Parameters
    ----------
    path
        A file of GeoJSON, GeoPackage or GPX.
    crs
        The grid.

    Raises
    ------
    FormatComplaint
        The file cannot be read as shapes, or holds none.
    """
    return _laid_on(_read(path), crs, path)


def features_geojson(path: str) -> str:
    """The lines, points and areas of a file as GeoJSON in degrees, to be kept.

    Raises
    ------
    FormatComplaint
        The file cannot be read as shapes, or holds none.
    """
    shapes = [one for one in _read(path) if one.parts]
    _laid_on(shapes, _IN_DEGREES, path)
    many = {"point": "MultiPoint", "line": "MultiLineString", "area": "MultiPolygon"}
    features = [
        {
            "type": "Feature",
            "properties": {"kind": one.kind, "name": one.name},
            "geometry": {
                "type": many[one.what],
                "coordinates": [[part] for part in one.parts] if one.what == "area" else one.parts,
            },
        }
        for one in shapes
    ]
    return json.dumps({"type": "FeatureCollection", "features": features})


def features_kept(text: str, crs: str) -> Features:
    """What `features_geojson` made, on a grid.

    Raises
    ------
    FormatComplaint
        It lies off the grid.
    """
    return _laid_on(_from_text(text), crs, None)


def check_geojson(text: str) -> None:
    """Refuse a text that `features_geojson` could not have made.

    Raises
    ------
    FormatComplaint
        It is none.
    """
    features_kept(text, _IN_DEGREES)


def _from_text(text: str) -> list[_Shape]:
    try:
        features = json.loads(text)["features"]
        return [
            _shape_of(one["geometry"], one["properties"]["kind"], one["properties"]["name"])
            for one in features
        ]
    except (ValueError, KeyError, TypeError, IndexError, RecursionError):
        raise FormatComplaint("this is no GeoJSON that was kept here", "Hand the file in again") from None


def _read(path: str) -> list[_Shape]:
    return _from_gpx(path) if Path(path).suffix.lower() == ".gpx" else _named_shapes(path)


def _laid_on(shapes: Sequence[_Shape], crs: str, path: str | None) -> Features:
    from pyproj import Transformer

    where = Where(path)
    turned = Transformer.from_crs("EPSG:4326", crs, always_xy=True)

    def laid(places: Any) -> NDArray[np.float64]:
        points = np.array([place[:2] for place in places], dtype=np.float64)
        return np.stack(turned.transform(points[:, 0], points[:, 1]), axis=1)

    lines: list[Line] = []
    points: list[Named] = []
    barred: list[tuple[str, NDArray[np.float64]]] = []
    for shape in shapes:
        for part in shape.parts:
            try:
                places = laid([part] if shape.what == "point" else part)
            except (ValueError, TypeError, IndexError):
                raise FormatComplaint("a shape has no places in degrees", "Save it again", where) from None
            if not np.isfinite(places).all():
                raise FormatComplaint("a shape lies off the terrain's grid", "Save it in degrees", where)
            if shape.what == "point":
                points.append(
                    Named(shape.name or shape.kind or "point", (float(places[0, 0]), float(places[0, 1])))
                )
            elif shape.what == "area":
                barred.append((shape.name or shape.kind or "barred area", places))
            elif len(places) > 1:
                lines.append(
                    Line(shape.kind or USUAL_KIND, places, shape.name, has_bends=shape.kind != "stream")
                )
    if not (lines or points or barred):
        raise FormatComplaint(
            "this file holds no lines, points or areas", "Give GeoJSON, GeoPackage or GPX", where
        )
    return Features(tuple(lines), tuple(points), tuple(barred))


def _named_shapes(path: str) -> list[_Shape]:
    return [_shape_of(one.geometry, one.told.get("kind"), one.told.get("name")) for one in shapes_of(path)]


def _shape_of(geometry: dict[str, Any], kind: object, name: object) -> _Shape:
    words = [str(one)[:_LONGEST_WORD].strip() if isinstance(one, str) else "" for one in (kind, name)]
    held, type_ = geometry["coordinates"], str(geometry["type"])
    what = "point" if "Point" in type_ else "line" if "Line" in type_ else "area"
    parts = list(held) if type_.startswith("Multi") else [held]
    if what == "area":
        # Only what bounds it: an island in a lake is kept off as well.
        parts = [rings[0] for rings in parts]
    return _Shape(words[0].casefold(), words[1], what, parts)


def _from_gpx(path: str) -> list[_Shape]:
    gathered = _Gathered()
    try:
        stream(io.BytesIO(read_bytes(path)), gathered)
    except Complaint as complaint:
        raise complaint.at(file=path) from None
    return gathered.shapes


class _Gathered:
    """Gathers waypoints, and the points of segments and routes, while a GPX file streams by."""

    def __init__(self) -> None:
        self.shapes: list[_Shape] = []
        self._points: list[list[float]] = []
        self._many = 0
        self._open: list[str] = []
        self._name = ""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self._open.append(name)
        if name in ("trkseg", "rte", "wpt"):
            self._points, self._name = [], ""
        if name in ("trkpt", "rtept", "wpt"):
            latitude, longitude = place_of(attributes)
            self._points.append([longitude, latitude])
            self._many += 1
            if self._many > MOST_POINTS:
                raise FormatComplaint(
                    f"this file holds more than {MOST_POINTS} points", "Give the lines of one outing"
                )

    def end(self, name: str) -> None:
        self._open.pop()
        if name == "wpt":
            self.shapes.append(_Shape("", self._name.strip(), "point", self._points))
        elif name in ("trkseg", "rte") and len(self._points) > 1:
            self.shapes.append(_Shape(USUAL_KIND, "", "line", [self._points]))

    def characters(self, content: str) -> None:
        if self._open[-2:] == ["wpt", "name"]:
            self._name = (self._name + content)[:_LONGEST_WORD]
