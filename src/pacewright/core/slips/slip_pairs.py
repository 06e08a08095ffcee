"""Two slips in one log, as a second opinion beside the search for one.

Two numbers of a single closure cannot carry two slips: take the first rows of the single search, check
or walk them again, put right what was wrong, and search again. This search says whether it is worth
suspecting that there are two.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.mistake_search import SlipPosterior
from pacewright.core.slips.normal_batch import log_density, log_sum
from pacewright.core.slips.residuals import lay_sums
from pacewright.core.slips.slips import Slip
from pacewright.core.slips.trial_logs import LogModel, Sums

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

TWO_TO_ONE: Final = 1.0 / 9.0
"""Logs with two slips for every log with one (assumed)."""
_AT_ONCE: Final = 4096


@dataclass(frozen=True, slots=True)
class LegPair:
    """Two legs that may both hold a slip, and the likeliest slips in them."""

    legs: tuple[int, int]
    probability: float
    slips: tuple[Slip, Slip]


@dataclass(frozen=True, slots=True, eq=False)
class PairFindings:
    """What the search for two slips says.

    Attributes
    ----------
    pairs
        Pairs of legs, the likeliest first; their chances are given that there are two slips.
    log_ratio
        Log of how many times likelier the log is with two slips than with one.
    two_probability
        Of two slips against one, with nine logs of one slip for every log of two.
    """

    pairs: tuple[LegPair, ...]
    log_ratio: float
    two_probability: float

    @property
    def suspects_two(self) -> bool:
        """True where two slips are likelier than one."""
        return self.two_probability > 0.5


def find_pairs(posterior: SlipPosterior, most: int = 5) -> PairFindings:
    """Weigh all pairs of slips on two different legs.

    Parameters
    ----------
    posterior
        The search for one slip.
    most
        How many pairs of legs to give.
    """
    rows = np.array([i for i, slip in enumerate(posterior.slips) if len(slip.legs) == 1], dtype=np.int64)
    leg = np.array([posterior.slips[i].legs[0] for i in rows], dtype=np.int64)
    first, second = np.triu_indices(rows.size, 1)
    apart = leg[first] != leg[second]
    first, second = first[apart], second[apart]
    if first.size == 0 or posterior.model.rows.size == 0:
        return PairFindings((), 0.0, TWO_TO_ONE / (1.0 + TWO_TO_ONE))
    log_prior = posterior.slip_log_prior[rows]
    # Any two of the slips that one leg and another can suffer, in either order.
    log_weight = log_prior[first] + log_prior[second] + np.log(2.0)
    log_evidence = log_weight + _pair_evidence(posterior, rows, first, second)
    total = float(log_sum(log_evidence))
    single = float(posterior.single_evidence)
    log_ratio = total - single
    two = float(1.0 / (1.0 + np.exp(min(700.0, -(log_ratio + np.log(TWO_TO_ONE))))))
    probability = np.exp(log_evidence - total)
    return PairFindings(_leg_pairs(posterior, rows, first, second, probability, most), log_ratio, two)


def _pair_evidence(posterior: SlipPosterior, rows: Ints, first: Ints, second: Ints) -> Array:
    model = posterior.model
    written = model.sums_as_written(model.seen_sign, model.seen_part)
    change = posterior.trials.take(rows).changes[0]
    single = model.sums_of_change(model.seen_sign, model.seen_part, change)
    evidence = np.empty(first.size)
    level = float(np.sqrt((posterior.level_share * np.square(posterior.levels)).sum()))
    for start in range(0, first.size, _AT_ONCE):
        some = slice(start, start + _AT_ONCE)
        sums = written.plus(single.take(first[some])).plus(single.take(second[some]))
        evidence[some] = _evidence(model, sums, level)
    return evidence


def _evidence(model: LogModel, sums: Sums, level: float) -> Array:
    laid = lay_sums(model, sums, np.zeros(sums.size))
    density: Array = log_density(laid.residual, laid.covariance(level)) + laid.extra
    return density


def _leg_pairs(
    posterior: SlipPosterior, rows: Ints, first: Ints, second: Ints, probability: Array, most: int
) -> tuple[LegPair, ...]:
    legs = posterior.model.states.size + 1
    leg = np.array([posterior.slips[i].legs[0] for i in rows])
    key = leg[first] * legs + leg[second]
    chance = np.bincount(key, weights=probability, minlength=legs * legs)
    found = []
    for one in np.argsort(-chance, kind="stable")[:most]:
        if chance[one] == 0:
            break
        mine = np.flatnonzero(key == one)
        best = mine[np.argmax(probability[mine])]
        slips = (posterior.slips[rows[first[best]]], posterior.slips[rows[second[best]]])
        found.append(LegPair((int(one // legs), int(one % legs)), float(chance[one]), slips))
    return tuple(found)
