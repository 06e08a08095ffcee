"""The way back leg by leg: the log turned round, with its boxings and remarks.

A box that was walked on the right hand lies on the left when coming back; up becomes down; what was
said of a station moves to the leg that now reaches it. Where the walker's pace table tells up from
down, the count back is not the count out.
"""

from __future__ import annotations

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
    Ground,
    LegSlope,
    Remark,
    StationOn,
    back_reading,
    format_remark,
    prose,
)
from pacewright.core.log.travel_log import Cells, Leg, Note, Row, Sighting, TravelLog, compose_log, parse_row
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Slope, Walker
from pacewright.core.way.frames import class_ratio, walker_frame
from pacewright.core.way.reckoning import Reckoning, box_covariance, reckon, walked_covariance
from pacewright.exceptions import ValueComplaint

_OF_STATION = (StationOn, Faces, Altitude)
_SECONDS_DECIMALS = 4
"""Decimals of a degree in which a second of arc still shows."""
_TURNED_SLOPE: dict[Slope, Slope] = {"up": "down", "down": "up", "level": "level"}


@dataclass(frozen=True, slots=True)
class _Reached:
    """A station with all that the log says of it: remarks, and the rows of bearings and notes there."""

    name: str | None
    remarks: tuple[Remark, ...]
    rows: tuple[Sighting | Note, ...]


def retrace(
    log: TravelLog, from_station: int | None = None, to_station: int = 0, walker: Walker | None = None
) -> TravelLog:
    """Give the log of walking back over the same legs.

    Parameters
    ----------
    log
        The log as walked.
    from_station, to_station
        By default from the last station to the start. Where the goal lies further on in the log, the
        legs are walked as they stand.
    walker
        Whose pace table turns the counts of legs up and down; without one every count stands.

    Raises
    ------
    ValueComplaint
        The two stations are the same.
    """
    legs, stations = log.legs, _stations(log)
    here = len(legs) if from_station is None else from_station
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
    back = here > to_station
    order = range(here, to_station, -1) if back else range(here + 1, to_station + 1)
    rows: list[Row] = []
    if back and stations[here].remarks:
        said = " ".join(format_remark(r, heading.azimuth_unit) for r in stations[here].remarks)
        rows.append(Note(Cells("", "", said), stations[here].remarks))
    rows.extend(stations[here].rows)
    for number in order:
        leg, reached = legs[number - 1], stations[number - 1 if back else number]
        rows.append(_turned(leg, reached, heading, walker) if back else _again(leg, heading))
        rows.extend(reached.rows)
    return compose_log(heading, rows)


def retrace_covariance(
    log: TravelLog, walker: Walker | None, from_station: int, to_station: int
) -> NDArray[np.float64]:
    """Give the covariance of where the walker will stand after retracing, with no marker met between.

    Every leg scatters twice, out and back. What the legs share has cancelled, but where the pace table
    tells up from down: each of the two counts is off in its own way. Shape (2, 2).
    """
    walker = walker or Walker()
    frame = walker_frame(log.heading, walker)
    out = reckon(log, walker, frame)
    back = reckon(retrace(log, from_station, to_station, walker), walker, frame)
    low, high = sorted((from_station, to_station))
    total: NDArray[np.float64] = out.own_sum[high] - out.own_sum[low]
    for i in range(low, high):
        azimuth_deg, length = float(out.azimuth_deg[i]), float(out.length[i])
        total = total + walked_covariance(azimuth_deg, length, walker, frame)
        paced = length / log.legs[i].count if log.legs[i].count else frame.units_per_count
        for box in log.legs[i].boxes:
            total = total + box_covariance(azimuth_deg, box.offset * paced, walker, frame)
    for name in {term.name for term in (*out.shared, *back.shared)}:
        total = total + _left_shared(name, out, back, from_station, to_station)
    return total


def _left_shared(
    name: str, out: Reckoning, back: Reckoning, from_station: int, to_station: int
) -> NDArray[np.float64]:
    """Give what one shared error leaves between where the target is and where the legs back lead."""
    off, variance = np.zeros(2), 0.0
    for term in out.shared:
        if term.name == name:
            off, variance = off + term.lever[to_station] - term.lever[from_station], term.variance
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
    back = walker.pace_class(leg.ground, _TURNED_SLOPE[leg.slope])
    if out == back:
        return leg.cells.count
    out_ratio, back_ratio = (1.0 if one is None else class_ratio(one, walker) for one in (out, back))
    return str(whole_count(leg.count * out_ratio / back_ratio))


def _turn(remark: Remark) -> Remark | None:
    match remark:
        case Box(side, offset, text):
            return Box("left" if side == "right" else "right", offset, text)
        case LegSlope(slope):
            return LegSlope(_TURNED_SLOPE[slope])
        case Estimated() | Ground() | CrossStream():
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
