"""Learners who miss posts and follow the rule of the card: who enters barred land, and how often.

The rule: where the count ends and no post is seen, go on as far as a post is searched for, once round the
place at that distance, and back to it. Still none: the back azimuth and the same count to the last post
found, and once more from there. Missed twice: back to that post and from there to the backstop, or wait
there. Where the last post is not found either: to the backstop from where one stands, or wait.

Every step is walked here with the scatter of an ordinary learner, whose compass and pace count are off by
the same all day; who is once in barred land stays counted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import unit_vectors
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import ASSUMED_PACE_M
from pacewright.core.way.reckoning import walked_turn_sd_deg
from pacewright.course.barred_land import BarredArea, enters
from pacewright.course.finding_chance import Finding
from pacewright.course.safety import Safety

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

ROUND: Final = 8
"""Sides of the way once round a place."""
_TRIES: Final = 2


@dataclass(frozen=True, slots=True)
class Outing:
    """What a walk among posts depends on.

    Attributes
    ----------
    walker, finding, safety
        The ordinary learner, how far a post is seen and searched for, and the backstop.
    barred
        Where nobody may be.
    backstop_m
        How far somebody walks to the backstop at the most.
    """

    walker: Walker
    finding: Finding
    safety: Safety
    barred: tuple[BarredArea, ...]
    backstop_m: float


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What became of learners; every array of shape (learners,).

    Attributes
    ----------
    entered
        Who came into barred land or across a barred line.
    missed
        Who did not find a post at the first try.
    found_all
        Who found every post, at the first try or the second.
    """

    entered: Bools
    missed: Bools
    found_all: Bools


def outing_of(
    walker: Walker, finding: Finding, safety: Safety, barred: tuple[BarredArea, ...], places_m: Array
) -> Outing:
    """An outing; a backstop of unknown distance is walked to across the whole course at the most."""
    across_m = float(np.hypot(*np.ptp(places_m, axis=0)))
    return Outing(walker, finding, safety, barred, safety.backstop_within_m or across_m)


def walk_lane(outing: Outing, places_m: Array, learners: int, rng: np.random.Generator) -> Outcome:
    """Walk a lane with many learners who follow the rule.

    Parameters
    ----------
    outing
        Who walks, and what is barred.
    places_m
        The start and every post in order, shape (legs + 1, 2); cards tell whole degrees and metres.
    learners
        How many walk.
    rng
        Chance.
    """
    group = _Group(outing, learners, rng)
    going: Ints = np.arange(learners, dtype=np.intp)
    for here, there in pairwise(places_m):
        going = _leg(group, here, there, going)
    found_all = np.zeros(learners, dtype=bool)
    found_all[going] = True
    return Outcome(group.entered, group.missed, found_all)


class _Group:
    """Learners on their way: what each has of bias and scale, and who has come where nobody may be."""

    def __init__(self, outing: Outing, learners: int, rng: np.random.Generator) -> None:
        walker = outing.walker
        self.outing, self.rng = outing, rng
        self.bias_rad = math.radians(walker.compass.bias_sd_deg) * rng.standard_normal(learners)
        self.scale = np.exp(walker.count.scale_sd_pct / 100.0 * rng.standard_normal(learners))
        self.turn_sd_rad = math.radians(walked_turn_sd_deg(walker))
        self.pace_m = ASSUMED_PACE_M if walker.per_100_m is None else walker.pace_m()
        self.entered: Bools = np.zeros(learners, dtype=bool)
        self.missed: Bools = np.zeros(learners, dtype=bool)

    def go(self, who: Ints, here: Array, to: Array) -> None:
        """Note who of them comes into barred land on straight ways."""
        if who.size:
            self.entered[who] |= enters(here, to, self.outing.barred)

    def aim(self, who: Ints, here: Array, azimuth_rad: float, length_m: float) -> Array:
        """Where a dialled azimuth and a counted length lead."""
        count_sd_m = max(
            self.outing.walker.count.count_sd_pct / 100.0 * length_m,
            self.outing.walker.count.count_floor * self.pace_m,
        )
        turn = azimuth_rad + self.bias_rad[who] + self.turn_sd_rad * self.rng.standard_normal(who.size)
        walked = (length_m + count_sd_m * self.rng.standard_normal(who.size)) * self.scale[who]
        ends: Array = here + walked[:, None] * np.stack([np.sin(turn), np.cos(turn)], axis=1)
        return ends

    def reaches(self, who: Ints, here: Array, to: Array, post: Array) -> Bools:
        """Walk straight on and tell who sees the post on the way; they turn off to it, the others arrive."""
        near, off_m = _nearest(here, to, post)
        sees = off_m <= self.outing.finding.sighting_m
        self.go(who, here, np.where(sees[:, None], near, to))
        self.go(who[sees], near[sees], np.broadcast_to(post, near[sees].shape))
        return sees

    def seeks(self, who: Ints, here: Array, ahead_rad: float, post: Array) -> Bools:
        """Search round a place as the rule says and tell who finds the post; the others are back there."""
        found: Bools = np.zeros(who.size, dtype=bool)
        radius_m = self.outing.finding.search_m
        if radius_m == 0.0:
            return found
        corners = [ahead_rad + 2.0 * math.pi * side / ROUND for side in range(ROUND + 1)]
        offsets = [radius_m * np.array([math.sin(turn), math.cos(turn)]) for turn in corners]
        steps = [np.zeros(2), *offsets, np.zeros(2)]
        for first, second in pairwise(steps):
            left = np.flatnonzero(~found)
            found[left] |= self.reaches(who[left], here[left] + first, here[left] + second, post)
        return found

    def finds(self, who: Ints, here: Array, to: Array, ahead_rad: float, post: Array) -> Bools:
        """Walk on and search; tell who finds the post."""
        found = self.reaches(who, here, to, post)
        left = np.flatnonzero(~found)
        found[left] = self.seeks(who[left], to[left], ahead_rad, post)
        return found

    def goes_in(self, who: Ints, here: Array) -> None:
        """Walk to the backstop, or wait."""
        safety = self.outing.safety
        if safety.backstop_azimuth_deg is None or not safety.backstop or not who.size:
            return
        azimuth_rad = math.radians(safety.backstop_azimuth_deg)
        self.go(who, here, self.aim(who, here, azimuth_rad, self.outing.backstop_m))


