"""Set a pace course: a measured line, its length and its trials against published practice."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.course.pace_setting import PaceAsked, Stretch, set_pace_course
from pacewright.exceptions import ValueComplaint
from support.authorities import printed, read_authority

HILL = (Stretch(100.0, "heath"), Stretch(150.0, "brush", "up"), Stretch(50.0, "", "down"))


def test_a_pace_course_is_as_long_as_the_manual_says() -> None:
    # TC 3-25.26 (2013), 5-20.
    row = read_authority("pace_course_field_manual.csv")[0]
    least, most = printed(row["least_m"]), printed(row["most_m"])
    for length_m in (least, most):
        assert set_pace_course(PaceAsked(1, (Stretch(length_m),))).fact("line_length") == length_m
    for length_m in (least - 1, most + 1):
        with pytest.raises(ValueComplaint, match="from 100 to 600 m"):
            PaceAsked(1, (Stretch(length_m),))


def test_five_trials_are_walked_unless_more_are_asked_for() -> None:
    # University of Washington, FE 345.
    trials = int(printed(read_authority("pace_course_trials.csv")[0]["trials"]))
    assert len(set_pace_course(PaceAsked(1)).cards[0].legs) == trials
    assert len(set_pace_course(PaceAsked(1, trials=8)).cards[0].legs) == 8


def test_stakes_stand_at_the_ends_of_every_stretch() -> None:
    course = set_pace_course(PaceAsked(2, HILL, azimuth_deg=37.0))
    assert [post.name for post in course.posts] == ["0 m", "100 m", "250 m", "300 m"]
    distances = [math.hypot(*post.place_m) for post in course.posts]
    assert distances == pytest.approx([0.0, 100.0, 250.0, 300.0])
    assert course.posts[1].note == "brush from here"


def test_every_other_learner_starts_at_the_far_end_and_walks_up_what_was_down() -> None:
    course = set_pace_course(PaceAsked(4, HILL, azimuth_deg=37.0, trials=2, start_minutes=3.0))
    assert [card.start for card in course.cards] == ["0 m", "300 m", "0 m", "300 m"]
    assert [card.start_minute for card in course.cards] == [0.0, 0.0, 3.0, 3.0]
    out, back = course.cards[0].legs[:3], course.cards[1].legs[:3]
    assert [(leg.ground, leg.slope) for leg in out] == [("heath", "level"), ("brush", "up"), ("", "down")]
    assert [(leg.ground, leg.slope) for leg in back] == [("", "up"), ("brush", "down"), ("heath", "level")]
    assert {leg.azimuth_deg for leg in back} == {217.0}
    assert course.cards[0].legs == out + back


def test_more_trials_settle_a_pace_count_better() -> None:
    told = [set_pace_course(PaceAsked(1, trials=trials)).fact("pace_count_sd") for trials in (1, 5, 20)]
    counts = 62.5 * (1.0 + 0.05 * np.random.default_rng(1).standard_normal((20_000, 20)))
    means = [100.0 * counts[:, :trials].mean(axis=1).std() / 62.5 for trials in (1, 5, 20)]
    assert told == pytest.approx(means, rel=0.03)


@pytest.mark.parametrize(
    "asked",
    [
        {"learners": 0},
        {"trials": 0},
        {"stretches": (Stretch(200.0), Stretch(-50.0))},
        {"stretches": (Stretch(math.nan),)},
        {"stretches": ()},
        {"start_minutes": math.inf},
    ],
)
def test_what_no_pace_course_can_be_is_refused(asked: dict[str, object]) -> None:
    with pytest.raises(ValueComplaint):
        PaceAsked(**{"learners": 3, **asked})  # type: ignore[arg-type]
