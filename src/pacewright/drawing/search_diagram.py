"""The search at the end of a way, to scale: the spot reached, the region about it, the expanding square."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from pacewright.core.compass import unit_vectors
from pacewright.core.way.regions import Region
from pacewright.core.way.search_pattern import ExpandingSquare, Overshoot
from pacewright.core.way.way_back import WayBack
from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Box
from pacewright.drawing.page_fit import PageFit, fit_page, frame_line
from pacewright.drawing.svg import INK, PENCIL, Point

_STRIP_MM: Final = 19.0
_LABEL_MM: Final = 3.4
_NUMBERED_SIDES: Final = 8
_FAR_APART_MM: Final = 4.5
"""Sides so far apart are all numbered; of closer ones the first."""
_NUMBER_AT: Final = 0.72
"""Of the way along a side: in the middle of it the way comes in."""
_HALF_TICK_MM: Final = 1.8


def draw_search(way: WayBack, turn: Overshoot, square: ExpandingSquare | None, size_mm: float = 110.0) -> str:
    """Draw where the goal may lie about the spot that the count leads to, and the search from there.

    Parameters
    ----------
    way
        The way whose count is full; its region is drawn about the spot reached.
    turn
        Where to begin to look and where to stop.
    square
        The search, or none.
    size_mm
        Width of the drawing.

    Returns
    -------
    str
        An SVG document, to a round scale.
    """
    ahead = np.stack(unit_vectors(way.azimuth_deg))
    marks = {
        "look": (turn.look_from - way.count) / way.counts_per_unit,
        "stop": (turn.stop_at - way.count) / way.counts_per_unit,
    }
    outline = Region(np.zeros(2), way.covariance, way.probability, "ellipse", -ahead).outline().tolist()
    corners = _corners(square)
    come = -1.35 * max(way.along, 1.0)
    points = [
        *map(tuple, outline),
        *corners,
        *(tuple(distance * ahead) for distance in (*marks.values(), come)),
    ]
    frame = Box(0.4, 0.4, size_mm - 0.4, size_mm - 0.4)
    fit = fit_page([(float(e), float(n)) for e, n in points], frame, 7.0)
    # Between the bar's number with its unit and the arrow nothing may touch.
    longest_mm = min(0.4 * size_mm, size_mm - 58.0)
    body = [
        symbols.region_shape(fit.points(outline), "arrival"),
        *_search(corners, fit),
        *_way(come * ahead, marks["stop"] * ahead, fit),
        *(_tick(distance, name, ahead, fit) for name, distance in marks.items()),
        symbols.station_mark(*fit.point(0.0, 0.0), "end"),
        frame_line(frame, 0.4),
        symbols.scale_bar(6.0, size_mm + 4.0, fit.length_mm(1.0), way.unit, longest_mm),
        symbols.north_arrow(size_mm - 28.0, size_mm + 17.0, 14.0, way.azimuth_reference),
    ]
    told = f"the goal lies in the dashed region {100 * way.probability:g} times in 100"
    if square is not None:
        told += f"; {len(square.legs)} sides, {square.spacing:g} {way.unit}s apart"
    return svg.drawing(
        size_mm, size_mm + _STRIP_MM, body, title="Where the count is full, and the search", description=told
    )


def _corners(square: ExpandingSquare | None) -> list[Point]:
    spot, corners = np.zeros(2), [(0.0, 0.0)]
    for leg in square.legs if square else ():
        spot = spot + leg.length * np.stack(unit_vectors(leg.azimuth_deg))
        corners.append((float(spot[0]), float(spot[1])))
    return corners if len(corners) > 1 else []


def _search(corners: Sequence[Point], fit: PageFit) -> list[str]:
    way = fit.points(corners)
    if not way:
        return []
    drawn = [svg.polyline(way, stroke=INK, stroke_width=0.6, class_="search")]
    drawn.append(symbols.arrow_head(way[-2], way[-1], 3.0, solid=True))
    most = len(way) if math.dist(*way[:2]) >= _FAR_APART_MM else _NUMBERED_SIDES
    for number, (start, end) in enumerate(pairwise(way), start=1):
        if number > most or math.dist(start, end) < 5.0:
            continue
        x, y = (one + _NUMBER_AT * (other - one) for one, other in zip(start, end, strict=True))
        drawn.append(svg.text(x, y + _LABEL_MM / 3, str(number), _LABEL_MM, anchor="middle", halo_mm=0.7))
    return drawn


def _way(start: np.ndarray, stop: np.ndarray, fit: PageFit) -> list[str]:
    begin, spot, end = fit.point(*start.tolist()), fit.point(0.0, 0.0), fit.point(*stop.tolist())
    return [
        symbols.way_back_line([begin, spot]),
        svg.line(*spot, *end, stroke=PENCIL, stroke_width=0.35, stroke_dasharray="1.2 1.2"),
    ]


def _tick(distance: float, name: str, ahead: np.ndarray, fit: PageFit) -> str:
    x, y = fit.point(*(distance * ahead).tolist())
    # The way runs (east, -north) on paper; across it is (north, east).
    across = (float(ahead[1]) * _HALF_TICK_MM, float(ahead[0]) * _HALF_TICK_MM)
    drawn = svg.line(x - across[0], y - across[1], x + across[0], y + across[1], stroke=INK, stroke_width=0.6)
    return drawn + svg.text(
        x + 2.2 * across[0],
        y + 2.2 * across[1] + _LABEL_MM / 3,
        name,
        _LABEL_MM,
        anchor="middle" if abs(across[0]) < 0.7 else "start" if across[0] > 0 else "end",
        halo_mm=0.7,
    )
