"""What the rest of the pace table says of a class with few runs.

Ground, slope and load each move a count by some per cent, and mostly the same per cent whatever the
other two are; what is left over is the class's own. No direction is assumed for any of them:
published figures disagree on whether paces lengthen or shorten downhill.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.walker import Slope

_EFFECT_SDS: Final = (0.02, 0.05, 0.10, 0.15, 0.20, 0.30, 0.45)
"""How far a ground or a direction of slope may move the count, as logarithm; the data weigh these."""

_EFFECT_PRIOR_SD: Final = 0.20
"""Half-normal weight of those: the same walkers need 28 % more steps cross-country than on the level
(US Army SMCT 071-329-1006), 10 to 20 % more on moderate to steep slopes (common practice)."""

_OWN_SDS: Final = (0.005, 0.01, 0.02, 0.03, 0.05, 0.08, 0.12)
"""How far a class may stray from what its ground, slope and load add up to, as logarithm."""

_OWN_PRIOR_SD: Final = 0.05
"""Half-normal weight of those (assumed): the effects add up to within about 5 %."""

_LOAD_SD_PER_KG: Final = 0.05 / 20
"""Twenty kilograms move the count by some 5 %, either way (assumed; studies disagree on the sign)."""

_LEVEL_SD: Final = 1.0
"""The table's own level is left to the data: a factor of e either way."""


class HasClass(Protocol):
    """What tells one class of the table from another."""

    @property
    def ground(self) -> str: ...  # noqa: D102
    @property
    def slope(self) -> str: ...  # noqa: D102
    @property
    def direction(self) -> Slope: ...  # noqa: D102
    @property
    def load_kg(self) -> float | None: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Leaning:
    """A class's mean where its own runs and the rest of the table are weighed together.

    Attributes
    ----------
    mean
        Natural logarithm of the paces per hundred metres.
    sd
        How well that is known, as logarithm.
    own_share
        The weight of the class's own runs, 0 to 1.
    """

    mean: float
    sd: float
    own_share: float


def lean_on_the_rest(
    classes: Sequence[HasClass], log_means: NDArray[np.float64], runs: NDArray[np.float64], run_sd: float
) -> tuple[Leaning, ...]:
    """Every class's mean, leaning on the others in proportion to what each knows.

    A random-effects model (best linear unbiased prediction) whose two spreads are averaged over a
    grid, each spread weighted by how well it explains the class means: with few classes the spreads
    themselves are poorly known, and taking the best one alone would be too sure.

    Parameters
    ----------
    classes
        The classes, n of them.
    log_means
        Natural logarithm of each class's mean count per hundred metres, shape (n,).
    runs
        Runs behind each, shape (n,).
    run_sd
        Run-to-run scatter, as logarithm.

    References
    ----------
    C. R. Henderson, Biometrics 31 (1975), on the prediction; B. Efron and C. Morris, Journal of the
    American Statistical Association 70 (1975), on borrowing strength.
    """
    same_ground = _same([c.ground for c in classes])
    same_direction = _same([c.direction for c in classes])
    same_slope = _same([c.slope for c in classes])
    loads = np.array([c.load_kg or 0.0 for c in classes])
    fixed = _LEVEL_SD**2 + _LOAD_SD_PER_KG**2 * np.outer(loads, loads)
    centred = log_means - log_means.mean()
    noise = run_sd**2 / runs

    weights, means, variances, shares = [], [], [], []
    for effect in _EFFECT_SDS:
        # Two steepnesses of one direction differ less than two directions: half the spread.
        shared = fixed + effect**2 * (same_ground + same_direction + same_slope / 4)
        for own in _OWN_SDS:
            prior = shared + own**2 * np.eye(len(classes))
            total = prior + np.diag(noise)
            gain = np.linalg.solve(total, prior).T
            means.append(gain @ centred)
            variances.append(np.diag(prior - gain @ prior))
            shares.append(np.diag(gain))
            fit = centred @ np.linalg.solve(total, centred) + np.linalg.slogdet(total)[1]
            weights.append(-0.5 * (fit + (effect / _EFFECT_PRIOR_SD) ** 2 + (own / _OWN_PRIOR_SD) ** 2))

    weight = np.exp(np.array(weights) - max(weights))
    weight /= weight.sum()
    mean = weight @ np.array(means)
    # The spread of the answers over the grid is part of not knowing.
    variance = weight @ (np.array(variances) + (np.array(means) - mean) ** 2)
    share = weight @ np.array(shares)
    return tuple(
        Leaning(float(m + log_means.mean()), float(np.sqrt(v)), float(min(1.0, s)))
        for m, v, s in zip(mean, variance, share, strict=True)
    )


def _same(names: Sequence[object]) -> NDArray[np.float64]:
    return np.array([[float(a == b) for b in names] for a in names])
