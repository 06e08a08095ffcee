"""The way that a learner most likely walked, given the card, where it ended, and the slip that shows."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.answer_key import AnswerKey
from pacewright.course.grading import Grade
from pacewright.course.walk_scatter import Habit, Walk, shared_levers, stated_habit
from pacewright.course.walked_slips import WalkedSlip

Array = NDArray[np.float64]

SHOWN_ABOVE: Final = 0.5
"""A slip is drawn where it is likelier than all else together."""


def likely_way(one: Grade) -> Array | None:
    """Where a learner most likely stood at the start and at the end of every row of the key.

    Ordinary scatter, on the card or on what was walked instead, leads to where the learner ended by its
    likeliest way: each station is moved by its covariance with the end. Posts that were surely found are
    stood at.

    Returns
    -------
    array, shape (n + 1, 2), or None
        East and north in metres; None where nobody saw the end, or nothing that is known explains it.
    """
    seen, posterior = one.seen, one.walked
    if seen is None:
        return None
    slip = None
    if posterior is not None and posterior.clean_probability < SHOWN_ABOVE:
        slip = posterior.slips[0] if posterior.slips else None
        if slip is None or slip.probability < SHOWN_ABOVE or (not slip.rows and slip.kind != "start_wrong"):
            return None
    start = one.key.places_m[seen.start].copy()
    walk = seen.walk
    if slip is not None and slip.rows:
        walk = _with_slip(walk, slip, one.key, seen.start)
    elif slip is not None:
        start += slip.moved_m
    own = start + np.concatenate([np.zeros((1, 2)), np.cumsum(walk.steps_m(), axis=0)])
    if slip is None or not slip.rows:
        # The key's own places hold what the card's rounding leaves open.
        own = one.key.places_m[seen.start :] + (start - one.key.places_m[seen.start])
    left = seen.finish.place_m - own[-1]
    own = own + _shares(walk, stated_habit(one.key.walker)) @ left
    return np.concatenate([one.key.places_m[: seen.start], own])


def _with_slip(walk: Walk, slip: WalkedSlip, key: AnswerKey, start: int) -> Walk:
    """The walk with a slip in it; what it does to its first row it does to all its rows."""
    azimuth_deg, length_m = walk.azimuth_deg.copy(), walk.length_m.copy()
    first = key.rows[slip.rows[0] - 1]
    turn = slip.azimuth_deg - first.azimuth_deg
    times = 0.0 if slip.kind == "leg_missing" else slip.count / first.count
    rows = [row - 1 - start for row in slip.rows if row > start]
    azimuth_deg[rows] += turn
    length_m[rows] *= times
    return replace(walk, azimuth_deg=azimuth_deg, length_m=length_m)


def _shares(walk: Walk, habit: Habit) -> Array:
    """By which part of what is left each station is moved, the last by all; shape (n + 1, 2, 2)."""
    variance = np.diag([math.radians(habit.bias_sd_deg) ** 2, habit.scale_sd**2])
    levers = np.array(
        [
            shared_levers(replace(walk, azimuth_deg=walk.azimuth_deg[:k], length_m=walk.length_m[:k]))
            for k in range(len(walk.own) + 1)
        ]
    )
    own = np.concatenate([np.zeros((1, 2, 2)), np.cumsum(walk.own, axis=0)])
    with_end = own + levers @ variance @ levers[-1].T
    shares: Array = with_end @ np.linalg.inv(with_end[-1])
    return shares
