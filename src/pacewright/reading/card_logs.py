"""Pages that were read, put together by the course card that they belong to, and as a class hands them in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pacewright.files.csv_table import write_table
from pacewright.reading.log_rows import LogRow, in_order, log_rows
from pacewright.reading.page_read import ReadPage


@dataclass(frozen=True, slots=True)
class ReadWalk:
    """The rows of one walk, as they were read.

    Attributes
    ----------
    card
        The number of its course card; 0 where its pages have none.
    pages
        Each with its photograph, in the order of the log.
    rows
        Each with its photograph.
    is_sorted
        Whether the numbers of the pages told their order; where they did not, two photographs may show one
        page.
    """

    card: int
    pages: tuple[tuple[str, ReadPage], ...]
    rows: tuple[tuple[str, LogRow], ...]
    is_sorted: bool

    @property
    def doubtful(self) -> list[tuple[str, LogRow]]:
        """The rows that somebody must look at."""
        return [one for one in self.rows if one[1].doubts]

    @property
    def is_sure(self) -> bool:
        """Whether its log may be written with nobody looking: of a card no page may come twice."""
        return bool(self.rows) and not self.doubtful and (self.is_sorted or not self.card)


def walks_of(pages: Sequence[tuple[str, ReadPage]], heading: Sequence[str]) -> list[ReadWalk]:
    """The walks that pages tell of, by the numbers of their cards; pages without a number are one walk.

    Parameters
    ----------
    pages
        Each with its photograph.
    heading
        Of their logs, as `log_rows` takes it.
    """
    found = []
    for card in sorted({page.card for _, page in pages}):
        ordered, is_sorted = in_order([one for one in pages if one[1].card == card])
        rows = tuple((photo, row) for photo, _, row in log_rows(ordered, heading))
        found.append(ReadWalk(card, tuple(ordered), rows, is_sorted))
    return found


def card_log_name(card: int) -> str:
    """The file of a card's log, beside the table of what a class handed in."""
    return f"card-{card}.csv"


def handed_in(cards: Sequence[int], written: Sequence[int]) -> bytes:
    """The table of what a class handed in, a row a card: name, stake, minutes and pace count are to be typed.

    Parameters
    ----------
    cards
        Their numbers. A learner is called by the card until somebody writes the name.
    written
        Those whose log was written.
    """
    heading = ("learner", "card", "log", "finished_at", "minutes", "pace_count")
    rows = [
        [f"card {card}", str(card), card_log_name(card) if card in written else "", "", "", ""]
        for card in cards
    ]
    return write_table(heading, rows)
