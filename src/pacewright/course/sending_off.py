"""Sending a class off one by one: each learner the earliest start, on the lane that crowds the posts least.

Lanes come from the candidates and, where those meet somebody, from lanes drawn round what is taken already.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.lane_measures import LaneMeasures, Middle
from pacewright.course.timetable import Clockwork, Taken

Array = NDArray[np.float64]
Ints = NDArray[np.intp]

_DRAWS: Final = 500
_LOOKED_AT: Final = 200


@dataclass(frozen=True, slots=True, eq=False)
class Land:
    """Everything that says which lanes there are and how they compare.

    Attributes
    ----------
    clockwork, measures, middle
        Minutes, measures and what is tolerated.
    lane_m
        The shortest and the longest lane.
    risk, most_risk
        The chance to enter barred land on each leg, shape (posts, posts), and the most on a lane.
    pool
        Candidates within what is tolerated, shape (lanes, legs + 1).
    is_all
        True where the pool holds every lane there is.
    """

    clockwork: Clockwork
    measures: LaneMeasures
    middle: Middle
    lane_m: tuple[float, float]
    risk: Array
    most_risk: float
    pool: Ints
    is_all: bool

    def is_equal(self, lanes: Ints) -> NDArray[np.bool_]:
        """Which lanes lie within what is tolerated."""
        values = self.measures.of(lanes)
        within = (values[:, 0] >= self.lane_m[0]) & (values[:, 0] <= self.lane_m[1])
        within &= lane_risks(self.risk, lanes) <= self.most_risk
        return np.asarray(within & (self.middle.deviation(values) <= 1.0), dtype=np.bool_)


def lane_risks(risk: Array, lanes: Ints) -> Array:
    """The most that the chance to enter barred land on a lane can be, its legs' sum, shape (lanes,)."""
    return np.asarray(risk[lanes[:, :-1], lanes[:, 1:]].sum(axis=1), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Sent:
    """A class sent off.

    Attributes
    ----------
    lanes
        Posts in order, shape (learners, legs + 1).
    start_min
        Shape (learners,).
    """

    lanes: Ints
    start_min: Ints


def send_off(
    land: Land, learners: int, horizon_min: int, rng: np.random.Generator, give_up_min: int
) -> Sent | None:
    """Send a class off, one after another, or give None where the last would start after `give_up_min`.

    Parameters
    ----------
    land
        Which lanes there are.
    learners
        How many.
    horizon_min
        Beyond every minute at which anyone can be at a post.
    rng
        Chance.
    give_up_min
        The latest start.
    """
    taken = Taken(land.clockwork, horizon_min)
    arrivals = land.clockwork.arrivals(land.pool)
    unused = np.ones(len(land.pool), dtype=bool)
    seen: set[bytes] = set()
    lanes: list[Ints] = []
    starts: list[int] = []
    start = 0
    while len(lanes) < learners:
        free = np.flatnonzero(unused & taken.is_free(land.pool, arrivals, start))
        found = land.pool[rng.permutation(free)[:_LOOKED_AT]]
        if not land.is_all and len(found) < _LOOKED_AT:
            found = np.concatenate([found, drawn_round(land, taken, start, rng)])
        found = found[[one.tobytes() not in seen for one in found]] if len(found) else found
        if not len(found):
            start += 1
            if start > give_up_min:
                return None
            continue
        minutes = land.clockwork.arrivals(found)
        best = found[int(np.argmin(taken.newly_taken(found, minutes, start)))]
        taken.add(best, start)
        unused &= (land.pool != best).any(axis=1)
        seen.add(best.tobytes())
        lanes.append(best)
        starts.append(start)
    return Sent(np.array(lanes, dtype=np.intp), np.array(starts, dtype=np.intp))


def drawn_round(
    land: Land, taken: Taken, start_min: int, rng: np.random.Generator, draws: int = _DRAWS
) -> Ints:
    """Draw lanes from a start that meet nobody and lie within what is tolerated.

    Returns
    -------
    array
        Shape (lanes, legs + 1); may be empty.
    """
    clockwork, rules = land.clockwork, land.clockwork.rules
    posts = rules.between.size
    starts = [post for post in rules.starts if not taken.minutes[post, start_min]]
    lanes = np.zeros((draws, rules.legs + 1), dtype=np.intp)
    if not starts:
        return lanes[:0]
    lanes[:, 0] = rng.choice(np.array(starts, dtype=np.intp), size=draws)
    rows, names = np.arange(draws), np.arange(posts)
    free = np.broadcast_to(rules.between, (draws, posts)).copy()
    free[rows, lanes[:, 0]] = False
    alive = np.ones(draws, dtype=bool)
    minute = np.full(draws, start_min, dtype=np.intp)
    walked_m = np.zeros(draws)
    lengths = _leg_lengths(land.measures)
    for leg in range(1, rules.legs + 1):
        here = lanes[:, leg - 1]
        alone = taken.onward(here, minute)
        reached = minute[:, None] + clockwork.minutes[here]
        goes_home = leg == rules.legs and rules.finish is not None
        if goes_home:
            may = rules.allowed[here] & (names == rules.finish)
        else:
            may = rules.allowed[here] & free & ~taken.minutes[names, reached]
        if rules.finish is not None and leg == rules.legs - 1:
            may &= rules.allowed[:, rules.finish]
        may &= alone
        wish = rng.random((draws, posts))
        if leg == rules.legs - (0 if rules.finish is None else 1):
            # The last free choice brings the length to that of the middle lane.
            total = walked_m[:, None] + lengths[here]
            if rules.finish is not None:
                total = total + lengths[:, rules.finish]
            wish = 1.0 / (1.0 + np.abs(total - land.middle.values[0]))
        onward = np.where(may, wish, -1.0).argmax(axis=1)
        alive &= may.any(axis=1)
        lanes[:, leg] = onward
        minute = reached[rows, onward] + clockwork.at_post_min
        walked_m += lengths[here, onward]
        free[rows, onward] = False
    found = np.unique(lanes[alive], axis=0)
    return np.asarray(found[land.is_equal(found)] if len(found) else found, dtype=np.intp)


def _leg_lengths(measures: LaneMeasures) -> Array:
    """The lengths of legs by post and post, 0 where there is no leg."""
    return np.asarray(np.where(measures.number >= 0, measures.length_m[measures.number], 0.0))
