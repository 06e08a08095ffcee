"""What posts found and missed tell of a learner's usual miss: counts alone do not tell who misses many."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from pacewright.course.grading import Grade
from pacewright.course.skill import WALK_LEGS, WALK_M, Skill

_GRID: Final = np.linspace(-2.0, 3.0, 201)
"""Logarithms of how many times farther off than the rest says."""
_LEAST_SD: Final = 0.25
"""However many counts, how far off a learner ends between posts is not known better (assumed)."""
_OUT: Final = 1.959964


def with_missed(skill: Skill, walks: Sequence[Grade]) -> Skill:
    """A learner's usual miss as it stands after the posts that were found and missed.

    A post is missed where the leg to it ends farther off than it is seen and searched for; how far off is
    round and normal (Rayleigh distribution), and grows with the length of the leg.

    Parameters
    ----------
    skill
        What compass and counts tell.
    walks
        The learner's walks; those with one point alone tell nothing here.
    """
    legs = [one for walk in walks if len(walk.points) > 1 for one in _legs(walk)]
    if not legs:
        return skill
    shared, own = skill.bias_share + skill.scale_share, skill.azimuth_share + skill.count_share
    one_leg = math.sqrt(shared + WALK_LEGS * own)
    length_m, reach_m, found = (np.array(part, dtype=np.float64) for part in zip(*legs, strict=True))
    usual_m = skill.miss_m * length_m / WALK_M * one_leg * np.exp(_GRID)[:, None]
    missing = np.clip(np.exp(-((reach_m / usual_m) ** 2)), 1e-9, 1.0 - 1e-9)
    told = np.where(found > 0.5, np.log1p(-missing), np.log(missing)).sum(axis=1)
    before = max(skill.log_sd, _LEAST_SD)
    weight = np.exp(told - told.max() - 0.5 * (_GRID / before) ** 2)
    weight /= weight.sum()
    mean = float(weight @ _GRID)
    sd = math.sqrt(float(weight @ (_GRID - mean) ** 2))
    middle = skill.miss_m * math.exp(mean)
    return replace(
        skill,
        miss_m=middle,
        low_m=middle * math.exp(-_OUT * sd),
        high_m=middle * math.exp(_OUT * sd),
        log_sd=sd,
    )


def _legs(walk: Grade) -> list[tuple[float, float, float]]:
    """The legs to the posts of a card: metres, how far off it is still found, and 1 where it was."""
    there = dict(walk.points)
    found, length_m = [], 0.0
    for row in walk.key.rows:
        length_m += row.length_m
        if row.at in there:
            found.append((length_m, walk.reach_m, float(there[row.at])))
            length_m = 0.0
    return found
