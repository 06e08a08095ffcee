"""A leg that was walked and never written: where it may be missing, and how well that explains a log.

Any misclosure at all can be closed by one more leg, so that the best fit would always choose it. Only
the integral over all the legs it might have been holds it back: those of usual length, anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.leg_prior import LengthPrior, RoutePrior
from pacewright.core.slips.normal_batch import factor, log_density, log_sum
from pacewright.core.slips.residuals import lay
from pacewright.core.slips.trial_logs import LogModel, Trials
from pacewright.core.way.observations import Observations

Array = NDArray[np.float64]

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_NODE_EAST, _NODE_NORTH = (grid.ravel() for grid in np.meshgrid(_NODES, _NODES))
_NODE_LOG_WEIGHT: Final = np.log(np.outer(_WEIGHTS, _WEIGHTS).ravel() / (2.0 * np.pi))
_ROUNDS: Final = 2


@dataclass(frozen=True, slots=True)
class Gap:
    """Places where a missing leg would have the same effect on all that was observed.

    Attributes
    ----------
    first_moved
        The first station that the missing leg moves.
    after_legs
        The leg after which it may be missing, as often as a place counts; 0 is before the first.
    """

    first_moved: int
    after_legs: tuple[int, ...]

    @property
    def before_legs(self) -> tuple[int, ...]:
        """The leg, from 0, before which it may be missing, place by place.

        Of a leg missing after the last place, what was observed there belongs to that leg's end: the
        station lies beyond it.
        """
        last = self.after_legs[-1]
        before = last - 1 if self.first_moved <= last else last
        return tuple(min(leg, before) for leg in self.after_legs)


@dataclass(frozen=True, slots=True, eq=False)
class MissingLegs:
    """How well a leg missing in each gap explains the log; g gaps.

    Attributes
    ----------
    gaps
        The places.
    log_evidence
        Shape (levels, g), by how much larger the own scatter is taken.
    place_weight
        Log of the share of places in each gap, shape (g,).
    east, north
        The missing leg as it comes out best, shape (g,).
    trials
        The log with the leg put back, as a normal variable.
    mark
        By how many standard deviations a usual leg left out would show, shape (g,).
    """

    gaps: tuple[Gap, ...]
    log_evidence: Array
    place_weight: Array
    east: Array
    north: Array
    trials: Trials
    mark: Array


def find_gaps(observations: Observations, legs: int) -> tuple[Gap, ...]:
    """The places where a leg can be missing, joined where nothing observed tells them apart.

    At a station with something observed a leg can be missing before it or after it: the name or the
    bearing may belong to the end of the leg that was never written.
    """
    observed = {fix.station for fix in observations.fixes}
    observed |= {station for tie in observations.ties for station in (tie.first, tie.second)}
    observed |= {bearing.station for bearing in observations.bearings}
    observed |= {b.target_station for b in observations.bearings if b.target_station is not None}
    observed.discard(0)
    edges = sorted(observed)
    gaps, start = [], 1
    for edge in edges:
        # Stations start .. edge as the first one moved: after the legs before them, or before `edge`.
        gaps.append(Gap(start, (*range(start - 1, edge), edge)))
        start = edge + 1
    if start <= legs:
        gaps.append(Gap(legs + 1, tuple(range(start - 1, legs + 1))))
    return tuple(gaps)


def weigh_missing_legs(
    model: LogModel,
    observations: Observations,
    lengths: LengthPrior,
    route: RoutePrior | None,
    levels: Array,
) -> MissingLegs:
    """Weigh, for every gap, that a leg is missing there."""
    gaps = find_gaps(observations, model.states.size)
    places = np.array([len(gap.after_legs) for gap in gaps], dtype=np.float64)
    leg = np.array([gap.first_moved - 1 for gap in gaps])
    prior_variance = lengths.mean_square()
    sides = model.rows.sign[:, leg][:, None, :] * model.rows.part[:, :2, None]
    step = np.zeros((2, len(gaps)))
    for _ in range(_ROUNDS):
        held = lay(model, _with_leg(model, leg, step, prior_variance)).at()
        step = _best_step(sides, held.residual, held.covariance, prior_variance)[0]
    trials = _with_leg(model, leg, step, prior_variance)
    laid = lay(model, trials)
    seen = laid.sight.gain.sum(axis=0) if laid.sight is not None else 0.0
    evidence = []
    for level in levels:
        held = laid.at(float(level))
        covariance = held.covariance + (1.0 - level**2) * _leg_variance(sides, prior_variance)
        best, spread = _best_step(sides, held.residual, covariance, prior_variance)
        gain = _prior_gain(best, spread, prior_variance, lengths, route, gaps)
        gain = np.where((sides == 0).all(axis=(0, 1)), 0.0, gain)
        evidence.append(log_density(held.residual, covariance) + held.told.log_evidence + seen + gain)
    without = laid.at().covariance - _leg_variance(sides, prior_variance)
    white = factor(without).whiten(sides)
    mark = np.sqrt(prior_variance / 4.0 * np.einsum("mah,mah->h", white, white))
    return MissingLegs(
        gaps, np.array(evidence), np.log(places / places.sum()), step[0], step[1], trials, mark
    )


def _with_leg(model: LogModel, leg: NDArray[np.int64], step: Array, prior_variance: float) -> Trials:
    length = np.hypot(step[0], step[1])
    azimuth_rad = np.arctan2(step[0], step[1])
    ordinary = np.argmin(model.states.scatter.estimate_sd)
    own = model.states.scatter.covariances(np.full(leg.size, ordinary), azimuth_rad, length)
    own[2] = own[:, 2] = 0.0
    own[[0, 1], [0, 1]] += prior_variance
    change = replace(model.unchanged(leg.size), leg=leg, lever=step, own=own, is_extra=True)
    return Trials((change,), np.zeros(leg.size))


def _leg_variance(sides: Array, prior_variance: float) -> Array:
    variance: Array = prior_variance * np.einsum("iah,jah->ijh", sides, sides)
    return variance


def _best_step(
    sides: Array, residual: Array, covariance: Array, prior_variance: float
) -> tuple[Array, Array]:
    """The missing leg, (2, g), and its covariance, (2, 2, g)."""
    factored = factor(covariance)
    white = factored.whiten(prior_variance * sides)
    step = np.einsum("mah,mh->ah", white, factored.whiten(residual))
    spread = prior_variance * np.eye(2)[:, :, None] - np.einsum("mah,mbh->abh", white, white)
    return step, spread


def _prior_gain(
    step: Array,
    spread: Array,
    prior_variance: float,
    lengths: LengthPrior,
    route: RoutePrior | None,
    gaps: tuple[Gap, ...],
) -> Array:
    """The log of the mean, over the missing leg, of its true prior over the normal stand-in."""
    lower = factor(spread + 1e-6 * prior_variance * np.eye(2)[:, :, None]).lower
    east = step[0] + lower[0, 0] * _NODE_EAST[:, None]
    north = step[1] + lower[1, 0] * _NODE_EAST[:, None] + lower[1, 1] * _NODE_NORTH[:, None]
    length = np.maximum(np.hypot(east, north), 1e-6)
    prior = lengths.log_density(length) - np.log(length)
    if route is None:
        prior -= np.log(2.0 * np.pi)
    else:
        azimuth_rad = np.arctan2(east, north)
        for number, gap in enumerate(gaps):
            over = [route.log_density(station, azimuth_rad[:, number]) for station in gap.after_legs]
            prior[:, number] += log_sum(np.array(over), axis=0) - np.log(len(over))
    stand_in = -0.5 * length**2 / prior_variance - np.log(2.0 * np.pi * prior_variance)
    return log_sum(_NODE_LOG_WEIGHT[:, None] + prior - stand_in, axis=0)
