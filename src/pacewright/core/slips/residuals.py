"""Trial logs held against what was observed: residuals, their covariance, distances of bearings.

Back azimuths come first, leg by leg; what they leave open goes into the rows of all else.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.leg_terms import LegTerms, Told, ToldSums, changed_terms, written_terms
from pacewright.core.slips.normal_batch import factor, log_density
from pacewright.core.slips.sight_lines import NEAREST, landmark_places
from pacewright.core.slips.trial_logs import COMPASS, HANDLING, LogModel, Trials

Array = NDArray[np.float64]

_AT_ONCE: Final = 400_000
"""Numbers of one covariance batch, so that it stays in the processor's memory."""
_SET_ASIDE: Final = 1e12
"""How many times its own variance a bearing is widened that is set aside."""


@dataclass(frozen=True, slots=True, eq=False)
class PairSums:
    """Where pairs of rows end, given the back azimuths; q pairs, h trials, t shared errors.

    Attributes
    ----------
    value
        East and north, shape (q, 2, h).
    own
        Covariance by the legs' own scatter, shape (q, 2, q, 2, h).
    lever
        What one unit of each shared error adds, shape (t, q, 2, h).
    """

    value: Array
    own: Array
    lever: Array


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """Trials against the observations, at one size of the own scatter; m rows, h trials.

    Attributes
    ----------
    residual
        Observed less reckoned, shape (m, h).
    covariance
        Of the residuals, shape (m, m, h).
    lever
        How they answer to the shared errors, pulls last, shape (t, m, h).
    told
        What the back azimuths say by themselves.
    """

    residual: Array
    covariance: Array
    lever: Array
    told: Told


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """The bearings of trials, b of them; all shapes end in (b, h).

    Attributes
    ----------
    across
        East and north of the line's right hand, shape (2, b, h).
    place, distance
        Where the thing seen lies, and how far off.
    off
        Which are set aside.
    gain
        What the log of the evidence gains by the distance and by the side on which the thing lies.
    """

    across: Array
    place: Array
    distance: Array
    off: NDArray[np.bool_]
    gain: Array


class Laid:
    """Trials laid against the observations of a log.

    Parameters
    ----------
    model, trials
        The log, and the trials.
    """

    __slots__ = ("_model", "_trials", "sight", "target")

    def __init__(self, model: LogModel, trials: Trials) -> None:
        self._model, self._trials = model, trials
        sine, cosine = np.sin(trials.turn_rad), np.cos(trials.turn_rad)
        east, north = model.rows.target[:, 0, None], model.rows.target[:, 1, None]
        # Azimuths turned clockwise are known places turned back.
        turned = np.stack([east * cosine - north * sine, north * cosine + east * sine], axis=1)
        self.target = np.where(model.rows.stands[:, None, None], turned, model.rows.target[:, :, None])
        self.sight = _sight(self, model, trials) if model.rows.bearings.size else None

    def at(self, level: float = 1.0) -> Held:
        """Residuals and covariance where the own scatter is `level` times as large."""
        model, trials, sight = self._model, self._trials, self.sight
        told, sums = pair_sums(model, trials, model.rows.pair_sign, level)
        p = model.rows.pairs
        off = np.concatenate([self.target - sums.value[:p], -sums.value[p:]])
        if sight is not None:
            off[p:] += sight.place.transpose(1, 0, 2)
        residual, lever = rows_of(off, sight, p), rows_of(sums.lever, sight, p)
        covariance = _row_covariance(sums.own, self._displaced(), sight, p)
        if sight is not None:
            lever[COMPASS, 2 * p :] += sight.distance
            for number, pull in enumerate(trials.pulls):
                lever[model.shared_variance.size + number, 2 * p :] -= sight.distance * pull.bearings
            _add_sighting(covariance, model, sight, p)
        for term, variance in enumerate(model.shared_variance):
            if term != HANDLING and variance > 0:
                covariance += variance * lever[term, :, None] * lever[term]
        read = lever[told_terms(model, trials)]
        residual = residual - np.einsum("dmh,dh->mh", read, told.mean)
        half = np.einsum("dmh,deh->emh", read, told.covariance)
        for one, other in zip(half, read, strict=True):
            covariance += one[:, None] * other
        return Held(residual, covariance, lever, told)

    def log_evidence(self, level: float = 1.0) -> Array:
        """The log evidence of each trial, shape (h,)."""
        held = self.at(level)
        evidence = held.told.log_evidence + log_density(held.residual, held.covariance)
        if self.sight is not None:
            evidence = evidence + self.sight.gain.sum(axis=0)
            # Widened by so much, a bearing that is set aside says nothing; it may have read anything.
            evidence += (self.sight.off * (0.5 * np.log(2.0 * np.pi) + 0.5 * self._widening())).sum(axis=0)
            evidence -= self.sight.off.sum(axis=0) * np.log(2.0 * np.pi)
        for change in self._trials.changes:
            evidence = evidence - change.back_off * np.log(2.0 * np.pi)
        return evidence

    def _displaced(self) -> Array:
        variance = self._model.place_variance[:, :, None]
        for moved in self._trials.moved:
            variance = variance + moved.variance * moved.enters[:, None] * moved.enters
        return variance

    def _widening(self) -> Array:
        sight = self.sight
        if sight is None:
            return np.zeros(self._trials.size)
        return np.log(_SET_ASIDE * _sighting_variance(self._model, sight))


