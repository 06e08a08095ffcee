"""A card as it is to be walked: what bias, pace scale and ordinary scatter make of its finish."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import Frame
from pacewright.course.answer_key import AnswerKey

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Habit:
    """What is known of a learner's compass and pace before looking at a walk.

    Attributes
    ----------
    bias_deg, bias_sd_deg
        What is added to every azimuth, clockwise.
    log_scale, scale_sd
        Logarithm of a pace's true length over the stated one.
    """

    bias_deg: float
    bias_sd_deg: float
    log_scale: float
    scale_sd: float


def stated_habit(walker: Walker) -> Habit:
    """What a walker's own figures say, to no side."""
    return Habit(0.0, walker.compass.bias_sd_deg, 0.0, walker.count.scale_sd_pct / 100.0)


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """Rows as they were meant to be walked, in metres.

    Attributes
    ----------
    azimuth_deg, length_m
        Shape (n,).
    own
        Covariance of each row's own scatter; shape (n, 2, 2).
    is_counted
        True where lengths were walked by count, so that the pace's own length moves the finish.
    """

    azimuth_deg: Array
    length_m: Array
    own: Array
    is_counted: bool = True

    def steps_m(self) -> Array:
        """East and north of every row, shape (n, 2)."""
        azimuth_rad = np.radians(self.azimuth_deg)
        unit = np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
        steps: Array = self.length_m[:, None] * unit
        return steps


def key_walk(key: AnswerKey, start: int = 0) -> Walk:
    """The rows of a key from a station on."""
    reckoning = key.reckoning
    return Walk(
        np.array([row.azimuth_deg for row in key.rows[start:]]),
        np.array([row.length_m for row in key.rows[start:]]),
        reckoning.own[start:],
        key.card.drill != "azimuth",
    )


def shared_levers(walk: Walk) -> Array:
    """What a radian of compass bias and a unit of pace scale move the finish by, shape (2, 2).

    The first column is the bias, clockwise; the second the scale.
    """
    east, north = walk.steps_m().sum(axis=0)
    longer = (east, north) if walk.is_counted else (0.0, 0.0)
    return np.array([[north, longer[0]], [-east, longer[1]]])


def finish_covariance(walk: Walk, habit: Habit) -> Array:
    """The ordinary scatter of the finish of a walk, square metres, shape (2, 2)."""
    variance = np.array([math.radians(habit.bias_sd_deg) ** 2, habit.scale_sd**2])
    levers = shared_levers(walk)
    spread: Array = walk.own.sum(axis=0) + levers @ np.diag(variance) @ levers.T
    return spread


def habit_shift(walk: Walk, habit: Habit) -> Array:
    """Where a learner's known bias and scale take the finish, shape (2,)."""
    shift: Array = shared_levers(walk) @ np.array([math.radians(habit.bias_deg), habit.log_scale])
    return shift


def own_scatter(unit: Array, length_m: Array, walker: Walker, frame: Frame) -> Array:
    """The own scatter of rows walked along unit vectors, shape (h, 2, 2); none for rows not walked."""
    compass, count = walker.compass, walker.count
    floor_m = count.count_floor * frame.units_per_pace
    along = np.maximum(count.count_sd_pct / 100.0 * length_m, floor_m) ** 2 + frame.units_per_count**2 / 12.0
    turn = math.radians(1.0) ** 2 * (compass.azimuth_sd_deg**2 + compass.reading_interval_deg**2 / 12.0)
    across = np.stack([unit[:, 1], -unit[:, 0]], axis=1)
    spread: Array = np.where(length_m > 0, along, 0.0)[:, None, None] * unit[:, :, None] * unit[:, None, :]
    spread += (turn * length_m**2)[:, None, None] * across[:, :, None] * across[:, None, :]
    return spread
