"""Rings and grids of stakes: where they stand, how cards end, and how sure the end is, by made walks."""

from __future__ import annotations

import math
import random
from functools import lru_cache

import numpy as np
import pytest

from pacewright.course.course import Course
from pacewright.course.ending import stands_on_line, wrong_stake_most, wrong_stake_share
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.course.taping import taped_offset
from pacewright.drawing.course_plan import draw_course_plan
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint
from pacewright.files.course_toml import read_course, write_course
from support.field_learners import walk

SHAPES = ("ring", "grid")


@lru_cache(maxsize=4)
def laid(shape: str, learners: int = 20, field_m: float = 150.0) -> Course:
    asked = FieldAsked(learners, shape=shape, field_m=(field_m, field_m), seed=3)  # type: ignore[arg-type]
    return set_field_course(asked, np.random.default_rng(3))


def test_a_ring_is_round_and_a_grid_square() -> None:
    radii = [math.hypot(*post.place_m) for post in laid("ring").posts]
    assert max(radii) - min(radii) < 0.2
    east = {post.place_m[0] for post in laid("grid").posts}
    north = {post.place_m[1] for post in laid("grid").posts}
    assert len(east) <= 4 and len(north) <= 4
    assert not stands_on_line(laid("ring").posts) and not stands_on_line(laid("grid").posts)


@pytest.mark.parametrize("shape", SHAPES)
def test_cards_have_four_legs_end_at_their_stake_and_neighbours_apart(shape: str) -> None:
    course = laid(shape)
    assert {len(card.legs) for card in course.cards} == {4}
    for card in course.cards:
        assert card.ends != card.start
    for one, other in zip(course.cards, course.cards[1:], strict=False):
        if one.start_minute == other.start_minute:
            assert one.ends != other.ends
    assert len({card.legs for card in course.cards}) == len(course.cards)


@pytest.mark.parametrize("shape", SHAPES)
def test_a_perfect_counter_ends_at_a_wrong_stake_no_oftener_than_is_told(shape: str) -> None:
    course, chance = laid(shape, 20, 110.0), random.Random(5)
    told = course.fact("wrong_stake_share_mean") or 0.0
    places = {post.name: post.place_m for post in course.posts}
    wrong = walks = 0
    for card in course.cards:
        for _ in range(100):
            ended = walk(card, places[card.start], chance).ended_m
            nearest = min(places, key=lambda name: math.dist(places[name], ended))
            wrong += nearest != card.ends
            walks += 1
    # A bound: the share is no greater, but for chance (three standard deviations).
    assert wrong / walks <= told + 3.0 * math.sqrt(max(told, 0.001) / walks)
    assert (course.fact("wrong_stake_share_most") or 1.0) <= 0.05


def test_along_a_line_the_bound_is_the_share_itself() -> None:
    course = set_field_course(FieldAsked(6, seed=1), np.random.default_rng(1))
    for card in course.cards:
        walker = FieldAsked(6).walker
        assert wrong_stake_most(card, course, walker) == wrong_stake_share(card, course, walker)


@pytest.mark.parametrize("shape", SHAPES)
def test_a_walk_on_it_is_graded_and_a_place_is_taped_east_and_north(shape: str) -> None:
    course = laid(shape)
    card = course.cards[0]
    assert taped_offset(course, 3.0, -2.0) == (3.0, -2.0)
    perfect = grade(Handed("Ada Quill", card.number, None, card.ends, (0.0, 0.0)), course)
    assert perfect.mark == 10.0
    stayed = grade(Handed("Tam Rook", card.number, None, card.start, (0.0, 0.0)), course)
    assert stayed.mark == 0.0


@pytest.mark.parametrize("shape", SHAPES)
def test_the_file_keeps_it_and_the_plan_draws_no_base_line(shape: str) -> None:
    course = laid(shape)
    assert read_course(write_course(course)) == course
    assert 'stroke-dasharray="0.6 1.4"' not in draw_course_plan(course)


def test_what_needs_a_line_or_finds_no_room_is_refused() -> None:
    with pytest.raises(ValueComplaint, match="needs stakes along a base line"):
        set_field_course(FieldAsked(4, shape="ring", drills=("box",)), np.random.default_rng(1))
    with pytest.raises(ValueComplaint, match="do not stand in a heap"):
        FieldAsked(4, shape="heap")  # type: ignore[arg-type]
    crowded = FieldAsked(4, shape="grid", stakes=20, field_m=(42.0, 42.0))
    with pytest.raises(NoAnswerComplaint, match="leads surely from"):
        set_field_course(crowded, np.random.default_rng(1))
