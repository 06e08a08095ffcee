"""Put a row right and keep what stood there: the struck entry stays in the notes, and can be put back.

Nothing changes unasked. The order is: search, look at the page or walk the leg again, put it right,
search again.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from pacewright.core.log.remarks import BackReading, Was
from pacewright.core.log.travel_log import Cells, Leg, Page, Row, Sighting, TravelLog, compose_log, parse_row
from pacewright.core.slips.reading_slips import ReadingSlip
from pacewright.core.slips.slip_entries import Reading, turned
from pacewright.core.slips.suspects import Suspect
from pacewright.exceptions import MissingComplaint, ValueComplaint

NEVER_WRITTEN: Final = "-"
"""What stands struck out in a row that was not written at all."""
MISSING_LEG_REMARKS: Final = f"[est 25%] [was {NEVER_WRITTEN}] [was {NEVER_WRITTEN} count]"
_WAS: Final = re.compile(r" ?\[\s*was\s+([^\[\]]*)\]", re.IGNORECASE)
_BACK: Final = re.compile(r"\[\s*back\s+[^\[\]]*\]", re.IGNORECASE)
_WAS_BACK: Final = re.compile(r"(?:\[\s*back\s+[^\[\]]*\] )?\[\s*was\s+[^\[\]]*\bback\s*\]", re.IGNORECASE)
_DECLINATION_LINE: Final = re.compile(r"(\W*#\W*declination\s*:\s*)([^\r\n\",;\t]*[^\s\",;])", re.IGNORECASE)
_WAS_DECLINATION: Final = re.compile(r"\W*#\s*was declination ([^\r\n]*\S)\s*", re.IGNORECASE)


def accept_suspect(log: TravelLog, suspect: Suspect, after_leg: int | None = None) -> TravelLog:
    """Give the log with a suspect's correction written in, and the struck entries in the notes.

    A missing leg comes in as an estimated row after the first leg after which it may be missing.

    Parameters
    ----------
    log
        The log that was searched.
    suspect
        What to put right.
    after_leg
        The leg after which a missing one is put in; by default the first after which it may be missing.

    Raises
    ------
    ValueComplaint
        The heading's declination is to be mirrored in a log that lies on no page, or nothing tells how
        the missing leg ran.
    """
    if suspect.reading is not None:
        return _strike_reading(log, suspect.reading)
    if suspect.after_legs is not None:
        entry = suspect.entries[0]
        if not entry.count:
            raise ValueComplaint(
                "nothing in this log tells how the missing leg ran, so that it cannot be written in",
                "Walk it again and write its row yourself",
            )
        first, last = suspect.after_legs
        after = first if after_leg is None else after_leg
        if not first <= after <= last:
            raise MissingComplaint(
                f"this leg is not missing after leg {after}", f"Give a number from {first} to {last}"
            )
        return insert_leg(log, after, entry.azimuth_text, entry.count_text)
    if suspect.turn_deg and log.heading.declination_deg is not None:
        return _mirror_heading(log)
    if suspect.turn_deg:
        return _turn_all(log, suspect.turn_deg)
    rows = list(log.rows)
    places = _leg_rows(log)
    for entry in suspect.entries:
        if entry.leg is None:
            continue
        place = places[entry.leg - 1]
        rows[place] = _strike(log, rows[place], entry.azimuth_text, entry.count_text)
    return compose_log(log.heading, rows, log.page)


def _strike_reading(log: TravelLog, slip: ReadingSlip) -> TravelLog:
    if slip.leg is None:
        raise ValueComplaint(
            "nothing in this log tells what this reading ought to be, so that it cannot be written in",
            "Take it again, or strike it out on the page yourself",
        )
    place = _place_of(log, slip.leg)
    row = log.rows[place]
    read = next(one for one in row.remarks if isinstance(one, BackReading))
    instead = f"[back {slip.instead}] " if slip.instead is not None else ""
    notes = _BACK.sub(lambda _: f"{instead}[was {read.text} back]", row.cells.notes, count=1)
    return _with_row(log, place, _rewritten(log, row, replace(row.cells, notes=notes)))


def correct_leg(
    log: TravelLog, leg: int, azimuth_text: str | None = None, count_text: str | None = None
) -> TravelLog:
    """Give the log with a leg's azimuth or count written anew, and the struck entry in the notes.

    Raises
    ------
    MissingComplaint
        The log has no such leg.
    Complaint
        The new entry is no azimuth or no count.
    """
    place = _place_of(log, leg)
    row = log.rows[place]
    azimuth, count = azimuth_text or row.cells.azimuth.strip(), count_text or row.cells.count.strip()
    return _with_row(log, place, _strike(log, row, azimuth, count))


def insert_leg(log: TravelLog, after_leg: int, azimuth_text: str, count_text: str) -> TravelLog:
    """Give the log with a leg that was never written put in after a leg (0: before the first).

    Raises
    ------
    MissingComplaint
        The log has no such leg.
    """
    places = _leg_rows(log)
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
    """Give the log with the last struck entry of a leg put back; a leg put in is taken out again.

    Raises
    ------
    MissingComplaint
        The log has no such leg, or the leg has no struck entry.
    """
    place = _place_of(log, leg)
    row = log.rows[place]
    if _was_put_in(row):
        return _without_row(log, place)
    if not any(isinstance(remark, Was) for remark in row.remarks):
        raise MissingComplaint(
            f"leg {leg} has no struck entry to put back", "Give a leg whose notes hold [was ...]"
        )
    return _with_row(log, place, _unstrike(log, row))


def undo_all(log: TravelLog) -> TravelLog:
    """Give the log as it stood before any correction."""
    while True:
        put_in = [place for place, row in enumerate(log.rows) if _was_put_in(row)]
        if not put_in:
            break
        log = _without_row(log, put_in[-1])
    rows = list(log.rows)
    for place, row in enumerate(rows):
        while any(isinstance(remark, Was) for remark in row.remarks):
            row = _unstrike(log, row)
        rows[place] = row
    return _unmirror_heading(compose_log(log.heading, rows, log.page))


def corrected_legs(log: TravelLog) -> tuple[int, ...]:
    """Give the legs that hold a struck entry, from 1."""
    return tuple(
        number
        for number, leg in enumerate(log.legs, start=1)
        if any(isinstance(remark, Was) for remark in leg.remarks)
    )


def _leg_rows(log: TravelLog) -> list[int]:
    return [place for place, row in enumerate(log.rows) if isinstance(row, Leg)]


def _place_of(log: TravelLog, leg: int) -> int:
    places = _leg_rows(log)
    if not 1 <= leg <= len(places):
        raise MissingComplaint(f"the log has no leg {leg}", f"Give a number from 1 to {len(places)}")
    return places[leg - 1]


def _with_row(log: TravelLog, place: int, row: Row) -> TravelLog:
    return compose_log(log.heading, (*log.rows[:place], row, *log.rows[place + 1 :]), log.page)


def _strike(log: TravelLog, row: Row, azimuth: str, count: str) -> Row:
    notes = row.cells.notes
    old_azimuth, old_count = row.cells.azimuth.strip(), row.cells.count.strip()
    if azimuth != old_azimuth:
        notes = _append(notes, f"[was {old_azimuth}]")
    if count != old_count:
        notes = _append(notes, f"[was {old_count} count]")
    cells = Cells(
        _inside(row.cells.azimuth, old_azimuth, azimuth), _inside(row.cells.count, old_count, count), notes
    )
    return _rewritten(log, row, cells)


def _unstrike(log: TravelLog, row: Row) -> Row:
    was = [remark for remark in row.remarks if isinstance(remark, Was)][-1]
    if was.column == "back":
        notes = _WAS_BACK.sub(lambda _: f"[back {was.text}]", row.cells.notes, count=1)
        return _rewritten(log, row, replace(row.cells, notes=notes))
    found = list(_WAS.finditer(row.cells.notes))[-1]
    begin = found.start()
    if begin == 0 and found[0].startswith(" "):
        begin += 1
    notes = row.cells.notes[:begin] + row.cells.notes[found.end() :]
    azimuth, count = row.cells.azimuth, row.cells.count
    if was.column == "azimuth":
        azimuth = _inside(azimuth, azimuth.strip(), was.text)
    else:
        count = _inside(count, count.strip(), was.text)
    return _rewritten(log, row, Cells(azimuth, count, notes))


def _append(notes: str, remark: str) -> str:
    return f"{notes} {remark}" if notes else remark


def _inside(cell: str, old: str, new: str) -> str:
    """Give a cell with its text replaced and its blanks kept."""
    return cell.replace(old, new, 1) if old else new


def _rewritten(log: TravelLog, row: Row, cells: Cells) -> Row:
    raw = _raw_with(row, cells, log.page)
    return parse_row(cells, log.heading, row.line, raw)


def _raw_with(row: Row, cells: Cells, page: Page | None) -> str | None:
    """Give the row's own text with its cells replaced; None where it must be written anew."""
    if row.raw is None or page is None or '"' in row.raw:
        return None
    body = row.raw.rstrip("\r\n")
    parts = body.split(page.delimiter, 2)
    if len(parts) != 3 or not parts[2].startswith(row.cells.notes):
        return None
    rest = parts[2][len(row.cells.notes) :] + row.raw[len(body) :]
    return page.delimiter.join((cells.azimuth, cells.count, cells.notes)) + rest


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


