"""How often a learner makes each kind of slip, partially pooled over the class.

Slips of a kind come at a rate a leg; learners' rates are a gamma distribution about the class's. A slip
counts as often as it is likely to have been made.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.grade_kinds import GradeKind
from pacewright.course.grading import Grade

Array = NDArray[np.float64]

USUAL_RATE: Final = 0.01
"""Slips of one kind a leg before looking: one leg in a hundred (assumed), worth as much as one slip seen."""
SHAPES: Final = tuple(float(shape) for shape in np.exp(np.linspace(-1.6, 2.4, 13)))
"""Shapes of the gamma distribution: from learners who differ fivefold to those who hardly do."""
FAVOURITE_TIMES: Final = 2.0
"""A slip is a learner's own where it comes so many times as often as with the others."""


@dataclass(frozen=True, slots=True)
class SlipRate:
    """How often one learner makes one kind of slip.

    Attributes
    ----------
    kind
        Which slip.
    seen
        How many were seen, each counted by its chance.
    per_100_legs
        How often it is made on a hundred legs.
    low, high
        The interval that holds it 95 times in 100.
    others_per_100_legs
        The rest of the class's.
    favourite
        The chance that this learner makes it at least twice as often as the others do.
    """

    kind: GradeKind
    seen: float
    per_100_legs: float
    low: float
    high: float
    others_per_100_legs: float
    favourite: float


def slips_seen(one: Grade) -> dict[GradeKind, float]:
    """How many slips of each kind a walk shows, each counted by its chance."""
    seen: dict[GradeKind, float] = {}
    for slip in one.suspects:
        # Two digits of the log are one slip, whether it was walked or not.
        seen[slip.kind] = seen.get(slip.kind, 0.0) + slip.chance
    return seen


def fit_slip_rates(grades: Sequence[Grade], learners: Sequence[str]) -> tuple[tuple[SlipRate, ...], ...]:
    """The rates of every learner, of the kinds that the class shows, the most frequent first.

    References
    ----------
    Gamma-Poisson hierarchy: Gelman et al., Bayesian Data Analysis, sec. 2.6 and 5.1 (from memory).
    """
    number = {name: k for k, name in enumerate(learners)}
    legs = np.zeros(len(learners))
    seen: dict[GradeKind, Array] = {}
    for one in grades:
        who = number[one.handed.learner]
        legs[who] += len(one.key.card.legs)
        for kind, count in slips_seen(one).items():
            seen.setdefault(kind, np.zeros(len(learners)))[who] += count
    rates: list[list[SlipRate]] = [[] for _ in learners]
    for kind, counts in seen.items():
        for own, rate in zip(rates, _rates(kind, counts, legs), strict=True):
            own.append(rate)
    return tuple(tuple(sorted(own, key=lambda rate: -rate.per_100_legs)) for own in rates)


def _rates(kind: GradeKind, counts: Array, legs: Array) -> list[SlipRate]:
    from scipy.special import gammainc, gammaincinv

    # One slip in a hundred legs is believed beforehand; the rest is the class's own.
    mean = (float(counts.sum()) + 1.0) / (float(legs.sum()) + 1.0 / USUAL_RATE)
    shape = _shape(counts, legs, mean)
    a, b = shape + counts, shape / mean + legs
    low, high = gammaincinv(a, 0.025) / b, gammaincinv(a, 0.975) / b
    # Against the others: a learner who makes all of the class's slips of a kind must not hide behind them.
    others = (float(counts.sum()) - counts + 1.0) / (float(legs.sum()) - legs + 1.0 / USUAL_RATE)
    often = 1.0 - gammainc(a, FAVOURITE_TIMES * others * b)
    return [
        SlipRate(
            kind,
            float(counts[k]),
            100.0 * float(a[k] / b[k]),
            100.0 * float(low[k]),
            100.0 * float(high[k]),
            100.0 * float(others[k]),
            float(often[k]),
        )
        for k in range(counts.size)
    ]


def _shape(counts: Array, legs: Array, mean: float) -> float:
    """How alike the learners are in one slip: the shape of the gamma, averaged over what is likely."""
    logs = []
    for shape in SHAPES:
        rate = shape / mean
        each = [
            math.lgamma(shape + n)
            - math.lgamma(shape)
            + shape * math.log(rate / (rate + m))
            - n * math.log(rate + m)
            for n, m in zip(counts.tolist(), legs.tolist(), strict=True)
        ]
        logs.append(sum(each) - 0.5 * math.log(shape) ** 2)
    chance = np.exp(np.array(logs) - max(logs))
    return math.exp(float(np.log(SHAPES) @ chance / chance.sum()))
