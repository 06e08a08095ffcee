"""The free ground that a course says it needs, against made walks that share no code with it."""

from __future__ import annotations

import random

import numpy as np
import pytest

from pacewright.course.free_ground import free_ground
from pacewright.course.pace_setting import PaceAsked, set_pace_course
from pacewright.sheets.course_sheets import course_sheet
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.field_learners import pieces, walk
from support.habit_class import course_with
from support.pdf_pages import opened, words

COURSE = course_with("", "bias", "azimuth")


def test_ordinary_walks_stay_on_the_ground_that_is_asked_for() -> None:
    ground = free_ground(COURSE)
    first, last = (np.array(COURSE.posts[k].place_m) for k in (0, -1))
    long = float(np.hypot(*(last - first)))
    along = (last - first) / long
    left = np.array([-along[1], along[0]])
    chance = random.Random(4)
    inside = made = 0
    for card in COURSE.cards:
        assert all(pieces(leg) for leg in card.legs)
        for _ in range(60):
            end = np.array(walk(card, COURSE.post(card.start).place_m, chance).ended_m) - first
            made += 1
            inside += (-ground.before_m <= end @ along <= long + ground.beyond_m) and (
                -ground.right_m <= end @ left <= ground.left_m
            )
    # Two standard deviations to every side; ends near the middle lie well inside.
    assert inside >= 0.95 * made
    assert ground.on_line and ground.right_m > 0 and ground.left_m > 40


def test_a_pace_line_needs_a_strip() -> None:
    ground = free_ground(set_pace_course(PaceAsked(2)))
    assert max(ground.left_m, ground.right_m) < 20


@pytest.mark.parametrize("kind", ["key", "safety", "plan"])
def test_key_safety_page_and_plan_say_the_ground_that_is_needed(kind: str) -> None:
    ground = free_ground(COURSE)
    pdf = typeset([course_sheet(kind, COURSE, PAPERS["a4"])], PAPERS["a4"])  # type: ignore[arg-type]
    assert f"{ground.left_m} m to the left of the base line and {ground.right_m} m to its right" in words(pdf)


def test_the_plan_of_a_first_day_is_one_page_with_times_kit_and_drills_in_order() -> None:
    pdf = typeset([course_sheet("plan", COURSE, PAPERS["a4"])], PAPERS["a4"])
    said = words(pdf)
    assert len(opened(pdf)) == 1
    order = [
        "Safety page, aloud",
        "Compass: hold it level",
        "Pace count on a measured line",
        "Azimuth alone",
        "The cards",
    ]
    places = [said.index(part) for part in order]
    assert places == sorted(places)
    for part in (
        "Kit",
        "measured line of",
        "first-aid kit",
        "Walk the ground yourself",
        "common practice of scout",
    ):
        assert part in said
