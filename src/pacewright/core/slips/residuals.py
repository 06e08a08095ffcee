"""Trial logs laid against what was observed: residuals, their covariance, distances of bearings."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.normal_batch import factor
from pacewright.core.slips.observation_rows import ObservationRows
from pacewright.core.slips.sight_lines import NEAREST, landmark_places
from pacewright.core.slips.trial_logs import LogModel, Sums, Trials

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Trials laid against the observations; m rows, h trials.

    Attributes
    ----------
    residual
        Observed less reckoned, shape (m, h).
    own, other
        Covariance by the legs' own scatter and by all else, shape (m, m, h).
    lever
        Of the shared errors on the rows, those on readings included, shape (terms, m, h).
    extra
        What the log of the evidence gains by the distances of the bearings, shape (h,).
    bearing_gain, bearing_range
        The share of each bearing in that, and how far off its target lies, shape (bearings, h).
    """

    residual: Array
    own: Array
    other: Array
    lever: Array
    extra: Array
    bearing_gain: Array
    bearing_range: Array

    def covariance(self, level: float = 1.0) -> Array:
        """Give the covariance of the residuals where the own scatter is `level` times as large."""
        return level**2 * self.own + self.other


def lay(model: LogModel, trials: Trials) -> Laid:
    """Lay trial logs against the observations of a log."""
    return lay_sums(model, model.sums(model.seen_sign, model.seen_part, trials), trials.turn_rad)


def lay_sums(model: LogModel, sums: Sums, turn_rad: Array) -> Laid:
    """Lay the sums of trial logs, in the order of `seen_sign`, against the observations of a log."""
    rows, m = model.rows, model.rows.size
    residual = _targets(rows, turn_rad) - sums.value[:m]
    angle = rows.is_angle
    residual[angle] = (residual[angle] + np.pi) % (2.0 * np.pi) - np.pi
    lever = sums.lever.copy()
    # A back reading carries the compass's own share of the bias as its leg does: it drops out.
    lever[0, :m][angle] -= 1.0
    noise = np.broadcast_to(rows.noise[:, :, None], (m, m, sums.size)).copy()
    gain, distance = np.zeros((2, rows.bearings.size, sums.size))
    if rows.bearings.size:
        gain, distance = _lay_bearings(model, turn_rad, sums, residual, lever, noise)
    lever = lever[:, :m]
    other = noise + shared_covariance(lever, model.shared_variance, lever)
    return Laid(residual, sums.own[:m, :m], other, lever, gain.sum(axis=0), gain, distance)


def shared_covariance(left: Array, variance: Array, right: Array) -> Array:
    """Give the covariance that shared errors leave between two sets of rows, shape (i, j, h)."""
    total: Array = np.zeros((left.shape[1], right.shape[1], left.shape[2]))
    for one, of_one, other in zip(left, variance, right, strict=True):
        if of_one > 0:
            total += of_one * one[:, None] * other[None]
    return total


def _targets(rows: ObservationRows, turned_rad: Array) -> Array:
    """Give what the sums ought to be; azimuths turned clockwise are known places turned back."""
    turn_rad = np.where(rows.stands[:, None], turned_rad, 0.0)
    target: Array = rows.target[:, None] * np.cos(turn_rad) + rows.target_aside[:, None] * np.sin(turn_rad)
    return target


def _lay_bearings(
    model: LogModel, turn_rad: Array, sums: Sums, residual: Array, lever: Array, noise: Array
) -> tuple[Array, Array]:
    """Complete the rows of bearings, in place, and give what each gains the evidence and its range."""
    rows, bearings = model.rows, model.rows.bearings
    first, count, m = rows.controls, bearings.size, rows.size
    station, spread = _seen_from(model, sums, residual, lever, noise)
    place = landmark_places(bearings, station, turn_rad)
    to_target = place - station
    distance = np.maximum(np.hypot(to_target[0], to_target[1]), NEAREST)
    sine, cosine = np.sin(bearings.azimuth_rad)[:, None], np.cos(bearings.azimuth_rad)[:, None]
    residual[first:] = cosine * place[0] - sine * place[1] - sums.value[first:m]
    lever[0, first:m] += distance
    for i in range(count):
        noise[first + i, first + i] += (distance[i] * bearings.sd_rad[i]) ** 2
        for j in range(count):
            if bearings.landmark[i] >= 0 and bearings.landmark[i] == bearings.landmark[j]:
                landmark = bearings.landmark[i]
                shared = bearings.place_sd[landmark] ** 2 + model.place_variance[landmark]
                alike = math.cos(bearings.azimuth_rad[i] - bearings.azimuth_rad[j])
                noise[first + i, first + j] += shared * alike
    ahead = (to_target[0] * sine + to_target[1] * cosine) / (spread + NEAREST)
    # The logistic curve for the normal one; a thing that lies behind was not sighted ahead.
    gain: Array = np.log(distance) - np.logaddexp(0.0, -1.702 * ahead)
    return gain, distance


def _seen_from(
    model: LogModel, sums: Sums, residual: Array, lever: Array, noise: Array
) -> tuple[Array, Array]:
    """Give, for every bearing, station less target station given the controls, (2, b, h), and its sd."""
    count, controls, m = model.rows.bearings.size, model.rows.controls, model.rows.size
    place = sums.value[m:]
    spread = sums.own[range(m, m + 2 * count), range(m, m + 2 * count)]
    spread = spread + np.einsum("tvh,t->vh", lever[:, m:] ** 2, model.shared_variance)
    if controls:
        all_levers = np.concatenate([lever[:, :controls], lever[:, m:]], axis=1)
        shared = shared_covariance(lever[:, :controls], model.shared_variance, all_levers)
        own = np.concatenate([sums.own[:controls, :controls], sums.own[:controls, m:]], axis=1)
        full = shared + own
        factored = factor(full[:, :controls] + noise[:controls, :controls])
        cross = factored.whiten(full[:, controls:])
        place = place + np.einsum("cvh,ch->vh", cross, factored.whiten(residual[:controls]))
        spread = spread - np.einsum("cvh,cvh->vh", cross, cross)
    h = sums.size
    sd = np.sqrt(np.maximum(spread.reshape(count, 2, h).sum(axis=1) / 2.0, 0.0))
    return place.reshape(count, 2, h).transpose(1, 0, 2), sd
