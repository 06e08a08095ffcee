"""What can be known at best of a made-up class, by brute force and without the tool's own code.

`likely_skill` weighs thousands of learners drawn as the class was drawn by how well each explains one
learner's walks. `likeliest_slip` weighs every slip by clouds of simulated walks.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from support.made_class import (
    DAY_BIAS_SD_DEG,
    DAY_SCALE_SD,
    PACE_M,
    WALKED_KINDS,
    MadeLearner,
    walked_instead,
)
from support.simulator import Person, Route, walk_instruction

Floats = NDArray[np.float64]


def off_m(route: Route, finish_m: Floats) -> Floats:
    """The miss against where a perfect walk ends."""
    miss: Floats = finish_m - _steps(route).sum(axis=0)
    return miss


def _steps(route: Route) -> Floats:
    azimuth_rad, length_m = np.radians(route.azimuth_deg), route.count * PACE_M
    steps: Floats = length_m[:, None] * np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    return steps


def likely_skill(
    rng: np.random.Generator, cards: Sequence[Route], finishes_m: Sequence[Floats], draws: int = 6000
) -> float:
    """The mean logarithm of a learner's usual miss, the class's own way of differing known."""
    # As `draw_learners` draws them.
    bias = np.radians(1.5) * rng.standard_normal(draws)
    scale = 0.03 * rng.standard_normal(draws)
    turn2 = (np.radians(2.5) * np.exp(0.25 * rng.standard_normal(draws))) ** 2
    count2 = (0.05 * np.exp(0.25 * rng.standard_normal(draws))) ** 2
    log = np.zeros(draws)
    for route, finish in zip(cards, finishes_m, strict=True):
        steps = _steps(route)
        across = np.stack([steps[:, 1], -steps[:, 0]], axis=1)
        end, turned = steps.sum(axis=0), across.sum(axis=0)
        rounding = (
            np.radians(1.0) ** 2 * across.T @ across + PACE_M**2 / 2.0 * np.eye(2) * len(steps)
        ) / 12.0
        day = np.radians(DAY_BIAS_SD_DEG) ** 2 * np.outer(turned, turned)
        day = day + DAY_SCALE_SD**2 * np.outer(end, end)
        spread = turn2[:, None, None] * (across.T @ across) + count2[:, None, None] * (steps.T @ steps)
        spread = spread + rounding + day
        rest = off_m(route, finish) - bias[:, None] * turned - scale[:, None] * end
        solved = np.linalg.solve(spread, rest[..., None])[..., 0]
        log -= 0.5 * (np.sum(rest * solved, axis=1) + np.log(np.linalg.det(spread)))
    weight = np.exp(log - log.max())
    # The usual miss over a straight kilometre in five legs, as `MadeLearner.usual_miss_m` has it.
    skill = np.log(1000.0 * np.sqrt(bias**2 + scale**2 + (turn2 + count2) / 5.0))
    return float(skill @ weight / weight.sum())


def likeliest_slip(
    rng: np.random.Generator, route: Route, miss_m: Floats, draws: int = 600
) -> tuple[str, int]:
    """The slip, kind and leg, that a usual learner most likely walked, given that there was one."""
    best: tuple[float, tuple[str, int]] = (-np.inf, ("", 0))
    scores: dict[tuple[str, int], float] = {}
    for kind in WALKED_KINDS:
        ways = [
            (leg, entries)
            for leg in range(route.count.size)
            if (entries := walked_instead(kind, int(route.azimuth_deg[leg]), int(route.count[leg])))
        ]
        for leg, entries in ways:
            for entry in entries:
                cloud = _cloud(rng, route, leg, entry, draws)
                mean, spread = cloud.mean(axis=0), np.cov(cloud.T)
                rest = miss_m - mean
                log = -0.5 * float(rest @ np.linalg.solve(spread, rest)) - 0.5 * np.log(np.linalg.det(spread))
                share = np.exp(log) / len(ways) / len(entries)
                key = (kind, leg + 1)
                scores[key] = scores.get(key, 0.0) + float(share)
    for key, score in scores.items():
        if score > best[0]:
            best = (score, key)
    return best[1]


def _cloud(rng: np.random.Generator, route: Route, leg: int, entry: tuple[int, int], draws: int) -> Floats:
    azimuth, count = route.azimuth_deg.astype(float), route.count.astype(float)
    azimuth[leg], count[leg] = entry
    legs = count.size
    bias = 1.6 * rng.standard_normal((draws, 1))
    scale = np.exp(0.034 * rng.standard_normal((draws, 1)))
    steps = walk_instruction(
        rng,
        azimuth + rng.uniform(-0.5, 0.5, (draws, legs)),
        count + rng.uniform(-0.5, 0.5, (draws, legs)) * (count > 0),
        np.broadcast_to(bias, (draws, legs)),
        np.broadcast_to(scale, (draws, legs)),
        Person(PACE_M, 2.5, 0.05, 0.0),
    )
    cloud: Floats = steps.sum(axis=1) - _steps(route).sum(axis=0)
    return cloud


def in_order(true: Sequence[float], told: Sequence[float]) -> float:
    """The share of pairs that are told in their true order."""
    pairs = [(i, j) for i in range(len(true)) for j in range(i)]
    return float(np.mean([(true[i] < true[j]) == (told[i] < told[j]) for i, j in pairs]))


def usual_misses(learners: Sequence[MadeLearner]) -> list[float]:
    """The true usual miss of each."""
    return [one.usual_miss_m() for one in learners]