def told_terms(model: LogModel, trials: Trials) -> list[int]:
    """Which shared errors the back azimuths tell of: the habit of holding, and the pulls."""
    first = model.shared_variance.size
    return [HANDLING, *range(first, first + len(trials.pulls))]


def lay(model: LogModel, trials: Trials) -> Laid:
    """Lay trial logs against the observations of a log."""
    return Laid(model, trials)


def log_evidence(model: LogModel, trials: Trials, levels: Array) -> Array:
    """The log evidence of trials at each size of the own scatter, shape (levels, h)."""
    size = 4 * model.rows.pair_sign.shape[0] ** 2
    step = max(32, _AT_ONCE // max(1, size))
    found = []
    for start in range(0, trials.size, step):
        some = (
            trials if trials.size <= step else trials.take(np.arange(start, min(trials.size, start + step)))
        )
        laid = lay(model, some)
        found.append(np.stack([laid.log_evidence(float(level)) for level in levels]))
    return np.concatenate(found, axis=1) if found else np.zeros((len(levels), 0))


def pair_sums(model: LogModel, trials: Trials, sign: Array, level: float) -> tuple[Told, PairSums]:
    """Where pairs of rows end in each trial, given its back azimuths.

    Parameters
    ----------
    model, trials
        The log, and the trials.
    sign
        How each leg enters each pair, shape (q, n + 1).
    level
        Size of the own scatter.
    """
    pulls, h, q = len(trials.pulls), trials.size, sign.shape[0]
    written = written_terms(model, level, pulls)
    told = ToldSums(written, h)
    value = np.repeat(np.einsum("qn,an->qa", sign, written.mean)[..., None], h, axis=2)
    lever = np.repeat(np.einsum("qn,tan->tqa", sign, written.lever)[..., None], h, axis=3)
    base = np.einsum("qn,abn,rn->qarb", sign, written.covariance, sign, optimize=True)
    own = np.empty((q, 2, q, 2, h))
    own[:] = base[..., None]
    for change in trials.changes:
        now = changed_terms(model, change, level, pulls)
        told.change(now, None if change.is_extra else written, change.leg)
        new = less_written(now, None if change.is_extra else written, change.leg)
        enters = sign[:, change.leg]
        value += enters[:, None] * new[0]
        lever += enters[None, :, None] * new[2][:, None]
        both = enters[:, None] * enters
        for a, b in ((0, 0), (0, 1), (1, 1)):
            part = both * new[1][a, b]
            own[:, a, :, b] += part
            if a != b:
                own[:, b, :, a] += part
    return told.tell(model, trials), PairSums(value, own, lever)


def less_written(
    now: LegTerms, written: LegTerms | None, leg: NDArray[np.int64]
) -> tuple[Array, Array, Array]:
    """Mean, covariance and levers that changed legs have beyond what is written; all of an extra leg."""
    if written is None:
        return now.mean, now.covariance, now.lever
    return (
        now.mean - written.mean[:, leg],
        now.covariance - written.covariance[:, :, leg],
        now.lever - written.lever[:, :, leg],
    )


def rows_of(pairs: Array, sight: Sight | None, p: int) -> Array:
    """Pairs of shape (..., q, 2, h) as rows (..., m, h): both of a pair, one of a bearing."""
    head = pairs[..., :p, :, :]
    flat: Array = head.reshape(*head.shape[:-3], 2 * p, head.shape[-1])
    if sight is None:
        return flat.copy()
    tail = np.einsum("...bah,abh->...bh", pairs[..., p:, :, :], sight.across)
    return np.concatenate([flat, tail], axis=-2)


def _row_covariance(own: Array, displaced: Array, sight: Sight | None, p: int) -> Array:
    """The covariance of rows from that of pairs, with places that are not where they are said to be."""
    full = own
    for a in (0, 1):
        full[:, a, :, a] += displaced
    h = full.shape[-1]
    if sight is None:
        return full.reshape(2 * p, 2 * p, h)
    b = full.shape[0] - p
    right = np.einsum("qarbh,brh->qarh", full[:, :, p:], sight.across)
    covariance = np.empty((2 * p + b, 2 * p + b, h))
    covariance[: 2 * p, : 2 * p] = full[:p, :, :p].reshape(2 * p, 2 * p, h)
    covariance[: 2 * p, 2 * p :] = right[:p].reshape(2 * p, b, h)
    covariance[2 * p :, : 2 * p] = covariance[: 2 * p, 2 * p :].transpose(1, 0, 2)
    covariance[2 * p :, 2 * p :] = np.einsum("qarh,aqh->qrh", right[p:], sight.across)
    return covariance


def _add_sighting(covariance: Array, model: LogModel, sight: Sight, p: int) -> None:
    widened = np.where(sight.off, _SET_ASIDE, 1.0) * _sighting_variance(model, sight)
    at = np.arange(2 * p, covariance.shape[0])
    covariance[at, at] += widened


def _sighting_variance(model: LogModel, sight: Sight) -> Array:
    variance: Array = (sight.distance * model.rows.bearings.sd_rad[:, None]) ** 2
    return variance


def _sight(laid: Laid, model: LogModel, trials: Trials) -> Sight:
    """Lines, distances and sides of bearings, their stations where all but the bearings puts them."""
    bearings, h = model.rows.bearings, trials.size
    azimuth_rad = np.repeat(bearings.azimuth_rad[:, None], h, axis=1)
    off = np.zeros((bearings.size, h), dtype=bool)
    if trials.bearings is not None:
        azimuth_rad = azimuth_rad + trials.bearings.turn
        off = trials.bearings.off
    station, spread = _seen_from(laid.target, model, trials)
    place = landmark_places(bearings, azimuth_rad, 1.0 - off, station, trials.turn_rad)
    to_target = place - station
    distance = np.maximum(np.hypot(to_target[0], to_target[1]), NEAREST)
    sine, cosine = np.sin(azimuth_rad), np.cos(azimuth_rad)
    ahead = (to_target[0] * sine + to_target[1] * cosine) / (spread + NEAREST)
    # The logistic curve for the normal one; a thing that lies behind was not sighted ahead.
    gain = np.where(off, 0.0, np.log(distance) - np.logaddexp(0.0, -1.702 * ahead))
    return Sight(np.stack([cosine, -sine]), place, distance, off, gain)


def _seen_from(target: Array, model: LogModel, trials: Trials) -> tuple[Array, Array]:
    """For every bearing, station less target station given the pairs, (2, b, h), and its sd (b, h)."""
    rows = model.rows
    told, sums = pair_sums(model, trials, rows.pair_sign, 1.0)
    p, h, read = rows.pairs, trials.size, told_terms(model, trials)
    drawn = np.einsum("dqah,dh->qah", sums.lever[read], told.mean)
    place = sums.value[p:] + drawn[p:]
    spread = np.einsum("qaqah->qah", sums.own[p:, :, p:])
    variance = model.shared_variance.copy()
    variance[HANDLING] = 0.0
    every = sums.lever
    half = np.einsum("dqah,deh->eqah", every[read], told.covariance)
    spread = spread + np.einsum("tqah,t->qah", every[: variance.size, p:] ** 2, variance)
    spread += np.einsum("eqah,eqah->qah", half[:, p:], every[read][:, p:])
    if p:
        flat = every.reshape(every.shape[0], -1, h)
        joint = sums.own[:p].reshape(2 * p, -1, h).copy()
        for term, one in enumerate(variance):
            if one > 0:
                joint += one * flat[term, : 2 * p, None] * flat[term]
        flat_half = half.reshape(half.shape[0], -1, h)
        for one, other in zip(flat_half, flat[read], strict=True):
            joint += one[: 2 * p, None] * other
        noise = np.kron(model.place_variance[:p, :p], np.eye(2))[:, :, None]
        alike = np.tile(np.eye(2), (p, p))[:, :, None]
        for moved in trials.moved:
            enters = np.repeat(moved.enters[:p], 2, axis=0)
            noise = noise + moved.variance * enters[:, None] * enters * alike
        factored = factor(joint[:, : 2 * p] + noise)
        cross = factored.whiten(joint[:, 2 * p :])
        off = factored.whiten((target - sums.value[:p] - drawn[:p]).reshape(2 * p, h))
        place = place + np.einsum("cvh,ch->vh", cross, off).reshape(place.shape)
        spread = spread - np.einsum("cvh,cvh->vh", cross, cross).reshape(spread.shape)
    sd = np.sqrt(np.maximum(spread.sum(axis=1) / 2.0, 0.0))
    return place.transpose(1, 0, 2), sd
