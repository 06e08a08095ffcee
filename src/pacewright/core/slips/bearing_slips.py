"""A slip in a bearing rather than in a leg: how well it explains a log, against all slips in legs.

The search for slips takes every bearing as read. One that was read from the wrong end of the needle, or
taken of another thing, would then be blamed on the legs. Here each bearing in turn is set aside: what
it reads is then any azimuth at all, and the rest of the log must stand by itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.core.adjust.usable_bearings import leave_out
from pacewright.core.slips.mistake_search import LEVEL_SHARES, SlipPosterior
from pacewright.core.slips.normal_batch import log_density, log_sum
from pacewright.core.slips.observation_rows import observation_rows
from pacewright.core.slips.residuals import lay
from pacewright.core.slips.slips import KIND_WEIGHT
from pacewright.core.slips.trial_logs import LogModel, Trials
from pacewright.core.way.observations import Bearing, Observations

BEARING_WEIGHT: Final = 1.0
"""How often a slip strikes a bearing, beside the weights of the kinds that strike legs: as often as one
such kind, for no published rates were found."""


@dataclass(frozen=True, slots=True)
class WrongBearing:
    """One bearing that may hold a slip.

    Attributes
    ----------
    row
        Its index in the rows of the log.
    station
        Where it was taken.
    name
        What was seen.
    probability
        That this bearing, and no leg, holds the mistake.
    """

    row: int
    station: int
    name: str
    probability: float


@dataclass(frozen=True, slots=True)
class BearingSlips:
    """What is left to the legs when a bearing may be wrong.

    Attributes
    ----------
    wrong
        Every bearing, the likeliest to be wrong first.
    leg_probability
        That the mistake is in the legs.
    none_probability
        Of no mistake at all; the three sum to 1.
    """

    wrong: tuple[WrongBearing, ...]
    leg_probability: float
    none_probability: float

    @property
    def probability(self) -> float:
        """That the mistake is in a bearing."""
        return sum(one.probability for one in self.wrong)


def find_bearing_slips(
    posterior: SlipPosterior, level_shares: Sequence[float] = LEVEL_SHARES
) -> BearingSlips:
    """Give the chance that a bearing and not a leg is wrong, bearing by bearing.

    Parameters
    ----------
    posterior
        What the search for slips in the legs found.
    level_shares
        The share of each size of the own scatter, as that search was given it.
    """
    bearings = posterior.observations.bearings
    legs = sum(KIND_WEIGHT.values())
    share_of_bearings = BEARING_WEIGHT / (BEARING_WEIGHT + legs) if bearings else 0.0
    logs = [
        posterior.none_evidence + math.log1p(-posterior.prior),
        posterior.single_evidence + math.log(posterior.prior) + math.log1p(-share_of_bearings),
    ]
    for one in bearings:
        place = math.log(share_of_bearings / len(bearings))
        logs.append(_evidence_without(posterior, one, level_shares) + math.log(posterior.prior) + place)
    chance = np.exp(np.array(logs) - log_sum(np.array(logs))).tolist()
    wrong = [
        WrongBearing(one.row, one.station, one.name, probability)
        for one, probability in zip(bearings, chance[2:], strict=True)
    ]
    wrong.sort(key=lambda one: -one.probability)
    return BearingSlips(tuple(wrong), chance[1], chance[0])


def _evidence_without(posterior: SlipPosterior, bearing: Bearing, level_shares: Sequence[float]) -> float:
    """Give the log evidence of a clean log in which one bearing reads anything, as likely all round."""
    rest: Observations = leave_out(posterior.observations, [bearing], [])
    lost = len(posterior.observations.bearings) - len(rest.bearings)
    states = posterior.model.states
    rows = observation_rows(posterior.log, rest, states.size)
    anywhere = -lost * math.log(2.0 * math.pi)
    if rows.size == 0:
        return anywhere
    laid = lay(LogModel(states, rows, posterior.walker), Trials((), np.zeros(1)))
    levels = [
        float(log_density(laid.residual, laid.covariance(level))[0] + laid.extra[0]) + math.log(share)
        for level, share in zip(posterior.levels.tolist(), level_shares, strict=True)
    ]
    return float(log_sum(np.array(levels))) + anywhere
