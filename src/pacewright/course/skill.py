"""What habits and scatter come to: how far off a learner usually ends, and who is better than whom."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.pooling import Pooled

Array = NDArray[np.float64]

WALK_M: Final = 1000.0
WALK_LEGS: Final = 5
"""Skill is told by a walk of one kilometre, straight on, in five legs."""
_POINTS, _WEIGHTS = np.polynomial.hermite_e.hermegauss(5)


@dataclass(frozen=True, slots=True)
class Skill:
    """How far off a walk of a kilometre usually ends, no slip made.

    Attributes
    ----------
    miss_m
        The usual miss in metres: its root mean square.
    low_m, high_m
        The interval that holds it 95 times in 100.
    log_sd
        How well its logarithm is known.
    bias_share, scale_share, azimuth_share, count_share
        What part of its square each makes; together 1.
    """

    miss_m: float
    low_m: float
    high_m: float
    log_sd: float
    bias_share: float
    scale_share: float
    azimuth_share: float
    count_share: float


@dataclass(frozen=True, slots=True)
class Rank:
    """Where a learner stands in a class, 1 the best, and from where to where in four cases of five."""

    learner: str
    place: int
    low: int
    high: int


def find_skill(pooled: Pooled) -> tuple[Skill, ...]:
    """The skill of every learner of a class."""
    told, chance = pooled.told, pooled.chance
    used = np.flatnonzero(chance.max(axis=0) > 1e-3)
    chance = chance[:, used] / chance[:, used].sum(axis=1, keepdims=True)
    variance = pooled.width**2
    leaning = np.linalg.inv(np.eye(4) + variance[:, None] * told.weight[:, used])
    value = np.einsum("ngab,b,ngb->nga", leaning, variance, told.pull[:, used]) + leaning @ pooled.mean
    spread = leaning * variance
    spread = spread + np.einsum("ngac,cd,ngbd->ngab", leaning, pooled.mean_covariance, leaning)
    sd = np.sqrt(np.maximum(np.einsum("ngaa->nga", spread)[..., :2], 0.0))
    # Bias and scale move a walk to the side and along it, and hardly know of each other.
    bias = value[..., 0, None] + sd[..., 0, None] * _POINTS
    scale = value[..., 1, None] + sd[..., 1, None] * _POINTS
    parts = (
        bias[..., :, None] ** 2 + 0.0 * scale[..., None, :],
        scale[..., None, :] ** 2 + 0.0 * bias[..., :, None],
        (told.turn_rad[used] ** 2 / WALK_LEGS)[None, :, None, None] + 0.0 * bias[..., :, None],
        (told.count_part[used] ** 2 / WALK_LEGS)[None, :, None, None] + 0.0 * bias[..., :, None],
    )
    weight = np.outer(_WEIGHTS, _WEIGHTS) / float(_WEIGHTS.sum()) ** 2
    total = parts[0] + parts[1] + parts[2] + parts[3]
    log = np.log(WALK_M * np.sqrt(total))
    mean = np.einsum("ng,ngst,st->n", chance, log, weight)
    square = np.einsum("ng,ngst,st->n", chance, (log - mean[:, None, None, None]) ** 2, weight)
    shares = [
        np.einsum("ng,ngst,st->n", chance, part / total, weight) for part in np.broadcast_arrays(*parts)
    ]
    log_sd = np.sqrt(square)
    return tuple(
        Skill(
            math.exp(m),
            math.exp(m - 1.96 * s),
            math.exp(m + 1.96 * s),
            s,
            *(float(share[k]) for share in shares),
        )
        for k, (m, s) in enumerate(zip(mean.tolist(), log_sd.tolist(), strict=True))
    )


def rank_learners(skills: Sequence[tuple[str, Skill]]) -> tuple[Rank, ...]:
    """The order of a class, the smallest usual miss first, and how sure each place is.

    Two learners' logarithms of the miss are taken as normal; how many are better than one is then a sum
    of chances.
    """
    from scipy.special import ndtr

    if not skills:
        return ()
    log = np.array([math.log(skill.miss_m) for _, skill in skills])
    variance = np.array([skill.log_sd**2 for _, skill in skills])
    apart = np.sqrt(np.maximum(variance[:, None] + variance[None, :], 1e-12))
    better = ndtr((log[:, None] - log[None, :]) / apart)
    np.fill_diagonal(better, 0.0)
    expected = 1.0 + better.sum(axis=1)
    sd = np.sqrt(_rank_variance(log, np.sqrt(variance)))
    order = np.argsort(log, kind="stable")
    reach = 1.2816 * sd
    ranks = []
    for place, k in enumerate(order.tolist(), start=1):
        low = max(1, min(place, round(float(expected[k] - reach[k]))))
        high = min(len(skills), max(place, round(float(expected[k] + reach[k]))))
        ranks.append(Rank(skills[k][0], place, low, high))
    return tuple(ranks)


def _rank_variance(log: Array, sd: Array) -> Array:
    """The variance of how many are better than each, over what is not known of all of them."""
    from scipy.special import ndtr

    own = log[:, None] + sd[:, None] * _POINTS
    chance = ndtr((own[:, :, None] - log) / np.maximum(sd, 1e-9))
    for k in range(log.size):
        chance[k, :, k] = 0.0
    weight = _WEIGHTS / _WEIGHTS.sum()
    count = chance.sum(axis=2)
    mean = count @ weight
    variance: Array = ((count - mean[:, None]) ** 2) @ weight + (chance * (1.0 - chance)).sum(axis=2) @ weight
    return variance
