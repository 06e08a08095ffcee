"""The earliest that a class can be home: the bound and the course set, against trying everything."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from pacewright.course.course import Post
from pacewright.course.lane_candidates import LaneRules, all_lanes, drawn_lanes
from pacewright.course.posts_asked import ClassPace, PostsAsked, Tolerances
from pacewright.course.posts_setting import set_posts_course
from pacewright.course.safety import Timing

ANYTHING = Tolerances(length_share=10.0, climb_m=1e4, chance=10.0)
STAY, WINDOW = 3, 4


def asked_of(places: list[tuple[float, float]], learners: int, legs: int) -> PostsAsked:
    return PostsAsked(
        "few posts",
        tuple(Post(f"Post {n}", place) for n, place in enumerate(places)),
        learners=learners,
        legs=legs,
        leg_m=(50.0, 3000.0),
        lane_m=(50.0, 20000.0),
        tolerances=ANYTHING,
        pace=ClassPace(Timing(at_post_min=STAY), spare_min=WINDOW - STAY),
    )


def every_lane(places: list[tuple[float, float]], legs: int) -> list[list[tuple[int, int]]]:
    """Every order of posts, as the posts and the minutes after the start at which they are reached."""
    lanes = []
    for order in itertools.permutations(range(len(places)), legs + 1):
        minute, visits = 0, [(order[0], 0)]
        for here, there in itertools.pairwise(order):
            minute += math.ceil(math.dist(places[here], places[there]) / 50.0 - 1e-9)
            visits.append((there, minute))
            minute += STAY
        lanes.append(visits)
    return lanes


def earliest_home(lanes: list[list[tuple[int, int]]], learners: int) -> int:
    """The least last home over all lanes and starts, by trying every one of them."""
    home = min(lane[-1][1] for lane in lanes) + STAY
    while not can_be_home(lanes, learners, home):
        home += 1
    return home


def can_be_home(lanes: list[list[tuple[int, int]]], learners: int, home: int) -> bool:
    def place(first: int, left: int, taken: list[tuple[int, int]]) -> bool:
        if left == 0:
            return True
        if len(lanes) - first < left:
            return False
        lane = lanes[first]
        for start in range(home - STAY - lane[-1][1] + 1):
            visits = [(post, start + minute) for post, minute in lane]
            meets = any(
                post == other and abs(minute - then) < WINDOW
                for post, minute in visits
                for other, then in taken
            )
            if not meets and place(first + 1, left - 1, taken + visits):
                return True
        return place(first + 1, left, taken)

    return place(0, learners, [])


@pytest.mark.parametrize(
    ("places", "learners", "legs"),
    [
        ([(0, 0), (400, 0), (100, 700)], 4, 2),
        ([(0, 0), (400, 0), (100, 700)], 6, 2),
        ([(0, 0), (500, 50), (150, 350), (600, 600)], 4, 2),
    ],
)
def test_the_last_is_home_as_early_as_trying_everything_finds(
    places: list[tuple[float, float]], learners: int, legs: int
) -> None:
    course = set_posts_course(asked_of(places, learners, legs), np.random.default_rng(3))
    best = earliest_home(every_lane(places, legs), learners)
    assert course.fact("last_home_bound") <= best <= course.fact("last_home")
    # So few lanes that the solver answers for all of them: the bound meets the best.
    assert course.fact("last_home") == course.fact("last_home_bound") == best
    assert course.fact("gap_to_bound") == 0.0


def rules_for(allowed: np.ndarray, finish: int | None, legs: int) -> LaneRules:
    between = np.ones(len(allowed), dtype=bool)
    starts = (0,) if finish is not None else tuple(range(len(allowed)))
    if finish is not None:
        between[[0, finish]] = False
    return LaneRules(allowed, starts, between, finish, legs)


@pytest.mark.parametrize("finish", [None, 0, 5])
def test_all_lanes_are_those_of_trying_every_order_and_drawing_finds_no_others(finish: int | None) -> None:
    rng = np.random.default_rng(4)
    allowed = (rng.random((6, 6)) < 0.7) & ~np.eye(6, dtype=bool)
    rules = rules_for(allowed, finish, 4)
    between = [post for post in range(6) if rules.between[post]]
    if finish is None:
        tried = list(itertools.permutations(between, 5))
    else:
        tried = [(0, *middle, finish) for middle in itertools.permutations(between, 3)]
    expected = {lane for lane in tried if all(allowed[a, b] for a, b in itertools.pairwise(lane))}
    found = all_lanes(rules, 10_000)
    assert found is not None
    assert set(map(tuple, found.tolist())) == expected
    assert len(found) == len(expected)
    drawn = drawn_lanes(rules, 20_000, rng)
    assert set(map(tuple, drawn.tolist())) == expected
    assert all_lanes(rules, len(expected) - 1) is None
