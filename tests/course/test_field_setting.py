"""Set a course on a field: what every course keeps to, and what is refused."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from pacewright.core.compass import turn_deg, unit_vectors
from pacewright.course.course import Course, CourseLeg
from pacewright.course.ending import ending_covariance, walked_pieces, wrong_stake_share
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_cards import lay_field
from pacewright.course.field_setting import neighbour_gaps, set_field_course
from pacewright.course.stake_order import draw_ends, seats
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint

ASKED = [
    FieldAsked(learners=10),
    FieldAsked(learners=1),
    FieldAsked(learners=13, base_azimuth_deg=37.0, field_side="right"),
    FieldAsked(learners=24, stakes=8, legs=4, field_m=(260.0, 120.0), drills=("", "box", "detour")),
    FieldAsked(learners=9, stakes=3, base_azimuth_deg=300.0),
    FieldAsked(learners=12, stakes=5, legs=2, azimuth_step_deg=1, length_step_m=1.0),
    FieldAsked(learners=10, field_m=(100.0, 60.0), shortest_leg_m=15.0, longest_leg_m=30.0, spacing_m=10.0),
]


def set_by(asked: FieldAsked, seed: int = 1) -> Course:
    return set_field_course(asked, np.random.default_rng(seed))


@pytest.fixture(scope="module", params=range(len(ASKED)))
def set_course(request: pytest.FixtureRequest) -> tuple[FieldAsked, Course]:
    asked = ASKED[request.param]
    return asked, set_by(asked)


SetCourse = tuple[FieldAsked, Course]


def test_every_card_starts_at_a_stake_and_comes_out_at_another(set_course: SetCourse) -> None:
    asked, course = set_course
    assert len(course.cards) == asked.learners
    assert len(course.posts) == asked.stakes
    for card in course.cards:
        place = np.array(course.post(card.start).place_m)
        for leg in card.legs:
            place = place + np.array(unit_vectors(leg.azimuth_deg)) * leg.length_m
        assert np.hypot(*(place - course.post(card.ends).place_m)) <= 0.5
        assert card.start != card.ends


def test_azimuths_and_lengths_are_such_as_can_be_told(set_course: SetCourse) -> None:
    asked, course = set_course
    for leg in (leg for card in course.cards for leg in card.legs):
        assert leg.azimuth_deg % asked.azimuth_step_deg == 0
        assert leg.length_m / asked.length_step_m == pytest.approx(round(leg.length_m / asked.length_step_m))
        assert asked.shortest_leg_m <= leg.length_m <= asked.longest_leg_m


def test_turns_are_neither_slight_nor_back(set_course: SetCourse) -> None:
    for card in set_course[1].cards:
        turns = [abs(turn_deg(a.azimuth_deg, b.azimuth_deg)) for a, b in pairwise(card.legs)]
        assert all(30.0 <= turn <= 150.0 for turn in turns)


def test_turning_points_keep_two_deviations_inside_the_field(set_course: SetCourse) -> None:
    asked, course = set_course
    along, north = (float(part) for part in unit_vectors(asked.base_azimuth_deg))
    line = np.array([along, north])
    inward = np.array([north, -along]) * (1.0 if asked.field_side == "right" else -1.0)
    middle = np.array(course.posts[-1].place_m) / 2.0
    for card in course.cards:
        place = np.array(course.post(card.start).place_m)
        for number, leg in enumerate(card.legs, start=1):
            covariance = ending_covariance(card.legs[:number], asked.walker)
            sd = [np.sqrt(axis @ covariance @ axis) for axis in (line, inward)]
            for piece in walked_pieces(leg):
                place = place + CourseLeg(*piece).step_m()
                if number == len(card.legs) and np.hypot(*(place - course.post(card.ends).place_m)) < 1.0:
                    continue
                assert abs((place - middle) @ line) + 2.0 * sd[0] <= asked.field_m[0] / 2.0 + 1e-6
                assert place @ inward + 2.0 * sd[1] <= asked.field_m[1] + 1e-6
                assert place @ inward >= 2.0 * sd[1] - 1e-6


def test_a_turning_point_is_kept_where_no_more_than_one_ordinary_walk_in_44_leaves_by_an_edge() -> None:
    """The share of a normal distribution beyond 2: M. Abramowitz, I. A. Stegun, Handbook of Mathematical
    Functions, 1964, table 26.1: P(2.00) = 0.97725."""
    field = lay_field(FieldAsked(4), 20.0)
    sd_m, middle = 3.0, (field.least_along + field.most_along) / 2.0
    deep = np.arange(0.0, 20.0, 0.001)
    kept = field.keeps_inside(np.full_like(deep, middle), deep, np.full_like(deep, sd_m**2))
    nearest_m = float(deep[kept][0])
    beyond = 0.5 * math.erfc(nearest_m / sd_m / math.sqrt(2.0))
    # No more walks leave than that; and no ground is given up for fewer.
    assert beyond == pytest.approx(1.0 - 0.97725, abs=2e-5)


def test_no_two_cards_are_alike_and_neighbours_end_at_different_stakes(set_course: SetCourse) -> None:
    asked, course = set_course
    assert len({card.legs for card in course.cards}) == asked.learners
    by_number = {card.number: card for card in course.cards}
    for one, other in neighbour_gaps(course, asked):
        assert by_number[one].ends != by_number[other].ends


def test_neighbours_ends_differ_by_more_than_ordinary_scatter_explains(set_course: SetCourse) -> None:
    asked, course = set_course
    gaps = neighbour_gaps(course, asked)
    least = min(gaps.values(), default=None)
    assert course.fact("neighbour_gap_least") == least
    assert (least is None) == (asked.learners == 1)
    assert least is None or least >= asked.gap_sds
    pairs = {tuple(sorted((course.card(a).start, course.card(b).start))) for a, b in gaps}
    starts = [post.name for post in course.posts][: asked.learners]
    assert set(pairwise(starts)) <= pairs


def test_the_course_states_how_often_a_perfect_counter_ends_at_a_wrong_stake(set_course: SetCourse) -> None:
    asked, course = set_course
    shares = [wrong_stake_share(card, course, asked.walker) for card in course.cards]
    assert course.fact("wrong_stake_share_most") == max(shares) <= asked.most_wrong_share
    assert course.fact("wrong_stake_share_mean") == pytest.approx(np.mean(shares))


def test_learners_on_one_wave_all_end_at_different_stakes() -> None:
    for seed in range(5):
        ends = Counter(card.ends for card in set_by(FieldAsked(learners=10), seed).cards)
        assert set(ends.values()) == {1}


def test_learners_at_one_stake_start_one_after_another() -> None:
    course = set_by(FieldAsked(learners=24, stakes=8, wave_minutes=4.0, field_m=(260.0, 120.0)))
    at_first = [card.start_minute for card in course.cards if card.start == course.posts[0].name]
    assert at_first == [0.0, 4.0, 8.0]


def test_drills_go_round_the_class_and_bar_one_leg_each() -> None:
    course = set_by(FieldAsked(learners=9, drills=("", "box", "detour")))
    assert [card.drill for card in course.cards] == ["", "box", "detour"] * 3
    for card in course.cards:
        ways = [leg.obstacle.way for leg in card.legs if leg.obstacle]
        assert ways == ([card.drill] if card.drill else [])


def test_the_same_seed_sets_the_same_course_and_another_seed_another() -> None:
    asked = FieldAsked(learners=12, drills=("", "box"))
    assert set_by(asked, 5) == set_by(asked, 5)
    assert set_by(asked, 5).cards != set_by(asked, 6).cards


def test_what_is_written_on_the_stakes_differs_from_stake_to_stake() -> None:
    for seed in range(20):
        words = [post.word for post in set_by(FieldAsked(learners=2), seed).posts]
        assert len(set(words)) == 10


@pytest.mark.slow
def test_sixty_learners_with_ten_legs_are_served() -> None:
    course = set_by(FieldAsked(learners=60, legs=10, field_m=(500.0, 200.0)))
    assert len(course.cards) == 60
    assert all(len(card.legs) == 10 for card in course.cards)


@pytest.mark.slow
@pytest.mark.parametrize("legs", [2, 3, 5])
def test_the_spacing_that_a_refusal_names_would_do(legs: int) -> None:
    asked = FieldAsked(learners=10, legs=legs, spacing_m=7.0, field_m=(300.0, 120.0), azimuth_step_deg=1)
    with pytest.raises(NoAnswerComplaint, match="stakes 7 m apart a perfect counter would end") as refused:
        set_by(asked)
    named = re.search(r"about (\d+) m apart", refused.value.do)
    assert named is not None
    assert len(set_by(replace(asked, spacing_m=float(named[1]))).cards) == 10


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"spacing_m": 30.0}, "10 stakes 30 m apart need a base line of 270 m and the field is 210 m along"),
        ({"learners": 101}, "101 learners on 10 stakes would start 11 times over. Set at least 11 stakes"),
        ({"learners": 0}, "0 learners cannot be asked"),
        ({"stakes": 2}, "2 stakes cannot be asked"),
        ({"azimuth_step_deg": 7}, "a step of 7 degrees does not go round"),
        ({"shortest_leg_m": 31.0, "longest_leg_m": 34.0}, "no multiple of 5 m lies from 31 to 34 m"),
        ({"shortest_leg_m": 60.0, "longest_leg_m": 40.0}, "40 metres of the longest leg"),
        ({"base_azimuth_deg": float("nan")}, "nan degrees of the base line"),
        ({"drills": ("pace",)}, "a line of its own"),
        ({"length_step_m": 25.0, "drills": ("box",)}, "too short for an obstacle"),
        ({"field_side": "up"}, "no side called up"),
        ({"drills": ("swim",)}, "no drill called swim"),
    ],
)
def test_what_no_field_course_can_be_is_refused(asked: dict[str, object], says: str) -> None:
    with pytest.raises(ValueComplaint, match=says):
        set_by(FieldAsked(**{"learners": 10, **asked}))  # type: ignore[arg-type]


def test_a_field_too_shallow_for_its_legs_says_so() -> None:
    with pytest.raises(NoAnswerComplaint, match=r"inside a field of 220 by 12 m.*or a larger field"):
        set_by(FieldAsked(learners=5, field_m=(220.0, 12.0)))


def test_seats_fill_every_stake_before_one_is_used_again() -> None:
    order = seats(25, 10)
    assert [seat.start for seat in order[:20]] == [*range(10), *range(10)]
    assert [seat.start for seat in order[20:]] == [0, 2, 4, 7, 9]
    assert order[12].neighbours == (11, 2)


@pytest.mark.parametrize("stakes", [3, 4, 5, 6, 7, 8, 12, 22])
@pytest.mark.parametrize("waves", [1, 2, 6])
def test_ends_are_found_for_every_class(stakes: int, waves: int) -> None:
    order = seats(stakes * waves, stakes)
    apart = 1 if stakes < 7 else 2
    ends = draw_ends(order, stakes, apart, lambda start, end: True, np.random.default_rng(stakes))
    assert ends is not None
    for seat, end in zip(order, ends, strict=True):
        assert end != seat.start
        assert all(abs(end - ends[other]) >= apart for other in seat.neighbours)


def test_ends_that_cannot_be_are_not_forced() -> None:
    order = seats(4, 4)
    assert draw_ends(order, 4, 1, lambda start, end: end == 0, np.random.default_rng(1)) is None
