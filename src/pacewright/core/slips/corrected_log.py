"""Put a row right and keep what stood there: the struck entry stays in the notes, and can be put back.

Nothing changes unasked. The order is: search, look at the page or walk the leg again, put it right,
search again.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from pacewright.core.log.remarks import Was
from pacewright.core.log.travel_log import Cells, Leg, Row, TravelLog, compose_log, parse_row
from pacewright.core.slips.slips import is_declination_in_heading
from pacewright.core.slips.struck_heading import (
    is_heading_struck,
    mirror_declination,
    restore_place,
    struck_places,
    unmirror_declination,
)
from pacewright.core.slips.struck_readings import strike_reading, turn_everything
from pacewright.core.slips.struck_rows import (
    is_struck,
    leg_rows,
    row_of_leg,
    strike,
    struck_names,
    unstrike,
    with_row,
)
from pacewright.core.slips.suspects import Suspect
from pacewright.exceptions import MissingComplaint, ValueComplaint

NEVER_WRITTEN: Final = "-"
"""What stands struck out in a row that was not written at all."""
MISSING_LEG_REMARKS: Final = f"[est 25%] [was {NEVER_WRITTEN}] [was {NEVER_WRITTEN} count]"


def accept_suspect(log: TravelLog, suspect: Suspect, after_leg: int | None = None) -> TravelLog:
    """The log with a suspect's correction written in, and the struck entries in the notes.

    A missing leg comes in as an estimated row after the leg that is given: where it may be one of several,
    none is guessed.

    Parameters
    ----------
    log
        The log that was searched.
    suspect
        What to put right.
    after_leg
        The leg after which a missing one is put in; needed where it may be missing after several.

    Raises
    ------
    ValueComplaint
        The heading is to be put right in a log that lies on no page, or nothing tells how the missing leg
        ran.
    MissingComplaint
        The missing leg may be missing after several, and none of them is given.
    """
    if suspect.reading is not None:
        return strike_reading(log, suspect.reading)
    if suspect.after_legs is not None:
        entry = suspect.entries[0]
        if not entry.count:
            raise ValueComplaint(
                "nothing in this log tells how the missing leg ran, so that it cannot be written in",
                "Walk it again and write its row yourself",
            )
        first, last = suspect.after_legs
        if after_leg is None and first != last:
            raise MissingComplaint(
                f"the missing leg may have been after any of legs {first} to {last}",
                "Look at the page and say after which",
            )
        after = first if after_leg is None else after_leg
        if not first <= after <= last:
            raise MissingComplaint(
                f"this leg is not missing after leg {after}", f"Give a number from {first} to {last}"
            )
        return insert_leg(log, after, entry.azimuth_text, entry.count_text)
    if suspect.turn_deg and is_declination_in_heading(log.heading):
        return mirror_declination(log)
    if suspect.turn_deg:
        return turn_everything(log, suspect.turn_deg)
    rows = list(log.rows)
    places = leg_rows(log)
    for entry in suspect.entries:
        if entry.leg is None:
            continue
        place = places[entry.leg - 1]
        rows[place] = strike(log, rows[place], entry.azimuth_text, entry.count_text)
    return compose_log(log.heading, rows, log.page)


def correct_leg(
    log: TravelLog, leg: int, azimuth_text: str | None = None, count_text: str | None = None
) -> TravelLog:
    """The log with a leg's azimuth or count written anew, and the struck entry in the notes.

    Raises
    ------
    MissingComplaint
        The log has no such leg.
    Complaint
        The new entry is no azimuth or no count.
    """
    place = row_of_leg(log, leg)
    row = log.rows[place]
    azimuth, count = azimuth_text or row.cells.azimuth.strip(), count_text or row.cells.count.strip()
    return with_row(log, place, strike(log, row, azimuth, count))


def insert_leg(log: TravelLog, after_leg: int, azimuth_text: str, count_text: str) -> TravelLog:
    """The log with a leg that was never written put in after a leg (0: before the first).

    Raises
    ------
    MissingComplaint
        The log has no such leg.
    """
    places = leg_rows(log)
    if not 0 <= after_leg <= len(places):
        raise MissingComplaint(
            f"the log has no leg {after_leg}", f"Give a number from 0 (the start) to {len(places)}"
        )
    at = places[after_leg] if after_leg < len(places) else len(log.rows)
    cells = Cells(azimuth_text, count_text, MISSING_LEG_REMARKS)
    before = log.rows[at - 1].raw if at else None
    raw = None
    if log.page is not None:
        text = log.page.delimiter.join((cells.azimuth, cells.count, cells.notes))
        ends_open = before is not None and not before.endswith(("\r", "\n"))
        # Below a last line that ends in no line break, the break comes first, and none follows.
        raw = log.page.newline + text if ends_open else text + log.page.newline
    rows = [*log.rows[:at], parse_row(cells, log.heading, raw=raw), *log.rows[at:]]
    page = log.page and replace(log.page, lines=_lines_with(log.page.lines, at))
    return compose_log(log.heading, rows, page)


def undo_leg(log: TravelLog, leg: int) -> TravelLog:
    """The log with the last struck entry of a leg put back; a leg put in is taken out again.

    Raises
    ------
    MissingComplaint
        The log has no such leg, or the leg has no struck entry.
    """
    place = row_of_leg(log, leg)
    row = log.rows[place]
    if _was_put_in(row):
        return _without_row(log, place)
    if not is_struck(row):
        raise MissingComplaint(
            f"leg {leg} has no struck entry to put back", "Give a leg whose notes hold [was ...]"
        )
    return with_row(log, place, unstrike(log, row))


def undo_name(log: TravelLog, name: str) -> TravelLog:
    """The log with a struck known place put back, or else the last struck bearing to that thing.

    Raises
    ------
    MissingComplaint
        Nothing of that name is struck out.
    """
    if name in struck_places(log):
        return restore_place(log, name)
    seen = struck_names(log.rows)
    if name not in seen:
        held = ", ".join(corrected_names(log)) or "none"
        raise MissingComplaint(
            f"nothing called {name[:40]} is struck out", f"Give one of those that are ({held})"
        )
    return with_row(log, seen[name], unstrike(log, log.rows[seen[name]]))


def undo_all(log: TravelLog) -> TravelLog:
    """The log as it stood before any correction."""
    while True:
        put_in = [place for place, row in enumerate(log.rows) if _was_put_in(row)]
        if not put_in:
            break
        log = _without_row(log, put_in[-1])
    rows = list(log.rows)
    for place, row in enumerate(rows):
        while is_struck(row):
            row = unstrike(log, row)
        rows[place] = row
    log = unmirror_declination(compose_log(log.heading, rows, log.page))
    for name in struck_places(log):
        log = restore_place(log, name)
    return log


def corrected_legs(log: TravelLog) -> tuple[int, ...]:
    """The legs that hold a struck entry, from 1."""
    return tuple(number for number, leg in enumerate(log.legs, start=1) if is_struck(leg))


def corrected_names(log: TravelLog) -> tuple[str, ...]:
    """The known places that are struck out, and the things whose bearings hold a struck entry."""
    return tuple(dict.fromkeys((*struck_places(log), *struck_names(log.rows))))


def is_corrected(log: TravelLog) -> bool:
    """Whether a log holds a struck entry anywhere."""
    return is_heading_struck(log) or any(is_struck(row) for row in log.rows)


def _was_put_in(row: Row) -> bool:
    struck = [remark.text for remark in row.remarks if isinstance(remark, Was)]
    return isinstance(row, Leg) and struck.count(NEVER_WRITTEN) == 2


def _without_row(log: TravelLog, place: int) -> TravelLog:
    rows = list(log.rows)
    gone = rows.pop(place)
    before = rows[place - 1] if place else None
    # A last line that ends in no break: the break above it came in with it.
    is_last = gone.raw is not None and not gone.raw.startswith(("\r", "\n"))
    is_last = is_last and gone.raw is not None and not gone.raw.endswith(("\r", "\n"))
    if is_last and before is not None and before.raw:
        rows[place - 1] = replace(before, raw=before.raw.rstrip("\r\n"))
    page = log.page and replace(log.page, lines=_lines_without(log.page.lines, place))
    return compose_log(log.heading, rows, page)


def _lines_with(lines: tuple[str | int, ...], at: int) -> tuple[str | int, ...]:
    shifted = [line + 1 if isinstance(line, int) and line >= at else line for line in lines]
    where = shifted.index(at - 1) + 1 if at else shifted.index(1)
    return (*shifted[:where], at, *shifted[where:])


def _lines_without(lines: tuple[str | int, ...], place: int) -> tuple[str | int, ...]:
    left = [line for line in lines if line != place]
    return tuple(line - 1 if isinstance(line, int) and line > place else line for line in left)
