"""The chance that an ordinary learner finds a post, and every post of a lane.

A learner dials an azimuth, walks a count and looks about. The compass and the pace count are off by the same
on every leg of a lane, so its legs are not found independently of each other: the chance of a lane is the
mean, over what the learner's compass and pace count may be off, of the product over its legs. At a post that
was found the scatter starts anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import ASSUMED_PACE_M
from pacewright.core.way.reckoning import walked_turn_sd_deg
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

_BIAS_NODES: Final = 15
_SCALE_NODES: Final = 11
_TURN_NODES: Final = 20
_FARTHEST_SDS: Final = 7.0
_LEGS_AT_ONCE: Final = 100
_LANES_AT_ONCE: Final = 20_000


@dataclass(frozen=True, slots=True)
class Finding:
    """When a learner finds a post.

    Attributes
    ----------
    sighting_m
        How near the learner must come, anywhere on the way, to see it: 30 m in open wood (assumed; look
        at the ground of the day).
    search_m
        How far round the end of the count a learner who has not seen it looks for it, beside the
        sighting distance: 50 m (assumed).
    """

    sighting_m: float = 30.0
    search_m: float = 50.0

    def __post_init__(self) -> None:
        if not (0 < self.sighting_m < 1e5 and 0 <= self.search_m < 1e5):
            raise ValueComplaint(
                f"a post that is seen at {self.sighting_m:g} m and searched for within {self.search_m:g} m"
                " cannot be found",
                "Give a sighting distance above 0 m and a search of 0 m or more",
            )

    @property
    def reach_m(self) -> float:
        """How far from the post the count may end."""
        return self.sighting_m + self.search_m


@dataclass(frozen=True, slots=True, eq=False)
class LegChances:
    """For every leg, the chance to find its post, by what the learner's compass and pace count are off.

    Attributes
    ----------
    given
        Shape (legs, states).
    weight
        How likely each state is, shape (states,), sum 1.
    """

    given: Array
    weight: Array

    def of_legs(self) -> Array:
        """Each leg's own chance, shape (legs,)."""
        return np.asarray(self.given @ self.weight, dtype=np.float64)

    def of_lanes(self, lanes: Ints) -> Array:
        """The chance to find every post.

        Parameters
        ----------
        lanes
            The legs of every lane, shape (lanes, legs a lane).

        Returns
        -------
        array
            Shape (lanes,).
        """
        chance = np.empty(lanes.shape[0])
        for first in range(0, lanes.shape[0], _LANES_AT_ONCE):
            some = lanes[first : first + _LANES_AT_ONCE]
            all_found = np.ones((some.shape[0], self.weight.size))
            for legs in some.T:
                all_found *= self.given[legs]
            chance[first : first + _LANES_AT_ONCE] = all_found @ self.weight
        return chance


def leg_chances(length_m: Array, place_sd_m: Array, walker: Walker, finding: Finding) -> LegChances:
    """The chance to find the post at the end of legs.

    Parameters
    ----------
    length_m
        Shape (legs,).
    place_sd_m
        How well the post is known as seen from the one before, shape (legs,).
    walker
        The ordinary learner.
    finding
        When a post counts as found.
    """
    bias_rad, bias_weight = _normal_nodes(_BIAS_NODES, math.radians(walker.compass.bias_sd_deg))
    scale, scale_weight = _normal_nodes(_SCALE_NODES, walker.count.scale_sd_pct / 100.0)
    scale = np.maximum(1.0 + scale, 0.05)
    given = np.empty((length_m.size, bias_rad.size * scale.size))
    for first in range(0, length_m.size, _LEGS_AT_ONCE):
        legs = slice(first, first + _LEGS_AT_ONCE)
        some_m, some_sd_m = length_m[legs], place_sd_m[legs]
        turn_rad, turn_weight = _turns(some_m, some_sd_m, bias_rad, walker, finding)
        found = _found_along(some_m, some_sd_m, turn_rad, scale, walker, finding)
        given[legs] = np.einsum("ebt,ebts->ebs", turn_weight, found).reshape(some_m.size, -1)
    given[length_m <= finding.sighting_m] = 1.0
    return LegChances(np.clip(given, 0.0, 1.0), np.outer(bias_weight, scale_weight).ravel())


def _turns(
    length_m: Array, place_sd_m: Array, bias_rad: Array, walker: Walker, finding: Finding
) -> tuple[Array, Array]:
    """True directions off the leg's own, and their weights, both of shape (legs, biases, nodes)."""
    sd_rad = np.hypot(math.radians(walked_turn_sd_deg(walker)), place_sd_m / length_m)[:, None]
    sd_rad = np.maximum(sd_rad, 1e-6)
    sees, reaches = (
        np.arcsin(np.minimum(1.0, within / length_m))[:, None]
        for within in (finding.sighting_m, finding.reach_m)
    )
    least, most = bias_rad - _FARTHEST_SDS * sd_rad, bias_rad + _FARTHEST_SDS * sd_rad
    nodes, weights = np.polynomial.legendre.leggauss(_TURN_NODES)
    turns, shares = [], []
    # In pieces, because what must be walked to find the post changes at once where it comes into sight.
    for low, high in ((-reaches, -sees), (-sees, 0.0), (0.0, sees), (sees, reaches)):
        low, high = np.clip(low, least, most), np.clip(high, least, most)
        half = (high - low) / 2.0
        turn = (low + half)[:, :, None] + half[:, :, None] * nodes
        off = (turn - bias_rad[:, None]) / sd_rad[:, :, None]
        density = np.exp(-0.5 * off**2) / (math.sqrt(2.0 * math.pi) * sd_rad[:, :, None])
        turns.append(turn)
        shares.append(half[:, :, None] * weights * density)
    return np.concatenate(turns, axis=2), np.concatenate(shares, axis=2)


def _found_along(
    length_m: Array, place_sd_m: Array, turn_rad: Array, scale: Array, walker: Walker, finding: Finding
) -> Array:
    """The chance that the length walked finds the post, shape (legs, biases, nodes, scales)."""
    from scipy.special import ndtr

    length = length_m[:, None, None]
    aside = length * np.abs(np.sin(turn_rad))
    abreast = length * np.cos(turn_rad)
    half = np.sqrt(np.maximum(finding.reach_m**2 - aside**2, 0.0))
    mean = (length_m[:, None] * scale)[:, None, None, :]
    sd = _length_sd(length_m, place_sd_m, walker)[:, None, None, None] * scale
    enough = ndtr((mean - (abreast - half)[..., None]) / sd)
    too_far = ndtr((mean - (abreast + half)[..., None]) / sd)
    # A post that came into sight on the way is not walked past.
    is_seen = (aside <= finding.sighting_m)[..., None]
    found: Array = enough - np.where(is_seen, 0.0, too_far)
    return found


def _length_sd(length_m: Array, place_sd_m: Array, walker: Walker) -> Array:
    pace_m = ASSUMED_PACE_M if walker.per_100_m is None else walker.pace_m()
    counted = np.maximum(walker.count.count_sd_pct / 100.0 * length_m, walker.count.count_floor * pace_m)
    sd: Array = np.sqrt(counted**2 + place_sd_m**2 + pace_m**2 / 12.0)
    return sd


def _normal_nodes(count: int, sd: float) -> tuple[Array, Array]:
    """Values of a normal quantity of mean 0 and their weights (Gauss and Hermite)."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    return np.asarray(sd * nodes), np.asarray(weights / weights.sum())
