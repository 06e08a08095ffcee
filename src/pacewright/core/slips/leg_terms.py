"""What each leg adds to the sums, once what was read backward along it is taken into account.

A back azimuth says what one leg's azimuth was, and nothing else: given it, the leg's own scatter is
smaller and its end lies elsewhere, and the reading needs no row of its own. What all readings share (the
habit of holding the compass, a pull at a station) is left open, and how it moves the leg is kept.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.normal_batch import factor
from pacewright.core.slips.trial_logs import HANDLING, Change, LogModel, Trials

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class LegTerms:
    """Legs given what was read backward along them; h of them, t shared errors.

    Attributes
    ----------
    mean
        East and north, shape (2, h).
    covariance
        By their own scatter, shape (2, 2, h).
    lever
        How they answer to each shared error, pulls last, shape (t, 2, h).
    drawn
        The part of that which comes from the reading alone, for the habit of holding and then the pulls,
        shape (1 + pulls, 2, h).
    weight
        One over the variance of the reading less the leg's azimuth, 0 without one, shape (h,).
    off
        The reading less the leg's azimuth, in radians, shape (h,).
    told
        How that answers to the habit of holding and to the pulls, shape (1 + pulls, h).
    """

    mean: Array
    covariance: Array
    lever: Array
    drawn: Array
    weight: Array
    off: Array
    told: Array


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """What the back azimuths say of the habit of holding the compass, and of pulls; h trials.

    Attributes
    ----------
    mean
        Shape (1 + pulls, h).
    covariance
        Shape (1 + pulls, 1 + pulls, h).
    log_evidence
        Of the back azimuths by themselves, shape (h,).
    """

    mean: Array
    covariance: Array
    log_evidence: Array


def written_terms(model: LogModel, level: float, pulls: int) -> LegTerms:
    """The legs as written and the one that is no leg, n + 1, at a size of the own scatter."""
    n = model.states.size
    backs = model.rows.backs
    off = _half_circle(backs.azimuth_rad - model.steps[2])
    zero = np.zeros(n + 1)
    return _terms(
        model.steps[:2],
        model.steps[:2],
        model.own,
        np.where(np.isfinite(backs.variance), off, 0.0),
        backs.variance,
        model.class_of_leg,
        np.zeros((pulls, n + 1)),
        np.concatenate([np.ones((1, n + 1)), np.tile(zero, (pulls, 1))]),
        level,
    )


def changed_terms(model: LogModel, change: Change, level: float, pulls: int) -> LegTerms:
    """The changed legs of h trials at a size of the own scatter."""
    leg, backs = change.leg, model.rows.backs
    pulled, told = np.zeros((pulls, leg.size)), np.zeros((1 + pulls, leg.size))
    told[0] = 1.0
    if change.pull is not None:
        pulled[change.pull] = change.pulled
        told[1 + change.pull] = change.back_pulled
    if change.is_extra:
        none, unread = np.zeros(leg.size), np.full(leg.size, np.inf)
        classes = np.zeros((len(model.class_of_leg), leg.size))
        step = change.shift[:2]
        return _terms(step, change.lever, change.own, none, unread, classes, pulled, told, level)
    variance = np.where(change.back_off, np.inf, backs.variance[leg])
    off = _half_circle(backs.azimuth_rad[leg] + change.back_turn - model.steps[2, leg] - change.shift[2])
    return _terms(
        model.steps[:2, leg] + change.shift[:2],
        model.steps[:2, leg] + change.lever,
        model.own[:, :, leg] + change.own,
        np.where(np.isfinite(variance), off, 0.0),
        variance,
        model.class_of_leg[:, leg],
        pulled,
        told,
        level,
    )


def _half_circle(angle_rad: Array) -> Array:
    turned: Array = (angle_rad + np.pi) % (2.0 * np.pi) - np.pi
    return turned


def _terms(
    step: Array,
    lever_step: Array,
    own: Array,
    off: Array,
    back_variance: Array,
    classes: Array,
    pulled: Array,
    told: Array,
    level: float,
) -> LegTerms:
    scaled = level**2 * own
    weight = 1.0 / (scaled[2, 2] + back_variance)
    aside = scaled[:2, 2]
    gain = aside * weight
    clockwise = np.stack([lever_step[1], -lever_step[0]])
    drawn = -gain * told[:, None]
    held = clockwise + drawn[0]
    grounds = lever_step * classes[:, None]
    pulls = clockwise * pulled[:, None] + drawn[1:]
    return LegTerms(
        mean=step + gain * off,
        covariance=scaled[:2, :2] - aside[:, None] * gain,
        lever=np.concatenate([np.stack([clockwise, held, lever_step]), grounds, pulls]),
        drawn=drawn,
        weight=weight,
        off=off,
        told=told,
    )


class ToldSums:
    """Sums over the back azimuths of h trials, changed leg by leg.

    Parameters
    ----------
    written
        The legs as written.
    trials
        How many trials.
    """

    __slots__ = ("_count", "_information", "_log_weight", "_score", "_square")

    def __init__(self, written: LegTerms, trials: int) -> None:
        parts = _told_parts(written)
        self._information, self._score, self._square, self._log_weight, self._count = (
            np.repeat(part.sum(axis=-1, keepdims=True), trials, axis=-1) for part in parts
        )

    def change(self, now: LegTerms, written: LegTerms | None, leg: Ints) -> None:
        """Put changed legs in the place of those of that number."""
        new = _told_parts(now)
        old = [part[..., leg] for part in _told_parts(written)] if written is not None else [0.0] * 5
        self._information += new[0] - old[0]
        self._score += new[1] - old[1]
        self._square += new[2] - old[2]
        self._log_weight += new[3] - old[3]
        self._count += new[4] - old[4]

    def tell(self, model: LogModel, trials: Trials) -> Told:
        """What they say of the habit of holding and of the pulls."""
        h, d = trials.size, 1 + len(trials.pulls)
        before = np.zeros((d, h))
        variance = np.full((d, h), model.shared_variance[HANDLING])
        for number, pull in enumerate(trials.pulls, start=1):
            before[number], variance[number] = -pull.at_rad, pull.sd_rad**2
        information = self._information
        score = self._score - np.einsum("deh,eh->dh", information, before)
        square = self._square - 2.0 * (before * self._score).sum(axis=0)
        square += np.einsum("dh,deh,eh->h", before, information, before)
        sd = np.sqrt(variance)
        inner = factor(sd[:, None] * information * sd + np.eye(d)[:, :, None])
        white = inner.whiten(sd[:, None] * np.eye(d)[:, :, None])
        covariance = np.einsum("keh,kfh->efh", white, white)
        moved = np.einsum("deh,eh->dh", covariance, score)
        square -= (moved * score).sum(axis=0)
        log_evidence = -0.5 * square + 0.5 * self._log_weight - inner.log_root_determinant()
        log_evidence -= 0.5 * self._count * np.log(2.0 * np.pi)
        return Told(before + moved, covariance, log_evidence)


def _told_parts(terms: LegTerms) -> tuple[Array, Array, Array, Array, Array]:
    weighed = terms.weight * terms.told
    has = terms.weight > 0
    return (
        weighed[:, None] * terms.told,
        weighed * terms.off,
        terms.weight * terms.off**2,
        np.log(np.where(has, terms.weight, 1.0)),
        has.astype(np.float64),
    )