def _turn_all(log: TravelLog, by_deg: float) -> TravelLog:
    rows = list(log.rows)
    for place, row in enumerate(rows):
        if isinstance(row, Leg | Sighting):
            reading = Reading(row.cells.azimuth.strip(), row.azimuth_deg)
            text = turned(reading, by_deg, log.heading.azimuth_unit).text
            rows[place] = _strike(log, row, text, row.cells.count.strip())
    return compose_log(log.heading, rows, log.page)


def _mirror_heading(log: TravelLog) -> TravelLog:
    declination_deg = log.heading.declination_deg or 0.0
    side = "W" if declination_deg > 0 else "E"
    found = _declination_line(log)
    if log.page is None or found is None:
        raise ValueComplaint(
            "the declination of this log stands on no page and cannot be struck out there",
            f"Write its heading anew with {abs(declination_deg):g} {side}",
        )
    place, line, match = found
    mirrored = f"{match[1]}{abs(declination_deg):g} {side}{line[match.end() :]}"
    struck = f"# was declination {match[2]}{log.page.newline}"
    lines = (*log.page.lines[:place], mirrored, struck, *log.page.lines[place + 1 :])
    heading = replace(log.heading, declination_deg=-declination_deg)
    return compose_log(heading, log.rows, replace(log.page, lines=lines))


def _unmirror_heading(log: TravelLog) -> TravelLog:
    found = _declination_line(log)
    if log.page is None or found is None:
        return log
    place, line, match = found
    after = log.page.lines[place + 1 : place + 2]
    struck = _WAS_DECLINATION.fullmatch(after[0]) if after and isinstance(after[0], str) else None
    if struck is None:
        return log
    restored = match[1] + struck[1] + line[match.end() :]
    lines = (*log.page.lines[:place], restored, *log.page.lines[place + 2 :])
    heading = replace(log.heading, declination_deg=-(log.heading.declination_deg or 0.0))
    return compose_log(heading, log.rows, replace(log.page, lines=lines))


def _declination_line(log: TravelLog) -> tuple[int, str, re.Match[str]] | None:
    for place, line in enumerate(log.page.lines if log.page else ()):
        match = _DECLINATION_LINE.match(line) if isinstance(line, str) else None
        if match is not None and isinstance(line, str):
            return place, line, match
    return None
