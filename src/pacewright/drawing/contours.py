"""Contours of the land: how far apart, where they run, and their heights written along them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.drawing import svg
from pacewright.drawing.labels import Box
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.svg import Point
from pacewright.ground.terrain import Terrain, gradient

Line = NDArray[np.float64]

CONTOUR_MM: Final = 0.14
"""The thinnest stroke that an office printer of 600 dots to the inch holds: three dots are 0.13 mm."""
INDEX_MM: Final = 0.34
"""A good two and a half times as wide, so that the two are told apart also on a photocopy (assumed)."""
CONTOUR_INK: Final = "#666"
INDEX_EVERY: Final = 5
"""Every fifth contour is an index contour: common practice."""

LABEL_MM: Final = 2.7

_LEAST_APART_MM: Final = 1.1
_STEEP_SHARE: Final = 0.9
_STEPS: Final = (1.0, 2.0, 5.0)
_LEAST_M: Final = 1.0
_FEWEST: Final = 4
_SHORTEST_RING_MM: Final = 2.5
_SMOOTH_MM: Final = 0.03
_LABEL_APART_MM: Final = 75.0
_LABEL_STEP_MM: Final = 4.0
_STRAIGHT: Final = 0.94
_CLEAR_MM: Final = 1.0


@dataclass(frozen=True, slots=True)
class Contour:
    """One line of equal height: (n, 2) metres east and north; closed if its ends are the same point."""

    level_m: float
    is_index: bool
    points: Line


def choose_interval_m(terrain: Terrain, scale: float) -> float:
    """The height between contours that suits the land and the scale, one of 1, 2, 5 and tenfolds.

    The smallest at which contours on steep ground (all but the steepest tenth) keep 1.1 mm apart on
    paper, but on gentle land never so large that fewer than four would be crossed from bottom to top.

    Parameters
    ----------
    terrain
        The land on the sheet.
    scale
        10000 for 1:10 000.
    """
    slope = np.hypot(*gradient(terrain))
    known = slope[np.isfinite(slope)]
    steep = float(np.quantile(known, _STEEP_SHARE)) if known.size else 0.0
    wanted = max(steep * _LEAST_APART_MM * scale / 1000.0, _LEAST_M)
    relief = float(np.nanmax(terrain.elevation_m) - np.nanmin(terrain.elevation_m))
    tidy = [step * 10.0**power for power in range(4) for step in _STEPS]
    interval = next((step for step in tidy if step >= wanted), tidy[-1])
    coarsest = [step for step in tidy if step <= max(relief / _FEWEST, _LEAST_M)]
    return min(interval, coarsest[-1])


def find_contours(terrain: Terrain, interval_m: float) -> list[Contour]:
    """Find the contours of the land at every multiple of the interval.

    Linear between the middles of the cells; a line ends at a hole and at the edge. Ground of just that
    height counts as below it.
    """
    from contourpy import contour_generator

    heights = np.ma.masked_invalid(terrain.elevation_m.astype(float))
    generator = contour_generator(
        x=terrain.centres_east_m, y=terrain.centres_north_m, z=heights, name="serial", corner_mask=True
    )
    first, last = math.ceil(heights.min() / interval_m), math.floor(heights.max() / interval_m)
    return [
        Contour(number * interval_m, number % INDEX_EVERY == 0, np.asarray(points, dtype=np.float64))
        for number in range(first, last + 1)
        for points in generator.lines(number * interval_m)
    ]


def on_paper(contours: Iterable[Contour], fit: PageFit) -> list[Contour]:
    """Contours in mm on paper: points that the pen would not show are left out, and tiny rings."""
    laid = []
    for contour in contours:
        east, north = contour.points.T
        line = np.column_stack(fit.point(east, north))
        is_ring = bool(np.array_equal(line[0], line[-1]))
        if is_ring and _along(line)[-1] < _SHORTEST_RING_MM:
            continue
        laid.append(Contour(contour.level_m, contour.is_index, thinned(line, _SMOOTH_MM)))
    return laid


def contour_strokes(contours: Sequence[Contour]) -> list[str]:
    """Draw contours: thin pencil lines, index contours heavier."""
    drawn = []
    for is_index, width_mm in ((False, CONTOUR_MM), (True, INDEX_MM)):
        steps = [
            step
            for contour in contours
            if contour.is_index == is_index
            for step in line_steps(contour.points)
        ]
        if steps:
            drawn.append(svg.path(steps, fill="none", stroke=CONTOUR_INK, stroke_width=width_mm))
    return drawn


def line_steps(line: Line) -> Iterable[tuple[str, Sequence[float]]]:
    """The steps of a path along a line."""
    rows = line.tolist()
    yield "M", rows[0]
    for row in rows[1:]:
        yield "L", row


def contour_labels(contours: Sequence[Contour], room: Box, taken: Sequence[Box]) -> list[str]:
    """Write the heights of index contours along them, on straight stretches, where nothing else stands.

    Without an index contour on the sheet the others are labelled.

    Parameters
    ----------
    contours
        On paper, in mm.
    room
        Where labels may stand.
    taken
        Boxes that they must leave free.
    """
    chosen = [c for c in contours if c.is_index] or list(contours)
    blocked = list(taken)
    drawn = []
    # The long lines first: they carry the height farthest.
    for contour in sorted(chosen, key=lambda c: -_along(c.points)[-1]):
        words = f"{contour.level_m:g}"
        last_at = -math.inf
        for at, middle, turn_deg in _stretches(contour.points, svg.text_width_mm(words, LABEL_MM) + 2.0):
            if at - last_at < _LABEL_APART_MM:
                continue
            box = _turned_box(middle, svg.text_width_mm(words, LABEL_MM), LABEL_MM, turn_deg)
            if not room.holds(box) or any(box.overlaps(other, _CLEAR_MM) for other in blocked):
                continue
            blocked.append(box)
            last_at = at
            drawn.append(_label(words, middle, turn_deg))
    return drawn


def thinned(line: Line, within_mm: float) -> Line:
    """Leave out the points of a line that lie within a distance of the line without them.

    References
    ----------
    D. H. Douglas and T. K. Peucker, Algorithms for the reduction of the number of points required to
    represent a digitized line or its caricature, Cartographica 10 (1973). From memory.
    """
    kept = np.zeros(len(line), dtype=bool)
    kept[[0, -1]] = True
    open_ends = [(0, len(line) - 1)]
    while open_ends:
        first, last = open_ends.pop()
        if last - first < 2:
            continue
        farthest = first + 1 + int(np.argmax(off := _off_chord(line[first : last + 1])))
        if off.max() > within_mm:
            kept[farthest] = True
            open_ends += [(first, farthest), (farthest, last)]
    return line[kept]


def _off_chord(line: Line) -> NDArray[np.float64]:
    """How far the inner points of a line are from the straight piece between its ends."""
    start, along = line[0], line[-1] - line[0]
    inner = line[1:-1] - start
    length2 = float(along @ along)
    share = np.clip(inner @ along / length2, 0.0, 1.0) if length2 > 0 else np.zeros(len(inner))
    off = inner - share[:, None] * along
    return np.asarray(np.hypot(off[:, 0], off[:, 1]), dtype=np.float64)


def _along(line: Line) -> NDArray[np.float64]:
    """How far along a line each of its points is, in mm."""
    steps = np.hypot(*np.diff(line, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def _stretches(line: Line, length_mm: float) -> Iterable[tuple[float, Point, float]]:
    """The nearly straight stretches of a line that hold a label: how far along, middle, and turn."""
    along = _along(line)
    starts = np.arange(2.0, along[-1] - length_mm - 2.0, _LABEL_STEP_MM)
    if not len(starts):
        return
    ends = [
        np.column_stack([np.interp(at, along, line[:, k]) for k in (0, 1)])
        for at in (starts, starts + length_mm)
    ]
    chord = ends[1] - ends[0]
    straight = np.hypot(*chord.T) / length_mm
    middles = np.column_stack([np.interp(starts + length_mm / 2, along, line[:, k]) for k in (0, 1)])
    for at, middle, (x, y), is_straight in zip(
        starts.tolist(), middles.tolist(), chord.tolist(), (straight >= _STRAIGHT).tolist(), strict=True
    ):
        if is_straight:
            turn_deg = math.degrees(math.atan2(y, x))
            # Never upside down; a label straight up and down reads upward.
            yield at, (middle[0], middle[1]), (turn_deg + 90.0) % 180.0 - 90.0


def _turned_box(middle: Point, width_mm: float, height_mm: float, turn_deg: float) -> Box:
    cosine, sine = abs(math.cos(math.radians(turn_deg))), abs(math.sin(math.radians(turn_deg)))
    half_width = (width_mm * cosine + height_mm * sine) / 2
    half_height = (width_mm * sine + height_mm * cosine) / 2
    return Box(
        middle[0] - half_width, middle[1] - half_height, middle[0] + half_width, middle[1] + half_height
    )


def _label(words: str, middle: Point, turn_deg: float) -> str:
    x, y = middle
    turn = f"rotate({svg.number(turn_deg)} {svg.number(x)} {svg.number(y)})"
    # The digits are 0.73 of the type high, so that they stand astride the line.
    return svg.text(x, y + 0.365 * LABEL_MM, words, LABEL_MM, anchor="middle", halo_mm=0.45, transform=turn)
