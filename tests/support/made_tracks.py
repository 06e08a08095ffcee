"""Recorded tracks of made-up walks: points along the true way, with a receiver's scatter and stops."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray
from pyproj import Transformer

from support.simulator import USUAL, Person, Walked, draw_route, walk, write_log_text

Floats = NDArray[np.float64]

SPEED_M_S = 1.3
EVERY_S = 5.0
STOP_S = 30.0
BEGAN_S = 1_778_749_200.0
"""2026-05-14, nine o'clock Universal Time."""

EAST_M, NORTH_M = 500_000.0, 5_000_000.0
"""Where made-up walks start, on UTM zone 32 north."""


def recorded(
    rng: np.random.Generator, stations_m: Floats, sd_m: float = 5.0, correlated_s: float = 0.0
) -> tuple[Floats, Floats]:
    """The points and times that a receiver records of a walk from station to station.

    Parameters
    ----------
    stations_m
        True stations, east and north, shape (n + 1, 2); the walker stops at each.
    sd_m, correlated_s
        Scatter of each coordinate, and how long it lasts: 0 for a new one at every point.
    """
    places, times, now = [], [], 0.0
    for start, end in itertools.pairwise(stations_m):
        seconds = float(np.hypot(*(end - start))) / SPEED_M_S
        share = np.linspace(0.0, 1.0, max(2, int(seconds / EVERY_S)), endpoint=False)
        stop = np.arange(0.0, STOP_S, EVERY_S)
        places += [start + share[:, None] * (end - start), np.repeat(end[None], stop.size, axis=0)]
        times += [now + share * seconds, now + seconds + stop]
        now += seconds + STOP_S
    place, time_s = np.concatenate(places), np.concatenate(times)
    off = sd_m * rng.standard_normal(place.shape)
    if correlated_s:
        kept = np.exp(-EVERY_S / correlated_s)
        for i in range(1, len(off)):
            off[i] = kept * off[i - 1] + np.sqrt(1.0 - kept**2) * off[i]
    return place + off, time_s


def on_the_map(place_m: Floats) -> tuple[Floats, Floats]:
    """Latitude and longitude of places in grid metres from where made-up walks start."""
    turn = Transformer.from_crs("EPSG:32632", "EPSG:4326", always_xy=True)
    longitude, latitude = turn.transform(EAST_M + place_m[:, 0], NORTH_M + place_m[:, 1])
    return np.asarray(latitude), np.asarray(longitude)


def walk_once(
    seed: int, shape: str, legs: int, person: Person = USUAL, median_m: float = 250.0
) -> tuple[np.random.Generator, Walked, str]:
    """A generator, one made-up walk, and its log by grid azimuths."""
    rng = np.random.default_rng(seed)
    route = draw_route(rng, shape, legs, median_m=median_m, sigma=0.5, person=person)
    walked = walk(rng, route, 1, person)
    return rng, walked, write_log_text(walked.notes(0)).replace("magnetic degrees", "grid degrees")
