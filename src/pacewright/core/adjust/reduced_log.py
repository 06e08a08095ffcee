"""A log made ready for a textbook rule: taped slopes made level, fore and back readings made one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from pacewright.core.compass import back_azimuth, mean_azimuth
from pacewright.core.log.remarks import BackReading, Steepness
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.exceptions import MissingComplaint


def level_lengths(log: TravelLog) -> TravelLog:
    """The log with every leg that has `[slope 12 deg]` or `[slope 20 %]` reduced to its level length.

    The length is taken as measured along that slope: level length = length x cos(slope).

    Raises
    ------
    MissingComplaint
        No leg has a slope.

    References
    ----------
    Horizontal distance from slope distance: NAVEDTRA 14069, ch. 12 (from memory); common practice.
    """
    if not any(leg.find(Steepness) for leg in log.legs):
        raise MissingComplaint(
            "no leg of this log says its slope", "Write [slope 12 deg] or [slope 20 %] in the row of each leg"
        )
    return _changed(log, _level)


def mean_of_both_ends(log: TravelLog) -> TravelLog:
    """The log with every leg that has `[back 126]` on the mean of both readings, which then is used up.

    Raises
    ------
    MissingComplaint
        No leg was read backward.

    References
    ----------
    Common practice where no iron pulls the compass.
    """
    if not any(leg.find(BackReading) for leg in log.legs):
        raise MissingComplaint(
            "no leg of this log was read backward", "Write [back 126] in the row of each leg"
        )
    return _changed(log, _mean)


def _changed(log: TravelLog, change: Callable[[Leg], Leg]) -> TravelLog:
    rows = tuple(change(row) if isinstance(row, Leg) else row for row in log.rows)
    return replace(log, rows=rows)


def _level(leg: Leg) -> Leg:
    slope = leg.find(Steepness)
    if slope is None:
        return leg
    return replace(leg, count=leg.count * math.cos(math.atan(slope.slope_pct / 100.0)))


def _mean(leg: Leg) -> Leg:
    back = leg.find(BackReading)
    if back is None:
        return leg
    kept = tuple(remark for remark in leg.remarks if remark is not back)
    both = mean_azimuth([leg.azimuth_deg, back_azimuth(back.azimuth_deg)])
    return replace(leg, azimuth_deg=both, remarks=kept)
