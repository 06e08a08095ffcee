"""Figures of every learner of a class, each with the interval that holds it 95 times in 100.

Neither the learner's scatter nor how far the class's learners differ is known: what is told of a habit is
a mixture of normals over both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.pooling import Pooled, weigh_widths

Array = NDArray[np.float64]

PROBABILITY: Final = 0.95
"""The share of learners whose true figure lies in the stated interval."""
LEAST_SHARE: Final = 1e-4
"""A width that counts for less changes no interval."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a learner.

    Attributes
    ----------
    value, sd
        In the unit of the name it stands under.
    low, high
        The interval that holds it 95 times in 100.
    own_share
        How much of it the learner's own walks tell, from 0 (it is the class's) to 1.
    """

    value: float
    sd: float
    low: float
    high: float
    own_share: float

    @property
    def shows(self) -> bool:
        """Whether the interval leaves out 0."""
        return self.low > 0.0 or self.high < 0.0

    def times(self, unit: float) -> Figure:
        """The same in another unit, of which there are so many in one of this."""
        return Figure(self.value * unit, self.sd * unit, self.low * unit, self.high * unit, self.own_share)


def class_figure(pooled: Pooled, habit: int) -> Figure:
    """What the whole class has in common in one habit."""
    value, sd = float(pooled.mean[habit]), math.sqrt(float(pooled.mean_covariance[habit, habit]))
    return Figure(value, sd, value - 1.96 * sd, value + 1.96 * sd, 1.0)


class Spreads:
    """The normals that make up what is known of each learner: a grid of scatters times one of widths."""

    def __init__(self, pooled: Pooled) -> None:
        self.pooled = pooled
        told = pooled.told
        # Pairs of scatters that no learner is likely to have cost time and change nothing.
        self.used = np.flatnonzero(pooled.chance.max(axis=0) > 1e-3)
        self.weight, self.pull = told.weight[:, self.used], told.pull[:, self.used]
        chance = pooled.chance[:, self.used]
        self.chance = chance / chance.sum(axis=1, keepdims=True)
        self.mean_weight = np.einsum("ng,ngab->nab", self.chance, self.weight)
        self.mean_pull = np.einsum("ng,nga->na", self.chance, self.pull)

    def figures(self, habit: int) -> list[Figure]:
        """One habit of every learner."""
        widths = weigh_widths(self.mean_weight, self.mean_pull, self.pooled.width, habit)
        means, sds, chances = [], [], []
        for k in np.flatnonzero(widths.safe > LEAST_SHARE).tolist():
            value, variance = self._normals(widths.width[k], widths.mean[k], widths.mean_covariance[k], habit)
            means.append(value)
            sds.append(np.sqrt(variance))
            chances.append(widths.safe[k] * self.chance)
        alone = widths.width[:, habit] ** 2 + widths.mean_covariance[:, habit, habit]
        return _mixtures(
            np.concatenate(means, axis=1),
            np.concatenate(sds, axis=1),
            np.concatenate(chances, axis=1),
            float(widths.likely @ alone),
        )

    def _normals(self, width: Array, mean: Array, covariance: Array, habit: int) -> tuple[Array, Array]:
        variance = width**2
        # What the class's mean still does to a learner, and what the learner's own walks do.
        leaning = np.linalg.inv(np.eye(4) + variance[:, None] * self.weight)[..., habit, :]
        value = np.einsum("ngb,ngb->ng", leaning * variance, self.pull) + leaning @ mean
        spread = leaning[..., habit] * variance[habit]
        spread = spread + np.einsum("nga,ab,ngb->ng", leaning, covariance, leaning)
        return value, spread


def _mixtures(mean: Array, sd: Array, chance: Array, prior_variance: float) -> list[Figure]:
    """Mean, sd and interval of mixtures of normals, one a row."""
    from scipy.special import ndtr

    chance = chance / chance.sum(axis=1, keepdims=True)
    value = np.sum(chance * mean, axis=1)
    variance = np.sum(chance * (sd**2 + (mean - value[:, None]) ** 2), axis=1)
    ends = []
    for wanted in ((1.0 - PROBABILITY) / 2.0, (1.0 + PROBABILITY) / 2.0):
        low, high = value - 9.0 * np.sqrt(variance), value + 9.0 * np.sqrt(variance)
        for _ in range(30):
            middle = (low + high) / 2.0
            below = np.sum(chance * ndtr((middle[:, None] - mean) / sd), axis=1) < wanted
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        ends.append((low + high) / 2.0)
    return [
        Figure(
            float(value[k]),
            math.sqrt(float(variance[k])),
            float(ends[0][k]),
            float(ends[1][k]),
            float(np.clip(1.0 - variance[k] / prior_variance, 0.0, 1.0)),
        )
        for k in range(value.size)
    ]


def scatter_figures(pooled: Pooled) -> tuple[list[Figure], list[Figure]]:
    """The azimuth scatter in degrees and the count scatter in per cent of every learner."""
    told = pooled.told
    found = []
    for habit, (log, usual) in enumerate(
        (
            (told.log_turn, math.degrees(float(told.turn_rad[0] / np.exp(told.log_turn[0])))),
            (told.log_count, 100.0 * float(told.count_part[0] / np.exp(told.log_count[0]))),
        )
    ):
        mean = pooled.chance @ log
        # The grid is coarse: a step of it is part of what is not known.
        step = float(np.diff(np.unique(log))[0])
        sd = np.sqrt(np.maximum(pooled.chance @ log**2 - mean**2, 0.0) + step**2 / 12.0)
        before = float(pooled.log_spread[habit]) ** 2 + step**2 / 12.0
        found.append(
            [
                Figure(
                    usual * math.exp(m),
                    usual * math.exp(m) * s,
                    usual * math.exp(m - 1.96 * s),
                    usual * math.exp(m + 1.96 * s),
                    max(0.0, min(1.0, 1.0 - s**2 / before)),
                )
                for m, s in zip(mean.tolist(), sd.tolist(), strict=True)
            ]
        )
    return found[0], found[1]
