"""A log page as it was read: every number with the chances of its digits, and what a person must look at."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.exceptions import FormatComplaint
from pacewright.reading.bends import PX_PER_MM
from pacewright.reading.cells import NumberInk, has_note, number_ink, ticked, ticks_of
from pacewright.reading.corner_marks import find_page
from pacewright.reading.digits import digit_chances
from pacewright.reading.flattening import FlatPage, laid_flat
from pacewright.reading.photographs import read_photograph
from pacewright.reading.scans import is_pdf, read_scans

SURE: Final = 0.93
"""The chance from which a digit counts as sure.

The highest by which less than 8 % are in doubt on one half of the test's hands. On 3,840 handwritten digits
of the other half, on 26 made photographs, 10 (0.26 %) were another digit from here on, 7.8 % did not reach
it; 98.5 % were right.
"""


@dataclass(frozen=True, slots=True)
class ReadNumber:
    """A number as it was read.

    Attributes
    ----------
    text
        Its digits; empty where the boxes are blank.
    chances
        For every digit of `text` the chances of 0 to 9.
    doubt
        Why somebody must look, or empty: `digit`, `gap`, `joined` or `small`.
    """

    text: str
    chances: tuple[tuple[float, ...], ...]
    doubt: str = ""

    @property
    def is_sure(self) -> bool:
        """Whether nobody need look."""
        return not self.doubt

    def others(self, least: float = 0.02, most: int = 3) -> list[tuple[str, float]]:
        """What else the number may be, with its chance, the likeliest first."""
        found = [
            (self.text[:at] + str(digit) + self.text[at + 1 :], chance)
            for at, chances in enumerate(self.chances)
            for digit, chance in enumerate(chances)
            if str(digit) != self.text[at] and chance >= least
        ]
        return sorted(found, key=lambda one: -one[1])[:most]

    def other_odds(self, most: int = 3) -> list[tuple[str, float]]:
        """What else the number may be by another one of its digits, with its odds against it as read."""
        found = []
        for at, chances in enumerate(self.chances):
            read = int(self.text[at])
            for digit, chance in enumerate(chances):
                if digit != read and chance > 0 and chances[read] > 0:
                    text = self.text[:at] + str(digit) + self.text[at + 1 :]
                    found.append((text, chance / chances[read]))
        return sorted(found, key=lambda one: -one[1])[:most]


@dataclass(frozen=True, slots=True)
class ReadRow:
    """A row as it was read: its number on the page, its two numbers, its ticks, whether there is a note."""

    number: int
    azimuth: ReadNumber
    count: ReadNumber
    ticks: tuple[str, ...]
    tick_doubt: bool
    has_note: bool

    @property
    def is_blank(self) -> bool:
        """Whether nothing is written in it."""
        numbers = (self.azimuth, self.count)
        return not (any(one.text or one.doubt for one in numbers) or self.ticks or self.has_note)


@dataclass(frozen=True, slots=True)
class ReadPage:
    """A page as it was read.

    Attributes
    ----------
    page
        Its number among its kind.
    rows
        Those that hold something.
    picture
        The page seen from above; None where it was not kept.
    card
        The number of the course card that it belongs to; 0 for none.
    """

    page: int
    rows: tuple[ReadRow, ...]
    picture: FlatPage | None = None
    card: int = 0


def read_pages(data: bytes) -> list[ReadPage | FormatComplaint]:
    """Read log pages from a photograph, or from a PDF of scans.

    Parameters
    ----------
    data
        A JPEG, PNG or PDF file.

    Returns
    -------
    list
        One for a photograph; of a PDF one for each of its pages, in their order: the page, or why it cannot
        be read.

    Raises
    ------
    FormatComplaint
        It is neither, or a photograph that cannot be read.
    MissingComplaint
        The libraries for it are not installed.
    """
    if not is_pdf(data):
        return [read_page(data)]
    return [_page_or_why(grey, number) for number, grey in enumerate(read_scans(data), start=1)]


def _page_or_why(grey: np.ndarray, number: int) -> ReadPage | FormatComplaint:
    try:
        return _page(grey)
    except FormatComplaint as complaint:
        return FormatComplaint(f"page {number}: {complaint.what}", complaint.do)


def read_page(data: bytes) -> ReadPage:
    """Read a log page from a photograph.

    Parameters
    ----------
    data
        A JPEG or PNG file.

    Raises
    ------
    FormatComplaint
        It is no photograph of a log page, or one that cannot be read.
    MissingComplaint
        The libraries for it are not installed.
    """
    return _page(read_photograph(data))


def _page(grey: np.ndarray) -> ReadPage:
    found = find_page(grey)
    grid = found.grid
    ink, seen = laid_flat(grey, found)
    starts = (grid.azimuth_mm, grid.count_mm)
    cut = [[number_ink(ink, grid, row, start) for start in starts] for row in range(grid.rows)]
    numbers = read_numbers([number for pair in cut for number in pair])
    first = (max(found.code.page, 1) - 1) * grid.rows + 1
    rows = []
    for row in range(grid.rows):
        ticks, doubt = ticks_of(ticked(ink, grid, row))
        azimuth, count = numbers[2 * row : 2 * row + 2]
        rows.append(ReadRow(first + row, azimuth, count, ticks, doubt, has_note(ink, grid, row)))
    tops = tuple(PX_PER_MM * grid.row_top_mm(row) for row in range(grid.rows + 1))
    picture = FlatPage(seen, tops, first, PX_PER_MM * grid.notes_mm)
    kept = tuple(row for row in rows if not row.is_blank)
    return ReadPage(found.code.page, kept, picture, found.code.card)


def read_numbers(cut: Sequence[NumberInk]) -> list[ReadNumber]:
    """Read numbers whose boxes were cut, all of them at once."""
    chances = iter(digit_chances([ink for number in cut for ink in number.digits if ink is not None]))
    return [_number(number, [next(chances) for ink in number.digits if ink is not None]) for number in cut]


def _number(cut: NumberInk, chances: Sequence[np.ndarray]) -> ReadNumber:
    text = "".join(str(int(one.argmax())) for one in chances)
    filled = [at for at, ink in enumerate(cut.digits) if ink is not None]
    doubt = ""
    if cut.is_joined:
        doubt = "joined"
    elif filled and filled[-1] - filled[0] + 1 != len(filled):
        doubt = "gap"
    elif cut.is_torn:
        doubt = "small"
    elif any(not math.isfinite(one.max()) or one.max() < SURE for one in chances):
        doubt = "digit"
    return ReadNumber(text, tuple(tuple(float(part) for part in one) for one in chances), doubt)
