"""Where everything stands on a log page that can be read from a photograph, in millimetres.

The frame of the page begins at the upper left corner of its table of rows: x to the right, y down. The
sheet is printed from these numbers and a photograph is read by them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

HEAD_MM: Final = 6.6
"""The head of the table; the two upper corner marks stand in it."""
FOOT_MM: Final = 6.2
"""Below the last row; the two lower corner marks stand in it, and the page code between them."""
NUMBER_MM: Final = 9.0
DIGITS: Final = 4
"""Boxes for an azimuth (mils have four digits) and for a count."""
TICKS: Final = ("at", "see", "box left", "box right", "est")
MARK_RADIUS_MM: Final = 2.5
TICK_BOX_MM: Final = 3.6


@dataclass(frozen=True, slots=True)
class LogGrid:
    """The places on a log page of one paper.

    Attributes
    ----------
    paper
        Its number in the page code.
    width_mm
        Of the table of rows.
    row_mm
        How high a row is.
    rows
        How many there are.
    digit_mm
        How wide the box of one digit is.
    tick_mm
        How wide the column of a tick box is.
    """

    paper: int
    width_mm: float
    row_mm: float
    rows: int
    digit_mm: float = 6.0
    tick_mm: float = 6.0

    @property
    def height_mm(self) -> float:
        """From the head of the table to below the page code."""
        return self.foot_mm + FOOT_MM

    @property
    def foot_mm(self) -> float:
        """Where the last row ends."""
        return HEAD_MM + self.rows * self.row_mm

    @property
    def azimuth_mm(self) -> float:
        """Where the boxes of the azimuth begin."""
        return NUMBER_MM

    @property
    def count_mm(self) -> float:
        """Where the boxes of the count begin."""
        return NUMBER_MM + DIGITS * self.digit_mm

    @property
    def ticks_mm(self) -> float:
        """Where the columns of the tick boxes begin."""
        return NUMBER_MM + 2 * DIGITS * self.digit_mm

    @property
    def notes_mm(self) -> float:
        """Where the notes begin."""
        return self.ticks_mm + len(TICKS) * self.tick_mm

    def row_top_mm(self, row: int) -> float:
        """Where a row begins, the first being 0."""
        return HEAD_MM + row * self.row_mm

    @property
    def marks_mm(self) -> tuple[tuple[float, float], ...]:
        """Centres of the corner marks: upper left, upper right, lower right, lower left."""
        inset = MARK_RADIUS_MM + 0.4
        top, low = HEAD_MM / 2, self.height_mm - MARK_RADIUS_MM - 0.4
        return (
            (inset, top),
            (self.width_mm - inset, top),
            (self.width_mm - inset, low),
            (inset, low),
        )

    @property
    def code_mm(self) -> tuple[float, float, float, float]:
        """Where the page code stands: left, top, and the width and height of one of its bits."""
        left = 2 * MARK_RADIUS_MM + 4.0
        return left, self.foot_mm + 1.8, CODE_BIT_MM, 3.2


CODE_BIT_MM: Final = 2.2

_FLAT: Final = (
    LogGrid(1, 184.0, 6.8, 23),
    LogGrid(2, 189.9, 6.6, 21),
    LogGrid(3, 130.0, 6.5, 15, digit_mm=5.4, tick_mm=5.8),
    LogGrid(4, 174.0, 6.45, 23),
    LogGrid(5, 179.9, 6.6, 21),
    LogGrid(6, 120.0, 6.5, 15, digit_mm=5.2, tick_mm=5.6),
)
"""A4, Letter, A5; then the same with room for the binding."""


_BELOW_CARD: Final = (LogGrid(1, 184.0, 6.8, 10), LogGrid(2, 189.9, 6.6, 8))
"""A4 and Letter: below a course card of few legs."""
_SPARE_ROWS: Final = 2
"""For bearings, and for a row that is struck out and written anew."""

LOG_GRIDS: Final = (*_FLAT, *_BELOW_CARD)
"""Every log page that is printed to be read."""

MARKING_GRIDS: Final = tuple(replace(one, row_mm=9.0, rows=1) for one in _FLAT)
"""The head of a marking sheet, one row of it: what lies there is told apart from a log page."""


def grid_of_width(width_mm: float, grids: Sequence[LogGrid] = _FLAT) -> LogGrid | None:
    """The places on the log page, or on another of `grids`, that is so wide; None where none is printed."""
    return next((one for one in grids if abs(one.width_mm - width_mm) < 0.06), None)


def grid_of_card(width_mm: float, legs: int) -> LogGrid | None:
    """The places on the log of a course card of so many legs: one to stand below it, else a whole page."""
    whole = grid_of_width(width_mm)
    short = (one for one in _BELOW_CARD if whole is not None and one.paper == whole.paper)
    return next((one for one in short if legs + _SPARE_ROWS <= one.rows), whole)
