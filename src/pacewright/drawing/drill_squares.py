"""Squared paper for a paper drill: a start to draw from, or a grid with its metres and known marks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from pacewright.drawing import svg
from pacewright.drawing.svg import INK, PENCIL, Point

SQUARE_MM: Final = 5.0
_EDGE_MM: Final = 9.0
_TYPE_MM: Final = 2.9
_MARK_MM: Final = 1.2
NamedPoint = tuple[str, Point]


def draw_squares(
    room_mm: tuple[float, float], points: Sequence[NamedPoint] = (), metres_a_mm: float | None = None
) -> str:
    """Draw squared paper, north up the page.

    Parameters
    ----------
    room_mm
        Width and height of the squares.
    points
        Names, and where they stand in mm from the lower left corner of the squares.
    metres_a_mm
        The scale, where the heavy lines are to bear their east and north; None where they bear nothing.
    """
    across, down = (math.floor(part / SQUARE_MM) for part in room_mm)
    wide, high = across * SQUARE_MM, down * SQUARE_MM
    left, top = _EDGE_MM, 3.0
    body = [_line((left + k * SQUARE_MM, top), (0.0, high), heavy=k % 2 == 0) for k in range(across + 1)]
    body += [
        _line((left, top + high - k * SQUARE_MM), (wide, 0.0), heavy=k % 2 == 0) for k in range(down + 1)
    ]
    if metres_a_mm is not None:
        body += _metres(across, down, metres_a_mm, left, top + high)
    for name, (x, y) in points:
        at = (left + x, top + high - y)
        body.append(svg.circle(*at, _MARK_MM, fill="none", stroke=INK, stroke_width=0.5))
        body.append(svg.text(at[0] + 2.0, at[1] - 1.6, name, _TYPE_MM + 0.4, halo_mm=0.7, font_weight="bold"))
    body.append(svg.text(left + wide - 1.5, top + 5.0, "N", _TYPE_MM + 0.6, anchor="end", halo_mm=0.8))
    foot = top + high + (6.0 if metres_a_mm is not None else 1.5)
    told = f"squares of {SQUARE_MM:g} mm, north up the page"
    return svg.drawing(left + wide + 5.0, foot, body, title="Squared paper", description=told)


def _line(start: Point, by: Point, *, heavy: bool) -> str:
    width = 0.2 if heavy else 0.08
    return svg.line(*start, start[0] + by[0], start[1] + by[1], stroke=INK, stroke_width=width)


def _metres(across: int, down: int, metres_a_mm: float, left: float, foot: float) -> list[str]:
    """Write east under, and north beside, every fourth line."""
    step = 4
    words = [
        svg.text(
            left + k * SQUARE_MM,
            foot + 4.0,
            f"{k * SQUARE_MM * metres_a_mm:g}",
            _TYPE_MM,
            anchor="middle",
            fill=PENCIL,
        )
        for k in range(0, across + 1, step)
    ]
    return words + [
        svg.text(
            left - 1.0,
            foot - k * SQUARE_MM + 1.0,
            f"{k * SQUARE_MM * metres_a_mm:g}",
            _TYPE_MM,
            anchor="end",
            fill=PENCIL,
        )
        for k in range(0, down + 1, step)
    ]
