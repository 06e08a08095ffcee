"""How sure a mark is: what the same learner would get on another walk of the same card.

What the learner's compass and pace have of their own is what this walk tells of them; counting and
holding an azimuth scatter anew.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.marking import MarkingRule, Measured, give_marks
from pacewright.course.walk_scatter import Habit, Walk, finish_covariance, habit_shift

Array = NDArray[np.float64]

RANGE_SHARE: Final = 0.8
"""The share of other walks whose mark lies in the stated range."""
_RINGS: Final = 16
_SECTORS: Final = 24


@dataclass(frozen=True, slots=True)
class MarkLuck:
    """What the same learner would get on another walk, no slip made.

    Attributes
    ----------
    low, high
        Four walks of five get a mark from the one to the other.
    mean
        The mean over all of them.
    full_chance
        How often it would be full marks.
    """

    low: float
    high: float
    mean: float
    full_chance: float


def walk_luck(
    walk: Walk, habit: Habit, off_m: Array, known: Array, marks_of: Callable[[Array], Array]
) -> MarkLuck:
    """What the same learner would get on another walk of the same card.

    Parameters
    ----------
    walk, habit
        What is walked, and what was believed of the learner's compass and pace before.
    off_m, known
        The miss, shape (2,), and how well it is known, shape (2, 2).
    marks_of
        The marks of learners who end off by so much: from shape (n, 2) to shape (n,).
    """
    own = walk.own.sum(axis=0)
    shared = finish_covariance(walk, habit) - own
    shift = habit_shift(walk, habit)
    gain = shared @ np.linalg.inv(shared + own + known)
    center = shift + gain @ (off_m - shift)
    spread = shared - gain @ shared + own
    marks = marks_of(center + _even_draws() @ np.linalg.cholesky(spread).T)
    return _luck(marks, np.full(marks.size, 1.0 / marks.size), float(marks_of(np.zeros((1, 2)))[0]))


def points_luck(rule: MarkingRule, found: Sequence[bool], minutes: float | None) -> MarkLuck:
    """What the same learner would get on another walk, where points are counted.

    So many found of so many tell the learner's own share only roughly: another walk finds a beta-binomial
    number of them.

    References
    ----------
    Beta-binomial with the prior of Jeffreys: Gelman et al., Bayesian Data Analysis, sec. 2.4 and 2.8
    (from memory).
    """
    n, k = len(found), sum(found)
    a, b = k + 0.5, n - k + 0.5
    again = np.arange(n + 1)
    chance = np.array(
        [math.comb(n, j) * math.exp(_log_beta(a + j, b + n - j) - _log_beta(a, b)) for j in again]
    )
    nothing = np.full(n + 1, math.nan)
    marks = give_marks(rule, Measured(again / n, nothing, nothing, nothing, nothing, 1.0), minutes)
    return _luck(marks, chance, rule.full_marks)


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def _luck(marks: Array, chance: Array, full: float) -> MarkLuck:
    order = np.argsort(marks, kind="stable")
    marks, below = marks[order], np.cumsum(chance[order])
    tail = (1.0 - RANGE_SHARE) / 2.0
    low = marks[min(int(np.searchsorted(below, tail)), marks.size - 1)]
    high = marks[min(int(np.searchsorted(below, 1.0 - tail)), marks.size - 1)]
    total = float(below[-1])
    return MarkLuck(
        float(low),
        float(high),
        float(marks @ chance[order]) / total,
        float(chance[order][marks >= full - 1e-9].sum()) / total,
    )


def _even_draws() -> Array:
    """Places that stand evenly for a circular scatter of one standard deviation, shape (n, 2)."""
    ring = (np.arange(_RINGS) + 0.5) / _RINGS
    radius = np.sqrt(-2.0 * np.log1p(-ring))
    turn_rad = (np.arange(_SECTORS) + 0.5) * 2.0 * np.pi / _SECTORS
    # Every ring turned by a part of a sector, or the places would stand in lines.
    angle = turn_rad[None, :] + np.arange(_RINGS)[:, None] * 2.4
    places: Array = np.stack([radius[:, None] * np.sin(angle), radius[:, None] * np.cos(angle)], axis=2)
    return places.reshape(-1, 2)
