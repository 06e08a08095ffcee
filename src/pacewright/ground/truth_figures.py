"""Mean and scatter of readings, each measured with an uncertainty of its own."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.student import student_quantile

Array = NDArray[np.float64]

LEAST_READINGS: Final = 4
"""Fewer do not tell their own scatter; the walker's is then taken."""

_LIKELIHOOD_DROP: Final = 3.841 / 2.0
"""Half the 95 % point of chi-square with one degree of freedom."""
_STEPS: Final = 2_001


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with its standard deviation and the interval that holds it 95 times in 100."""

    value: float
    sd: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Scatter:
    """A scatter (standard deviation) and the interval that holds it 95 times in 100."""

    value: float
    low: float
    high: float


def fit_mean_and_scatter(values: Array, variance: Array, assumed_sd: float) -> tuple[Figure, Scatter | None]:
    """Give the mean of readings and their scatter about it, beyond what measuring adds.

    Parameters
    ----------
    values
        At least one reading, shape (n,).
    variance
        What measuring each adds, shape (n,), above 0.
    assumed_sd
        The scatter taken where there are too few readings to tell; the second answer is then None.

    References
    ----------
    Restricted maximum likelihood of one variance component: H. D. Patterson and R. Thompson, Biometrika
    58 (1971) (from memory). The interval is where twice the log-likelihood drops by 3.841.
    """
    if len(values) < LEAST_READINGS:
        mean, sd = _mean(values, variance, assumed_sd)
        wide = student_quantile(0.975, 1000.0) * sd
        return Figure(mean, sd, mean - wide, mean + wide), None
    widest = 4.0 * float(np.std(values)) + 4.0 * assumed_sd
    tried = np.concatenate([[0.0], np.geomspace(widest * 1e-3, widest, _STEPS)])
    likelihood = np.array([_log_likelihood(values, variance, sd) for sd in tried])
    best = int(likelihood.argmax())
    inside = np.flatnonzero(likelihood >= likelihood[best] - _LIKELIHOOD_DROP)
    scatter = Scatter(float(tried[best]), float(tried[inside[0]]), float(tried[inside[-1]]))
    mean, sd = _mean(values, variance, scatter.value)
    wide = student_quantile(0.975, len(values) - 1) * sd
    return Figure(mean, sd, mean - wide, mean + wide), scatter


def _mean(values: Array, variance: Array, scatter_sd: float) -> tuple[float, float]:
    weight = 1.0 / (variance + scatter_sd**2)
    return float(weight @ values / weight.sum()), math.sqrt(1.0 / float(weight.sum()))


def _log_likelihood(values: Array, variance: Array, scatter_sd: float) -> float:
    total = variance + scatter_sd**2
    mean, sd = _mean(values, variance, scatter_sd)
    misfit2 = float(((values - mean) ** 2 / total).sum())
    return -0.5 * (float(np.log(total).sum()) + misfit2 - 2.0 * math.log(sd))


def find_odd(values: Array, sd: Array, reach: float) -> NDArray[np.bool_]:
    """Tell which readings lie too far from the middle one to be scatter.

    A reading is odd beyond `reach` times its own `sd`, and times the scatter of all as their middle half
    shows it.
    """
    if len(values) == 0:
        return np.zeros(0, dtype=bool)
    away = np.abs(values - np.median(values))
    # The middle half of a normal law reaches 0.6745 standard deviations.
    usual = float(np.median(away)) / 0.6745
    odd: NDArray[np.bool_] = away > reach * np.maximum(sd, usual)
    return odd
