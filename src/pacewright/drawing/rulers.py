"""Rulers in paces and metres at exact scale, and a line to check the printer by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.drawing import svg
from pacewright.drawing.svg import INK
from pacewright.drawing.symbols import written_length
from pacewright.exceptions import ValueComplaint

_LEAST_TICK_MM: Final = 0.9
_NUMBER_MM: Final = 3.0
_HIGH_MM: Final = 14.0
_CHECK_MM: Final = 11.0
_CHECK_LETTERS_MM: Final = 2.85


@dataclass(frozen=True, slots=True)
class Ruler:
    """A ruler.

    Attributes
    ----------
    label
        What it measures and at which scale.
    mm_per_unit
        Millimetres on paper for one of its units.
    """

    label: str
    mm_per_unit: float


def draw_rulers(rulers: Sequence[Ruler], width_mm: float, check_mm: float = 100.0) -> str:
    """Draw rulers one above the other, and below them a check line that must measure as it says.

    Parameters
    ----------
    rulers
        From top to bottom.
    width_mm
        Of the drawing; rulers are a little shorter.
    check_mm
        Length of the check line.

    Raises
    ------
    ValueComplaint
        A ruler's unit is no length, or the check line is longer than the drawing.
    """
    left = 2.0
    length_mm = width_mm - 2 * left - 3.0
    if check_mm > length_mm:
        raise ValueComplaint(
            f"a check line of {check_mm:g} mm does not fit {width_mm:g} mm", "Make it shorter"
        )
    body: list[str] = []
    for i, ruler in enumerate(rulers):
        if not (math.isfinite(ruler.mm_per_unit) and ruler.mm_per_unit > 0):
            raise ValueComplaint(f"{ruler.mm_per_unit} mm is no unit of a ruler", "Give a length above 0")
        body += _ruler(ruler, left, 4.5 + i * _HIGH_MM, length_mm)
    words = f"check: this line measures {check_mm:g} mm, or all is out of scale"
    told_below = svg.wrap_text(words, _CHECK_LETTERS_MM, length_mm)
    body += _check_line(left, 4.0 + len(rulers) * _HIGH_MM, check_mm, told_below)
    height = len(rulers) * _HIGH_MM + _CHECK_MM + (len(told_below) - 1) * svg.LINE_HEIGHT * _CHECK_LETTERS_MM
    told = ", ".join(ruler.label for ruler in rulers)
    return svg.drawing(
        width_mm, height, body, title="Rulers", description=f"{told}; a check line of {check_mm:g} mm"
    )


def _ruler(ruler: Ruler, left: float, top: float, length_mm: float) -> list[str]:
    step = 10.0 ** math.ceil(math.log10(_LEAST_TICK_MM / ruler.mm_per_unit))
    for smaller in (0.2, 0.5):
        if step * smaller * ruler.mm_per_unit >= _LEAST_TICK_MM:
            step *= smaller
            break
    ticks = math.floor(length_mm / (step * ruler.mm_per_unit) + 1e-9)
    numbered = _numbered(step, ruler.mm_per_unit)
    drawn = [
        svg.text(left, top - 1.2, ruler.label, _size_that_fits(ruler.label, length_mm), font_weight="bold"),
        svg.line(
            left,
            top,
            left + ticks * step * ruler.mm_per_unit,
            top,
            stroke=INK,
            stroke_width=0.3,
            stroke_linecap="butt",
        ),
    ]
    for i in range(ticks + 1):
        x = left + i * step * ruler.mm_per_unit
        high = 4.0 if i % numbered == 0 else 3.0 if i % 5 == 0 else 2.0
        drawn.append(
            svg.line(
                x, top, x, top + high, stroke=INK, stroke_width=0.2, stroke_linecap="butt", class_="tick"
            )
        )
        if i % numbered == 0:
            anchor = "start" if i == 0 else "middle"
            drawn.append(svg.text(x, top + 7.0, _written(i * step), _NUMBER_MM, anchor=anchor))
    return drawn


def _numbered(step: float, mm_per_unit: float) -> int:
    """How many ticks apart numbers stand, so that they do not touch."""
    for every in (5, 10, 20, 50, 100):
        if every * step * mm_per_unit >= 11.0:
            return every
    return 200


def _written(value: float) -> str:
    return "0" if value == 0 else f"{value:.0f}" if value == round(value) else written_length(value)


def _check_line(left: float, y: float, check_mm: float, told: Sequence[str]) -> list[str]:
    ends = (left, left + check_mm)
    feed = svg.LINE_HEIGHT * _CHECK_LETTERS_MM
    return [
        svg.line(ends[0], y, ends[1], y, stroke=INK, stroke_width=0.4, stroke_linecap="butt", class_="check"),
        *(
            svg.line(x, y - 2.0, x, y + 2.0, stroke=INK, stroke_width=0.25, stroke_linecap="butt")
            for x in ends
        ),
        *(svg.text(left, y + 5.4 + i * feed, line, _CHECK_LETTERS_MM) for i, line in enumerate(told)),
    ]


def _size_that_fits(words: str, width_mm: float) -> float:
    return min(_NUMBER_MM, width_mm / svg.text_width_mm(words, 1.0))


def squared_paper(width_mm: float, height_mm: float, apart_mm: float = 5.0) -> str:
    """Draw squared paper to plot on, every other line heavier.

    >>> squared_paper(20, 20).count("<line")
    10
    """
    across, down = math.floor(width_mm / apart_mm), math.floor(height_mm / apart_mm)
    wide, high = across * apart_mm, down * apart_mm
    left, top = (width_mm - wide) / 2, (height_mm - high) / 2
    body = []
    for i in range(across + 1):
        x = left + i * apart_mm
        body.append(svg.line(x, top, x, top + high, stroke=INK, stroke_width=0.2 if i % 2 == 0 else 0.08))
    for i in range(down + 1):
        y = top + i * apart_mm
        body.append(svg.line(left, y, left + wide, y, stroke=INK, stroke_width=0.2 if i % 2 == 0 else 0.08))
    return svg.drawing(
        width_mm,
        height_mm,
        body,
        title="Squared paper",
        description=f"lines {apart_mm:g} mm apart, north up the page",
    )