def _leg(group: _Group, here: Array, there: Array, going: Ints) -> Ints:
    """Who of those at a post comes to the next, with up to two tries."""
    east, north = (there - here).tolist()
    azimuth_rad = math.radians(round(math.degrees(math.atan2(east, north))))
    length_m = max(1.0, math.floor(math.hypot(east, north) + 0.5))
    arrived: list[Ints] = []
    for attempt in range(_TRIES):
        start = np.broadcast_to(here, (going.size, 2))
        ends = group.aim(going, start, azimuth_rad, length_m)
        found = group.finds(going, start, ends, azimuth_rad, there)
        arrived.append(going[found])
        going, ends = going[~found], ends[~found]
        group.missed[going] |= attempt == 0
        back_rad = azimuth_rad + math.pi
        came = group.aim(going, ends, back_rad, length_m)
        is_back = group.finds(going, ends, came, back_rad, here)
        group.goes_in(going[~is_back], came[~is_back])
        going = going[is_back]
    group.goes_in(going, np.broadcast_to(here, (going.size, 2)))
    return np.sort(np.concatenate(arrived))


def _nearest(here: Array, to: Array, post: Array) -> tuple[Array, Array]:
    """The points of straight ways that are nearest to a post, and how far off they pass it."""
    run = to - here
    squared = np.maximum((run**2).sum(axis=1), 1e-12)
    along = np.clip(((post - here) * run).sum(axis=1) / squared, 0.0, 1.0)
    near = here + along[:, None] * run
    return near, np.hypot(*(near - post).T)


def leg_risks(
    outing: Outing, places_m: Array, allowed: Bools, learners: int, rng: np.random.Generator
) -> Array:
    """The chance to enter barred land on each leg, missing its post and coming back included.

    Parameters
    ----------
    outing
        Who walks, and what is barred.
    places_m
        Of the posts, shape (posts, 2).
    allowed
        Which legs to look at, shape (posts, posts).
    learners
        How many walk each leg.
    rng
        Chance.

    Returns
    -------
    array
        Shape (posts, posts); 0 where no leg is allowed.
    """
    risk = np.zeros(allowed.shape)
    for begin, end in np.argwhere(allowed):
        if _is_far(outing, places_m[begin], places_m[end]):
            continue
        outcome = walk_lane(outing, places_m[[begin, end]], learners, rng)
        risk[begin, end] = float(outcome.entered.mean())
    return risk


def _is_far(outing: Outing, here: Array, there: Array) -> bool:
    """Whether barred land lies out of everybody's reach from a leg."""
    length_m = float(np.hypot(*(there - here)))
    astray = 5.0 * max(
        math.hypot(
            math.radians(walked_turn_sd_deg(outing.walker)), math.radians(outing.walker.compass.bias_sd_deg)
        ),
        math.hypot(outing.walker.count.count_sd_pct, outing.walker.count.scale_sd_pct) / 100.0,
    )
    reach_m = 1.5 * (astray * length_m + outing.finding.reach_m)
    ways = [(here, there)]
    safety = outing.safety
    if safety.backstop and safety.backstop_azimuth_deg is not None:
        onward = outing.backstop_m * np.array(
            [float(part) for part in unit_vectors(safety.backstop_azimuth_deg)]
        )
        ways += [(here, here + onward), (there, there + onward)]
        reach_m += astray * outing.backstop_m
    return not any(_comes_near(begin, end, reach_m, area) for begin, end in ways for area in outing.barred)


def _comes_near(begin: Array, end: Array, within_m: float, area: BarredArea) -> bool:
    corners = np.array(area.corners_m, dtype=np.float64)
    low, high = np.minimum(begin, end) - within_m, np.maximum(begin, end) + within_m
    return bool((corners.min(axis=0) <= high).all() and (corners.max(axis=0) >= low).all())
