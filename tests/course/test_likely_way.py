"""The likely way of a walk against the mean of many made walks that ended at the same place."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.course.likely_way import likely_way

PACE_M = 1.6
LEGS = ((20.0, 60.0), (110.0, 50.0), (200.0, 40.0))


def straight(azimuth_deg: float, metres: float) -> np.ndarray:
    azimuth_rad = math.radians(azimuth_deg)
    return metres * np.array([math.sin(azimuth_rad), math.cos(azimuth_rad)])


def three_legs() -> Course:
    end = sum(np.array([math.sin(math.radians(a)), math.cos(math.radians(a))]) * metres for a, metres in LEGS)
    posts = (Post("Alder", (0.0, 0.0), 0.1), Post("Beech", (float(end[0]), float(end[1])), 0.1))
    legs = tuple(CourseLeg(a, metres) for a, metres in LEGS)
    return Course("Fen", "field", "magnetic", posts, (Card(1, "Alder", legs, "Beech"),))


def walked(east_m: float, north_m: float, course: Course | None = None):
    walker = Walker(name="Ada Quill", per_100_m=100.0 / PACE_M)
    handed = Handed("Ada Quill", 1, None, "Beech", (east_m, north_m), walker=walker)
    return grade(handed, course or three_legs())


def made_walks(rng: np.random.Generator, walks: int) -> np.ndarray:
    """Stations of walks as the handbook's ordinary walker makes them, without the tool: (walks, 4, 2)."""
    bias = np.radians(1.5) * rng.standard_normal((walks, 1))
    scale = np.exp(0.03 * rng.standard_normal((walks, 1)))
    azimuth = np.radians([a for a, _ in LEGS]) + bias + np.radians(2.5) * rng.standard_normal((walks, 3))
    metres = np.array([m for _, m in LEGS])
    paces = np.round(metres / PACE_M) + rng.uniform(-0.5, 0.5, (walks, 3))
    spread = np.maximum(0.05 * paces, 1.0) * rng.standard_normal((walks, 3))
    long = (metres + spread * PACE_M) * scale
    steps = long[..., None] * np.stack([np.sin(azimuth), np.cos(azimuth)], axis=2)
    return np.concatenate([np.zeros((walks, 1, 2)), np.cumsum(steps, axis=1)], axis=1)


@pytest.mark.parametrize("off_m", [(4.0, -3.0), (-3.0, 3.0)])
def test_the_likely_way_is_the_mean_of_the_walks_that_end_there(off_m: tuple[float, float]) -> None:
    walks = made_walks(np.random.default_rng(3), 400_000)
    ideal = np.cumsum(
        [[0.0, 0.0], *[[m * math.sin(math.radians(a)), m * math.cos(math.radians(a))] for a, m in LEGS]],
        axis=0,
    )
    near = np.hypot(*(walks[:, -1] - ideal[-1] - off_m).T) < 0.7
    assert near.sum() > 1000
    mean = walks[near].mean(axis=0)
    way = likely_way(walked(*off_m))
    assert way is not None
    assert np.abs(way - mean).max() < 0.5
    assert np.abs(way - ideal)[1:].max() > 1.0


def test_the_way_begins_at_the_start_and_ends_where_the_learner_stood() -> None:
    one = walked(5.0, -2.0)
    way = likely_way(one)
    assert way is not None and one.seen is not None
    assert way[0] == pytest.approx([0.0, 0.0])
    assert way[-1] == pytest.approx(one.seen.finish.place_m)


def test_a_leg_walked_the_opposite_way_is_drawn_so() -> None:
    turned = [(20.0, 60.0), (290.0, 50.0), (200.0, 40.0)]
    off = sum(straight(*leg) for leg in turned) - sum(straight(*leg) for leg in LEGS)
    one = walked(*off.tolist())
    assert one.suspects[0].kind == "azimuth_reversed"
    way = likely_way(one)
    assert way is not None
    step = way[2] - way[1]
    assert math.degrees(math.atan2(step[0], step[1])) % 360 == pytest.approx(290.0, abs=3.0)
    assert np.hypot(*step) == pytest.approx(50.0, abs=3.0)


def test_what_nothing_explains_and_what_nobody_saw_has_no_way() -> None:
    assert likely_way(walked(400.0, 300.0)) is None
    assert likely_way(grade(Handed("Ada Quill", 1), three_legs())) is None
