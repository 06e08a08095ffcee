"""Where stations lie under each explanation of a log, given all that was observed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.leg_terms import LegTerms, changed_terms, written_terms
from pacewright.core.slips.mistake_search import SlipPosterior
from pacewright.core.slips.normal_batch import factor
from pacewright.core.slips.observation_rows import station_signs
from pacewright.core.slips.residuals import lay, less_written, rows_of, told_terms
from pacewright.core.slips.trial_logs import COMPASS, HANDLING, NOTHING, SCALE, Trials

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

_LEAST_VARIANCE: Final = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Explanations:
    """The likeliest explanations of a log, `no mistake` among them; h of them.

    Attributes
    ----------
    weight
        Of each, summing to 1, shape (h,).
    label
        What each blames: equal numbers for one leg, one gap or one reading, 0 for no mistake, shape (h,).
    parts
        The trial logs, each with the places of its weights.
    """

    weight: Array
    label: Ints
    parts: tuple[tuple[Trials, Ints], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """Stations under each explanation: mean (2, stations, h), covariance (2, 2, stations, h)."""

    mean: Array
    covariance: Array


def likeliest_explanations(posterior: SlipPosterior, share: float = 0.999, most: int = 80) -> Explanations:
    """The fewest explanations that hold a share of the chance, at most so many.

    A leg missing somewhere in a range is an explanation for every place where it may be missing.
    """
    missing, share_of_place = _missing_places(posterior)
    of_readings = posterior.reading_trials
    batches = [NOTHING, posterior.trials, missing, *of_readings]
    weight = np.concatenate(
        [
            [posterior.none_probability],
            posterior.slip_probability,
            share_of_place,
            posterior.reading_probability,
        ]
    )
    struck = posterior.places_struck()
    legs = len(posterior.slips)
    gap_labels = [-2 - number for number, gap in enumerate(posterior.gaps) for _ in gap.after_legs]
    whole = np.where(struck[:legs] > 0, struck[:legs], -1)
    label = np.concatenate([[0], whole, gap_labels, struck[legs:]]).astype(np.int64)
    order = np.argsort(-weight, kind="stable")
    held = np.cumsum(weight[order]) / weight.sum()
    chosen = order[: min(most, int(np.searchsorted(held, share)) + 1)]
    parts, low = [], 0
    for trials in batches:
        at = np.flatnonzero((chosen >= low) & (chosen < low + trials.size))
        if at.size:
            parts.append((trials.take(chosen[at] - low), at))
        low += trials.size
    return Explanations(weight[chosen] / weight[chosen].sum(), label[chosen], tuple(parts))


def _missing_places(posterior: SlipPosterior) -> tuple[Trials, Array]:
    """The log with a leg put back at every place where one may be missing, and the chance of each."""
    gaps = posterior.gaps
    number = np.repeat(np.arange(len(gaps)), [len(gap.after_legs) for gap in gaps])
    trials = posterior.missing.trials.take(number)
    (change,) = trials.changes
    leg = np.array([leg for gap in gaps for leg in gap.before_legs], dtype=np.int64)
    chance = posterior.gap_probability[number] / np.bincount(number)[number]
    return replace(trials, changes=(replace(change, leg=leg),)), chance


def places_given(
    posterior: SlipPosterior, explanations: Explanations, stations: Ints, origin: int = 0
) -> Places:
    """Where stations lie from another under each explanation, given all that was observed.

    In the walker's frame what all legs share is no part of it: it turns and scales the whole figure.
    """
    h = explanations.weight.size
    mean = np.empty((2, stations.size, h))
    covariance = np.empty((2, 2, stations.size, h))
    for trials, at in explanations.parts:
        one = _places(posterior, trials, stations, origin)
        mean[:, :, at] = one.mean
        covariance[:, :, :, at] = one.covariance
    return Places(mean, covariance)


def _places(posterior: SlipPosterior, trials: Trials, stations: Ints, origin: int) -> Places:
    model, h, s = posterior.model, trials.size, stations.size
    level = float(np.sqrt((posterior.level_share * np.square(posterior.levels)).sum()))
    legs = model.states.size
    reach = station_signs(stations, legs) - station_signs(np.array([origin]), legs)
    laid = lay(model, trials)
    held = laid.at(level)
    value, own, lever, cross = _station_sums(posterior, trials, reach, level)
    read = told_terms(model, trials)
    value = value + np.einsum("dsah,dh->sah", lever[read], held.told.mean)
    seen: Array = rows_of(cross, laid.sight, model.rows.pairs)
    half = np.einsum("dsah,deh->esah", lever[read], held.told.covariance)
    for term, variance in enumerate(model.shared_variance):
        if term != HANDLING and variance > 0:
            seen = seen + variance * lever[term][:, :, None] * held.lever[term]
            own = own + variance * lever[term][:, :, None] * lever[term][:, None]
    for one, of_rows, other in zip(half, held.lever[read], lever[read], strict=True):
        seen = seen + one[:, :, None] * of_rows
        own = own + one[:, :, None] * other[:, None]
    m = held.residual.shape[0]
    factored = factor(held.covariance)
    white = factored.whiten(seen.transpose(2, 0, 1, 3).reshape(m, 2 * s, h)).reshape(m, s, 2, h)
    mean = value + np.einsum("msah,mh->sah", white, factored.whiten(held.residual))
    covariance = own - np.einsum("msah,msbh->sabh", white, white)
    mean, covariance = mean.transpose(1, 0, 2), covariance.transpose(1, 2, 0, 3)
    covariance[[0, 1], [0, 1]] += _LEAST_VARIANCE
    if posterior.frame.kind == "map":
        return _turned(mean, covariance, trials.turn_rad)
    return Places(mean, covariance)


def _station_sums(
    posterior: SlipPosterior, trials: Trials, reach: Array, level: float
) -> tuple[Array, Array, Array, Array]:
    """Place (s, 2, h), own covariance (s, 2, 2, h), levers (t, s, 2, h) of stations given back azimuths.

    And the covariance by the legs' own scatter with the pairs of rows, (s, 2, q, 2, h).
    """
    model, pulls, sign = posterior.model, len(trials.pulls), posterior.model.rows.pair_sign
    written = _without_shared(posterior, written_terms(model, level, pulls))
    value = np.einsum("sn,an->sa", reach, written.mean)[..., None] + np.zeros(trials.size)
    own = np.einsum("sn,abn->sab", reach**2, written.covariance)[..., None] + np.zeros(trials.size)
    lever = np.einsum("sn,tan->tsa", reach, written.lever)[..., None] + np.zeros(trials.size)
    cross = np.einsum("sn,abn,qn->saqb", reach, written.covariance, sign, optimize=True)[..., None]
    cross = cross + np.zeros(trials.size)
    for change in trials.changes:
        now = _without_shared(posterior, changed_terms(model, change, level, pulls))
        off = less_written(now, None if change.is_extra else written, change.leg)
        enters, enters_rows = reach[:, change.leg], sign[:, change.leg]
        value += enters[:, None] * off[0]
        own += (enters**2)[:, None, None] * off[1]
        lever += enters[None, :, None] * off[2][:, None]
        both = enters[:, None] * enters_rows
        cross += both[:, None, :, None] * off[1][None, :, None]
    return value, own, lever, cross


def _without_shared(posterior: SlipPosterior, terms: LegTerms) -> LegTerms:
    """Legs in the walker's own frame, where only what was read backward answers to what is shared."""
    if posterior.frame.kind == "map":
        return terms
    lever = terms.lever.copy()
    lever[[COMPASS, SCALE]] = 0.0
    lever[HANDLING] = terms.drawn[0]
    return replace(terms, lever=lever)


def _turned(mean: Array, covariance: Array, turn_rad: Array) -> Places:
    """Turn places clockwise, for azimuths that ought to be so much larger."""
    sine, cosine = np.sin(turn_rad), np.cos(turn_rad)
    turn = np.array([[cosine, sine], [-sine, cosine]])
    return Places(
        np.einsum("abh,bsh->ash", turn, mean),
        np.einsum("ach,cdsh,bdh->absh", turn, covariance, turn, optimize=True),
    )
