"""Made-up learners who look for posts, and dense looks at land, for tests alone.

Written without the code that sets courses: learners are walked one by one by the simulator, and what lies in
an area is told by many points instead of by the sides of figures.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from support.simulator import USUAL, Person, walk_instruction

Floats = NDArray[np.float64]

LOOKS = 120
"""At how many points of a leg a learner looks about."""

WALKS_BY_ROUND = Person(pace_m=1.5)


def lane_found(
    rng: np.random.Generator,
    places_m: ArrayLike,
    learners: int,
    sighting_m: float,
    search_m: float,
    person: Person = WALKS_BY_ROUND,
) -> float:
    """The share of learners who find every post of a lane; each starts a leg at the post it found."""
    places = np.asarray(places_m, dtype=np.float64)
    bias = person.bias_sd_deg * rng.standard_normal(learners)
    scale = np.exp(person.scale_sd * rng.standard_normal(learners))
    found = np.ones(learners, dtype=bool)
    for here, there in pairwise(places):
        step = there - here
        walked = walked_leg(rng, step, bias, scale, person)
        at_end = np.hypot(*(walked - step).T) <= sighting_m + search_m
        nearest = np.full(learners, np.inf)
        for part in np.linspace(0.0, 1.0, LOOKS):
            np.minimum(nearest, np.hypot(*(part * walked - step).T), out=nearest)
        found &= at_end | (nearest <= sighting_m)
    return float(found.mean())


def walked_leg(
    rng: np.random.Generator, step: Floats, bias: Floats, scale: Floats, person: Person = USUAL
) -> Floats:
    """Walk a leg as dialled and counted, each read off to a whole degree and a whole pace; (learners, 2)."""
    azimuth = np.degrees(np.arctan2(step[0], step[1])) + rng.uniform(-0.5, 0.5, bias.size)
    count = np.hypot(*step) / person.pace_m + rng.uniform(-0.5, 0.5, bias.size)
    return walk_instruction(rng, azimuth, count, bias, scale, person)


def winding_inside(points: Floats, ring: Floats) -> NDArray[np.bool_]:
    """Which points a ring winds round, by the angles under which they see its sides."""
    to = ring[None] - points[:, None]
    angle = np.arctan2(to[..., 1], to[..., 0])
    turn = np.diff(np.concatenate([angle, angle[:, :1]], axis=1), axis=1)
    turn = (turn + np.pi) % (2 * np.pi) - np.pi
    return np.abs(turn.sum(axis=1)) > np.pi


def dense_ring(ring: Floats, apart_m: float) -> Floats:
    """Points along the sides of a ring."""
    pieces = []
    for here, there in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        number = max(2, int(np.hypot(*(there - here)) / apart_m))
        pieces.append(here + np.linspace(0, 1, number)[:, None] * (there - here))
    return np.concatenate(pieces)
