"""The way back leg by leg: the log turned round, with its boxings and remarks.

A box that was walked on the right hand lies on the left when coming back; up becomes down; what was
said of a station moves to the leg that now reaches it. Where the walker's pace table tells up from
down, the count back is not the count out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthUnit, back_azimuth, format_azimuth, from_degrees
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.remarks import (
    Altitude,
    At,
    BackReading,
    Box,
    CrossStream,
    Estimated,
    Faces,
    Flat,
    Ground,
    LegSlope,
    NoStream,
    Remark,
    StationOn,
    Steepness,
    prose,
)
from pacewright.core.log.travel_log import Cells, Leg, Note, Row, Sighting, TravelLog, compose_log, parse_row
from pacewright.core.log.written_remarks import back_reading, format_remark
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import class_ratio, walker_frame
from pacewright.core.way.ground_of_way import TURNED_SLOPE
from pacewright.core.way.lead import WalkedLeg, straight_legs
from pacewright.core.way.reckoning import Reckoning, box_covariance, reckon, walked_covariance
from pacewright.exceptions import ValueComplaint

_OF_STATION = (StationOn, Faces, Flat, Steepness, Altitude)
_SECONDS_DECIMALS = 4
"""Decimals of a degree in which a second of arc still shows."""


@dataclass(frozen=True, slots=True)
class _Reached:
    """A station with all that the log says of it: remarks, and the rows of bearings and notes there."""

    name: str | None
    remarks: tuple[Remark, ...]
    rows: tuple[Sighting | Note, ...]


def retrace(
    log: TravelLog,
    from_station: int | None = None,
    to_station: int = 0,
    walker: Walker | None = None,
    *,
    legs: Sequence[WalkedLeg] | None = None,
) -> TravelLog:
    """The log of walking back over the same legs.

    Parameters
    ----------
    log
        The log as walked.
    from_station, to_station
        By default from the last station to the start. Where the goal lies further on in the log, the
        legs are walked as they stand.
    walker
        Whose pace table turns the counts of legs up and down; without one every count stands.
    legs
        The legs to go over instead, from `from_station` on, such as those that leave out a closed loop.

    Raises
    ------
    ValueComplaint
        The two stations are the same.
    """
    stations = _stations(log)
    here = len(log.legs) if from_station is None else from_station
    if here == to_station:
        raise ValueComplaint(
            f"station {here} is both the start and the goal of the way", "Give two stations that differ"
        )
    heading = replace(
        log.heading,
        title=f"Way back over {log.heading.title}" if log.heading.title else "Way back",
        date=None,
        start=stations[here].name,
        assumed=(),
    )
    over = straight_legs(here, to_station) if legs is None else legs
    here = _first_station(over, here)
    rows: list[Row] = []
    if over and over[0].is_back and stations[here].remarks:
        said = " ".join(format_remark(r, heading.azimuth_unit) for r in stations[here].remarks)
        rows.append(Note(Cells("", "", said), stations[here].remarks))
    rows.extend(stations[here].rows)
    for one in over:
        leg, reached = log.legs[one.leg - 1], stations[one.leg - 1 if one.is_back else one.leg]
        rows.append(_turned(leg, reached, heading, walker) if one.is_back else _again(leg, heading))
        rows.extend(reached.rows)
    return compose_log(heading, rows)


def retrace_covariance(
    log: TravelLog,
    walker: Walker | None,
    from_station: int,
    to_station: int,
    *,
    legs: Sequence[WalkedLeg] | None = None,
) -> NDArray[np.float64]:
    """The covariance of where the walker will stand after retracing, with no marker met between.

    Every leg scatters twice, out and back. What the legs share has cancelled, but where the pace table
    tells up from down: each of the two counts is off in its own way. Shape (2, 2).
    """
    walker = walker or Walker()
    frame = walker_frame(log.heading, walker)
    over = straight_legs(from_station, to_station) if legs is None else legs
    out = reckon(log, walker, frame)
    back = reckon(retrace(log, from_station, to_station, walker, legs=over), walker, frame)
    index = np.array([one.leg - 1 for one in over], dtype=np.intp)
    sign = np.array([-1.0 if one.is_back else 1.0 for one in over])
    total: NDArray[np.float64] = out.own[index].sum(axis=0)
    for i in index.tolist():
        azimuth_deg, length = float(out.azimuth_deg[i]), float(out.length[i])
        total = total + walked_covariance(azimuth_deg, length, walker, frame)
        paced = length / log.legs[i].count if log.legs[i].count else frame.units_per_count
        for box in log.legs[i].boxes:
            total = total + box_covariance(azimuth_deg, box.offset * paced, walker, frame)
    for name in {term.name for term in (*out.shared, *back.shared)}:
        total = total + _left_shared(name, out, back, index, sign)
    return total


def _first_station(over: Sequence[WalkedLeg], here: int) -> int:
    """The visit of the marker at which one stands that the first leg begins at."""
    if not over:
        return here
    return over[0].leg if over[0].is_back else over[0].leg - 1


def _left_shared(
    name: str,
    out: Reckoning,
    back: Reckoning,
    index: NDArray[np.intp],
    sign: NDArray[np.float64],
) -> NDArray[np.float64]:
    """What one shared error leaves between where the target is and where the legs back lead."""
    off, variance = np.zeros(2), 0.0
    for term in out.shared:
        if term.name == name:
            off, variance = off + sign @ np.diff(term.lever, axis=0)[index], term.variance
    for term in back.shared:
        if term.name == name:
            off, variance = off - term.lever[-1], term.variance
    left: NDArray[np.float64] = variance * np.outer(off, off)
    return left


def _stations(log: TravelLog) -> list[_Reached]:
    stations = [_Reached(log.heading.start, (), ())]
    for row in log.rows:
        kept = tuple(r for r in row.remarks if isinstance(r, _OF_STATION))
        if isinstance(row, Leg):
            stations.append(_Reached(row.at_name, kept, ()))
            continue
        # What a row of its own says of its station stays in that row.
        last = stations[-1]
        stations[-1] = replace(last, rows=(*last.rows, replace(row, raw=None, line=None)))
    return stations


def _turned(leg: Leg, reached: _Reached, heading: Heading, walker: Walker | None) -> Leg:
    unit = heading.azimuth_unit
    remarks: list[Remark] = [At(reached.name)] if reached.name else []
    remarks += [turned for r in reversed(leg.remarks) if (turned := _turn(r)) is not None]
    words = prose(leg.cells.notes)
    if (read := leg.find(BackReading)) is not None:
        remarks.append(back_reading(leg.azimuth_deg, unit))
        words = f"read back {read.text}; {words}".rstrip("; ")
    remarks += reached.remarks
    count = _count_back(leg, heading, walker)
    if count != leg.cells.count:
        words = f"{leg.cells.count} {heading.count_unit}; {words}".rstrip("; ")
    notes = [format_remark(r, unit) for r in remarks] + ([f"(out: {words})"] if words else [])
    azimuth = format_azimuth(back_azimuth(leg.azimuth_deg), unit, _decimals(leg, unit))
    return _leg(Cells(azimuth, count, " ".join(notes)), heading)


def _count_back(leg: Leg, heading: Heading, walker: Walker | None) -> str:
    if walker is None or not walker.classes or leg.slope is None or heading.count_unit == "metres":
        return leg.cells.count
    out = walker.pace_class(leg.ground, leg.slope)
    back = walker.pace_class(leg.ground, TURNED_SLOPE[leg.slope])
    if out == back:
        return leg.cells.count
    out_ratio, back_ratio = (1.0 if one is None else class_ratio(one, walker) for one in (out, back))
    return str(whole_count(leg.count * out_ratio / back_ratio))


def _turn(remark: Remark) -> Remark | None:
    match remark:
        case Box(side, offset, text):
            return Box("left" if side == "right" else "right", offset, text)
        case LegSlope(slope):
            return LegSlope(TURNED_SLOPE[slope])
        case Estimated() | Ground() | CrossStream() | NoStream():
            return remark
        case _:
            return None


def _again(leg: Leg, heading: Heading) -> Leg:
    return _leg(leg.cells, heading)


def _leg(cells: Cells, heading: Heading) -> Leg:
    row = parse_row(cells, heading)
    assert isinstance(row, Leg)
    return row


def _decimals(leg: Leg, unit: AzimuthUnit) -> int:
    # As fine as the pencil wrote it, and fine enough that turning it round loses nothing.
    written = leg.cells.azimuth.strip().replace(",", ".")
    if written.replace(".", "", 1).isdecimal():
        return len(written.partition(".")[2])
    reading = from_degrees(leg.azimuth_deg, unit)
    exact = (
        decimals for decimals in range(_SECONDS_DECIMALS) if abs(round(reading, decimals) - reading) < 1e-9
    )
    return next(exact, _SECONDS_DECIMALS)
