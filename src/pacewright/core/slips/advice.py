"""The bearing, the revisit or the direct walk that would tell most about where the mistake is.

    bits = H(what would be observed) - sum over legs of P(leg) H(what would be observed | leg)

Both are mixtures of normals over the explanations that are left, and are summed at even points of
every normal. Promises of this kind come out some tenths of a bit high, for explanations that were left
out would have been told apart as well.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.slips.explained_stations import (
    Explanations,
    Places,
    likeliest_explanations,
    places_given,
)
from pacewright.core.slips.mistake_search import SlipPosterior
from pacewright.core.way.observations import units_per_metre
from pacewright.core.way.reckoning import reckon

Array = NDArray[np.float64]

Observe = Literal["sighting", "revisit", "direct_walk"]

REVISIT_SD_M: Final = 10.0
"""A station stood on again and found on the map by hand (common practice)."""
LEAST_BITS: Final = 0.05
_MOST_EXPLANATIONS: Final = 40
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(5)
_SHARES: Final = _WEIGHTS / _WEIGHTS.sum()
_FLAT_NODES, _FLAT_WEIGHTS = np.polynomial.hermite_e.hermegauss(3)
_FLAT_EAST, _FLAT_NORTH = (grid.ravel() for grid in np.meshgrid(_FLAT_NODES, _FLAT_NODES))
_FLAT_SHARES: Final = np.outer(_FLAT_WEIGHTS, _FLAT_WEIGHTS).ravel() / _FLAT_WEIGHTS.sum() ** 2


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to observe and what it would tell.

    Attributes
    ----------
    observe
        `sighting`: a bearing from the station to the target. `revisit`: stand at the station again and
        find it on the map. `direct_walk`: from the start straight to the station, by azimuth and count.
    station
        Its number.
    target
        What to sight, or where the direct walk begins; None for a revisit.
    bits
        What it would tell about which leg holds the mistake.
    """

    observe: Observe
    station: int
    target: str | None
    bits: float


def advise(posterior: SlipPosterior) -> tuple[Advice, ...]:
    """What would tell most about which leg holds the mistake, the best first.

    Bearings need a landmark of known place, a revisit needs the map; a direct walk needs neither.

    References
    ----------
    Expected information of an experiment: D. V. Lindley, Annals of Mathematical Statistics 27 (1956).
    """
    last = posterior.model.states.size
    explanations = likeliest_explanations(posterior, most=_MOST_EXPLANATIONS)
    if last < 2 or np.unique(explanations.label).size < 2:
        return ()
    stations = np.arange(1, last + 1)
    places = places_given(posterior, explanations, stations)
    metre = units_per_metre(posterior.walker, posterior.frame)
    found = [
        *_sightings(posterior, explanations, places, stations),
        *_walks(posterior, explanations, places, stations),
    ]
    if posterior.frame.kind == "map":
        noise = np.broadcast_to((REVISIT_SD_M * metre) ** 2 * np.eye(2)[:, :, None], (2, 2, last))
        bits = _bits_of_places(explanations, places, noise)
        found += [Advice("revisit", int(k), None, float(b)) for k, b in zip(stations, bits, strict=True)]
    worth = [advice for advice in found if advice.bits >= LEAST_BITS]
    return tuple(sorted(worth, key=lambda advice: -advice.bits))


def best_of_each(advice: tuple[Advice, ...], each: int = 2) -> tuple[Advice, ...]:
    """The best few of every way of observing, the best of all first."""
    chosen: list[Advice] = []
    for observe in ("sighting", "revisit", "direct_walk"):
        chosen += [one for one in advice if one.observe == observe][:each]
    return tuple(sorted(chosen, key=lambda one: -one.bits))


def _sightings(
    posterior: SlipPosterior, explanations: Explanations, places: Places, stations: NDArray[np.int64]
) -> list[Advice]:
    walker = posterior.walker.compass
    half_bias = math.radians(walker.bias_sd_deg) ** 2 / 2.0
    own = math.radians(1.0) ** 2 * (walker.sighting_sd_deg**2 + walker.reading_interval_deg**2 / 12.0)
    taken = {(b.station, b.name) for b in posterior.observations.bearings}
    found = []
    for name, (east, north, sd) in landmark_places(posterior).items():
        to = np.array([east, north])[:, None, None] - places.mean
        distance2 = np.maximum((to**2).sum(axis=0), 1.0)
        across = np.stack([to[1], -to[0]]) / np.sqrt(distance2)
        spread = np.einsum("ash,absh,bsh->sh", across, places.covariance, across, optimize=True)
        variance = (spread + sd**2) / distance2 + half_bias + own
        bits = _bits_of_azimuths(explanations, np.arctan2(to[0], to[1]), variance)
        found += [
            Advice("sighting", int(station), name, float(one))
            for station, one in zip(stations, bits, strict=True)
            if (int(station), name) not in taken
        ]
    return found


