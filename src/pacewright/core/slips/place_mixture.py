"""Where am I, after a closure that betrays a mistake: not one ellipse but several islands.

Each explanation of the log puts the walker somewhere else. How sure a place is must come from all of
them together; a log that was adjusted without looking for the mistake draws its ellipse round a wrong
place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.compass import direction_deg
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.slips.explained_stations import Places, likeliest_explanations, places_given
from pacewright.core.slips.mistake_search import SlipPosterior
from pacewright.core.way.regions import Region
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]

SAME_ISLAND_SD: Final = 2.5
"""Places closer than this, in their own standard deviations, run together to one island."""
LEAST_ISLAND: Final = 0.02
_RING_EDGES: Final = np.array([0, 0.15, 0.3, 0.45, 0.6, 0.7, 0.8, 0.87, 0.92, 0.95, 0.97, 0.985, 1.0])
"""Shares of a normal in the plane that lie within rings; finer where regions end."""
_SPOKES: Final = 8


@dataclass(frozen=True, slots=True, eq=False)
class PlaceMixture:
    """A place as the explanations of a log leave it; c of them.

    Attributes
    ----------
    weight
        Shape (c,), sums to 1.
    mean
        East and north, shape (c, 2).
    covariance
        Shape (c, 2, 2).
    """

    weight: Array
    mean: Array
    covariance: Array

    def density(self, points: ArrayLike) -> Array:
        """The density at points, shape (m, 2); shape (m,)."""
        offset = np.atleast_2d(np.asarray(points, dtype=np.float64))[:, None] - self.mean
        a, b, d = self.covariance[:, 0, 0], self.covariance[:, 0, 1], self.covariance[:, 1, 1]
        det = a * d - b * b
        east, north = offset[..., 0], offset[..., 1]
        distance2 = (d * east**2 - 2.0 * b * east * north + a * north**2) / det
        height = self.weight / (2.0 * np.pi * np.sqrt(det))
        total: Array = (np.exp(-0.5 * distance2) * height).sum(axis=1)
        return total

    def contains(self, points: ArrayLike, probability: float = DEFAULT_PROBABILITY) -> NDArray[np.bool_]:
        """Which points lie in the smallest region that holds a share of the chance; shape (m,)."""
        inside: NDArray[np.bool_] = self.density(points) >= self.edge_density(probability)
        return inside

    def edge_density(self, probability: float = DEFAULT_PROBABILITY) -> float:
        """The density on the edge of that region.

        Raises
        ------
        ValueComplaint
            The probability is not between 0 and 1.
        """
        if not 0 < probability < 1:
            raise ValueComplaint(
                f"{probability:g} is not a share of walks", "Give more than 0 and less than 1, such as 0.95"
            )
        points, share_of_part = self._points()
        log_density = np.log(np.maximum(self.density(points.reshape(-1, 2)), 1e-300))
        share = (self.weight[:, None] * share_of_part).ravel()
        order = np.argsort(-log_density)
        held = np.cumsum(share[order]) - share[order] / 2.0
        # Of one normal, log density goes exactly with the log of what lies outside.
        outside = -np.log1p(-np.minimum(held, 1.0 - 1e-9))
        return math.exp(np.interp(-math.log1p(-probability), outside, log_density[order]))

    def moments(self) -> tuple[Array, Array]:
        """Mean and covariance of the whole, shapes (2,) and (2, 2)."""
        mean = self.weight @ self.mean
        offset = self.mean - mean
        covariance = np.einsum("c,cab->ab", self.weight, self.covariance)
        covariance += np.einsum("c,ca,cb->ab", self.weight, offset, offset)
        return mean, covariance

    def _points(self) -> tuple[Array, Array]:
        """Points on rings about every part, shape (c, points, 2), and the share of each in its part."""
        middle = (_RING_EDGES[1:] + _RING_EDGES[:-1]) / 2.0
        ring = np.sqrt(-2.0 * np.log1p(-middle))[:, None]
        turn_rad = 2.0 * np.pi * (np.arange(_SPOKES) + 0.5 * (np.arange(middle.size)[:, None] % 2)) / _SPOKES
        circle = np.stack([ring * np.cos(turn_rad), ring * np.sin(turn_rad)]).reshape(2, -1)
        lower = np.linalg.cholesky(self.covariance)
        points: Array = self.mean[:, None] + np.einsum("cab,bp->cpa", lower, circle)
        return points, np.repeat(np.diff(_RING_EDGES) / _SPOKES, _SPOKES)


@dataclass(frozen=True, slots=True, eq=False)
class Island:
    """One of the places where a station may lie, and the way from there to the origin.

    Attributes
    ----------
    probability
        Of this island.
    center, covariance
        East and north from the origin, shape (2,), and shape (2, 2).
    azimuth_deg, distance
        To walk from its middle to the origin, in the frame.
    """

    probability: float
    center: Array
    covariance: Array
    azimuth_deg: float
    distance: float

    def region(self, probability: float = DEFAULT_PROBABILITY) -> Region:
        """The island's own region."""
        return Region(self.center, self.covariance, probability, "ellipse", np.zeros(2))


def station_mixture(posterior: SlipPosterior, station: int, origin: int = 0) -> PlaceMixture:
    """Where a station lies from another, over all explanations of the log.

    Raises
    ------
    ValueComplaint
        The station is the origin itself, or the log has no such station.
    """
    last = posterior.model.states.size
    if station == origin or not (0 <= station <= last and 0 <= origin <= last):
        raise ValueComplaint(
            f"there is no way from station {station} to station {origin} in this log",
            f"Give two numbers from 0 to {last} that differ",
        )
    explanations = likeliest_explanations(posterior)
    places = places_given(posterior, explanations, np.array([station]), origin)
    return mixture_of(explanations.weight, places, 0)


def mixture_of(weight: Array, places: Places, number: int) -> PlaceMixture:
    """The mixture of one of the stations of `places`."""
    return PlaceMixture(
        weight, places.mean[:, number].T.copy(), places.covariance[:, :, number].transpose(2, 0, 1).copy()
    )


def find_islands(posterior: SlipPosterior, station: int, origin: int = 0) -> tuple[Island, ...]:
    """The places where a station may lie, the likeliest first; the small ones are left out.

    Raises
    ------
    ValueComplaint
        The station is the origin itself, or the log has no such station.
    """
    mixture = station_mixture(posterior, station, origin)
    group = _grouped(mixture)
    islands = []
    for number in range(group.max() + 1):
        mine = group == number
        share = float(mixture.weight[mine].sum())
        if share < LEAST_ISLAND:
            continue
        part = PlaceMixture(mixture.weight[mine] / share, mixture.mean[mine], mixture.covariance[mine])
        center, covariance = part.moments()
        east, north = center
        islands.append(
            Island(share, center, covariance, direction_deg(-east, -north), math.hypot(east, north))
        )
    return tuple(sorted(islands, key=lambda island: -island.probability))


def _grouped(mixture: PlaceMixture) -> NDArray[np.int64]:
    """The island of every part: the likeliest part not yet taken gathers what lies near it."""
    group = np.full(mixture.weight.size, -1)
    number = 0
    for seed in np.argsort(-mixture.weight):
        if group[seed] >= 0:
            continue
        offset = mixture.mean - mixture.mean[seed]
        solved = np.linalg.solve(mixture.covariance + mixture.covariance[seed], offset[:, :, None])[:, :, 0]
        near = np.einsum("ca,ca->c", offset, solved) < SAME_ISLAND_SD**2
        group[near & (group < 0)] = number
        number += 1
    return group
