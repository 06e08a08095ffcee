"""The way back leg by leg: the log turned round, with its boxings and remarks.

A box that was walked on the right hand lies on the left when coming back; up becomes down; what was
said of a station moves to the leg that now reaches it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthUnit, back_azimuth, format_azimuth
from pacewright.core.frames import walker_frame
from pacewright.core.log_heading import Heading
from pacewright.core.reckoning import box_covariance, reckon, walked_covariance
from pacewright.core.remarks import (
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
from pacewright.core.travel_log import Cells, Leg, Note, Row, Sighting, TravelLog, compose_log, parse_row
from pacewright.core.walker import Slope, Walker
from pacewright.exceptions import ValueComplaint

_OF_STATION = (StationOn, Faces, Altitude)
_TURNED_SLOPE: dict[Slope, Slope] = {"up": "down", "down": "up", "level": "level"}


@dataclass(frozen=True, slots=True)
class _Reached:
    """A station with all that the log says of it: remarks, and the bearings taken there."""

    name: str | None
    remarks: tuple[Remark, ...]
    sightings: tuple[Sighting, ...]


def retrace(log: TravelLog, from_station: int | None = None, to_station: int = 0) -> TravelLog:
    """Give the log of walking back over the same legs.

    Parameters
    ----------
    log
        The log as walked.
    from_station, to_station
        By default from the last station to the start. Where the goal lies further on in the log, the
        legs are walked as they stand.

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
    for number in order:
        reached = stations[number - 1 if back else number]
        rows.append(
            _turned(legs[number - 1], reached, heading) if back else _again(legs[number - 1], heading)
        )
        rows.extend(replace(sighting, raw=None, line=None) for sighting in reached.sightings)
    return compose_log(heading, rows)


def retrace_covariance(
    log: TravelLog, walker: Walker | None, from_station: int, to_station: int
) -> NDArray[np.float64]:
    """Give the covariance of where the walker will stand after retracing, with no marker met between.

    Every leg scatters twice, out and back; what the legs share has cancelled. Shape (2, 2).
    """
    walker = walker or Walker()
    frame = walker_frame(log.heading, walker)
    reckoning = reckon(log, walker, frame)
    low, high = sorted((from_station, to_station))
    total: NDArray[np.float64] = reckoning.own_sum[high] - reckoning.own_sum[low]
    for i in range(low, high):
        azimuth_deg, length = float(reckoning.azimuth_deg[i]), float(reckoning.length[i])
        total = total + walked_covariance(azimuth_deg, length, walker, frame)
        for box in log.legs[i].boxes:
            total = total + box_covariance(azimuth_deg, box.offset * frame.units_per_count, walker, frame)
    return total


def _stations(log: TravelLog) -> list[_Reached]:
    stations = [_Reached(log.heading.start, (), ())]
    for row in log.rows:
        kept = tuple(r for r in row.remarks if isinstance(r, _OF_STATION))
        if isinstance(row, Leg):
            stations.append(_Reached(row.at_name, kept, ()))
            continue
        last = stations[-1]
        seen = (row,) if isinstance(row, Sighting) else ()
        # What a bearing's row says of its station stays in that row.
        said = kept if isinstance(row, Note) else ()
        stations[-1] = _Reached(last.name, (*last.remarks, *said), (*last.sightings, *seen))
    return stations


def _turned(leg: Leg, reached: _Reached, heading: Heading) -> Leg:
    unit = heading.azimuth_unit
    remarks: list[Remark] = [At(reached.name)] if reached.name else []
    remarks += [turned for r in reversed(leg.remarks) if (turned := _turn(r)) is not None]
    if leg.find(BackReading) is not None:
        remarks.append(back_reading(leg.azimuth_deg, unit))
    remarks += reached.remarks
    words = prose(leg.cells.notes)
    notes = [format_remark(r, unit) for r in remarks] + ([f"(out: {words})"] if words else [])
    azimuth = format_azimuth(back_azimuth(leg.azimuth_deg), unit, _decimals(leg, unit))
    return _leg(Cells(azimuth, leg.cells.count, " ".join(notes)), heading)


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
    return 0 if unit == "degrees" and leg.azimuth_deg == round(leg.azimuth_deg) else 2
