"""Fix yourself from bearings to two or more known things: place, how sure, is the compass off.

With two known things their azimuths must be trusted. With three or more the angles between them are
enough: what turns all bearings alike (the compass, a declination not allowed for) drops out and can be
estimated, unless you stand on the circle through what you see.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.bearings.intersection import no_meeting
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
from pacewright.core.compass import unit_vectors
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.way.regions import Region, reach_of
from pacewright.exceptions import MissingComplaint, ValueComplaint

Array = NDArray[np.float64]

OBSERVABLE_BELOW: Final = 0.7
"""The bearings say something about the compass when they bring what is known of it to so much of its
scatter before (the variance about halved)."""
NEAR_CIRCLE: Final = 0.1
"""Nearer to the danger circle than a tenth of its radius the angles fix the place badly (assumed)."""
LARGEST_BIAS_SD_DEG: Final = 30.0
_BIAS_STEP_DEG: Final = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class Resection:
    """Your own place from bearings to known things.

    Attributes
    ----------
    place, covariance, probability
        East and north, shape (2,); shape (2, 2); the share of cases that the region holds.
    crossing_deg, worth
        The angle nearest to a right one at which two lines of sight cross, and what it is worth.
    is_open
        True where they cross at so small an angle that the region has no far end to speak of.
    bias_deg, bias_sd_deg
        What must be added to every bearing as read, and how well that is known; the value from before
        (0 and its scatter) where the bearings do not tell.
    observable
        True where the bearings do tell.
    by_angles
        True where only the angles between the bearings were used.
    off_circle
        With three things or more, the distance from the circle through three of them as a share of its
        radius, for the three that serve best; None where no three make a circle.
    remains_deg
        Direction from the place to each thing less the bearing as corrected, shape (n,).
    p_value
        How often scatter alone leaves as much over; None with nothing to spare.
    odd_one, without_odd_one
        Where the bearings contradict each other and leaving out exactly one brings the rest into
        line: its index, and the place that the rest gives.
    """

    place: Array
    covariance: Array
    probability: float
    crossing_deg: float
    worth: Worth
    is_open: bool
    bias_deg: float
    bias_sd_deg: float
    observable: bool
    by_angles: bool
    off_circle: float | None
    remains_deg: Array
    p_value: float | None
    odd_one: int | None = None
    without_odd_one: Resection | None = None

    @property
    def region(self) -> Region:
        """The region of the place, an ellipse of first order."""
        return Region(self.place, self.covariance, self.probability, "ellipse", self.place)

    @property
    def contradicts(self) -> bool:
        """True where the bearings do not meet within their scatter."""
        return self.p_value is not None and self.p_value < CONTRADICTION_BELOW

    @property
    def on_danger_circle(self) -> bool:
        """True where the place lies on or near the circle through all that was seen."""
        return self.off_circle is not None and self.off_circle < NEAR_CIRCLE


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Bearings from one place to known things.

    Attributes
    ----------
    place, place_sd
        Of the things, shapes (n, 2) and (n,).
    azimuth_deg, sd_deg
        Shapes (n,).
    bias_sd_deg
        Standard deviation of what turns all bearings alike; None where nothing is known of it and only
        the angles count.
    """

    place: Array
    place_sd: Array
    azimuth_deg: Array
    sd_deg: Array
    bias_sd_deg: float | None

    def keep(self, kept: Sequence[int]) -> Marks:
        """Some of the bearings."""
        rows = list(kept)
        return Marks(
            self.place[rows], self.place_sd[rows], self.azimuth_deg[rows], self.sd_deg[rows], self.bias_sd_deg
        )

    def look(self, unknowns: Array) -> tuple[Array, Array, Array]:
        """What is left over at a place and a bias, how it turns with them, and its covariance."""
        n = len(self.azimuth_deg)
        seen_rad, turning = look_along(unknowns[:2], self.place)
        remains = half_turn(seen_rad - np.deg2rad(self.azimuth_deg) - unknowns[2])
        slope = np.column_stack([-turning, -np.ones(n)])
        by_place = np.einsum("ni,ni->n", turning, turning) * self.place_sd**2
        variance = np.deg2rad(self.sd_deg) ** 2 + by_place
        if self.bias_sd_deg is not None:
            # What is known of the compass beforehand is one more observation of it.
            remains = np.append(remains, unknowns[2])
            slope = np.vstack([slope, [0.0, 0.0, 1.0]])
            variance = np.append(variance, math.radians(max(self.bias_sd_deg, 1e-6)) ** 2)
        return remains, slope, np.diag(variance)


def resect(
    known: ArrayLike,
    azimuth_deg: ArrayLike,
    sd_deg: ArrayLike,
    *,
    known_sd: ArrayLike = 0.0,
    bias_sd_deg: float = 0.0,
    by_angles: bool = False,
    probability: float = DEFAULT_PROBABILITY,
) -> Resection:
    """Your own place from the bearings you took of known things.

    Parameters
    ----------
    known, azimuth_deg, sd_deg
        Places (n, 2), bearings as read (n,), their scatter (n,) or one for all; n is 2 or more.
    known_sd
        How well each coordinate of the known places is known, (n,) or one for all.
    bias_sd_deg
        Standard deviation of what turns all bearings alike, known to be about nothing.
    by_angles
        Use the angles between the bearings only; needs three.
    probability
        The share of cases that the region holds.

    Raises
    ------
    MissingComplaint
        There are too few bearings, or angles alone do not fix the place: you stand on the circle
        through what you see.
    ValueComplaint
        The lines of sight are parallel, or meet only where a thing would lie behind you.

    References
    ----------
    Least squares of azimuths and angles, danger circle: C. D. Ghilani, Adjustment Computations, ch. 15
    (from memory); common practice.

    Examples
    --------
    >>> here = resect([[0, 100], [100, 0]], [0, 90], 2.0)
    >>> (here.place.round(6) + 0.0).tolist(), here.crossing_deg
    ([0.0, 0.0], 90.0)
    """
    where, azimuth, sd = check_bearings(known, azimuth_deg, sd_deg)
    place_sd = np.broadcast_to(np.asarray(known_sd, dtype=np.float64), azimuth.shape).copy()
    return resect_marks(Marks(where, place_sd, azimuth, sd, None if by_angles else bias_sd_deg), probability)


