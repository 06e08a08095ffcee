"""Times in a log beside those of a track: the walker's clock shows local time, the track Universal Time."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.remarks import Time
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.ground.track_path import TrackPath

Array = NDArray[np.float64]

_DAY_S: Final = 86_400
_QUARTER_S: Final = 900
"""Clocks of the world differ from Universal Time by whole quarters of an hour."""
_SLACK_S: Final = 300.0
_SPEED_M_S: Final = 1.5
_CLOCK_SD_S: Final = 90.0


def station_times(log: TravelLog) -> Array:
    """The time noted at every station, seconds after the first midnight; NaN where there is none.

    A time earlier than the one before is of the next day.
    """
    noted = np.full(len(log.legs) + 1, np.nan)
    station, latest = 0, -1.0
    for row in log.rows:
        station += type(row) is Leg
        time = row.find(Time)
        if time is None or np.isfinite(noted[station]):
            continue
        seconds = 60.0 * time.minutes
        while seconds < latest:
            seconds += _DAY_S
        noted[station] = latest = seconds
    return noted


def times_on_track(log: TravelLog, path: TrackPath, place: Array) -> Array:
    """The stations' times in the track's time; all NaN where the log tells too little.

    Parameters
    ----------
    log, path
        The log, and a track every point of which has its time.
    place
        The stations as reckoned, east and north from the start, shape (n + 1, 2): of the quarters of an
        hour by which the two clocks may differ, that one is taken under which the track fits best.
    """
    noted = station_times(log)
    timed = np.flatnonzero(np.isfinite(noted))
    unknown = np.full(len(noted), np.nan)
    if timed.size < 2:
        return unknown
    first, last = float(path.time_s[0]), float(path.time_s[-1])
    midnight = first - first % _DAY_S
    shifts = midnight + _QUARTER_S * np.arange(-_DAY_S // _QUARTER_S * 2, _DAY_S // _QUARTER_S * 2 + 1)
    begins, ends = noted[timed[0]] + shifts, noted[timed[-1]] + shifts
    shifts = shifts[(begins >= first - _SLACK_S) & (ends <= last + _SLACK_S)]
    if not shifts.size:
        return unknown
    walked = np.diff(place[timed], axis=0)
    spread2 = 2.0 * (_SPEED_M_S * _CLOCK_SD_S) ** 2 + 0.02 * (walked**2).sum(axis=1)
    misfits = []
    for shift in shifts:
        tracked = np.diff(path.place_at_time(noted[timed] + shift), axis=0)
        misfits.append(float((((tracked - walked) ** 2).sum(axis=1) / spread2).sum()))
    found: Array = noted + shifts[int(np.argmin(misfits))]
    return found
