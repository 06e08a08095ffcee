"""Stations that pull the compass, and what was read there put right: in plain sentences and a table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from pacewright.answers.pulled_stations import PulledStations
from pacewright.core.bearings.included_angles import IncludedAngles
from pacewright.core.bearings.local_attraction import Line, LocalAttraction
from pacewright.core.compass import from_degrees
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import Leg, Note, Row, Sighting
from pacewright.core.log.written_azimuths import Fineness, say_turn

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

_SHORT: Final = {"degrees": "deg", "mils": "mils", "gon": "gon"}
_DEGREES: Final = Fineness("degrees")
_MOST_LINES: Final = 6


def say_pulled(found: PulledStations) -> list[str]:
    """Say which stations of a log pull the compass, and what the angles of its loop come to."""
    said = [] if found.attraction is None else say_local_attraction(found.attraction, found.fineness)
    return said if found.angles is None else [*said, *say_included_angles(found.angles, found.fineness)]


def say_local_attraction(found: LocalAttraction, fineness: Fineness = _DEGREES) -> list[str]:
    """Say which stations pulled the compass, by how much, and which were taken as clean.

    Parameters
    ----------
    found
        Of the lines.
    fineness
        How finely they were read: corrections are given as finely.
    """
    said = [_say_clean(found)]
    for line in found.disagreeing_clean:
        off = say_turn(line.disagreement_deg, fineness)
        said.append(
            f"Along {_line(line)} they differ by {off}, though other lines hold both ends to be clean: one of the "
            "two was misread."
        )
    if found.set_aside:
        said.append(f"Left aside, for one reading is wrong by itself: {_lines(found.set_aside)}.")
    pulled = [pull for pull in found.pulls if pull.pulled]
    for pull in pulled:
        by = say_turn(pull.correction_deg, fineness)
        way, mend = ("high", "take off") if pull.correction_deg < 0 else ("low", "add")
        size = from_degrees(pull.correction_sd_deg, fineness.unit)
        sure = f" (give or take {size:.1f})" if pull.correction_sd_deg > 0 else ""
        said.append(
            f"The compass was pulled at {pull.station}: it read {by} too {way}{sure}. For every bearing read at "
            f"{pull.station}, and for no other, {mend} {by}."
        )
    if not pulled:
        said.append("No station pulled the compass by more than ordinary scatter.")
    for group in found.rivals:
        said.append(
            f"Among themselves {_and(group)} agree as well: which of the two groups is clean is not sure."
        )
    if found.unreached:
        said.append(f"Of {_and(found.unreached)} nothing can be said: no line joins them to a clean station.")
    return said


def _say_clean(found: LocalAttraction) -> str:
    if found.assumed:
        held = [pull.station for pull in found.pulls if pull.held]
        return (
            f"No line reads the same from both ends. For want of a clean station, the line {held[0]} to "
            f"{held[1]}, which disagrees least, was held at the mean of its readings; all else follows from it."
        )
    agreeing = found.agreeing
    if len(agreeing) == len(found.lines) and not found.set_aside and len(agreeing) > 1:
        return f"Forward and back readings agree on all {len(agreeing)} lines read both ways: taken as clean."
    return f"Forward and back readings agree along {_lines(agreeing)}: taken as clean."


def say_included_angles(angles: IncludedAngles, fineness: Fineness = _DEGREES) -> list[str]:
    """Say what the angles of a loop add up to."""
    unit, short = fineness.unit, _SHORT[fineness.unit]
    expected = f"{from_degrees(angles.expected_deg, unit):.0f}"
    off_deg = angles.sum_deg - angles.expected_deg
    if abs(off_deg) < 1e-9:
        return [f"The angles of the loop add up to {expected} {short}, as they should."]
    return [
        f"The angles of the loop add up to {from_degrees(angles.sum_deg, unit):.1f} {short} and should to {expected}: "
        f"{from_degrees(abs(off_deg), unit):.1f} {short} too {'much' if off_deg > 0 else 'little'}, "
        f"{from_degrees(abs(angles.correction_deg), unit):.2f} {short} an angle."
    ]


def corrected_table(found: PulledStations) -> Rows | None:
    """Every reading that a pulled station calls to be corrected, beside what it ought to have been."""
    if found.corrected is None:
        return None
    heading = ("row", "azimuth", "corrected", "back", "corrected")
    rows: list[tuple[str, ...]] = []
    leg = 0
    for row, new in zip(found.log.rows, found.corrected.rows, strict=True):
        leg += isinstance(row, Leg)
        if row.cells == new.cells or isinstance(row, Note):
            continue
        called = f"bearing to {row.name}" if isinstance(row, Sighting) else f"leg {leg}"
        rows.append((called, *_pair(_azimuth(row), _azimuth(new)), *_pair(_back(row), _back(new))))
    return heading, rows


def _pair(read: str, corrected: str) -> tuple[str, str]:
    return (read, corrected if corrected != read else read and "as read")


def _azimuth(row: Row) -> str:
    return row.cells.azimuth.strip()


def _back(row: Row) -> str:
    back = row.find(BackReading)
    return back.text if back is not None else ""


def _line(line: Line) -> str:
    return f"{line.first} to {line.last}"


def _lines(lines: Iterable[Line]) -> str:
    named = [_line(line) for line in lines]
    left = len(named) - _MOST_LINES
    return _and([*named[:_MOST_LINES], f"{left} more"] if left > 0 else named)


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
