"""A reading put right: struck out in its row or in the heading, and what it ought to be beside it."""

from __future__ import annotations

import re

from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import Leg, Row, Sighting, TravelLog, compose_log
from pacewright.core.log.written_azimuths import write_like
from pacewright.core.slips.reading_slips import ReadingSlip
from pacewright.core.slips.struck_heading import strike_place
from pacewright.core.slips.struck_rows import (
    row_of_leg,
    strike,
    strike_back,
    strike_bearing,
    strike_marker,
    with_row,
)


def strike_reading(log: TravelLog, slip: ReadingSlip) -> TravelLog:
    """The log without a slip in a reading.

    A back azimuth or a bearing is written as it ought to be, or struck out where nothing tells; a known
    place is struck out or taken as less sure; a marker is struck out; all that was read at a station that
    pulled the compass is turned.
    """
    match slip.reading:
        case "back":
            place = row_of_leg(log, slip.leg or 0)
            return with_row(log, place, strike_back(log, log.rows[place], slip.instead))
        case "bearing":
            place = slip.row or 0
            row = log.rows[place]
            struck = strike(log, row, slip.instead, "") if slip.instead else strike_bearing(log, row)
            return with_row(log, place, struck)
        case "place":
            doubt = re.search(r"[\d.]+", slip.instead) if slip.instead else None
            return strike_place(log, slip.name or "", float(doubt[0]) if doubt else None)
        case "marker":
            place = row_of_leg(log, slip.station or 0)
            return with_row(log, place, strike_marker(log, log.rows[place]))
        case _:
            return turn_station(log, slip.station or 0, slip.turn_deg)


def turn_station(log: TravelLog, station: int, by_deg: float) -> TravelLog:
    """The log with all that was read at a station turned, each to the fineness of its reading.

    Parameters
    ----------
    log
        The log.
    station
        Its number; a marker met again is the same station.
    by_deg
        What is added to the azimuth of every leg that sets out there, the back reading of every leg that
        ends there, and every bearing taken there.
    """
    names = log.station_names()
    visits = {k for k, name in enumerate(names) if k == station or (name and name == names[station])}
    return compose_log(log.heading, _turned_rows(log, visits, by_deg), log.page)


def turn_everything(log: TravelLog, by_deg: float) -> TravelLog:
    """The log with every azimuth, back reading and bearing turned, each as finely as it was read."""
    everywhere = set(range(len(log.legs) + 1))
    return compose_log(log.heading, _turned_rows(log, everywhere, by_deg), log.page)


def _turned_rows(log: TravelLog, visits: set[int], by_deg: float) -> list[Row]:
    """The rows with what was read at some stations turned."""
    found: list[Row] = []
    reached = 0
    for row in log.rows:
        new: Row = row
        if isinstance(row, Leg):
            reached += 1
            if reached in visits and row.find(BackReading) is not None:
                new = _with_back_turned(log, new, by_deg)
            if reached - 1 in visits:
                new = _with_azimuth_turned(log, new, row.azimuth_deg + by_deg)
        elif isinstance(row, Sighting) and reached in visits:
            new = _with_azimuth_turned(log, new, row.azimuth_deg + by_deg)
        found.append(new)
    return found


def _with_azimuth_turned(log: TravelLog, row: Row, azimuth_deg: float) -> Row:
    text = write_like(row.cells.azimuth, azimuth_deg, log.heading.azimuth_unit)
    return strike(log, row, text, row.cells.count.strip())


def _with_back_turned(log: TravelLog, row: Row, by_deg: float) -> Row:
    back = row.find(BackReading)
    if back is None:
        return row
    text = write_like(back.text, back.azimuth_deg + by_deg, log.heading.azimuth_unit)
    return row if text == back.text else strike_back(log, row, text)
