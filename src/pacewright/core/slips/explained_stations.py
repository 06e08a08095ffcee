"""Where stations lie under each explanation of a log, given all that was observed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.mistake_search import SlipPosterior
from pacewright.core.slips.normal_batch import factor
from pacewright.core.slips.observation_rows import station_signs
from pacewright.core.slips.residuals import lay
from pacewright.core.slips.trial_logs import LogModel, Trials

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
        What each blames: equal numbers for one leg or one gap, 0 for no mistake, shape (h,).
    parts
        The trial logs, each with the places of its weights, and the observed numbers that it sets aside.
    """

    weight: Array
    label: Ints
    parts: tuple[tuple[Trials, Ints, tuple[int, ...]], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """Stations under each explanation: mean (2, stations, h), covariance (2, 2, stations, h)."""

    mean: Array
    covariance: Array


def likeliest_explanations(posterior: SlipPosterior, share: float = 0.999, most: int = 80) -> Explanations:
    """Give the fewest explanations that hold a share of the chance, at most so many."""
    none = np.array([posterior.none_probability])
    readings = posterior.reading_probability
    weight = np.concatenate([none, posterior.slip_probability, posterior.gap_probability, readings])
    of_readings = range(-1000, -1000 - readings.size, -1)
    label = np.array(
        [0, *(_label(slip.legs) for slip in posterior.slips), *_gap_labels(posterior), *of_readings]
    )
    order = np.argsort(-weight, kind="stable")
    held = np.cumsum(weight[order]) / weight.sum()
    chosen = order[: min(most, int(np.searchsorted(held, share)) + 1)]
    slips = len(posterior.slips)
    parts: list[tuple[Trials, Ints, tuple[int, ...]]] = []
    for low, high, trials in (
        (0, 1, Trials((), np.zeros(1))),
        (1, 1 + slips, posterior.trials),
        (1 + slips, weight.size - readings.size, posterior.missing.trials),
    ):
        at = np.flatnonzero((chosen >= low) & (chosen < high))
        if at.size:
            parts.append((trials.take(chosen[at] - low), at, ()))
    for number in np.flatnonzero(chosen >= weight.size - readings.size).tolist():
        slip = posterior.readings[int(chosen[number]) - (weight.size - readings.size)]
        parts.append((Trials((), np.zeros(1)), np.array([number]), slip.rows))
    return Explanations(weight[chosen] / weight[chosen].sum(), label[chosen], tuple(parts))


def _label(legs: tuple[int, ...]) -> int:
    return legs[0] if legs else -1


def _gap_labels(posterior: SlipPosterior) -> list[int]:
    return [-2 - number for number in range(len(posterior.gaps))]


def places_given(
    posterior: SlipPosterior, explanations: Explanations, stations: Ints, origin: int = 0
) -> Places:
    """Give where stations lie from another under each explanation, given all that was observed.

    In the walker's frame what all legs share is no part of it: it turns and scales the whole figure.
    """
    h = explanations.weight.size
    mean = np.empty((2, stations.size, h))
    covariance = np.empty((2, 2, stations.size, h))
    for trials, at, aside in explanations.parts:
        one = _places(posterior, trials, stations, origin, aside)
        mean[:, :, at] = one.mean
        covariance[:, :, :, at] = one.covariance
    return Places(mean, covariance)


def _places(
    posterior: SlipPosterior, trials: Trials, stations: Ints, origin: int, aside: tuple[int, ...] = ()
) -> Places:
    model, h, s = posterior.model, trials.size, stations.size
    m = model.rows.size
    laid = lay(model, trials)
    level = float(np.sqrt((posterior.level_share * np.square(posterior.levels)).sum()))
    reach = _reach(model, stations, origin)
    value, own, lever = _station_sums(model, reach, trials)
    if posterior.frame.kind == "walker":
        lever[:3] = 0.0
    shared = model.shared_variance
    cross = level**2 * _cross_own(model, reach, trials)
    cross += np.einsum("tmh,t,tash->mash", laid.lever, shared, lever, optimize=True)
    kept = np.setdiff1d(np.arange(m), np.array(aside, dtype=np.intp))
    factored = factor(laid.covariance(level)[np.ix_(kept, kept)])
    white = factored.whiten(cross[kept].reshape(kept.size, 2 * s, h)).reshape(kept.size, 2, s, h)
    mean = value + np.einsum("mash,mh->ash", white, factored.whiten(laid.residual[kept]))
    covariance = level**2 * own - np.einsum("mash,mbsh->absh", white, white)
    covariance += np.einsum("tash,t,tbsh->absh", lever, shared, lever, optimize=True)
    covariance[[0, 1], [0, 1]] += _LEAST_VARIANCE
    if posterior.frame.kind == "map":
        return _turned(mean, covariance, trials.turn_rad)
    return Places(mean, covariance)


def _reach(model: LogModel, stations: Ints, origin: int) -> Array:
    """Give how each leg enters each station's place from the origin, shape (stations, n + 1)."""
    legs = model.states.size
    reach: Array = station_signs(stations, legs) - station_signs(np.array([origin]), legs)
    return reach


def _station_sums(model: LogModel, reach: Array, trials: Trials) -> tuple[Array, Array, Array]:
    """Give place (2, s, h), own covariance (2, 2, s, h) and levers (terms, 2, s, h) of stations."""
    h, legs = trials.size, reach[:, :-1]
    value = np.repeat((model.steps[:2] @ legs.T)[:, :, None], h, axis=2)
    own = np.einsum("abn,sn->abs", model.own[:2, :2], legs**2)[..., None] + np.zeros(h)
    lever = np.stack([np.einsum("an,n,sn->as", levers[:2], on, legs) for levers, on in model.terms_of_legs()])
    lever = lever[..., None] + np.zeros(h)
    for change in trials.changes:
        entering = reach[:, change.leg]
        value += entering * change.shift[:2, None]
        own += entering**2 * change.own[:2, :2, None]
        lever += entering * model.term_changes(np.eye(3)[:2], change)[:, :, None]
    return value, own, lever


def _cross_own(model: LogModel, reach: Array, trials: Trials) -> Array:
    """Give the covariance, by the legs' own scatter, of observations and stations, (m, 2, s, h)."""
    rows = model.rows
    legs = rows.sign[:, :-1], reach[:, :-1]
    base = np.einsum("mc,mn,can,sn->mas", rows.part, legs[0], model.own[:, :2], legs[1], optimize=True)
    cross: Array = base[..., None] + np.zeros(trials.size)
    for change in trials.changes:
        one = np.einsum("mc,cah->mah", rows.part, change.own[:, :2]) * rows.sign[:, change.leg][:, None]
        cross += one[:, :, None] * reach[:, change.leg]
    return cross


def _turned(mean: Array, covariance: Array, turn_rad: Array) -> Places:
    """Turn places clockwise, for azimuths that ought to be so much larger."""
    sine, cosine = np.sin(turn_rad), np.cos(turn_rad)
    turn = np.array([[cosine, sine], [-sine, cosine]])
    return Places(
        np.einsum("abh,bsh->ash", turn, mean),
        np.einsum("ach,cdsh,bdh->absh", turn, covariance, turn, optimize=True),
    )
