"""A table as a page lays it out: figures to the right, and what its heads mean under it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

MOST_COLUMNS_OF_A_PHONE: Final = 4
"""More do not fit 320 pixels: there each row stands as a card, every cell with its head."""
_UNIT: Final = r"(?: ?(?:%|°|deg|mils|gon|m|min|paces?|steps?|metres?))?"
_SPAN: Final = r"(?: \([-+]?[\d.,]+(?: to |-)[-+]?[\d.,]+\))?"
_FIGURE: Final = re.compile(rf"[-+±]?[\d.,]+(?: ?\+-[\d.,]+)?{_UNIT}{_SPAN}|\d+ h \d+ min|-")
HEADS: Final = {
    "within": "how far off it may be, along and across, 95 times in 100",
    "give or take": "one standard deviation",
    "cord": "how the tally cord stands at the end of the leg",
    "back": "the azimuth back along the leg",
    "closes by": "what is left open where a place is met again",
    "moved": "how far adjusting took it from where the pencil had it",
    "elevation": "how high the sun stands, in degrees above a level horizon",
    "borrowed": "drawn toward the other classes, for it has few runs of its own",
    "run to run": "how the counts of single runs scatter",
    "scatter times the usual": "how far off it is, measured by what is ordinary",
    "times ordinary": "how far off the walks ended, in ordinary misses",
    "chance": "how likely it is, of 100",
    "azimuth off": "how far clockwise of the azimuth logged the walker went",
    "count off": "how many per cent too many were counted for the true length",
    "more than chance": "yes where chance alone gives such a difference less than 5 times in 100",
}
"""Head of a column -> what stands under it, where its name alone does not say so."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell with the head it stands under, and whether it is a figure."""

    text: str
    head: str
    is_figure: bool


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A table for a page.

    Attributes
    ----------
    heads
        The heads, each a cell of its own.
    rows
        The cells.
    is_wide
        True where it has more columns than a phone has room for.
    meanings
        Heads that need it, each with what it means.
    """

    heads: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]
    is_wide: bool
    meanings: tuple[tuple[str, str], ...]


def lay_out(heading: Sequence[object], rows: Sequence[Sequence[object]]) -> LaidOut:
    """Lay a table out; a column is one of figures where every cell of it is one, or empty.

    >>> table = lay_out(("to", "azimuth"), [("Gate", "98 deg"), ("Oak", "")])
    >>> [cell.is_figure for cell in table.heads]
    [False, True]
    """
    names = [str(head) for head in heading]
    texts = [[str(cell) for cell in row] for row in rows]
    columns = [[row[at] for row in texts if at < len(row) and row[at]] for at in range(len(names))]
    figured = [bool(column) and all(map(_FIGURE.fullmatch, column)) for column in columns]
    return LaidOut(
        tuple(Cell(name, name, is_figure) for name, is_figure in zip(names, figured, strict=True)),
        tuple(tuple(Cell(*one) for one in zip(row, names, figured, strict=False)) for row in texts),
        len(names) > MOST_COLUMNS_OF_A_PHONE,
        tuple((name, HEADS[name]) for name in dict.fromkeys(names) if name in HEADS),
    )
