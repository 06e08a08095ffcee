"""Made-up learners for examples."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import Walker
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.grading import grade
from pacewright.course.practice_walk import MadeUpLearner, walk_card
from pacewright.exceptions import ValueComplaint

STEADY = Walker(
    name="Ines Rowe",
    per_100_m=62.5,
    compass=CompassScatter(azimuth_sd_deg=0.0, bias_sd_deg=1.5),
    count=CountScatter(count_sd_pct=0.0, count_floor=0.0),
)


def course(kind: str = "field") -> Course:
    legs = (CourseLeg(0.0, 320.0, slope="up"), CourseLeg(90.0, 480.0, slope="down"))
    middle = (Post("Heron post", (0.0, 320.0), word="heron"),) if kind == "posts" else ()
    if kind == "posts":
        legs = (replace(legs[0], ends="Heron post"), replace(legs[1], ends="Split oak"))
    posts = (Post("Gate", (0.0, 0.0)), *middle, Post("Split oak", (480.0, 320.0), word="oak"))
    return Course("Cinder Fen", kind, "magnetic", posts, (Card(1, "Gate", legs, "Split oak"),))  # type: ignore[arg-type]


def finish_of(learner: MadeUpLearner) -> tuple[float, float]:
    handed = walk_card(course(), 1, learner, np.random.default_rng(0)).handed
    assert handed.finish_m is not None
    return handed.finish_m


def test_a_learner_without_scatter_or_habit_ends_where_the_card_does() -> None:
    assert finish_of(MadeUpLearner(STEADY)) == pytest.approx((0.0, 0.0), abs=1e-9)


def test_a_bias_turns_the_walk_clockwise_and_a_long_pace_stretches_it() -> None:
    # Turned by a small angle, a walk to (480, 320) ends off by angle times (320, -480).
    east, north = finish_of(MadeUpLearner(STEADY, bias_deg=0.1))
    assert (east, north) == pytest.approx((320.0 * np.radians(0.1), -480.0 * np.radians(0.1)), abs=0.01)
    assert finish_of(MadeUpLearner(STEADY, scale_pct=5.0)) == pytest.approx((24.0, 16.0))
    up = finish_of(MadeUpLearner(STEADY, up_pct=-10.0))
    assert up == pytest.approx((0.0, 320.0 * (np.exp(-0.1) - 1.0)))


def test_a_slip_is_walked_and_told() -> None:
    walked = walk_card(
        course(), 1, MadeUpLearner(STEADY, slips={"tally_lost": 1.0}), np.random.default_rng(0)
    )
    assert walked.slips == (("tally_lost", 1), ("tally_lost", 2))
    assert walked.handed.finish_m == pytest.approx((160.0, 160.0))
    assert walked.handed.log is not None
    assert [leg.count for leg in walked.handed.log.legs] == [200.0, 300.0]


def test_between_posts_a_lost_hundred_is_written_and_every_word_is_copied() -> None:
    walked = walk_card(
        course("posts"), 1, MadeUpLearner(STEADY, slips={"tally_lost": 1.0}), np.random.default_rng(0)
    )
    assert walked.handed.log is not None
    assert [leg.count for leg in walked.handed.log.legs] == [100.0, 200.0]
    given = grade(walked.handed, course("posts"))
    assert given.points_share == 1.0


def test_the_same_chance_gives_the_same_walk() -> None:
    learner = MadeUpLearner(bias_deg=1.0, slips={"azimuth_reversed": 0.3, "leg_missing": 0.2})
    first, second = (walk_card(course(), 1, learner, np.random.default_rng(4)) for _ in range(2))
    assert first == second


@pytest.mark.parametrize(
    ("slips", "says"),
    [
        ({"declination_mirrored": 0.1}, "not a slip of one leg"),
        ({"tally_lost": 1.2}, "not the chance of tally_lost"),
        ({"tally_lost": 0.6, "tally_added": 0.6}, "more than one slip"),
    ],
)
def test_slips_that_cannot_be_drawn_are_refused(slips: dict[str, float], says: str) -> None:
    with pytest.raises(ValueComplaint, match=says):
        MadeUpLearner(STEADY, slips=slips)  # type: ignore[arg-type]
