"""What one adjusted log says of the walker: its own evidence, without what was believed before."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.adjustment import Adjustment
from pacewright.core.adjust.condensation import residual_covariances
from pacewright.core.adjust.network import misfit_covariance
from pacewright.core.adjust.network_equations import equations
from pacewright.core.learn.evidence import LogEvidence, Scattered, Told
from pacewright.core.pace.walker import Walker

Array = NDArray[np.float64]


def find_evidence(adjustment: Adjustment, walker: Walker) -> LogEvidence:
    """What an adjusted log tells of its walker.

    Parameters
    ----------
    adjustment
        The log, adjusted with this walker.
    walker
        The walker as believed until now.

    References
    ----------
    Scatter from residuals and redundancy numbers: W. Förstner, Ein Verfahren zur Schätzung von
    Varianz- und Kovarianzkomponenten, 1979 (from memory).
    """
    solution = adjustment.solution
    prior, shared, covariance = solution.network.prior_variance, solution.shared, solution.shared_covariance
    observed = {one.name for one in adjustment.parameters if one.observable}
    scale = bias = None
    if "pace scale" in observed and not _in_metres(adjustment):
        scale = _told(float(shared[2]), float(covariance[2, 2]), float(prior[2]))
    weight: Array = np.zeros((2, 2))
    pull: Array = np.zeros(2)
    if "compass bias" in observed:
        inverse: Array = np.asarray(np.linalg.inv(covariance[:2, :2]), dtype=np.float64)
        weight, pull = inverse - np.diag(1.0 / prior[:2]), inverse @ shared[:2]
        bias = _told(float(shared[:2].sum()), float(covariance[:2, :2].sum()), float(prior[:2].sum()))
    grounds = {
        name: _told(float(shared[k]), float(covariance[k, k]), float(prior[k]))
        for k, name in enumerate(solution.network.names)
        if k >= 3 and name in observed
    }
    azimuth, count = _leg_scatter(adjustment, walker)
    return LogEvidence(scale, bias, weight, pull, grounds, azimuth, count, _sighting_scatter(adjustment))


def _told(value: float, variance: float, prior: float) -> Told:
    """Take the prior, of mean zero, out of a value."""
    weight = 1.0 / variance - 1.0 / prior
    return Told(value / variance / weight, 1.0 / weight)


def _in_metres(adjustment: Adjustment) -> bool:
    """Whether the log was counted in metres, which says nothing of paces."""
    frame = adjustment.frame
    return frame.units_per_count not in (frame.units_per_pace, frame.units_per_pace / 2.0)


def _leg_scatter(adjustment: Adjustment, walker: Walker) -> tuple[Scattered, Scattered]:
    """The scatter across (azimuths) and along (counts) of legs that were plainly walked and counted."""
    reckoning, chains = adjustment.reckoning, adjustment.solution.network.chains
    azimuth_rad = np.radians(reckoning.azimuth_deg)
    along = np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    scatter = residual_covariances(chains, adjustment.solution.junction_covariance())
    plain = reckoning.length > 0
    plain[[back.leg - 1 for back in adjustment.observations.back_azimuths]] = False
    compass, count = walker.compass, walker.count
    turn_deg2 = compass.azimuth_sd_deg**2 + compass.reading_interval_deg**2 / 12.0
    turned = math.radians(1.0) ** 2 * turn_deg2 * reckoning.length**2
    variance = np.einsum("ni,nij,nj->n", across, reckoning.own, across)
    # Azimuths read as points of the compass, and boxed obstacles, scatter in a way of their own.
    read = plain & (np.abs(variance - turned) < 0.01 * variance)
    azimuth = _scattered(adjustment.residual[:, 1], across, scatter, variance, read)
    counting = (count.count_sd_pct / 100.0 * reckoning.length) ** 2
    variance = np.einsum("ni,nij,nj->n", along, reckoning.own, along)
    # Where the floor holds, or a distance was guessed, the count's own scatter does not show.
    least = (count.count_floor * adjustment.frame.units_per_pace) ** 2
    counted = plain & (counting > least) & (np.abs(variance - counting) < 0.1 * variance)
    return azimuth, _scattered(adjustment.residual[:, 0], along, scatter, variance, counted)


def _scattered(
    residual: Array, along: Array, scatter: Array, variance: Array, use: NDArray[np.bool_]
) -> Scattered:
    checked = np.einsum("ni,nij,nj->n", along, scatter, along)[use] / variance[use]
    return Scattered(float(np.sum(residual[use] ** 2 / variance[use])), float(np.sum(checked)))


def _sighting_scatter(adjustment: Adjustment) -> Scattered:
    solution = adjustment.solution
    bearings = equations(solution.network, solution.figure, solution.shared)[-1]
    weight = bearings.weight[:, 0, 0]
    open_share = weight * misfit_covariance(bearings, solution)[:, 0, 0]
    return Scattered(
        float(np.sum(weight * bearings.misfit[:, 0] ** 2)), float(np.sum(np.clip(1.0 - open_share, 0.0, 1.0)))
    )
