"""What may be wrong in a log, suspect by suspect: in sentences, in a table, and as it is put right."""

from __future__ import annotations

from typing import Final

from pacewright.answers.pulled_stations import fineness_of_log
from pacewright.core.compass import AzimuthUnit
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.log.written_azimuths import Fineness, say_turn
from pacewright.core.slips.mistakes import Findings
from pacewright.core.slips.reading_slips import ReadingSlip
from pacewright.core.slips.slips import PAGE_MISREAD, is_declination_in_heading
from pacewright.core.slips.suspects import Suspect
from pacewright.wording.findings import (
    CAUSE,
    Rows,
    say_between,
    say_percent,
    say_read_as,
    say_reading,
    say_row,
    say_seen_from,
    say_where_read,
    say_written,
)

MOST_SUSPECTS: Final = 8
LEAST_SHOWN: Final = 0.001
"""A suspect less likely than this is noise in a table; --json holds them all."""


def say_suspect(suspect: Suspect, log: TravelLog, fineness: Fineness | None = None) -> str:
    """Say what a row may have been, and by which slip.

    `fineness` is how finely the log is read; who says many suspects of one log gives it.
    """
    cause = " or ".join(CAUSE[kind] for kind in suspect.kinds)
    unit, counted = log.heading.azimuth_unit, log.heading.count_unit
    if suspect.kind == PAGE_MISREAD:
        return f"{say_where_read(suspect, log)}: {say_read_as(suspect, log)}: {cause}."
    if suspect.reading is not None:
        return f"{_say_read(suspect.reading, log, fineness or fineness_of_log(log))}: {cause}."
    if suspect.after_legs is not None:
        entry = suspect.entries[0]
        if not entry.count:
            return f"A leg may be missing {say_between(suspect.after_legs)}; nothing here tells how it ran: {cause}."
        return (
            f"A leg of about {entry.azimuth_text} {_short(unit)}, {entry.count_text} {counted} may be missing "
            f"{say_between(suspect.after_legs)}: {cause}."
        )
    if not suspect.entries:
        side = "more" if suspect.turn_deg > 0 else "less"
        whose = ""
        if log.heading.declination_deg is not None:
            in_heading = is_declination_in_heading(log.heading)
            whose = ", in the heading" if in_heading else ", before the readings were written"
        return f"Every azimuth may have been {abs(suspect.turn_deg):g} deg {side}: {cause}{whose}."
    if suspect.kind == "rows_exchanged":
        first, second = suspect.legs
        return f"{say_row(log, first)} and {say_row(log, second)} may have been walked in the other order: {cause}."
    changes = "; ".join(
        f"{say_row(log, entry.leg or 0)} may have been {entry.azimuth_text},{entry.count_text}"
        for entry in suspect.entries
    )
    return f"{changes}: {cause}."


def suspect_table(findings: Findings, most: int = MOST_SUSPECTS) -> Rows:
    """The likeliest suspects as a table, numbered as --accept takes them."""
    log = findings.posterior.log
    heading: tuple[str, ...] = ("no.", "chance", "where", "written", "may have been", "cause")
    rows: list[tuple[str, ...]] = [
        (
            str(number),
            say_percent(suspect.probability),
            _where(suspect),
            "; ".join(say_written(log, leg) for leg in suspect.legs) or _written_reading(suspect, log),
            _instead(suspect, log),
            " or ".join(CAUSE[kind] for kind in suspect.kinds),
        )
        for number, suspect in enumerate(findings.suspects[:most], start=1)
        if number == 1 or suspect.probability > LEAST_SHOWN
    ]
    return heading, rows


def say_accepted(suspect: Suspect, log: TravelLog, path: str) -> list[str]:
    """Say what was written into the corrected log."""
    return [
        f"Written to {path}: {say_suspect(suspect, log)} {say_struck(suspect, log)}; the file you gave is unchanged. Then "
        f"search again: pacewright check {path}.",
    ]


def say_struck(suspect: Suspect, log: TravelLog) -> str:
    """Say where what stood there is kept."""
    in_heading = suspect.reading is not None and suspect.reading.reading == "place"
    in_heading = in_heading or (bool(suspect.turn_deg) and is_declination_in_heading(log.heading))
    where = "in the heading (# was ...)" if in_heading else "in the notes ([was ...])"
    return f"What stood there is struck out {where}"


def say_undone(which: str, path: str) -> list[str]:
    """Say what was put back."""
    of = f"leg {which}" if which.isdecimal() else which
    what = "every struck entry" if which == "all" else f"the last struck entry of {of}"
    return [f"Written to {path} with {what} put back."]


def _say_read(slip: ReadingSlip, log: TravelLog, fineness: Fineness) -> str:
    said = say_reading(slip, log)
    opening = f"{said[0].upper()}{said[1:]}"
    if slip.reading == "station":
        return f"Every reading at {say_seen_from(slip, log)} may be {_too_high(slip, fineness)}"
    if slip.reading == "place" and slip.instead:
        return f"{opening} may be less sure than stated, within {slip.instead.removeprefix('+-')}"
    return f"{opening} may have been {slip.instead}" if slip.instead else f"{opening} may be wrong"


def _too_high(slip: ReadingSlip, fineness: Fineness) -> str:
    """Say by how much a station's readings are off, as finely as the log is read."""
    return f"{say_turn(slip.turn_deg, fineness)} too {'high' if slip.turn_deg < 0 else 'low'}"


def _written_reading(suspect: Suspect, log: TravelLog) -> str:
    """A reading as it stands on the page."""
    slip = suspect.reading
    if slip is None:
        return "-"
    if slip.reading == "back" and slip.leg is not None:
        back = log.legs[slip.leg - 1].find(BackReading)
        return f"[back {back.text}]" if back is not None else "-"
    if slip.reading == "bearing" and slip.row is not None:
        return log.rows[slip.row].cells.azimuth.strip()
    if slip.reading == "place":
        known = [point for point in log.heading.known if point.name == slip.name]
        return f"+-{known[0].sd_m:.10g} m" if known else "-"
    return f"[at {slip.name}]" if slip.reading == "marker" else "-"


def _where(suspect: Suspect) -> str:
    if suspect.after_legs is not None:
        first, last = suspect.after_legs
        return f"after leg {first}" if first == last else f"after one of legs {first} to {last}"
    if suspect.reading is not None:
        one = suspect.reading
        at = f"leg {one.leg}" if one.leg is not None else one.name or f"station {one.station}"
        return f"{one.reading}, {at}"
    if not suspect.legs:
        return "whole log"
    return "leg " + " and ".join(map(str, suspect.legs))


def _instead(suspect: Suspect, log: TravelLog) -> str:
    if suspect.reading is not None:
        read = suspect.reading
        if read.reading == "station":
            side = "less" if read.turn_deg < 0 else "more"
            return f"each {say_turn(read.turn_deg, fineness_of_log(log))} {side}"
        if read.instead is None:
            return "not told"
        return f"[back {read.instead}]" if read.reading == "back" else read.instead
    if not suspect.entries:
        return f"all azimuths {suspect.turn_deg:+g} deg"
    if suspect.after_legs is not None and not suspect.entries[0].count:
        return "not told"
    return "; ".join(f"{entry.azimuth_text},{entry.count_text}" for entry in suspect.entries)


def _short(unit: AzimuthUnit) -> str:
    return "deg" if unit == "degrees" else unit
