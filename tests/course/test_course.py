"""A practice course: posts, cards, legs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from pacewright.course.course import Card, Course, CourseLeg, Fact, Obstacle, Post
from pacewright.exceptions import MissingComplaint, ValueComplaint

GATE = Post("Gate", (0.0, 0.0))
HERON = Post("Heron post", (0.0, 300.0), word="KTM")
FEN = Post("Fen post", (400.0, 300.0), sd_m=3.0, note="by the ditch")
LEGS = (CourseLeg(0.0, 300.2, ends="Heron post"), CourseLeg(90.0, 399.9, ends="Fen post"))
CARD = Card(1, "Gate", LEGS, "Fen post")
COURSE = Course("Two posts", "posts", "magnetic", (GATE, HERON, FEN), (CARD,), facts=(Fact("gap", 2.0, "m"),))


def test_a_leg_to_a_post_ends_at_the_posts_own_place() -> None:
    assert COURSE.places_m(CARD).tolist() == [[0.0, 0.0], [0.0, 300.0], [400.0, 300.0]]


def test_a_leg_moves_by_the_sine_and_cosine_of_its_azimuth() -> None:
    east, north = CourseLeg(30.0, 100.0).step_m()
    assert (east, north) == pytest.approx((50.0, 100.0 * math.sqrt(0.75)))


def test_posts_cards_and_facts_are_found_by_name() -> None:
    assert COURSE.post("Heron post") is HERON
    assert COURSE.card(1) is CARD
    assert COURSE.fact("gap") == 2.0
    assert COURSE.fact("speed") is None
    with pytest.raises(
        MissingComplaint, match=r"no post called Mill. Use one of: Gate, Heron post, Fen post"
    ):
        COURSE.post("Mill")
    with pytest.raises(MissingComplaint, match=r"no card 7. Use one of: 1"):
        COURSE.card(7)


@pytest.mark.parametrize("miss_m", [0.0, 0.49, -0.49])
def test_legs_that_come_out_within_half_a_metre_close(miss_m: float) -> None:
    legs = (CourseLeg(0.0, 300.0 + miss_m),)
    replace(COURSE, cards=(Card(1, "Gate", legs, "Heron post"),))


def test_legs_that_come_out_farther_off_are_refused_unless_the_course_states_it() -> None:
    card = Card(3, "Gate", (CourseLeg(0.0, 302.0),), "Heron post")
    with pytest.raises(
        ValueComplaint, match=r"legs of card 3 come out 2.0 m from Heron post, more than 0.5 m"
    ):
        replace(COURSE, cards=(card,))
    assert replace(COURSE, cards=(card,), tolerance_m=2.0).card(3) is card


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"posts": (GATE, GATE, HERON, FEN)}, "two posts called Gate"),
        ({"cards": (CARD, CARD)}, "two cards called 1"),
        ({"facts": (Fact("a", 1, "m"), Fact("a", 2, "m"))}, "two facts called a"),
        ({"posts": (GATE, FEN)}, "card 1 names a post Heron post that the course does not have"),
        ({"cards": ()}, "needs a post and a card"),
        ({"tolerance_m": math.nan}, "nan m is no tolerance"),
        ({"kind": "lake"}, "no lake course"),
    ],
)
def test_a_course_that_does_not_hold_together_is_refused(changed: dict[str, object], says: str) -> None:
    with pytest.raises(ValueComplaint, match=says):
        replace(COURSE, **changed)  # type: ignore[arg-type]


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_no_number_of_a_course_may_be_other_than_finite(number: float) -> None:
    for make in (
        lambda: Post("Gate", (number, 0.0)),
        lambda: Post("Gate", (0.0, 0.0), number),
        lambda: CourseLeg(number, 10.0),
        lambda: CourseLeg(10.0, number),
        lambda: Fact("gap", number, "m"),
        lambda: replace(CARD, start_minute=number),
        lambda: Obstacle("box", "right", number, 10.0, 10.0),
    ):
        with pytest.raises(ValueComplaint):
            make()


def test_a_card_ends_where_its_last_leg_does() -> None:
    with pytest.raises(ValueComplaint, match="card 1 ends at Gate and its last leg at Fen post"):
        replace(CARD, ends="Gate")


@pytest.mark.parametrize(
    ("obstacle", "says"),
    [
        (("box", "right", 20.0, 20.0, 0.0), "no way round"),
        (("detour", "right", 20.0, 20.0, 10.0), "no way round"),
        (("box", "up", 20.0, 20.0, 10.0), "called box up"),
    ],
)
def test_an_obstacle_without_a_way_round_is_refused(obstacle: tuple[object, ...], says: str) -> None:
    with pytest.raises(ValueComplaint, match=says):
        Obstacle(*obstacle)  # type: ignore[arg-type]


def test_an_obstacle_ends_before_its_leg_does() -> None:
    with pytest.raises(ValueComplaint, match="reaches to 60 m of a leg of 50 m"):
        CourseLeg(0.0, 50.0, obstacle=Obstacle("box", "left", 30.0, 30.0, 10.0))


def test_the_length_of_a_card_is_its_forward_progress() -> None:
    assert CARD.length_m == pytest.approx(700.1)
    assert np.shape(COURSE.places_m(CARD)) == (3, 2)
