"""What the drawings of ranging share: the room they stand in, the mark of how sure, water, angles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from pacewright.core.ranging.range_result import Range, format_length
from pacewright.drawing import svg
from pacewright.drawing.labels import Box
from pacewright.drawing.svg import ACCENT, PENCIL, Point
from pacewright.drawing.symbols import THIN_MM, arrow_head

ROOM: Final = Box(6.0, 15.0, 114.0, 85.0)
"""Where the figure and its labels stand on the page, in mm."""

LABEL_MM: Final = 3.78

_SQUARE_MM: Final = 2.4
_TICK_MM: Final = 1.7
_WAVE_APART_MM: Final = (15.0, 6.0)
_WAVE_MM: Final = 4.0


@dataclass(slots=True)
class Sketch:
    """A figure while it is being drawn: its strokes, and what the labels must know.

    Attributes
    ----------
    strokes
        Pieces of SVG.
    labels
        Text, the place it belongs to, and the radius to leave free there, in mm; first placed first.
    lines
        Lines that labels should rather not cross.
    marks
        Places and radii that labels must leave free.
    """

    strokes: list[str] = field(default_factory=list)
    labels: list[tuple[str, float, float, float]] = field(default_factory=list)
    lines: list[tuple[Point, Point]] = field(default_factory=list)
    marks: list[tuple[float, float, float]] = field(default_factory=list)

    def line(self, start: Point, end: Point, stroke: str) -> None:
        """Lay a line that labels keep off."""
        self.strokes.append(stroke)
        self.lines.append((start, end))

    def mark(self, at: Point, radius_mm: float, stroke: str) -> None:
        """Lay a symbol that labels keep off."""
        self.strokes.append(stroke)
        self.marks.append((*at, radius_mm))

    def label(self, content: str, at: Point, clear_mm: float = 0.8) -> None:
        """Ask for a label beside a place."""
        self.labels.append((content, *at, clear_mm))


def how_sure_bar(sketch: Sketch, range_: Range, start: Point, far: Point, limit_mm: float) -> None:
    """Mark the region along a line of sight: a bar from its near to its far end, in the accent.

    Where the far end would leave the room, the bar ends in an arrow head.

    Parameters
    ----------
    sketch
        The figure.
    range_
        Whose region it is.
    start, far
        Where the distance is counted from, and the far mark, in mm.
    limit_mm
        How far from `start` the bar may reach.
    """
    reach = math.dist(start, far)
    mm_per_unit = reach / range_.distance
    ux, uy = (far[0] - start[0]) / reach, (far[1] - start[1]) / reach
    low, high = range_.low * mm_per_unit, range_.high * mm_per_unit
    ends = [(start[0] + d * ux, start[1] + d * uy) for d in (low, min(high, limit_mm))]
    sketch.line(ends[0], ends[1], svg.line(*ends[0], *ends[1], stroke=ACCENT, stroke_width=0.9))
    sketch.strokes.append(_tick(ends[0], ux, uy))
    if high > limit_mm:
        sketch.strokes.append(arrow_head(ends[0], ends[1], 3.0, solid=True, ink=ACCENT))
    else:
        sketch.strokes.append(_tick(ends[1], ux, uy))


def distance_label(range_: Range) -> str:
    """Write the distance with its region for a drawing."""
    return f"{format_length(range_.distance)} ({format_length(range_.low)}-{format_length(range_.high)})"


def angle_arc(at: Point, one: Point, other: Point, radius_mm: float) -> tuple[str, Point]:
    """Draw the arc of an angle from one line to another, and give the arc's middle."""
    start_rad = math.atan2(one[1] - at[1], one[0] - at[0])
    turn_rad = math.remainder(math.atan2(other[1] - at[1], other[0] - at[0]) - start_rad, 2 * math.pi)
    points = [
        (at[0] + radius_mm * math.cos(angle_rad), at[1] + radius_mm * math.sin(angle_rad))
        for angle_rad in (start_rad + turn_rad * i / 16 for i in range(17))
    ]
    return svg.polyline(points, stroke=PENCIL, stroke_width=THIN_MM), points[8]


def square_sign(sketch: Sketch, at: Point, one: Point, other: Point) -> None:
    """Lay the small square that says two lines stand at a right angle."""
    a, b = _toward(at, one, _SQUARE_MM), _toward(at, other, _SQUARE_MM)
    corner = (a[0] + b[0] - at[0], a[1] + b[1] - at[1])
    middle = ((at[0] + corner[0]) / 2, (at[1] + corner[1]) / 2)
    stroke = svg.polyline([a, corner, b], stroke=PENCIL, stroke_width=THIN_MM)
    sketch.mark(middle, _SQUARE_MM / 2, stroke)


def water(sketch: Sketch, top_mm: float, bottom_mm: float) -> None:
    """Lay water between two banks across the room: the banks, and a few waves if there is room."""
    for y in (top_mm, bottom_mm):
        ends = (ROOM.left, y), (ROOM.right, y)
        sketch.line(*ends, svg.line(*ends[0], *ends[1], stroke=PENCIL, stroke_width=0.35))
    along, down = _WAVE_APART_MM
    rows = math.floor((bottom_mm - top_mm) / down)
    for row in range(1, rows):
        y = top_mm + row * (bottom_mm - top_mm) / rows
        x = ROOM.left + 3 + (row % 2) * along / 2
        while x + _WAVE_MM < ROOM.right:
            sketch.strokes.append(_wave(x, y))
            x += along


def _wave(x: float, y: float) -> str:
    half, quarter = _WAVE_MM / 2, _WAVE_MM / 4
    steps: Sequence[tuple[str, Sequence[float]]] = (
        ("M", (x, y)),
        ("Q", (x + quarter, y - 0.9, x + half, y)),
        ("Q", (x + half + quarter, y + 0.9, x + _WAVE_MM, y)),
    )
    return svg.path(steps, fill="none", stroke="#999", stroke_width=0.2)


def _toward(at: Point, other: Point, by_mm: float) -> Point:
    length = math.dist(at, other)
    return (at[0] + by_mm * (other[0] - at[0]) / length, at[1] + by_mm * (other[1] - at[1]) / length)


def _tick(at: Point, ux: float, uy: float) -> str:
    return svg.line(
        at[0] - _TICK_MM * uy,
        at[1] + _TICK_MM * ux,
        at[0] + _TICK_MM * uy,
        at[1] - _TICK_MM * ux,
        stroke=ACCENT,
        stroke_width=0.6,
    )
