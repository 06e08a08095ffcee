"""Marks and advice in words."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import pytest

from pacewright.core.pace.walker import Walker
from pacewright.core.slips.slips import SlipKind
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.course.learner_figures import Figure
from pacewright.course.marking import READY_RULES, ready_rule
from pacewright.wording import teaching
from pacewright.wording.class_table import report_table
from pacewright.wording.teaching import say_class, say_grade, say_learner, say_rule
from support.taught_class import NAMES, taught_class

WALKER = Walker(per_100_m=62.5)


def course() -> Course:
    legs = (CourseLeg(0.0, 480.0), CourseLeg(90.0, 640.0))
    posts = (Post("Gate", (0.0, 0.0)), Post("Split oak", (640.0, 480.0)))
    return Course("Cinder Fen", "field", "magnetic", posts, (Card(1, "Gate", legs, "Split oak"),))


def said_of(name: str) -> str:
    report = taught_class()
    learner = report.fit.learner(name)
    assert learner is not None
    return say_learner(learner)


def test_a_miss_is_said_in_paces_in_metres_and_against_an_ordinary_counter() -> None:
    said = say_grade(grade(Handed("Bea Lisk", 1, None, None, (0.0, -32.0), walker=WALKER), course()))
    assert said[0].startswith("Bea Lisk ended 20 paces (32 m) from Split oak, toward 180 deg: 0.")
    assert re.search(r"About \d+ of a hundred ordinary counters do as badly\.$", said[0])
    assert said[1] == "Ordinary scatter explains the finish; no slip shows."
    assert said[2].startswith("Mark: 10 of 10 by the rule ordinary scatter.")


def test_a_walked_slip_is_said_with_its_leg_and_the_mark_without_it() -> None:
    said = " ".join(
        say_grade(grade(Handed("Tam Orrin", 1, None, None, (-1280.0, 0.0), walker=WALKER), course()))
    )
    assert "Leg 2: the leg was walked the opposite way (over 99 %)." in said
    assert "Fewer than one ordinary counter in a thousand does as badly." in said
    assert "Mark: 0 of 10" in said and "Without a slip, an ordinary learner would" in said


def test_a_stake_alone_says_how_well_the_place_is_known() -> None:
    said = say_grade(grade(Handed("Tam Orrin", 1, None, "Split oak", walker=WALKER), course()))
    assert re.match(
        r"Tam Orrin ended at Split oak, where the card ends \(the place is known to about \d+ m\)", said[0]
    )


def test_every_learner_gets_one_plain_paragraph() -> None:
    for name in NAMES:
        said = said_of(name)
        assert "\n" not in said
        assert said.startswith(f"{name}, 5 walks: a walk of a kilometre usually ends ")
        assert said.endswith((".", ")."))


def test_the_one_who_reverses_legs_is_told_to_practise_that() -> None:
    said = said_of("Tam Orrin")
    assert "The slip to practise against is walking the opposite way" in said
    assert "before each leg point where you will go" in said


def test_the_one_who_drifts_is_told_by_how_much_and_to_which_side() -> None:
    said = said_of("Bea Lisk")
    assert re.search(
        r"Every leg goes \d\.\d deg to the right \(\d\.\d deg to \d\.\d deg\): practise sighting", said
    )


def test_the_one_who_shows_nothing_is_told_what_would_tell() -> None:
    said = said_of("Noor Vale")
    assert re.search(
        r"No sign of a drift to either side yet; \d+ more walks? would tell it|No drift to either side", said
    )


def test_a_class_of_one_side_looks_at_the_course_first() -> None:
    fit = taught_class().fit
    drifting = replace(fit, class_bias_deg=Figure(-3.0, 0.5, -4.0, -2.0, 1.0))
    assert say_class(drifting)[0].startswith(
        "The whole class goes 3.0 deg to the left: look at the course's azimuths"
    )


def test_the_table_has_a_row_for_every_learner_in_order() -> None:
    header, rows = report_table(taught_class())
    assert len(rows) == len(NAMES)
    assert all(len(row) == len(header) for row in rows)
    places = [int(row[0].split()[0]) for row in rows]
    marks = [float(row[header.index("mark")].split()[0]) for row in rows]
    assert places == [1 + sum(other > mark for other in marks) for mark in marks]
    assert places == sorted(places)


@pytest.mark.parametrize("kind", [*get_args(SlipKind), "other"])
def test_every_kind_of_slip_has_its_words(kind: str) -> None:
    for words in (teaching._WALKED, teaching._WRITTEN, teaching._NAMED, teaching.CURE):
        assert words[kind]  # type: ignore[index]


def test_a_rule_says_what_it_gives() -> None:
    assert say_rule(ready_rule("nearest stake")) == (
        "nearest stake: stakes nearer; 0 gives 10, 1 gives 7, 2 gives 4. Full marks are 10."
    )
    assert "gets full marks" in say_rule(READY_RULES[0])
    assert "beyond 180 takes off 1" in say_rule(ready_rule("three of four in three hours"))
