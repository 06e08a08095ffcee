"""Two slips in one log, as a second opinion beside the search for one.

Two numbers of a single closure cannot carry two slips: take the first places of the single search, check
or walk them again, put right what was wrong, and search again. This search says whether it is worth
suspecting that there are two.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.mistake_search import SlipPosterior
from pacewright.core.slips.normal_batch import log_sum
from pacewright.core.slips.reading_slips import ReadingSlip
from pacewright.core.slips.residuals import log_evidence
from pacewright.core.slips.slips import AnySlip
from pacewright.core.slips.trial_logs import Trials, together

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

TWO_TO_ONE: Final = 1.0 / 9.0
"""Logs with two slips for every log with one (assumed)."""


@dataclass(frozen=True, slots=True)
class SlipPair:
    """Two things that may both hold a slip, and the likeliest slips in them."""

    probability: float
    slips: tuple[AnySlip | ReadingSlip, AnySlip | ReadingSlip]

    @property
    def legs(self) -> tuple[int | None, int | None]:
        """The legs that they change; None for a reading."""
        first, second = (one.legs[0] if isinstance(one, AnySlip) else None for one in self.slips)
        return first, second


@dataclass(frozen=True, slots=True, eq=False)
class PairFindings:
    """What the search for two slips says.

    Attributes
    ----------
    pairs
        Pairs of legs or readings, the likeliest first; their chances are given that there are two slips.
    log_ratio
        Log of how many times likelier the log is with two slips than with one.
    two_probability
        Of two slips against one, with nine logs of one slip for every log of two.
    """

    pairs: tuple[SlipPair, ...]
    log_ratio: float
    two_probability: float

    @property
    def suspects_two(self) -> bool:
        """True where two slips are likelier than one."""
        return self.two_probability > 0.5


@dataclass(frozen=True, slots=True, eq=False)
class _Single:
    """Slips that may be one of two, with the logs without them; c of them.

    Attributes
    ----------
    slips, trials
        The slips, each changing one leg or one reading.
    log_prior
        Log of how often each happens, shape (c,).
    place
        Equal numbers for one leg or reading, shape (c,).
    touched
        Which legs each changes, or what was read backward along them, shape (c, n).
    """

    slips: tuple[AnySlip | ReadingSlip, ...]
    trials: Trials
    log_prior: Array
    place: Ints
    touched: NDArray[np.bool_]


def find_pairs(posterior: SlipPosterior, most: int = 5) -> PairFindings:
    """Weigh all pairs of slips in two different legs or readings.

    Parameters
    ----------
    posterior
        The search for one slip.
    most
        How many pairs to give.
    """
    nothing = PairFindings((), 0.0, TWO_TO_ONE / (1.0 + TWO_TO_ONE))
    if posterior.model.rows.is_empty:
        return nothing
    groups = _groups(posterior)
    level = np.sqrt([(posterior.level_share * np.square(posterior.levels)).sum()])
    slips: list[tuple[_Single, Ints, _Single, Ints]] = []
    evidence = []
    for number, one in enumerate(groups):
        for other in groups[number:]:
            first, second = _apart(one, other)
            both = together(one.trials.take(first), other.trials.take(second))
            # Any two of the slips, in either order.
            weight = one.log_prior[first] + other.log_prior[second] + np.log(2.0)
            evidence.append(log_evidence(posterior.model, both, level)[0] + weight)
            slips.append((one, first, other, second))
    every = np.concatenate(evidence) if evidence else np.zeros(0)
    if every.size == 0:
        return nothing
    total = float(log_sum(every))
    log_ratio = total - float(posterior.single_evidence)
    two = float(1.0 / (1.0 + np.exp(min(700.0, -(log_ratio + np.log(TWO_TO_ONE))))))
    return PairFindings(_likeliest(slips, np.exp(every - total), most), log_ratio, two)


def _groups(posterior: SlipPosterior) -> list[_Single]:
    """The slips of one leg, of one reading and of one station, each as a batch of one make."""
    n, place = posterior.model.states.size, posterior.places_struck()
    count, of_readings = len(posterior.slips), posterior.reading_trials
    single = np.array([i for i, slip in enumerate(posterior.slips) if len(slip.legs) == 1], dtype=np.int64)
    every: tuple[AnySlip | ReadingSlip, ...] = (*posterior.slips, *posterior.readings)
    prior = np.concatenate([posterior.slip_log_prior, posterior.reading_log_prior])
    found, low = [], 0
    for trials, chosen in (
        (posterior.trials, single),
        *((one, np.arange(one.size)) for one in of_readings),
    ):
        if chosen.size:
            some = trials.take(chosen)
            touched = np.zeros((chosen.size, n + 1), dtype=bool)
            for change in some.changes:
                touched[np.arange(chosen.size), change.leg] = True
            at = low + chosen
            found.append(_Single(tuple(every[i] for i in at), some, prior[at], place[at], touched[:, :n]))
        low += count if trials is posterior.trials else trials.size
    return found


def _apart(one: _Single, other: _Single) -> tuple[Ints, Ints]:
    """The pairs that change no leg twice and strike two different places."""
    if one is other:
        first, second = np.triu_indices(len(one.slips), 1)
    else:
        first, second = (grid.ravel() for grid in np.indices((len(one.slips), len(other.slips))))
    clash = one.touched.astype(np.float32) @ other.touched.T.astype(np.float32) > 0
    apart = ~clash[first, second] & (one.place[first] != other.place[second])
    return first[apart], second[apart]


def _likeliest(
    slips: list[tuple[_Single, Ints, _Single, Ints]], probability: Array, most: int
) -> tuple[SlipPair, ...]:
    """Sum the pairs that strike the same two places, and give the likeliest of each."""
    places = np.concatenate([np.stack([one.place[i], two.place[j]]) for one, i, two, j in slips], axis=1)
    ends = np.cumsum([first.size for _, first, _, _ in slips])
    ordered = np.sort(places, axis=0)
    _, key = np.unique(ordered[0] * (int(places.max(initial=0)) + 1) + ordered[1], return_inverse=True)
    chance = np.bincount(key, weights=probability)
    found = []
    for group in np.argsort(-chance, kind="stable")[:most]:
        if chance[group] == 0:
            break
        mine = np.flatnonzero(key == group)
        best = int(mine[np.argmax(probability[mine])])
        batch = int(np.searchsorted(ends, best, side="right"))
        one, first, two, second = slips[batch]
        inside = best - (int(ends[batch - 1]) if batch else 0)
        pair = (one.slips[first[inside]], two.slips[second[inside]])
        if places[0, best] > places[1, best]:
            pair = (pair[1], pair[0])
        found.append(SlipPair(float(chance[group]), pair))
    return tuple(found)
