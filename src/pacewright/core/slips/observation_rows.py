"""Observations as rows that are linear in the legs, ready to be laid against many trial logs at once.

A row says what a part of the sum of some legs ought to be: a marker met again, a known place, a
bearing as the line that the seen thing and the station lie on, a back azimuth as the azimuth of its
leg.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.way.observations import Bearing, Observations

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class BearingRows:
    """What the rows of bearings need beyond the others; b of them.

    Attributes
    ----------
    azimuth_rad, sd_rad
        As read, and their scatter, shape (b,).
    landmark
        Which landmark each looks at, shape (b,); -1 for a station of the log.
    place
        East and north of every landmark, shape (landmarks, 2); not a number where it is not known.
    place_sd
        How well each place is known, shape (landmarks,).
    turns
        Whether a landmark's place stands still when the azimuths of a log are turned, shape (landmarks,).
    """

    azimuth_rad: Array
    sd_rad: Array
    landmark: Ints
    place: Array
    place_sd: Array
    turns: NDArray[np.bool_]

    @property
    def size(self) -> int:
        """The number of bearings."""
        return int(self.azimuth_rad.size)


@dataclass(frozen=True, slots=True, eq=False)
class ObservationRows:
    """All observations of a log, m rows over n legs; those of bearings stand last.

    Attributes
    ----------
    sign
        How each leg enters each row, 1, -1 or 0, shape (m, n + 1); the last column is no leg.
    part
        Which part of a leg (east, north, azimuth) each row takes, shape (m, 3).
    target
        What the sum ought to be, shape (m,); bearings are completed once their landmark is placed.
    target_aside
        What a turn of the known places adds to it, per sine of the turn, shape (m,).
    stands
        Which rows hold a known place that stands still when the azimuths of a log are turned, (m,).
    noise
        Covariance of the observations' own scatter without that of bearings, shape (m, m).
    bearings
        The rest of the bearing rows.
    """

    sign: Array
    part: Array
    target: Array
    target_aside: Array
    stands: NDArray[np.bool_]
    noise: Array
    bearings: BearingRows

    @property
    def size(self) -> int:
        """The number of rows."""
        return int(self.target.size)

    @property
    def controls(self) -> int:
        """The number of rows that are no bearings; they come first."""
        return self.size - self.bearings.size

    @property
    def is_angle(self) -> NDArray[np.bool_]:
        """Which rows are azimuths, shape (m,)."""
        angle: NDArray[np.bool_] = self.part[:, 2] != 0
        return angle


def observation_rows(log: TravelLog, observations: Observations, legs: int) -> ObservationRows:
    """Lay out the observations of a log as rows.

    Parameters
    ----------
    log
        The log they belong to.
    observations
        What it holds beside its legs.
    legs
        How many legs it has.
    """
    signs: list[Array] = []
    parts: list[tuple[float, float, float]] = []
    target: list[float] = []
    aside: list[float] = []
    stands: list[bool] = []
    variance: list[float] = []
    turning = _places_that_stand(log)
    for tie in observations.ties:
        sign = _reaches(tie.second, legs) - _reaches(tie.first, legs)
        signs += [sign, sign]
        parts += [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0)]
        target += [0.0, 0.0]
        aside += [0.0, 0.0]
        stands += [False, False]
        variance += [tie.sd**2] * 2
    for fix in observations.fixes:
        signs += [_reaches(fix.station, legs)] * 2
        parts += [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0)]
        target += [fix.east, fix.north]
        aside += [-fix.north, fix.east]
        stands += [fix.name in turning] * 2
        variance += [fix.sd**2] * 2
    for back in observations.back_azimuths:
        only = np.zeros(legs + 1)
        only[back.leg - 1] = 1.0
        signs.append(only)
        parts.append((0.0, 0.0, 1.0))
        target.append(math.radians(back.azimuth_deg + 180.0))
        aside.append(0.0)
        stands.append(False)
        variance.append(math.radians(back.sd_deg) ** 2)
    for bearing in observations.bearings:
        azimuth_rad = math.radians(bearing.azimuth_deg)
        sign = _reaches(bearing.station, legs)
        if bearing.target_station is not None:
            sign = sign - _reaches(bearing.target_station, legs)
        signs.append(sign)
        parts.append((math.cos(azimuth_rad), -math.sin(azimuth_rad), 0.0))
        target.append(0.0)
        aside.append(0.0)
        stands.append(False)
        variance.append(0.0)
    return ObservationRows(
        sign=np.array(signs).reshape(len(signs), legs + 1),
        part=np.array(parts).reshape(len(parts), 3),
        target=np.array(target),
        target_aside=np.array(aside),
        stands=np.array(stands, dtype=bool),
        noise=np.diag(variance) if variance else np.zeros((0, 0)),
        bearings=_bearing_rows(observations.bearings, turning),
    )


def station_signs(stations: Ints, legs: int) -> Array:
    """Give how the legs enter the place of each station, shape (stations, n + 1)."""
    return np.array([_reaches(int(station), legs) for station in stations]).reshape(-1, legs + 1)


def _reaches(station: int, legs: int) -> Array:
    sign = np.zeros(legs + 1)
    sign[:station] = 1.0
    return sign


def _places_that_stand(log: TravelLog) -> frozenset[str]:
    """Give the known points that do not turn with the azimuths when a declination is mirrored.

    A local place is along the log's own north: where the heading turns that north by a declination,
    the local places turn with it.
    """
    follows = log.heading.declination_deg is not None
    return frozenset(p.name for p in log.heading.known if not (follows and p.local_m is not None))


def _bearing_rows(bearings: tuple[Bearing, ...], turning: frozenset[str]) -> BearingRows:
    names = list(dict.fromkeys(b.name for b in bearings if b.target_station is None))
    known = {b.name: b.landmark for b in bearings}
    places = [known[name] or (math.nan, math.nan, 0.0) for name in names]
    return BearingRows(
        azimuth_rad=np.deg2rad([b.azimuth_deg for b in bearings]).reshape(-1),
        sd_rad=np.deg2rad([b.sd_deg for b in bearings]).reshape(-1),
        landmark=np.array(
            [names.index(b.name) if b.target_station is None else -1 for b in bearings], dtype=np.int64
        ),
        place=np.array([place[:2] for place in places]).reshape(-1, 2),
        place_sd=np.array([place[2] for place in places]).reshape(-1),
        turns=np.array([name in turning for name in names], dtype=bool),
    )
