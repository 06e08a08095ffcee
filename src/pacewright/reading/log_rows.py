"""Rows that were read from photographs, as the rows of a travel log."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from pacewright.core.log.travel_log import Cells, Page
from pacewright.exceptions import Complaint
from pacewright.files.log_csv import format_cells, read_log
from pacewright.reading.page_read import ReadNumber, ReadPage, ReadRow
from pacewright.wording.page_reading import LOOK_AGAIN, NOTE_NOT_READ, say_ticked, say_why


@dataclass(frozen=True, slots=True)
class LogRow:
    """A row of the log to be.

    Attributes
    ----------
    number
        Of the row on its page.
    cells
        As it is written into the log.
    ticked
        What its ticks say, as its notes may begin.
    doubts
        What must be looked at, a sentence each; none where every digit is sure.
    has_note
        Whether a note stands on the page.
    is_named
        Whether it waits for a name that only the page tells.
    """

    number: int
    cells: Cells
    ticked: str
    doubts: tuple[str, ...]
    has_note: bool
    is_named: bool


def in_order(pages: Sequence[tuple[str, ReadPage]]) -> tuple[list[tuple[str, ReadPage]], bool]:
    """The pages by their own numbers; as they came, and False, where two have the same."""
    numbers = [page.page for _, page in pages]
    if len(set(numbers)) < len(numbers):
        return list(pages), False
    return sorted(pages, key=lambda one: one[1].page), True


def log_rows(
    pages: Sequence[tuple[str, ReadPage]], heading: Sequence[str], taken: Iterable[str] = ()
) -> list[tuple[str, ReadRow, LogRow]]:
    """The rows of pages as rows of a log under a heading, each with its photograph and as it was read.

    Parameters
    ----------
    pages
        In the order of the log.
    heading
        Its lines without their marks, such as `azimuth: magnetic degrees`: an azimuth that they do not allow
        must be looked at.
    taken
        Names that the log holds already. A ticked place is called by its row until a person names it; on
        pages with the same numbers two such names would make two places one.
    """
    names, found = {_plain(name) for name in taken}, []
    for photo, page in pages:
        before = frozenset(names)
        for row in page.rows:
            name = _free_name(row.number, before)
            if _NAMED & set(row.ticks):
                names.add(_plain(name))
            found.append((photo, row, _log_row(row, heading, name)))
    return found


_NAMED: Final = frozenset(("at", "see"))


def _free_name(number: int, taken: frozenset[str]) -> str:
    name, photo = f"row {number}", 2
    while _plain(name) in taken:
        name, photo = f"row {number} of photo {photo}", photo + 1
    return name


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def log_text(rows: Sequence[LogRow], heading: Sequence[str]) -> bytes:
    """The travel log, what must be looked at marked in the notes."""
    return _text([row.cells for row in rows], heading)


def _text(rows: Sequence[Cells], heading: Sequence[str]) -> bytes:
    lines = [f"# {line}\n" for line in heading] + ["azimuth,count,notes\n"]
    return "".join([*lines, *(format_cells(cells, Page()) for cells in rows)]).encode("utf-8")


LEAST_TOLD_PCT: Final = 2
"""A digit that may be another with less than this chance is not told."""
_A_LEG: Final = Cells("0", "1", "")


def _log_row(row: ReadRow, heading: Sequence[str], name: str) -> LogRow:
    is_bearing = "see" in row.ticks
    doubts = _doubts(row, is_bearing)
    notes = _ticked(row, name)
    ticked = "; ".join(notes)
    others = doubt_remarks(row.azimuth, "azimuth", heading)
    others += [] if is_bearing else doubt_remarks(row.count, "count", heading)
    notes += [" ".join(others)] if others else []
    notes += [NOTE_NOT_READ] if row.has_note else []
    looked = [doubt.partition(", or ")[0] for doubt in doubts] if others else doubts
    cells = Cells(row.azimuth.text, "" if is_bearing else row.count.text, _joined(notes, looked))
    refused = _refused(cells, heading)
    if refused:
        # A row that no log may hold is kept as prose, so that nothing of it is lost.
        doubts = doubts or (refused,)
        read = f"azimuth {row.azimuth.text or '-'}, count {row.count.text or '-'}"
        prose = [read, *(f"{name} ticked" for name in row.ticks), *([NOTE_NOT_READ] if row.has_note else [])]
        cells = Cells("", "", _joined(prose, doubts))
    is_named = f"{name}]" in ticked and not refused
    return LogRow(row.number, cells, ticked, doubts, row.has_note, is_named)


def _ticked(row: ReadRow, name: str) -> list[str]:
    notes = []
    if row.azimuth.text:
        notes += [f"[{word} {name}]" for word in ("at", "see") if word in row.ticks]
        notes += ["[est]"] if "est" in row.ticks else []
    return [*notes, *say_ticked(row.ticks)]


def doubt_remarks(
    number: ReadNumber, column: Literal["azimuth", "count"], heading: Sequence[str]
) -> list[str]:
    """What else a number may be, as remarks of its row, such as `[or 388 count 12%]`.

    Parameters
    ----------
    number
        As it was read.
    column
        Where it stands.
    heading
        Of the log to be: what it could not hold is left out.
    """
    if number.doubt not in ("", "digit"):
        return []
    unit = "" if column == "azimuth" else " count"
    others = [
        (text, odds)
        for text, odds in number.other_odds()
        if not _refused(Cells(text, "1", "") if column == "azimuth" else Cells("0", text, ""), heading)
    ]
    whole = 1.0 + sum(odds for _, odds in others)
    shares = [(text, round(100.0 * odds / whole)) for text, odds in others]
    return [f"[or {text}{unit} {share}%]" for text, share in shares if share >= LEAST_TOLD_PCT]


def _joined(notes: Sequence[str], doubts: Sequence[str]) -> str:
    marked = [f"{LOOK_AGAIN}: {doubt}" for doubt in doubts]
    return "; ".join([*notes, *marked])


def _doubts(row: ReadRow, is_bearing: bool) -> tuple[str, ...]:
    said = []
    for what, number in (("azimuth", row.azimuth), ("count", row.count)):
        if not number.is_sure:
            said.append(_why(what, number))
    if row.count.text and not row.azimuth.text:
        said.append(say_why("azimuth", "", "no azimuth"))
    if row.azimuth.text and not row.count.text and not is_bearing:
        said.append(say_why("count", "", "no count"))
    if is_bearing and row.count.text:
        said.append(say_why("count", row.count.text, "count of a bearing"))
    if row.tick_doubt:
        said.append("a box may be ticked or not")
    return tuple(said)


def _why(what: str, number: ReadNumber) -> str:
    return say_why(what, number.text, number.doubt, number.others())


def _refused(cells: Cells, heading: Sequence[str]) -> str:
    """What a log says against a row, or nothing."""
    try:
        # With a leg before it, since a log holds at least one.
        read_log(_text([_A_LEG, cells], heading))
    except Complaint as complaint:
        return complaint.what
    return ""
