"""Fix a thing seen from two or more stations: place, how sure, and what the crossing is worth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.bearings.sightings import (
    CONTRADICTION_BELOW,
    OPEN_BELOW_SD,
    Fit,
    Worth,
    best_crossing_deg,
    chance_of,
    check_bearings,
    cross_in_pairs,
    half_turn,
    leave_one_out,
    look_along,
    settle_ahead,
    worth_of_crossing,
)
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.way.regions import Region, reach_of
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Intersection:
    """The place of something seen from two or more stations.

    Attributes
    ----------
    place
        East and north, shape (2,), in the unit of the stations.
    covariance
        Shape (2, 2); the stations' own scatter and what the bearings have in common are in it.
    probability
        The share of cases that the region holds.
    crossing_deg
        The angle nearest to a right one at which two of the lines of sight cross.
    worth
        What that crossing is worth.
    is_open
        True where the lines cross at so small an angle that the region has no far end to speak of.
    remains_deg
        Direction from each station to the place less the bearing as read, shape (n,).
    p_value
        How often scatter alone leaves as much over; None with two bearings, which always meet.
    odd_one
        Where the bearings contradict each other and leaving out exactly one brings the rest into
        line: its index.
    without_odd_one
        The place that the rest gives.
    """

    place: Array
    covariance: Array
    probability: float
    crossing_deg: float
    worth: Worth
    is_open: bool
    remains_deg: Array
    p_value: float | None
    odd_one: int | None = None
    without_odd_one: Intersection | None = None

    @property
    def region(self) -> Region:
        """The region of the place, an ellipse of first order."""
        return Region(self.place, self.covariance, self.probability, "ellipse", self.place)

    @property
    def contradicts(self) -> bool:
        """True where the bearings do not meet within their scatter."""
        return self.p_value is not None and self.p_value < CONTRADICTION_BELOW


@dataclass(frozen=True, slots=True, eq=False)
class Rays:
    """Bearings to one thing, with the stations they were taken from.

    Attributes
    ----------
    station, azimuth_deg, sd_deg
        Shapes (n, 2), (n,) and (n,).
    station_covariance
        Of all stations together, shape (2 n, 2 n).
    bias_sd_deg
        Standard deviation of what turns all bearings alike.
    bias_lever
        East and north that one radian of the same bias moves every station, shape (n, 2); its variance
        is already in the covariance.
    """

    station: Array
    azimuth_deg: Array
    sd_deg: Array
    station_covariance: Array
    bias_sd_deg: float
    bias_lever: Array

    def keep(self, kept: Sequence[int]) -> Rays:
        """Some of the bearings."""
        both = np.ravel([[2 * k, 2 * k + 1] for k in kept])
        rows = list(kept)
        return Rays(
            self.station[rows],
            self.azimuth_deg[rows],
            self.sd_deg[rows],
            self.station_covariance[np.ix_(both, both)],
            self.bias_sd_deg,
            self.bias_lever[rows],
        )

    def look(self, place: Array) -> tuple[Array, Array, Array]:
        """What the bearings leave over at a place, how it turns with it, and its covariance."""
        n = len(self.azimuth_deg)
        seen_rad, turning = look_along(self.station, place)
        by_station = np.zeros((n, 2 * n))
        for i in range(n):
            by_station[i, 2 * i : 2 * i + 2] = turning[i]
        # The bias turns the bearing and has moved the station it was taken from.
        moved = np.einsum("ni,ni->n", turning, self.bias_lever)
        common = math.radians(self.bias_sd_deg) ** 2 * (1.0 + moved[:, None] + moved[None, :])
        own = np.diag(np.deg2rad(self.sd_deg) ** 2)
        noise = own + by_station @ self.station_covariance @ by_station.T + common
        return half_turn(seen_rad - np.deg2rad(self.azimuth_deg)), turning, noise


def intersect(
    stations: ArrayLike,
    azimuth_deg: ArrayLike,
    sd_deg: ArrayLike,
    *,
    station_covariance: ArrayLike | None = None,
    bias_sd_deg: float = 0.0,
    bias_lever: ArrayLike | None = None,
    probability: float = DEFAULT_PROBABILITY,
) -> Intersection:
    """The place of something from the bearings that two or more stations took of it.

    Parameters
    ----------
    stations, azimuth_deg, sd_deg
        Shapes (n, 2), (n,) and (n,) or one for all; n is 2 or more.
    station_covariance, bias_sd_deg, bias_lever
        As in `Rays`; by default the stations are exact and the bearings have nothing in common.
    probability
        The share of cases that the region holds.

    Raises
    ------
    MissingComplaint
        There is one bearing, or all were taken at one place.
    ValueComplaint
        The bearings are parallel, or go apart and would meet only behind a station.

    References
    ----------
    Least squares of azimuths: C. D. Ghilani, Adjustment Computations, ch. 15 (from memory).

    Examples
    --------
    >>> tree = intersect([[0, 0], [75, 0]], [38, 338], 1.0)
    >>> tree.place.round(2).tolist(), tree.crossing_deg, tree.worth
    ([49.44, 63.27], 60.0, 'good')
    """
    where, azimuth, sd = check_bearings(stations, azimuth_deg, sd_deg)
    n = len(azimuth)
    return intersect_rays(
        Rays(
            where,
            azimuth,
            sd,
            np.zeros((2 * n, 2 * n)) if station_covariance is None else np.asarray(station_covariance),
            bias_sd_deg,
            np.zeros((n, 2)) if bias_lever is None else np.asarray(bias_lever, dtype=np.float64),
        ),
        probability,
    )


def intersect_rays(rays: Rays, probability: float = DEFAULT_PROBABILITY) -> Intersection:
    """The place that rays lead to; as `intersect`, with everything already laid out."""
    reach_of(probability)
    n = len(rays.azimuth_deg)
    if n < 2 or float(np.ptp(rays.station, axis=0).max()) == 0:
        raise MissingComplaint(
            "bearings from one place give a line and no place on it",
            "Take a bearing from a second station, best where it crosses the first at about a right angle",
        )
    fit = settle_ahead(cross_in_pairs(rays.station, rays.azimuth_deg, 1), rays.look, slice(None))
    if fit is None:
        raise no_meeting(rays.azimuth_deg, rays.sd_deg, "behind a station and not ahead of it")
    return _with_odd_one(_intersection(rays, fit, probability), rays)


def no_meeting(azimuth_deg: Array, sd_deg: Array, instead: str) -> Complaint:
    """The complaint about bearings that meet nowhere ahead; `instead` says where they do."""
    crossing_deg = best_crossing_deg(azimuth_deg)
    if crossing_deg <= OPEN_BELOW_SD * math.sqrt(2.0) * float(sd_deg.mean()):
        return ValueComplaint(
            "the bearings are parallel as nearly as a compass can tell, and fix no place",
            "Take another bearing that crosses them at 30 degrees or more",
        )
    return ValueComplaint(
        f"the bearings cross at {crossing_deg:.0f} degrees, but {instead}",
        "Look for a back azimuth among them (180 degrees off), a wrong digit, or a wrong place",
    )


def _intersection(rays: Rays, fit: Fit, probability: float) -> Intersection:
    crossing_deg = best_crossing_deg(rays.azimuth_deg)
    return Intersection(
        place=fit.values,
        covariance=fit.covariance,
        probability=probability,
        crossing_deg=crossing_deg,
        worth=worth_of_crossing(crossing_deg),
        is_open=crossing_deg < OPEN_BELOW_SD * math.sqrt(2.0) * float(rays.sd_deg.mean()),
        remains_deg=np.rad2deg(fit.remains_rad),
        p_value=chance_of(fit.chi2, len(rays.azimuth_deg) - 2),
    )


def _with_odd_one(found: Intersection, rays: Rays) -> Intersection:
    if not found.contradicts:
        return found
    odd_one, rest = leave_one_out(
        len(rays.azimuth_deg), lambda kept: intersect_rays(rays.keep(kept), found.probability)
    )
    return replace(found, odd_one=odd_one, without_odd_one=rest)
