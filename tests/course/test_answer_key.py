"""What a card asks of a learner, and how far off still counts as ordinary."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.course.answer_key import answer_key
from pacewright.course.course import Card, Course, CourseLeg, Obstacle, Post
from pacewright.exceptions import MissingComplaint
from support.simulator import Person, plain_route, walk

WALKER = Walker(name="Ines Rowe", per_100_m=62.5)


def course_of(*legs: CourseLeg, kind: str = "field") -> Course:
    end = sum((leg.step_m() for leg in legs), np.zeros(2))
    posts = (Post("Gate", (0.0, 0.0)), Post("Split oak", (float(end[0]), float(end[1]))))
    return Course("Cinder Fen", kind, "magnetic", posts, (Card(1, "Gate", legs, "Split oak"),))  # type: ignore[arg-type]


def test_a_leg_of_a_hundred_metres_asks_the_learners_own_pace_count() -> None:
    key = answer_key(course_of(CourseLeg(40.0, 100.0), CourseLeg(130.0, 200.0)), 1, WALKER)
    assert [(row.leg, row.azimuth_deg, row.count) for row in key.rows] == [(1, 40.0, 63), (2, 130.0, 125)]
    assert key.rows[1].at == "Split oak"
    assert not key.assumed_pace


def test_uphill_asks_the_count_of_the_pace_table() -> None:
    walker = Walker(per_100_m=60.0, classes=(PaceClass("", "up", None, 75.0),))
    key = answer_key(course_of(CourseLeg(0.0, 200.0, slope="up"), CourseLeg(90.0, 200.0)), 1, walker)
    assert [row.count for row in key.rows] == [150, 120]


def test_a_learner_without_a_pace_count_gets_an_assumed_one_and_it_is_told() -> None:
    key = answer_key(course_of(CourseLeg(0.0, 150.0)), 1)
    assert (key.assumed_pace, key.pace_m, key.rows[0].count) == (True, 1.5, 100)


def test_a_known_compass_bias_does_not_change_what_the_card_asks() -> None:
    biased = Walker(per_100_m=62.5, compass=type(WALKER.compass)(bias_deg=4.0))
    course = course_of(CourseLeg(40.0, 300.0))
    assert answer_key(course, 1, biased).reckoning.place[-1] == pytest.approx(
        answer_key(course, 1, WALKER).reckoning.place[-1]
    )


@pytest.mark.parametrize(
    ("obstacle", "counts", "azimuths"),
    [
        (Obstacle("box", "right", 100.0, 80.0, 40.0), [63, 25, 50, 25, 75], [0, 90, 0, 270, 0]),
        (Obstacle("detour", "left", 100.0, 80.0), [63, 50, 50, 75], [0, 300, 60, 0]),
    ],
)
def test_a_way_round_is_written_out_and_comes_back_to_the_line(
    obstacle: Obstacle, counts: list[int], azimuths: list[int]
) -> None:
    # The box and the triangle of 60 degrees round an obstacle: common practice.
    key = answer_key(course_of(CourseLeg(0.0, 300.0, obstacle=obstacle)), 1, WALKER)
    assert [row.count for row in key.rows] == counts
    assert [round(row.azimuth_deg) for row in key.rows] == azimuths
    assert {row.leg for row in key.rows} == {1}
    assert key.steps_m().sum(axis=0) == pytest.approx([0.0, 300.0])


def test_ninety_five_of_a_hundred_made_up_walks_end_within_along_and_across() -> None:
    legs = [CourseLeg(30.0, 160.0), CourseLeg(75.0, 240.0), CourseLeg(50.0, 320.0)]
    key = answer_key(course_of(*legs), 1, WALKER)
    walked = walk(
        np.random.default_rng(7),
        plain_route([30, 75, 50], [100, 150, 200]),
        20_000,
        Person(1.6, 2.5, 0.05, 1.0, 1.5, 0.03),
    )
    off = walked.places_m[:, -1] - key.places_m[-1]
    ordinary = key.covariance()
    inside = np.einsum("ni,ij,nj->n", off, np.linalg.inv(ordinary), off) < -2.0 * np.log(0.05)
    assert inside.mean() == pytest.approx(0.95, abs=0.006)
    unit = np.array([np.sin(np.radians(50.0)), np.cos(np.radians(50.0))])
    along_m = key.rows[-1].along * key.pace_m
    # The half-width of the ellipse is 2.448 standard deviations of the one direction.
    assert np.std(off @ unit) * 2.448 == pytest.approx(along_m, rel=0.02)


def test_a_post_on_the_way_lets_the_scatter_begin_anew() -> None:
    legs = (CourseLeg(30.0, 200.0, "Heron post"), CourseLeg(30.0, 200.0))
    end = legs[0].step_m() * 2.0
    posts = (
        Post("Gate", (0.0, 0.0)),
        Post("Heron post", tuple(map(float, end / 2.0))),  # type: ignore[arg-type]
        Post("Split oak", tuple(map(float, end))),  # type: ignore[arg-type]
    )
    key = answer_key(
        Course("c", "posts", "magnetic", posts, (Card(1, "Gate", legs, "Split oak"),)), 1, WALKER
    )
    assert key.rows[0].along == pytest.approx(key.rows[1].along)


def test_a_card_that_is_not_there_is_refused_with_those_that_are() -> None:
    with pytest.raises(MissingComplaint, match=r"no card 4\. Use one of: 1"):
        answer_key(course_of(CourseLeg(0.0, 100.0)), 4)
