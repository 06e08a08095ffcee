"""Who misses a post and follows the rule of the card: how often that leads into barred land."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.course.barred_land import BarredArea, enters
from pacewright.course.course import Course, Post
from pacewright.course.finding_chance import Finding
from pacewright.course.missed_posts import outing_of, walk_lane
from pacewright.course.posts_asked import PostsAsked
from pacewright.course.posts_setting import set_posts_course
from pacewright.course.safety import Safety
from pacewright.exceptions import NoAnswerComplaint
from pacewright.wording.course_cards import say_task
from pacewright.wording.safety_words import say_missed
from support.made_posts import thrown_posts
from support.missing_learners import follow_the_card, point_in

QUARRY = BarredArea("Quarry", ((420.0, 60.0), (760.0, 60.0), (760.0, 260.0), (420.0, 260.0)))
LANE = ((0.0, 0.0), (600.0, -40.0), (1100.0, 200.0))
ROAD = Safety("the road", 350.0, 900.0)


@pytest.mark.statistical
@pytest.mark.parametrize(("safety", "backstop"), [(Safety(), None), (ROAD, (350.0, 900.0))])
def test_the_chance_is_that_of_learners_who_do_what_the_card_says(safety, backstop) -> None:
    # Apart from the tool: one learner at a time, every metre of the way looked at.
    chance = random.Random(11)
    learners = [
        follow_the_card(chance, LANE, lambda place: point_in(QUARRY.corners_m, place), backstop=backstop)
        for _ in range(2500)
    ]
    entered = np.mean([one.was_barred for one in learners])
    missed = np.mean([one.missed for one in learners])
    outing = outing_of(Walker(), Finding(), safety, (QUARRY,), np.array(LANE))
    told = walk_lane(outing, np.array(LANE), 20_000, np.random.default_rng(3))
    assert entered > 0.02
    for ours, theirs in ((told.entered.mean(), entered), (told.missed.mean(), missed)):
        assert ours == pytest.approx(theirs, abs=4 * np.sqrt(theirs * (1 - theirs) / 2500))


def test_a_straight_way_enters_where_it_ends_inside_or_goes_through() -> None:
    here = np.array([[400.0, 100.0], [400.0, 100.0], [400.0, 10.0], [500.0, 100.0]])
    to = np.array([[500.0, 100.0], [900.0, 110.0], [900.0, 10.0], [510.0, 110.0]])
    assert enters(here, to, (QUARRY,)).tolist() == [True, True, False, True]
    brook = BarredArea("Brook", ((450.0, 0.0), (450.0, 50.0)), is_line=True)
    assert enters(here, to, (brook,)).tolist() == [False, False, True, False]


def asked() -> PostsAsked:
    posts = tuple(
        post
        for post in thrown_posts(24, 5, 2000.0, 200.0)
        if not (300 < post.place_m[0] < 880 and -60 < post.place_m[1] < 380)
    )
    return PostsAsked("Fen", posts, 6, 4, barred=(QUARRY,), lane_m=(1200.0, 6000.0), candidates=3000, seed=3)


@pytest.fixture(scope="module")
def course() -> Course:
    return set_posts_course(asked(), np.random.default_rng(3))


@pytest.mark.statistical
def test_setting_keeps_every_card_under_the_bound_for_learners_walked_apart(course: Course) -> None:
    chance = random.Random(5)
    worst = 0.0
    for card in course.cards:
        places = [tuple(place) for place in course.places_m(card).tolist()]
        entered = [
            follow_the_card(chance, places, lambda at: point_in(QUARRY.corners_m, at)).was_barred
            for _ in range(250)
        ]
        worst = max(worst, float(np.mean(entered)))
    assert course.fact("barred_chance_most") <= course.fact("barred_chance_bound") == 0.01
    # Four standard deviations of a share of one in a hundred among 250.
    assert worst <= 0.01 + 4 * np.sqrt(0.01 * 0.99 / 250)


def test_a_bound_that_cannot_be_kept_is_said(course: Course) -> None:
    # A pit close to every post: whoever searches for one walks into it.
    places = [(0.0, 0.0), (700.0, 60.0), (650.0, 700.0), (-40.0, 650.0), (330.0, 1100.0)]
    posts = tuple(Post(f"Post {k}", place) for k, place in enumerate(places, 1))
    pits = tuple(
        BarredArea(f"Pit {k}", ((east - 5, north + 40), (east + 5, north + 40), (east, north + 50)))
        for k, (east, north) in enumerate(places, 1)
    )
    near = replace(
        asked(),
        posts=posts,
        barred=pits,
        learners=2,
        legs=3,
        clearance_m=0.0,
        drift_sds=0.0,
        most_barred_share=0.0001,
    )
    with pytest.raises(NoAnswerComplaint, match="enter barred land under"):
        set_posts_course(near, np.random.default_rng(1))


def test_the_rule_leads_back_and_never_on(course: Course) -> None:
    said = " ".join(say_task(course))
    assert "go on from where it should stand" not in said
    assert "back azimuth and the same count to the last post you found" in said
    assert "you will be fetched" in " ".join(say_missed(course))
    assert "walk azimuth 350 deg to the road" in " ".join(say_missed(replace(course, safety=ROAD)))


def test_nobody_sets_out_on_a_leg_soon_after_another(course: Course) -> None:
    begun: dict[tuple[str, str], list[float]] = {}
    for card in course.cards:
        now, here = card.start_minute, card.start
        for leg in card.legs:
            begun.setdefault((here, str(leg.ends)), []).append(now)
            now += np.ceil(60 * leg.length_m / 3000 - 1e-9) + 3
            here = str(leg.ends)
    gaps = [b - a for times in begun.values() for a, b in zip(sorted(times), sorted(times)[1:], strict=False)]
    assert all(gap >= course.fact("apart_on_leg") == 10 for gap in gaps)
