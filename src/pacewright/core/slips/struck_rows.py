"""A row put right: what stood there is struck out and kept in its notes, and can be put back.

[was 52]              the azimuth
[was 230 count]       the count
[was 90 back]         the reading taken backward along the leg
[was at Split oak]    the marker that the leg was said to end at
[was 120 see Barn]    a bearing that tells nothing
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from pacewright.core.log.remarks import BackReading, Was
from pacewright.core.log.travel_log import Cells, Leg, Page, Row, TravelLog, compose_log, parse_row
from pacewright.exceptions import MissingComplaint

_WAS: Final = re.compile(r" ?\[\s*was\s+([^\[\]]*)\]", re.IGNORECASE)
_BACK: Final = re.compile(r"\[\s*back\s+[^\[\]]*\]", re.IGNORECASE)
_WAS_BACK: Final = re.compile(r"(?:\[\s*back\s+[^\[\]]*\] )?\[\s*was\s+[^\[\]]*\bback\s*\]", re.IGNORECASE)
_AT: Final = re.compile(r"\[(\s*at\s+[^\[\]]*)\]", re.IGNORECASE)
_WAS_AT: Final = re.compile(r"\[was (\s*at\s+[^\[\]]*)\]", re.IGNORECASE)
_SEE: Final = re.compile(r"\[\s*(see\s+[^\[\]]*)\]", re.IGNORECASE)
_WAS_SEE: Final = re.compile(r"\[was ([^\[\]]*) (see\s+[^\[\]]*)\]", re.IGNORECASE)


def leg_rows(log: TravelLog) -> list[int]:
    """The place of every leg among the rows, from 0."""
    return [place for place, row in enumerate(log.rows) if isinstance(row, Leg)]


def row_of_leg(log: TravelLog, leg: int) -> int:
    """The place of a leg, from 1, among the rows.

    Raises
    ------
    MissingComplaint
        The log has no such leg.
    """
    places = leg_rows(log)
    if not 1 <= leg <= len(places):
        raise MissingComplaint(f"the log has no leg {leg}", f"Give a number from 1 to {len(places)}")
    return places[leg - 1]


def with_row(log: TravelLog, place: int, row: Row) -> TravelLog:
    """The log with a row in the place of another."""
    return compose_log(log.heading, (*log.rows[:place], row, *log.rows[place + 1 :]), log.page)


def strike(log: TravelLog, row: Row, azimuth: str, count: str) -> Row:
    """A row with azimuth and count written anew, and the struck entries in its notes."""
    notes = row.cells.notes
    old_azimuth, old_count = row.cells.azimuth.strip(), row.cells.count.strip()
    if azimuth != old_azimuth:
        notes = _append(notes, f"[was {old_azimuth}]")
    if count != old_count:
        notes = _append(notes, f"[was {old_count} count]")
    cells = Cells(
        _inside(row.cells.azimuth, old_azimuth, azimuth), _inside(row.cells.count, old_count, count), notes
    )
    return rewritten(log, row, cells)


def strike_back(log: TravelLog, row: Row, instead: str | None) -> Row:
    """A row with its back reading struck out, and what it ought to be written before it."""
    read = next(one for one in row.remarks if isinstance(one, BackReading))
    new = f"[back {instead}] " if instead is not None else ""
    notes = _BACK.sub(lambda _: f"{new}[was {read.text} back]", row.cells.notes, count=1)
    return rewritten(log, row, replace(row.cells, notes=notes))


def strike_marker(log: TravelLog, row: Row) -> Row:
    """A row with the marker that its leg was said to end at struck out."""
    notes = _AT.sub(lambda match: f"[was {match[1]}]", row.cells.notes, count=1)
    return rewritten(log, row, replace(row.cells, notes=notes))


def strike_bearing(log: TravelLog, row: Row) -> Row:
    """A bearing struck out as a whole: its row is then a note."""
    # The cell goes into the notes blanks and all, so that it can be put back to the letter.
    notes = _SEE.sub(lambda match: f"[was {row.cells.azimuth} {match[1]}]", row.cells.notes, count=1)
    return rewritten(log, row, replace(row.cells, azimuth="", notes=notes))


def unstrike(log: TravelLog, row: Row) -> Row:
    """A row with its last struck entry put back."""
    was = [remark for remark in row.remarks if isinstance(remark, Was)][-1]
    notes, azimuth, count = row.cells.notes, row.cells.azimuth, row.cells.count
    if was.column == "back":
        notes = _WAS_BACK.sub(lambda _: f"[back {was.text}]", notes, count=1)
    elif was.column == "at":
        notes = _WAS_AT.sub(lambda match: f"[{match[1]}]", notes, count=1)
    elif was.column == "see":
        azimuth = match[1] if (match := _WAS_SEE.search(notes)) else azimuth
        notes = _WAS_SEE.sub(lambda match: f"[{match[2]}]", notes, count=1)
    else:
        found = list(_WAS.finditer(notes))[-1]
        begin = found.start()
        if begin == 0 and found[0].startswith(" "):
            begin += 1
        notes = notes[:begin] + notes[found.end() :]
        if was.column == "azimuth":
            azimuth = _inside(azimuth, azimuth.strip(), was.text)
        else:
            count = _inside(count, count.strip(), was.text)
    return rewritten(log, row, Cells(azimuth, count, notes))


def is_struck(row: Row) -> bool:
    """Whether a row holds a struck entry."""
    return any(isinstance(remark, Was) for remark in row.remarks)


def struck_names(rows: Sequence[Row]) -> dict[str, int]:
    """The things whose bearings hold a struck entry, each with the place of the last such row."""
    names: dict[str, int] = {}
    for place, row in enumerate(rows):
        if not isinstance(row, Leg) and is_struck(row):
            names |= dict.fromkeys(_seen_names(row), place)
    return names


def _seen_names(row: Row) -> list[str]:
    found = [*_SEE.finditer(row.cells.notes), *_WAS_SEE.finditer(row.cells.notes)]
    return [" ".join(match[match.re.groups].split()[1:]) for match in found]


def rewritten(log: TravelLog, row: Row, cells: Cells) -> Row:
    """A row with other cells, its layout kept."""
    return parse_row(cells, log.heading, row.line, _raw_with(row, cells, log.page))


def _append(notes: str, remark: str) -> str:
    return f"{notes} {remark}" if notes else remark


def _inside(cell: str, old: str, new: str) -> str:
    """A cell with its text replaced and its blanks kept."""
    return cell.replace(old, new, 1) if old else new


def _raw_with(row: Row, cells: Cells, page: Page | None) -> str | None:
    """The row's own text with its cells replaced; None where it must be written anew."""
    if row.raw is None or page is None or '"' in row.raw:
        return None
    body = row.raw.rstrip("\r\n")
    parts = body.split(page.delimiter, 2)
    if len(parts) != 3 or not parts[2].startswith(row.cells.notes):
        return None
    rest = parts[2][len(row.cells.notes) :] + row.raw[len(body) :]
    return page.delimiter.join((cells.azimuth, cells.count, cells.notes)) + rest