def resect_marks(marks: Marks, probability: float = DEFAULT_PROBABILITY) -> Resection:
    """The place that bearings to known things lead back to; as `resect`, already laid out."""
    reach_of(probability)
    n, needed = len(marks.azimuth_deg), 2 if marks.bias_sd_deg is not None else 3
    if n < needed:
        raise MissingComplaint(
            f"{n} bearing{'' if n == 1 else 's'} to known things cannot fix your place"
            + ("" if needed == 2 else " by angles alone"),
            f"Sight {needed} known things or more"
            + (", best about a right angle apart" if needed == 2 else ", or use the azimuths as well"),
        )
    if float(np.ptp(marks.place, axis=0).max()) == 0:
        raise ValueComplaint(
            "the known things lie at one place, so their bearings give one line",
            "Correct their places, or sight something elsewhere",
        )
    by_angles = marks.bias_sd_deg is None
    guesses = _guesses_by_angles(marks) if by_angles else _guesses(marks)
    fit = settle_ahead(guesses, marks.look, slice(0, n))
    bias_sd_deg = math.inf if fit is None else math.degrees(math.sqrt(fit.covariance[2, 2]))
    if by_angles and bias_sd_deg > LARGEST_BIAS_SD_DEG:
        raise MissingComplaint(
            "the angles between these bearings do not fix a place: you stand on or near the circle through "
            "what you see (the danger circle), or all of it lies one way",
            "Use the azimuths as well, or sight something well off that circle",
        )
    if fit is None:
        raise no_meeting(
            marks.azimuth_deg, marks.sd_deg, "only where a thing that was sighted would lie behind you"
        )
    return _with_odd_one(_resection(marks, fit, probability), marks)


def _guesses(marks: Marks) -> Array:
    crossings = cross_in_pairs(marks.place, marks.azimuth_deg, -1)
    return np.column_stack([crossings, np.zeros(len(crossings))])


def _guesses_by_angles(marks: Marks) -> Array:
    found = []
    for bias_deg in np.arange(-180.0, 180.0, _BIAS_STEP_DEG):
        east, north = unit_vectors(marks.azimuth_deg + bias_deg)
        across = np.stack([north, -east], axis=1)
        place = np.linalg.lstsq(across, np.einsum("ni,ni->n", across, marks.place), rcond=None)[0]
        found.append([*place, math.radians(bias_deg)])
    return np.array(found)


def _resection(marks: Marks, fit: Fit, probability: float) -> Resection:
    n = len(marks.azimuth_deg)
    crossing_deg = best_crossing_deg(marks.azimuth_deg)
    bias_sd_deg = math.degrees(math.sqrt(fit.covariance[2, 2]))
    before_deg = marks.bias_sd_deg
    told = before_deg is None or (before_deg > 0 and bias_sd_deg < OBSERVABLE_BELOW * before_deg)
    return Resection(
        place=fit.values[:2],
        covariance=fit.covariance[:2, :2],
        probability=probability,
        crossing_deg=crossing_deg,
        worth=worth_of_crossing(crossing_deg),
        is_open=crossing_deg < OPEN_BELOW_SD * math.sqrt(2.0) * float(marks.sd_deg.mean()),
        bias_deg=math.degrees(float(half_turn(fit.values[2:])[0])),
        bias_sd_deg=bias_sd_deg if before_deg is None else min(bias_sd_deg, before_deg),
        observable=told,
        by_angles=before_deg is None,
        off_circle=off_danger_circle(fit.values[:2], marks.place),
        remains_deg=np.rad2deg(fit.remains_rad[:n]),
        p_value=chance_of(fit.chi2, n - (3 if before_deg is None else 2)),
    )


def off_danger_circle(place: Array, known: Array) -> float | None:
    """How far a place lies from the circle through three known things, over its radius.

    Of all threes the one that lies farthest off counts; None where no three of them make a circle.

    References
    ----------
    The danger circle of resection: common practice.
    """
    found = []
    for three in itertools.combinations(range(len(known)), 3):
        circle = _circle(known[list(three)])
        if circle is not None:
            center, radius = circle
            found.append(abs(float(np.hypot(*(place - center))) / radius - 1.0))
    return max(found, default=None)


def _circle(three: Array) -> tuple[Array, float] | None:
    sides = 2.0 * (three[1:] - three[0])
    size = float(np.abs(sides).max())
    if size == 0 or abs(float(np.linalg.det(sides / size))) < 1e-9:
        return None
    center = np.linalg.solve(sides, (three[1:] ** 2).sum(axis=1) - (three[0] ** 2).sum())
    return center, float(np.hypot(*(three[0] - center)))


def _with_odd_one(found: Resection, marks: Marks) -> Resection:
    if not found.contradicts:
        return found
    odd_one, rest = leave_one_out(
        len(marks.azimuth_deg), lambda kept: resect_marks(marks.keep(kept), found.probability)
    )
    return replace(found, odd_one=odd_one, without_odd_one=rest)
