"""Ellipses and half-widths: how sure, along and across.

A region holds the stated share of walks. While angles are small it is an ellipse; where a compass
bias is large against the scatter along the track, the ellipse is too short and straight, and the
region is bent: an ellipse in the logarithm of the range and in the azimuth from the origin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.compass import unit_vectors
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.way.reckoning import Reckoning
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]

BEND_ABOVE: Final = 0.15
"""First order is enough while half the angle variance stays under this share of the relative
along-track scatter (found by simulation: beyond it a 95 % ellipse holds 90 % and less)."""
BEND_FROM_SD: Final = 3.0
"""Nearer to the origin than so many sds of the legs' own scatter the ellipse is exact enough."""
_LEAST_WIDTH2: Final = 1e-12
"""A flat ellipse is taken a millionth of its length wide, so that it can be turned and drawn."""


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """A part of the plane that holds the true place in a stated share of walks.

    Attributes
    ----------
    center
        East and north, shape (2,).
    covariance
        Shape (2, 2), first order.
    probability
        The stated share.
    shape
        `ellipse` or `bent`.
    origin
        Where range and azimuth of a bent region are taken from, shape (2,).
    """

    center: Array
    covariance: Array
    probability: float
    shape: Literal["ellipse", "bent"]
    origin: Array

    @property
    def reach(self) -> float:
        """How many standard deviations the region reaches, sqrt(-2 ln(1 - probability))."""
        return reach_of(self.probability)

    def contains(self, points: ArrayLike) -> NDArray[np.bool_]:
        """Which of the points, shape (m, 2), lie inside; shape (m,)."""
        inside: NDArray[np.bool_] = self.distance2(points) <= self.reach**2
        return inside

    def distance2(self, points: ArrayLike) -> Array:
        """The squared distance of points, shape (m, 2), in standard deviations; shape (m,)."""
        offsets, covariance = self._offsets(np.atleast_2d(np.asarray(points, dtype=np.float64)))
        solved = np.linalg.solve(_with_width(covariance), offsets.T)
        distance2: Array = np.einsum("mi,im->m", offsets, solved)
        return distance2

    def outline(self, points: int = 72) -> Array:
        """The region's edge as a closed ring, shape (points + 1, 2)."""
        turn_rad = np.linspace(0.0, 2.0 * np.pi, points + 1)
        circle = self.reach * np.stack([np.cos(turn_rad), np.sin(turn_rad)])
        if self.shape == "ellipse":
            edge: Array = self.center + (root_of(self.covariance) @ circle).T
            return edge
        range0, azimuth0_rad, bent = self._bend()
        log_range, azimuth_rad = root_of(bent) @ circle
        distance = range0 * np.exp(log_range)
        azimuth_rad = azimuth_rad + azimuth0_rad
        ring: Array = self.origin + distance[:, None] * np.stack(
            [np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1
        )
        return ring

    def half_widths(self, azimuth_deg: float) -> tuple[float, float]:
        """How far the region reaches from its center along an azimuth and across it."""
        if self.shape == "ellipse":
            return half_widths(self.covariance, azimuth_deg, self.probability)
        east, north = (float(part) for part in unit_vectors(azimuth_deg))
        edge = self.outline(360) - self.center
        along, across = edge @ np.array([east, north]), edge @ np.array([north, -east])
        return float(np.abs(along).max()), float(np.abs(across).max())

    def _offsets(self, points: Array) -> tuple[Array, Array]:
        if self.shape == "ellipse":
            return points - self.center, self.covariance
        range0, azimuth0_rad, bent = self._bend()
        east, north = (points - self.origin).T
        log_range = 0.5 * np.log(np.maximum(east**2 + north**2, np.finfo(float).tiny)) - math.log(range0)
        turn_rad = np.arctan2(east, north) - azimuth0_rad
        turn_rad = (turn_rad + np.pi) % (2.0 * np.pi) - np.pi
        return np.stack([log_range, turn_rad], axis=1), bent

    def _bend(self) -> tuple[float, float, Array]:
        east, north = self.center - self.origin
        range0 = math.hypot(east, north)
        turn = np.array([[east, north], [north, -east]]) / range0**2
        return range0, math.atan2(east, north), turn @ self.covariance @ turn.T


def root_of(covariance: Array) -> Array:
    """The matrix that turns unit scatter into the scatter of a covariance, shape (2, 2).

    A covariance may be flat: a leg of no count is unsure along its azimuth only.
    """
    root: Array = np.asarray(np.linalg.cholesky(_with_width(covariance)), dtype=np.float64)
    return root


def _with_width(covariance: Array) -> Array:
    widened: Array = covariance + _LEAST_WIDTH2 * float(np.trace(covariance)) * np.eye(2)
    return widened


def reach_of(probability: float) -> float:
    """How many standard deviations a region of two dimensions reaches: sqrt(-2 ln(1 - p)).

    >>> round(reach_of(0.95), 3), round(reach_of(0.5), 3)
    (2.448, 1.177)

    Raises
    ------
    ValueComplaint
        The probability is not between 0 and 1.
    """
    if not 0 < probability < 1:
        raise ValueComplaint(
            f"{probability} is not a probability", "Give more than 0 and less than 1, such as 0.95"
        )
    return math.sqrt(-2.0 * math.log1p(-probability))


def half_widths(
    covariance: ArrayLike, azimuth_deg: float, probability: float = DEFAULT_PROBABILITY
) -> tuple[float, float]:
    """How far the ellipse of a covariance reaches along an azimuth and across it."""
    azimuth_rad = math.radians(azimuth_deg)
    along = np.array([math.sin(azimuth_rad), math.cos(azimuth_rad)])
    across = np.array([along[1], -along[0]])
    spread = np.asarray(covariance, dtype=np.float64)
    reach = reach_of(probability)
    return (
        reach * math.sqrt(max(0.0, float(along @ spread @ along))),
        reach * math.sqrt(max(0.0, float(across @ spread @ across))),
    )


def ellipse_axes(covariance: ArrayLike) -> tuple[float, float, float]:
    """The standard deviations along the long and the short axis, and the long axis's azimuth.

    Returns
    -------
    long_sd, short_sd, azimuth_deg
        The azimuth from 0 up to 180.
    """
    values, vectors = np.linalg.eigh(np.asarray(covariance, dtype=np.float64))
    azimuth_deg = math.degrees(math.atan2(vectors[0, 1], vectors[1, 1])) % 180.0
    return math.sqrt(max(0.0, values[1])), math.sqrt(max(0.0, values[0])), azimuth_deg


def station_region(
    reckoning: Reckoning, station: int, probability: float = DEFAULT_PROBABILITY, origin: int = 0
) -> Region:
    """The region of a station as seen from another (by default the start), bent where it must be.

    Raises
    ------
    ValueComplaint
        The station is the origin itself, or the probability is none.
    """
    if station == origin:
        raise ValueComplaint("a station has no region about itself", "Ask for another station")
    reach_of(probability)
    if reckoning.held is not None and origin == 0:
        center, start = reckoning.place[station], reckoning.place[origin]
        return Region(center, reckoning.held[station], probability, "ellipse", start)
    covariance = reckoning.relative_covariance(origin, station)
    low, high = sorted((origin, station))
    own = reckoning.own_sum[high] - reckoning.own_sum[low]
    start, center = reckoning.place[origin], reckoning.place[station]
    if is_coarse(center - start, covariance, _mean_turn_variance(reckoning, low, high)):
        pull, exact_own = own_between(reckoning, low, high)
        center = center - pull if station > origin else center + pull
        covariance, own = covariance - own + exact_own, exact_own
    bent = _must_bend(center - start, covariance, own, reckoning)
    return Region(center, covariance, probability, "bent" if bent else "ellipse", start)


def _along_sd(step: Array, covariance: Array) -> float:
    """The scatter along a step as a fraction of its length."""
    distance2 = float(step @ step)
    return math.sqrt(float(step @ covariance @ step)) / distance2 if distance2 > 0 else math.inf


def is_coarse(step: Array, covariance: Array, turn_variance_rad2: float) -> bool:
    """Whether azimuths scatter too widely for first order over a step of that covariance."""
    return turn_variance_rad2 / 2.0 > BEND_ABOVE * _along_sd(step, covariance)


def _must_bend(step: Array, covariance: Array, own: Array, reckoning: Reckoning) -> bool:
    if math.hypot(*step) <= BEND_FROM_SD * math.sqrt(float(np.linalg.eigvalsh(own)[-1])):
        return False
    return is_coarse(step, covariance, math.radians(reckoning.frame.bias_sd_deg) ** 2)


def _mean_turn_variance(reckoning: Reckoning, low: int, high: int) -> float:
    length = reckoning.length[low:high]
    if not length.any():
        return 0.0
    return float(np.average(reckoning.turn_variance_rad2[low:high], weights=length))


def own_between(reckoning: Reckoning, low: int, high: int) -> tuple[Array, Array]:
    """What large azimuth scatter does to the legs between two stations, as `exact_own` does."""
    return exact_own(
        reckoning.azimuth_deg[low:high],
        reckoning.length[low:high],
        reckoning.own[low:high],
        reckoning.turn_variance_rad2[low:high],
    )


def exact_own(azimuth_deg: Array, length: Array, own: Array, turn: Array) -> tuple[Array, Array]:
    """What large azimuth scatter does to legs, exactly.

    A leg held with scatter ends short of its length by exp(-variance / 2), and spreads along its
    azimuth as well as across it.

    Parameters
    ----------
    azimuth_deg, length
        Of the legs, shape (n,).
    own
        Their covariances to first order, shape (n, 2, 2).
    turn
        The variances of their azimuths in radians squared, shape (n,).

    Returns
    -------
    pull, own
        How far the mean falls short, shape (2,), and the covariance of the legs' own part, shape (2, 2).
    """
    azimuth_rad = np.deg2rad(azimuth_deg)
    along = np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    count_variance = np.einsum("ni,nij,nj->n", along, own, along)
    mean_square = length**2 + count_variance
    along_more = mean_square * (1.0 + np.exp(-2.0 * turn)) / 2.0 - length**2 * np.exp(-turn) - count_variance
    across_more = mean_square * (1.0 - np.exp(-2.0 * turn)) / 2.0 - length**2 * turn
    exact = own.sum(axis=0)
    exact = exact + np.einsum("n,ni,nj->ij", along_more, along, along)
    exact = exact + np.einsum("n,ni,nj->ij", across_more, across, across)
    pull: Array = ((1.0 - np.exp(-turn / 2.0)) * length) @ along
    return pull, exact


def named_regions(reckoning: Reckoning, probability: float = DEFAULT_PROBABILITY) -> tuple[Region, ...]:
    """The regions of the named stations and of the last one."""
    return tuple(
        station_region(reckoning, k, probability)
        for k, name in enumerate(reckoning.names)
        if k > 0 and (name or k == reckoning.last)
    )