def landmark_places(posterior: SlipPosterior) -> dict[str, tuple[float, float, float]]:
    """East, north and sd of the known points that are no stations of the log, in the map frame."""
    found = posterior.observations
    stations = set(posterior.log.station_names())
    seen = {one.name: one.landmark for one in found.bearings if one.landmark is not None}
    places = {name: place for name, place in {**seen, **found.goals}.items() if name not in stations}
    at = found.origin_station
    origin = reckon(posterior.log, posterior.walker, posterior.frame).place[at] if at else np.zeros(2)
    return {
        name: (float(origin[0]) + east, float(origin[1]) + north, math.hypot(sd, found.origin_sd))
        for name, (east, north, sd) in places.items()
    }


def _walks(
    posterior: SlipPosterior, explanations: Explanations, places: Places, stations: NDArray[np.int64]
) -> list[Advice]:
    walker, frame = posterior.walker, posterior.frame
    likely = np.einsum("ash,h->as", places.mean, explanations.weight)
    distance = np.hypot(likely[0], likely[1])
    turn = math.radians(1.0) ** 2 * (
        walker.compass.azimuth_sd_deg**2 + walker.compass.reading_interval_deg**2 / 12.0
    )
    count_sd = np.maximum(
        walker.count.count_sd_pct / 100.0 * distance, walker.count.count_floor * frame.units_per_pace
    )
    unit = likely / np.maximum(distance, 1e-9)
    across = np.stack([unit[1], -unit[0]])
    noise = count_sd**2 * unit[:, None] * unit[None] + turn * distance**2 * across[:, None] * across[None]
    noise[[0, 1], [0, 1]] += 1.0
    bits = _bits_of_places(explanations, places, noise)
    start = posterior.log.heading.start or "the start"
    closed = {t.second for t in posterior.observations.ties if t.first == 0}
    return [
        Advice("direct_walk", int(station), start, float(one))
        for station, one in zip(stations, bits, strict=True)
        if int(station) not in closed
    ]


def _bits_of_azimuths(explanations: Explanations, azimuth_rad: Array, variance: Array) -> Array:
    """Bits of one azimuth at each station; mean and variance have shape (s, h)."""
    sd = np.sqrt(variance)
    # Points of every normal against every normal: (s, points, of h, against h).
    seen = azimuth_rad[:, None, :] + _NODES[:, None] * sd[:, None, :]
    off = seen[:, :, :, None] - azimuth_rad[:, None, None, :]
    off -= 2.0 * np.pi * np.rint(off / (2.0 * np.pi))
    np.square(off, out=off)
    off *= (-0.5 / variance)[:, None, None, :]
    off -= np.log(sd)[:, None, None, :]
    return _bits(explanations, off, _SHARES)


def _bits_of_places(explanations: Explanations, places: Places, noise: Array) -> Array:
    """Bits of one place at each station; `noise` is what observing adds, shape (2, 2, s)."""
    full = places.covariance + noise[..., None]
    a, b, d = full[0, 0], full[0, 1], full[1, 1]
    det = np.maximum(a * d - b * b, 1e-12)
    # About the middle of each station, so that no digits are lost below.
    mean = places.mean - places.mean.mean(axis=2, keepdims=True)
    s, h = a.shape
    east = mean[0][:, None] + np.sqrt(a)[:, None] * _FLAT_EAST[:, None]
    north = (
        mean[1][:, None]
        + (b / np.sqrt(a))[:, None] * _FLAT_EAST[:, None]
        + np.sqrt(det / a)[:, None] * _FLAT_NORTH[:, None]
    )
    # The log of a normal is a polynomial of its place: all points against all normals are one product.
    powers = np.stack([np.ones_like(east), east, north, east**2, east * north, north**2], axis=-1)
    e, n = mean
    normals = np.stack(
        [
            -0.5 * (d * e**2 - 2.0 * b * e * n + a * n**2) / det - 0.5 * np.log(det),
            (d * e - b * n) / det,
            (a * n - b * e) / det,
            -0.5 * d / det,
            b / det,
            -0.5 * a / det,
        ],
        axis=1,
    )
    density = powers.reshape(s, -1, 6) @ normals
    return _bits(explanations, density.reshape(s, -1, h, h), _FLAT_SHARES)


def _bits(explanations: Explanations, density: Array, shares: Array) -> Array:
    """The information about the leg; `density`, (s, points, of h, against h), is used up."""
    weight = explanations.weight
    density += np.log(weight)
    density -= density.max(axis=-1, keepdims=True)
    chance = np.exp(density, out=density)
    labels, label = np.unique(explanations.label, return_inverse=True)
    of_label = (label[:, None] == np.arange(labels.size)).astype(np.float64)
    # How likely each point makes the leg that it was drawn for, beside how likely that is beforehand.
    own = np.take_along_axis(chance @ of_label, label[None, None, :, None], axis=-1)[..., 0]
    own = np.maximum(own, 1e-300) / np.maximum(chance.sum(axis=-1), 1e-300)
    gain = np.log(own) - np.log(weight @ of_label)[label]
    bits = (gain @ weight) @ shares
    nonnegative: Array = np.maximum(bits, 0.0) / math.log(2.0)
    return nonnegative
