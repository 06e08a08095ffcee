"""How far off a learner stood, beside what ordinary scatter makes of such a walk."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.answer_key import AnswerKey
from pacewright.course.course import Course
from pacewright.course.finish import SIGHT_SD_M, Finish, Handed, find_finish, posts_nearer
from pacewright.course.marking import Measured
from pacewright.course.walk_scatter import Walk, finish_covariance, key_walk, stated_habit

Array = NDArray[np.float64]

USUAL_MISS_SDS: Final = math.sqrt(2.0)
"""The root mean square of the miss of an ordinary counter, in standard deviations: two directions."""
REACH_SDS: Final = 3.0
"""A learner who ends on open ground beyond the last stake goes back so many standard deviations to it."""


@dataclass(frozen=True, slots=True)
class Miss:
    """How far a learner stood from where the card ends.

    Attributes
    ----------
    east_m, north_m, east, north
        In metres, and in the learner's paces.
    mahalanobis
        In standard deviations of an ordinary walk.
    multiple
        Of an ordinary miss: `mahalanobis` over the root of two.
    chance
        How often an ordinary counter misses by as much or more: exp(-mahalanobis^2 / 2).
    sd_m
        How well the place where the learner stood is known.
    """

    east_m: float
    north_m: float
    east: float
    north: float
    mahalanobis: float
    multiple: float
    chance: float
    sd_m: float

    @property
    def length_m(self) -> float:
        """The length of the miss in metres."""
        return math.hypot(self.east_m, self.north_m)

    @property
    def length(self) -> float:
        """The length of the miss in the learner's paces."""
        return math.hypot(self.east, self.north)


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """A finish against the key.

    Attributes
    ----------
    finish
        Where the learner stood.
    off_m
        From where the card ends to there, shape (2,).
    start
        The last station that surely held the learner: the start, or the last post found.
    walk
        What was to be walked from there.
    ordinary
        The ordinary scatter of that, shape (2, 2).
    known
        How well the finish and both ends of the card are known, shape (2, 2).
    """

    finish: Finish
    off_m: Array
    start: int
    walk: Walk
    ordinary: Array
    known: Array


def see_finish(handed: Handed, course: Course, key: AnswerKey, found: Mapping[str, bool]) -> Seen | None:
    """A finish against the key, from the last post that was surely found; None where nobody saw it.

    Parameters
    ----------
    handed, course, key
        What was handed in, the course, and what the card asks.
    found
        For each post of the card, whether the learner proved to have been there.
    """
    start = 0
    for k, row in enumerate(key.rows[:-1], start=1):
        start = k if row.at and found.get(row.at) else start
    walk = key_walk(key, start)
    ordinary = finish_covariance(walk, stated_habit(key.walker))
    reach_m = REACH_SDS * math.sqrt(float(np.linalg.eigvalsh(ordinary)[-1]))
    finish = find_finish(handed, course, reach_m)
    if finish is None:
        return None
    first = course.post(key.rows[start - 1].at or key.card.start) if start else course.post(key.card.start)
    started = first.sd_m**2 if start == 0 else first.sd_m**2 + SIGHT_SD_M**2
    # The card was laid out from post to post: how well both ends are known is part of the miss.
    known = finish.covariance + started * np.eye(2)
    return Seen(finish, finish.place_m - key.places_m[-1], start, walk, ordinary, known)


def miss_of(seen: Seen, key: AnswerKey) -> Miss:
    """The miss of a finish, in metres, in paces, and in multiples of an ordinary one."""
    east_m, north_m = map(float, seen.off_m)
    square = float(seen.off_m @ np.linalg.solve(seen.ordinary + seen.known, seen.off_m))
    sd = math.sqrt(square)
    return Miss(
        east_m,
        north_m,
        east_m / key.pace_m,
        north_m / key.pace_m,
        sd,
        sd / USUAL_MISS_SDS,
        math.exp(-square / 2.0),
        place_sd_m(seen),
    )


def measure(
    course: Course, key: AnswerKey, points: Sequence[tuple[str, bool]], seen: Seen | None
) -> Measured:
    """What a rule may look at; not a number where the finish would tell and nobody saw it."""
    share = np.array([sum(found for _, found in points) / len(points)])
    if seen is None:
        nothing = np.array([math.nan])
        return Measured(share, nothing, nothing, nothing, nothing, key.card.length_m)
    return measure_places(course, key, seen, seen.off_m[None], share)


def measure_places(course: Course, key: AnswerKey, seen: Seen, off_m: Array, share: Array) -> Measured:
    """What a rule may look at for learners who end off by so much, shape (n, 2).

    Where only a stake is named, no miss is taken to be smaller than how well the place is known.
    """
    covariance = seen.ordinary + seen.known
    least_m = 0.0 if seen.finish.taped else place_sd_m(seen)
    square = np.einsum("ni,ni->n", off_m, np.linalg.solve(covariance, off_m.T).T)
    nearer = posts_nearer(key.places_m[-1] + off_m, course.post(key.card.ends), course.posts)
    return Measured(
        share,
        nearer.astype(np.float64),
        np.maximum(np.hypot(off_m[:, 0], off_m[:, 1]), least_m),
        np.sqrt(square) / USUAL_MISS_SDS,
        np.exp(-square / 2.0),
        key.card.length_m,
    )


def place_sd_m(seen: Seen) -> float:
    """How well the place where a learner stood is known, in metres, the better known way."""
    return math.sqrt(float(np.linalg.eigvalsh(seen.finish.covariance)[0]))
