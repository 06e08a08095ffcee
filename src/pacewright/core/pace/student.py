"""Student's t and the F ratio: how far a mean or a scatter strays by chance when runs are few."""

from __future__ import annotations

import math
from functools import lru_cache

from pacewright.exceptions import ValueComplaint


@lru_cache(maxsize=256)
def student_quantile(probability: float, degrees_of_freedom: float) -> float:
    """The t that a share `probability` of walks stays below.

    Parameters
    ----------
    probability
        Between 0 and 1, both left out.
    degrees_of_freedom
        Above 0; need not be whole.

    Raises
    ------
    ValueComplaint
        The probability or the degrees of freedom cannot be.

    References
    ----------
    Student, The probable error of a mean, Biometrika 6 (1908).

    >>> round(student_quantile(0.975, 3), 3), round(student_quantile(0.5, 3), 3)
    (3.182, 0.0)
    """
    if not 0 < probability < 1:
        raise ValueComplaint(f"{probability} is not a probability", "Give a number between 0 and 1")
    if not degrees_of_freedom > 0:
        raise ValueComplaint(f"{degrees_of_freedom} degrees of freedom say nothing", "Add runs")
    if probability < 0.5:
        return -student_quantile(1 - probability, degrees_of_freedom)
    wanted = 2 * (1 - probability)
    low, high = 0.0, 1.0
    while student_two_sided(high, degrees_of_freedom) > wanted:
        high *= 2
    # Halving is slow but cannot miss, and a table of paces asks only a few times.
    while high - low > 1e-13 * max(1.0, high):
        middle = (low + high) / 2
        if student_two_sided(middle, degrees_of_freedom) > wanted:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def student_two_sided(t: float, degrees_of_freedom: float) -> float:
    """The chance of a t at least this far from 0, to either side.

    >>> round(student_two_sided(3.182446, 3), 6)
    0.05
    """
    if math.isinf(t):
        return 0.0
    return beta_share(degrees_of_freedom / 2, 0.5, degrees_of_freedom / (degrees_of_freedom + t * t))


def f_exceeded(ratio: float, over_freedom: float, under_freedom: float) -> float:
    """The chance that a ratio of two equal variances comes out above `ratio`.

    >>> round(f_exceeded(9.2766, 3, 3), 4)
    0.05
    """
    if ratio <= 0:
        return 1.0
    share = under_freedom / (under_freedom + over_freedom * ratio)
    return beta_share(under_freedom / 2, over_freedom / 2, share)


def beta_share(a: float, b: float, x: float) -> float:
    """The regularised incomplete beta function, the share of a beta distribution below `x`.

    References
    ----------
    M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), 26.5.8: the continued
    fraction, here evaluated forward after W. J. Lentz, Applied Optics 15 (1976).
    """
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    log_front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    # The fraction converges fast only on the near side of the mean.
    if x < (a + 1) / (a + b + 2):
        return math.exp(log_front) * _beta_fraction(a, b, x) / a
    return 1.0 - math.exp(log_front) * _beta_fraction(b, a, 1 - x) / b


def _beta_fraction(a: float, b: float, x: float) -> float:
    tiny = 1e-300
    c = 1.0
    d = 1 / _not_zero(1 - (a + b) * x / (a + 1), tiny)
    fraction = d
    for m in range(1, 2000):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1 / _not_zero(1 + even * d, tiny)
        c = _not_zero(1 + even / c, tiny)
        fraction *= d * c
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        d = 1 / _not_zero(1 + odd * d, tiny)
        c = _not_zero(1 + odd / c, tiny)
        fraction *= d * c
        if abs(d * c - 1) < 1e-15:
            break
    return fraction


def _not_zero(value: float, tiny: float) -> float:
    return tiny if abs(value) < tiny else value
