"""A page while it is typed: what is understood so far, and what each wrong cell lacks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pacewright.core.log.log_heading import Heading, parse_heading
from pacewright.core.log.travel_log import Cells, Row, TravelLog, check_numbers, compose_log, parse_row
from pacewright.exceptions import Complaint


@dataclass(frozen=True, slots=True)
class TypedRow:
    """One row as typed: what it means, or what is wrong with it; neither for an empty row."""

    cells: Cells
    row: Row | None = None
    complaint: Complaint | None = None


@dataclass(frozen=True, slots=True)
class TypedPage:
    """A page as far as it is understood.

    Attributes
    ----------
    heading
        What the heading lines say; the plain heading where they are wrong.
    heading_complaint
        What is wrong with them.
    rows
        Every row of the page, in order.
    log
        The rows above the first wrong one as a log; None while there is no leg.
    understood
        How many rows stand above the first wrong one.
    """

    heading: Heading
    heading_complaint: Complaint | None
    rows: tuple[TypedRow, ...]
    log: TravelLog | None
    understood: int

    @property
    def is_whole(self) -> bool:
        """True where every row and the heading are understood."""
        return self.understood == len(self.rows) and self.heading_complaint is None


def read_typed(heading_lines: Sequence[str], cells: Sequence[Cells]) -> TypedPage:
    """What a page under the pencil means so far.

    Nothing is guessed: the log ends above the first row that is not understood, and a heading that is
    wrong gives no log at all.

    Parameters
    ----------
    heading_lines
        Lines `key: value` without the leading mark; a line without a colon is prose.
    cells
        The rows as typed; complaints number them from 1.
    """
    heading, wrong = _heading(heading_lines)
    rows = _without_clashes(heading, [_typed(one, heading, at) for at, one in enumerate(cells, start=1)])
    understood = next((at for at, one in enumerate(rows) if one.complaint), len(rows))
    good = [one.row for one in rows[:understood] if one.row is not None]
    log = None
    if wrong is None and good:
        try:
            log = compose_log(heading, good)
        except Complaint:
            log = None
    return TypedPage(heading, wrong, tuple(rows), log, understood)


def _heading(lines: Sequence[str]) -> tuple[Heading, Complaint | None]:
    split = [(at, line.partition(":")) for at, line in enumerate(lines, start=1) if ":" in line]
    try:
        return parse_heading([(at, key, value) for at, (key, _, value) in split]), None
    except Complaint as complaint:
        return Heading(), complaint


def _typed(cells: Cells, heading: Heading, number: int) -> TypedRow:
    if not (cells.azimuth.strip() or cells.count.strip() or cells.notes.strip()):
        return TypedRow(cells)
    try:
        return TypedRow(cells, parse_row(cells, heading, number))
    except Complaint as complaint:
        return TypedRow(cells, None, complaint)


def _without_clashes(heading: Heading, rows: list[TypedRow]) -> list[TypedRow]:
    """Mark every row that does not go with the others: a name in two spellings, a point among commas."""
    good = [one.row for one in rows if one.row is not None]
    try:
        compose_log(heading, good)
        check_numbers(good)
    except Complaint as complaint:
        at = complaint.where.line
        if at is not None and 0 < at <= len(rows) and rows[at - 1].row is not None:
            rows[at - 1] = TypedRow(rows[at - 1].cells, None, complaint)
            return _without_clashes(heading, rows)
    return rows
