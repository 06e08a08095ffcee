"""Where to stop and how to search when the target is not there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import normal_azimuth, unit_vectors
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.tally import whole_count
from pacewright.core.way.aiming_off import AimingOff
from pacewright.core.way.regions import root_of
from pacewright.core.way.way_back import WayBack
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint

Array = NDArray[np.float64]

SPACING_IN_SIGHTINGS: Final = 1.5
"""Spacing of the square's sides in sighting distances: a little under the 1.6 detection ranges that a
target of medium visibility is worth as a sweep (Koester et al., Wilderness Environ. Med., 2014)."""
MOST_LEGS: Final = 60
_PLACES: Final = 8192
_GOLDEN_TURN_RAD: Final = math.pi * (3.0 - math.sqrt(5.0))
"""From one place to the next, a turn that never repeats: the places lie evenly, as seeds in a flower."""


@dataclass(frozen=True, slots=True)
class Overshoot:
    """The counts on the way at which to begin to look, to expect the target, and to stop.

    Attributes
    ----------
    look_from, expect_at, stop_at
        Counts from the start of the way.
    """

    look_from: int
    expect_at: int
    stop_at: int


@dataclass(frozen=True, slots=True)
class SearchLeg:
    """One side of the search.

    Attributes
    ----------
    azimuth_deg, length
        To walk.
    total
        Walked in the search so far, this side included.
    seen_share
        The chance that the target has come within the sighting distance by the end of this side.
    """

    azimuth_deg: float
    length: float
    total: float
    seen_share: float


@dataclass(frozen=True, slots=True)
class ExpandingSquare:
    """A search that starts at the spot the count gave and widens.

    Attributes
    ----------
    spacing
        Between neighbouring sides.
    legs
        The sides, in order.
    seen_at_once
        The chance that the target is in sight before the first step.
    """

    spacing: float
    legs: tuple[SearchLeg, ...]
    seen_at_once: float


@dataclass(frozen=True, slots=True)
class LineSearch:
    """A search along the line that was aimed off to, from where it is met.

    Attributes
    ----------
    legs
        Along the line towards the target; then, where that leaves too much, back and beyond.
    seen_at_once
        The chance that the target is in sight where the line is met.
    """

    legs: tuple[SearchLeg, ...]
    seen_at_once: float


def overshoot(way: WayBack) -> Overshoot:
    """The counts between which the target should come up.

    Beyond `stop_at` the target lies ahead only in a small share of walks: stop, do not walk on in hope.
    """
    # The region is in ordinary paces, the count in those of the ground of the way back.
    reach = way.along * way.counts_per_unit
    return Overshoot(max(0, math.floor(way.count - reach)), way.count, math.ceil(way.count + reach))


def expanding_square(way: WayBack, sighting_distance: float, share: float | None = None) -> ExpandingSquare:
    """The expanding square that brings the target into sight in a stated share of walks.

    Sides are S, S, 2S, 2S, 3S, 3S and so on with all turns to the right, the first side along the way;
    S is the spacing.

    Parameters
    ----------
    way
        The way just walked; its region is what must be searched.
    sighting_distance
        How far off the target is surely seen, in the unit of the way.
    share
        The share of walks; by default the region's own.

    Raises
    ------
    ValueComplaint
        The sighting distance is no length.
    NoAnswerComplaint
        It is so small that the search would never end.

    References
    ----------
    IAMSAR Manual, Vol. II, ch. 5 (sides S, S, 2S, 2S, ...; all turns a right angle).
    """
    _check_sighting(sighting_distance, way.unit)
    goal = way.probability if share is None else share
    spacing = SPACING_IN_SIGHTINGS * sighting_distance
    targets = _likely_places(way.covariance)
    nearest = np.hypot(*targets.T)
    seen_at_once = float(np.mean(nearest <= sighting_distance))
    spot, total, legs = np.zeros(2), 0.0, []
    for side in range(MOST_LEGS):
        azimuth_deg = normal_azimuth(way.azimuth_deg + 90.0 * side)
        length = spacing * (side // 2 + 1)
        end = spot + length * np.stack(unit_vectors(azimuth_deg))
        nearest = np.minimum(nearest, _distance_to_side(targets, spot, end))
        spot, total = end, total + length
        seen = float(np.mean(nearest <= sighting_distance))
        legs.append(SearchLeg(azimuth_deg, length, total, seen))
        if seen >= goal:
            return ExpandingSquare(spacing, tuple(legs), seen_at_once)
    raise NoAnswerComplaint(
        f"with a sighting distance of {sighting_distance:g} the target may not be in sight even after "
        f"{MOST_LEGS} sides and {whole_count(total)} {way.unit}s",
        "Aim off to a line feature, retrace leg by leg, or go back to a marker that is nearer",
    )


def line_search(aim: AimingOff, sighting_distance: float, share: float = DEFAULT_PROBABILITY) -> LineSearch:
    """The search along a line that brings the target on it into sight in a stated share of walks.

    Parameters
    ----------
    aim
        How the line is met.
    sighting_distance
        How far off the target is surely seen, in the unit of the way.
    share
        The share of walks.

    Raises
    ------
    ValueComplaint
        The sighting distance is no length.
    """
    _check_sighting(sighting_distance, aim.unit)
    # The target, along the line from where that is met, positive the way that one turns.
    lies = NormalDist(aim.offset, max(aim.line_sd, 1e-9))
    ahead = float(aim.follow_to)
    at_once = lies.cdf(sighting_distance) - lies.cdf(-sighting_distance)
    before_end = lies.cdf(ahead + sighting_distance)
    seen = before_end - lies.cdf(-sighting_distance)
    legs = [SearchLeg(aim.turn_azimuth_deg, ahead, ahead, seen)]
    if seen < share < before_end:
        behind = math.ceil(-lies.inv_cdf(before_end - share) - sighting_distance)
        back = ahead + behind
        seen = before_end - lies.cdf(-behind - sighting_distance)
        legs.append(SearchLeg(aim.offset_azimuth_deg, back, ahead + back, seen))
    return LineSearch(tuple(legs), at_once)


def _check_sighting(sighting_distance: float, unit: str) -> None:
    if not 0 < sighting_distance < 1e6:
        raise ValueComplaint(
            f"{sighting_distance:g} is not a sighting distance",
            f"Give how many {unit}s off the target is seen, more than 0",
        )


def _likely_places(covariance: Array) -> Array:
    """Places that are equally likely for the target, shape (m, 2), about the spot reached."""
    number = np.arange(_PLACES)
    distance = np.sqrt(-2.0 * np.log1p(-(number + 0.5) / _PLACES))
    turn_rad = number * _GOLDEN_TURN_RAD
    round_about = distance[:, None] * np.stack([np.sin(turn_rad), np.cos(turn_rad)], axis=1)
    places: Array = round_about @ root_of(covariance).T
    return places


def _distance_to_side(points: Array, start: Array, end: Array) -> Array:
    side = end - start
    along = np.clip((points - start) @ side / float(side @ side), 0.0, 1.0)
    distance: Array = np.hypot(*(points - start - along[:, None] * side).T)
    return distance
