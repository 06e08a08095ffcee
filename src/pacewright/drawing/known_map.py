"""The places that a heading knows, seen from above: small, to look at while they are typed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.core.log.log_heading import Heading, KnownPoint
from pacewright.core.way.regions import reach_of
from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Box, Wish, place_labels
from pacewright.drawing.page_fit import PageFit, fit_page, frame_line
from pacewright.drawing.symbols import NorthReference
from pacewright.drawing.walk_figure import FigureStation, WalkFigure
from pacewright.drawing.walk_map import written_labels
from pacewright.drawing.walk_margin import EDGE_MM, STRIP_MM, draw_strip
from pacewright.ground.grid import zone_of
from pacewright.ground.grid_text import Position, parse_place
from pacewright.ground.map_frame import place_on_grid

PAGE_MM: Final = (110.0, 110.0)
PROBABILITY: Final = 0.95
_NAME_MM: Final = 5.0
_MARGIN_MM: Final = 12.0
_SIDES: Final = 32
_LEAST_M: Final = 50.0
"""A place alone, known to the metre, is shown with some land about it."""


@dataclass(frozen=True, slots=True)
class _Place:
    name: str
    east: float
    north: float
    sd_m: float


def draw_known(heading: Heading) -> list[str]:
    """Draw the known places of a heading: those measured from the start, then those of the map.

    Returns
    -------
    list of str
        An SVG document for each of the two kinds that there is. A ring holds the place in 95 of 100 cases.

    Raises
    ------
    ValueComplaint
        A place cannot be read, or lies too far from the others.
    """
    drawn = []
    from_start = [
        _Place(one.name, *one.local_m, one.sd_m) for one in heading.known if one.local_m is not None
    ]
    if from_start:
        start = _Place(heading.start or "start", 0.0, 0.0, 0.0)
        drawn.append(_draw([start, *from_start], heading.azimuth_reference, "Known places from the start"))
    on_map = _on_grid([(parse_place(one.place), one) for one in heading.known if one.local_m is None])
    if on_map:
        drawn.append(_draw(on_map, "grid", "Known places on the map"))
    return drawn


def _on_grid(known: Sequence[tuple[Position, KnownPoint]]) -> list[_Place]:
    """Places in metres from the first of them; those beyond its grid are left out."""
    if not known:
        return []
    first = known[0][0]
    zone = first.zone or zone_of(first.latitude_deg, first.longitude_deg)
    here = place_on_grid(first, 0.0, zone)
    corner_m = (0.0, 0.0) if here is None else here[:2]
    found = [(one.name, place_on_grid(position, one.sd_m, zone, corner_m)) for position, one in known]
    return [_Place(name, *at) for name, at in found if at is not None]


def _draw(places: Sequence[_Place], north: NorthReference, title: str) -> str:
    frame = Box(EDGE_MM, EDGE_MM, PAGE_MM[0] - EDGE_MM, PAGE_MM[1] - EDGE_MM - STRIP_MM)
    rings = [_ring(one) for one in places]
    about = [(places[0].east + by, places[0].north + by) for by in (-_LEAST_M, _LEAST_M)]
    fit = fit_page([*about, *(point for ring in rings for point in ring)], frame, _MARGIN_MM)
    is_start = [one.sd_m == 0.0 for one in places]
    kinds: list[symbols.MarkKind] = ["start" if one else "named" for one in is_start]
    at = [fit.point(one.east, one.north) for one in places]
    radius = [symbols.MARK_RADIUS_MM[kind] for kind in kinds]
    labels = place_labels(
        [
            Wish(one.name, x, y, r, _NAME_MM, str(k))
            for k, (one, (x, y), r) in enumerate(zip(places, at, radius, strict=True))
        ],
        Box(frame.left + 1, frame.top + 1, frame.right - 1, frame.bottom - 1),
        [Box(x - r, y - r, x + r, y + r) for (x, y), r in zip(at, radius, strict=True)],
    )
    stations = tuple(FigureStation(k, one.name, one.east, one.north) for k, one in enumerate(places))
    sides = (frame.left, frame.top, frame.right, frame.bottom)
    body = [
        symbols.measuring_crosses(at[0], sides, fit.length_mm(fit.units_per_cm)),
        *_rings(rings, is_start, fit),
        *(symbols.station_mark(x, y, kind) for (x, y), kind in zip(at, kinds, strict=True)),
        frame_line(frame),
        *written_labels(labels),
        *draw_strip(WalkFigure(title, "metre", north, stations), fit),
    ]
    names = ", ".join(one.name for one in places)
    return svg.drawing(*PAGE_MM, body, title=title, description=f"{names}; {north} north up.")


def _rings(rings: Sequence[list[svg.Point]], is_start: Sequence[bool], fit: PageFit) -> list[str]:
    return [
        symbols.region_shape(fit.points(ring), "station")
        for ring, one in zip(rings, is_start, strict=True)
        if not one
    ]


def _ring(place: _Place) -> list[svg.Point]:
    """The ring that holds a place in 95 of 100 cases."""
    reach = reach_of(PROBABILITY) * place.sd_m
    turns = (2.0 * math.pi * k / _SIDES for k in range(_SIDES))
    return [(place.east + reach * math.cos(turn), place.north + reach * math.sin(turn)) for turn in turns]
