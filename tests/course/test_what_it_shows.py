"""What a course is said to show, against made classes whose truths are known."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from pacewright.course.answer_key import answer_key
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.course.learner_model import fit_class
from pacewright.course.pace_setting import PaceAsked, set_pace_course
from pacewright.course.what_it_shows import WALKS, Shows, what_it_shows
from support.habit_class import OWN, class_of, course_with, ordinary_class


def shown(course: Course, drill: str, walks: int) -> Shows:
    return next(one for one in what_it_shows(course) if (one.drill, one.walks) == (drill, walks))


@pytest.mark.slow
@pytest.mark.parametrize(("drill", "walks"), [("bias", 4), ("azimuth", 4)])
def test_a_compass_that_is_off_by_so_much_shows_in_about_four_of_five(drill: str, walks: int) -> None:
    course = course_with("", "bias", "azimuth")
    bias_deg = shown(course, drill, walks).bias_deg
    assert bias_deg is not None
    rng = np.random.default_rng(7)
    found = truly = wrongly = others = 0
    for _ in range(16):
        truths = ordinary_class(rng, 10) | {"Left": (-bias_deg, 1.0), "Right": (bias_deg, 1.0)}
        fit = fit_class(class_of(rng, course, drill, walks, truths), course)
        for name, (true, _) in truths.items():
            one = fit.learner(name)
            assert one is not None
            if name in ("Left", "Right"):
                found += 1
                truly += one.bias_deg.shows and one.bias_deg.value * true > 0
            elif abs(true) < 0.5:
                others += 1
                wrongly += one.bias_deg.shows
    # 80 of 100 are promised; of 32 learners two standard deviations are 14 of 100.
    assert truly / found >= 0.66
    assert wrongly / others <= 0.15


@pytest.mark.slow
def test_a_pace_that_is_off_by_so_much_shows_in_about_four_of_five() -> None:
    course = course_with("", "bias", "azimuth")
    scale_pct = shown(course, "bias", 4).scale_pct
    assert scale_pct is not None
    rng = np.random.default_rng(8)
    found = truly = 0
    for _ in range(16):
        truths = ordinary_class(rng, 10)
        truths |= {"Short": (0.0, 1.0 - scale_pct / 100.0), "Long": (0.0, 1.0 + scale_pct / 100.0)}
        fit = fit_class(class_of(rng, course, "bias", 4, truths), course)
        for name in ("Short", "Long"):
            one = fit.learner(name)
            assert one is not None
            found += 1
            truly += one.scale_pct.shows and (one.scale_pct.value > 0) == (name == "Long")
    assert truly / found >= 0.66


def test_more_walks_show_less_and_a_stake_alone_hardly_a_compass() -> None:
    course = course_with("", "bias", "azimuth")
    for drill in ("", "bias", "azimuth"):
        told = [shown(course, drill, walks) for walks in WALKS]
        bias = [math.inf if one.bias_deg is None else one.bias_deg for one in told]
        assert bias[0] > bias[1] > bias[2]
        for one in told:
            by_tape = one.bias_deg or math.inf
            assert (one.bias_by_stake_deg or math.inf) > by_tape or by_tape == math.inf


def test_the_card_for_the_compass_shows_more_than_a_plain_one_and_azimuth_alone_no_pace() -> None:
    course = course_with("", "bias", "azimuth")
    plain, compass, azimuth = (shown(course, drill, 4) for drill in ("", "bias", "azimuth"))
    assert (compass.bias_deg or math.inf) < (plain.bias_deg or math.inf)
    assert (compass.scale_pct or math.inf) < (plain.scale_pct or math.inf)
    assert azimuth.scale_pct is None
    assert azimuth.bias_deg is not None


def test_a_pace_line_shows_the_pace_and_nothing_of_a_compass() -> None:
    shows = what_it_shows(set_pace_course(PaceAsked(2, trials=5)))
    assert [one.bias_deg for one in shows] == [None] * 3
    # Mean of 5 counts of 5 % each; 1.96 + 0.84 standard deviations, four in five (normal tables).
    assert shows[0].scale_pct == pytest.approx(1.1 * 5.0 / math.sqrt(5.0) * 2.8, rel=0.01)


def test_on_a_card_of_azimuths_alone_counting_slips_are_not_accused() -> None:
    course = course_with("", "bias", "azimuth")
    card = next(card for card in course.cards if card.drill == "azimuth")
    key = answer_key(course, card.number, OWN)
    half = card.legs[0].step_m() / 2.0
    one = grade(Handed("Ada Quill", card.number, None, card.ends, tuple(-half), walker=OWN), course)
    assert {slip.kind for slip in one.suspects} & {
        "steps_for_paces",
        "paces_for_steps",
        "tally_lost",
    } == set()
    plain = replace(key.card, drill="")
    assert key.rows[0].along < answer_key(replace(course, cards=(plain,)), plain.number, OWN).rows[0].along


def test_cards_for_the_compass_lead_out_and_along() -> None:
    course = course_with("", "bias", "azimuth")
    first, last = (np.array(course.posts[k].place_m) for k in (0, -1))
    along = (last - first) / np.hypot(*(last - first))
    for card in course.cards:
        if card.drill == "bias":
            ways = [float(leg.step_m() @ along) / leg.length_m for leg in card.legs]
            assert min(ways) >= 0.5 - 1e-9 or max(ways) <= -0.5 + 1e-9
