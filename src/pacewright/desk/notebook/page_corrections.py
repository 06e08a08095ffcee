"""A correction found by the search, on the page as typed: rows keep their identities and their places."""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from typing import Any

from pacewright.core.log.travel_log import Page, TravelLog, compose_log
from pacewright.core.slips.reading_slips import ReadingSlip
from pacewright.core.slips.struck_readings import strike_reading
from pacewright.core.slips.suspects import Suspect
from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.page_changes import Change, new_row

_MARK = "# "


def on_its_page(kept: KeptLog, log: TravelLog) -> TravelLog:
    """A log as it lies on its kept page, so that its heading can be put right as well.

    Parameters
    ----------
    kept
        The page.
    log
        What it means, its rows numbered as on the page.
    """
    page = Page(lines=(*_heading_lines(kept), "azimuth,count,notes\n", *range(len(log.rows))))
    return compose_log(log.heading, log.rows, page)


def change_to(kept: KeptLog, log: TravelLog, corrected: TravelLog) -> Change:
    """The change that writes a corrected log onto its page.

    Parameters
    ----------
    kept
        The page as it stands.
    log
        What it means, its rows numbered as on the page.
    corrected
        The same put right: a row without a number came in, a number that is missing went out. Rows
        struck out, empty or not understood stay as they are and where they are.
    """
    rows: dict[int, dict[str, Any]] = {at: dict(row) for at, row in enumerate(kept.rows, start=1)}
    came_in: dict[int, list[dict[str, Any]]] = {}
    above = 0
    for row in corrected.rows:
        cells = row.cells
        if row.line is None:
            new = new_row(f"c{secrets.token_hex(8)}", (cells.azimuth, cells.count, cells.notes))
            came_in.setdefault(above, []).append(new)
            continue
        above = row.line
        rows[above].update(azimuth=cells.azimuth, count=cells.count, notes=cells.notes)
    gone = {row.line for row in log.rows} - {row.line for row in corrected.rows}
    written = list(came_in.get(0, []))
    for number, kept_row in rows.items():
        written += [] if number in gone else [kept_row]
        written += came_in.get(number, [])
    return {"kind": "replace", "heading": _heading(kept, corrected), "rows": written}


def _heading(kept: KeptLog, corrected: TravelLog) -> str:
    if corrected.page is None:
        return kept.heading
    lines = tuple(line for line in corrected.page.lines if isinstance(line, str))[:-1]
    if lines == _heading_lines(kept):
        return kept.heading
    return "\n".join(line.removeprefix(_MARK).removesuffix("\n") for line in lines)


def _heading_lines(kept: KeptLog) -> tuple[str, ...]:
    return tuple(f"{_MARK}{line}\n" for line in kept.heading.splitlines())


def suspect_name(suspect: Suspect, log: TravelLog, kept: KeptLog) -> str:
    """What a suspect changes, as a text that a form carries: a page grown old names another.

    It holds the slip, the rows by identity, what stands in them and what would be written.
    """
    legs = log.legs
    entries = []
    for entry in suspect.entries:
        held: Sequence[str] = ()
        if entry.leg is not None:
            leg = legs[entry.leg - 1]
            held = (row_at(kept, leg.line), leg.cells.azimuth, leg.cells.count)
        entries.append([*held, entry.azimuth_text, entry.count_text])
    where = None
    if suspect.after_legs is not None:
        first, last = suspect.after_legs
        where = [row_at(kept, legs[k - 1].line if k else None) for k in (first, last)]
    read = None if suspect.reading is None else _read(suspect.reading, log, kept)
    return json.dumps([suspect.kind, where, entries, suspect.turn_deg, read], ensure_ascii=False)


def _read(slip: ReadingSlip, log: TravelLog, kept: KeptLog) -> list[Any]:
    """What a slip in a reading changes: rows by identity with what stands in them, or the heading."""
    if slip.reading == "place":
        return [slip.reading, slip.name, slip.instead, kept.heading]
    pairs = zip(log.rows, strike_reading(log, slip).rows, strict=True)
    changed = [
        [row_at(kept, row.line), row.cells.azimuth, row.cells.notes, new.cells.azimuth, new.cells.notes]
        for row, new in pairs
        if row.cells != new.cells
    ]
    return [slip.reading, slip.name, changed]


def row_at(kept: KeptLog, line: int | None) -> str:
    """The identity of the row that stands at a line of the page; empty where it stands at none."""
    return str(kept.rows[line - 1]["id"]) if line is not None else ""


def leg_of_row(kept: KeptLog, log: TravelLog, identity: str) -> int | None:
    """The leg, from 1, that a row of the page holds; None where it holds none."""
    for number, leg in enumerate(log.legs, start=1):
        if row_at(kept, leg.line) == identity:
            return number
    return None


def row_of_leg(kept: KeptLog, log: TravelLog, leg: int) -> str:
    """The identity of the row that holds a leg."""
    return row_at(kept, log.legs[leg - 1].line)
