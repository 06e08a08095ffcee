"""Observations as rows that are linear in the legs, ready to be held against many trial logs at once.

A pair of rows (east and north) says where the sum of some legs ought to end: a marker met again, a known
place, the station of a bearing. A bearing itself is one row: how far its station lies off the line to the
thing seen. A back azimuth says what the azimuth of its leg is, and stands beside that leg.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.slips.slips import is_declination_in_heading
from pacewright.core.way.observations import BackAzimuth, Bearing, Observations

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

    @property
    def is_known(self) -> NDArray[np.bool_]:
        """Which bearings look at a landmark of known place, shape (b,)."""
        if not len(self.place):
            return np.zeros(self.size, dtype=bool)
        known: NDArray[np.bool_] = (self.landmark >= 0) & ~np.isnan(self.place[self.landmark]).any(axis=1)
        return known


@dataclass(frozen=True, slots=True, eq=False)
class BackRows:
    """What was read backward along legs, n of them, and one more that is no leg.

    Attributes
    ----------
    azimuth_rad
        What the reading says the leg's azimuth is, shape (n + 1,); 0 where none was taken.
    variance
        Of the reading, in radians squared, shape (n + 1,); infinite where none was taken.
    """

    azimuth_rad: Array
    variance: Array

    @property
    def legs(self) -> Ints:
        """The legs that were read backward, from 0."""
        return np.flatnonzero(np.isfinite(self.variance))


@dataclass(frozen=True, slots=True, eq=False)
class ObservationRows:
    """All observations of a log of n legs: p pairs of rows, b bearings, back azimuths.

    Attributes
    ----------
    pair_sign
        How each leg enters each pair and then the station of each bearing, 1, -1 or 0, shape
        (p + b, n + 1); the last column is no leg.
    target
        Where the sum of a pair ought to end, shape (p, 2).
    stands
        Which pairs hold a known place that stands still when the azimuths of a log are turned, (p,).
    place_variance
        Covariance of each coordinate of what pairs and bearings were placed by, shape (p + b, p + b).
    bearings, backs
        The rest.
    """

    pair_sign: Array
    target: Array
    stands: NDArray[np.bool_]
    place_variance: Array
    bearings: BearingRows
    backs: BackRows

    @property
    def pairs(self) -> int:
        """The number of pairs that are no bearings."""
        return int(self.target.shape[0])

    @property
    def controls(self) -> int:
        """The number of rows that are no bearings; they come first."""
        return 2 * self.pairs

    @property
    def size(self) -> int:
        """The number of rows."""
        return self.controls + self.bearings.size

    @property
    def is_empty(self) -> bool:
        """True where nothing at all was observed beside the legs."""
        return self.size == 0 and not np.isfinite(self.backs.variance).any()

    @property
    def sign(self) -> Array:
        """How each leg enters each row, shape (m, n + 1)."""
        return np.concatenate(
            [np.repeat(self.pair_sign[: self.pairs], 2, axis=0), self.pair_sign[self.pairs :]]
        )

    @property
    def part(self) -> Array:
        """Which part of a leg (east, north) each row takes, as bearings were read, shape (m, 2)."""
        azimuth_rad = self.bearings.azimuth_rad
        across = np.stack([np.cos(azimuth_rad), -np.sin(azimuth_rad)], axis=1)
        return np.concatenate([np.tile(np.eye(2), (self.pairs, 1)), across])


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
    turning = _places_that_stand(log)
    bearings = _bearing_rows(observations.bearings, turning)
    origin = _reaches(observations.origin_station, legs)
    ties, fixes = observations.ties, observations.fixes
    signs = [
        *(_reaches(tie.second, legs) - _reaches(tie.first, legs) for tie in ties),
        *(_reaches(fix.station, legs) - origin for fix in fixes),
        *(_seen_sign(bearing, origin, legs) for bearing in observations.bearings),
    ]
    from_origin = np.concatenate([np.zeros(len(ties)), np.ones(len(fixes)), bearings.is_known])
    variance = np.diag(
        [*(tie.sd**2 for tie in ties), *(fix.sd**2 for fix in fixes), *[0.0] * bearings.size]
    ) + observations.origin_sd**2 * np.outer(from_origin, from_origin)
    pairs = len(ties) + len(fixes)
    for number, sd in enumerate(bearings.place_sd):
        seen = pairs + np.flatnonzero(bearings.landmark == number)
        variance[np.ix_(seen, seen)] += sd**2
    return ObservationRows(
        pair_sign=np.array(signs).reshape(len(signs), legs + 1),
        target=np.array([*[(0.0, 0.0)] * len(ties), *((fix.east, fix.north) for fix in fixes)]).reshape(
            -1, 2
        ),
        stands=np.array([*[False] * len(ties), *(fix.name in turning for fix in fixes)], dtype=bool),
        place_variance=variance,
        bearings=bearings,
        backs=_back_rows(observations.back_azimuths, legs),
    )


def station_signs(stations: Ints, legs: int) -> Array:
    """How the legs enter the place of each station, shape (stations, n + 1)."""
    return np.array([_reaches(int(station), legs) for station in stations]).reshape(-1, legs + 1)


def _reaches(station: int, legs: int) -> Array:
    sign = np.zeros(legs + 1)
    sign[:station] = 1.0
    return sign


def _seen_sign(bearing: Bearing, origin: Array, legs: int) -> Array:
    """How the legs enter the station of a bearing, from what its target is counted from."""
    station = _reaches(bearing.station, legs)
    if bearing.target_station is not None:
        return station - _reaches(bearing.target_station, legs)
    return station - origin if bearing.landmark is not None else station


def _places_that_stand(log: TravelLog) -> frozenset[str]:
    """The known points that do not turn with the azimuths when a declination is mirrored.

    A local place is along the log's own north: where the heading turns that north by a declination,
    the local places turn with it. In a log of grid or true azimuths the walker turned the readings, and
    the north of the places is the map's.
    """
    heading = log.heading
    follows = is_declination_in_heading(heading)
    return frozenset(p.name for p in heading.known if not (follows and p.local_m is not None))


def _back_rows(back_azimuths: tuple[BackAzimuth, ...], legs: int) -> BackRows:
    azimuth_rad, variance = np.zeros(legs + 1), np.full(legs + 1, math.inf)
    for back in back_azimuths:
        azimuth_rad[back.leg - 1] = math.radians(back.azimuth_deg + 180.0)
        variance[back.leg - 1] = math.radians(back.sd_deg) ** 2
    return BackRows(azimuth_rad, variance)


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
