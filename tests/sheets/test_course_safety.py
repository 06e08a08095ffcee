"""What goes along in case of trouble stands on every card, and the safety page is one page."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pymupdf
import pytest

from pacewright.course.barred_land import BarredArea
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.safety import Safety, Timing
from pacewright.exceptions import ValueComplaint
from pacewright.files.course_toml import read_course, write_course
from pacewright.sheets.course_sheets import LARGEST_PT, MY_COUNT_MM, course_sheet
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import words

STRIP = Safety("Mill road", 187.0, 900.0, "15:30", "three long blasts", "Ada Quill, box 4")
PIT = BarredArea("Pit", ((0.0, 900.0), (9.0, 900.0), (9.0, 909.0)))


def course_of(strip: Safety) -> Course:
    posts = (Post("Gate", (0.0, 0.0)), Post("Split oak", (300.0, 400.0)), Post("Ford", (300.0, 0.0)))
    legs = (CourseLeg(36.869897645844, 500.0, "Split oak"), CourseLeg(180.0, 400.0, "Ford"))
    return Course(
        "Fen", "posts", "magnetic", posts, (Card(1, "Gate", legs, "Ford"),), safety=strip, barred=(PIT,)
    )


def test_the_strip_stands_on_the_card_with_what_was_set() -> None:
    said = " ".join(
        words(typeset([course_sheet("cards", course_of(STRIP), PAPERS["a5"])], PAPERS["a5"])).split()
    )
    for one in ("187 deg", "Mill road, within 900 m", "15:30", "three long blasts", "Ada Quill, box 4"):
        assert one in said
    blank = words(typeset([course_sheet("cards", course_of(Safety()), PAPERS["a5"])], PAPERS["a5"]))
    for label in ("Lost? Walk azimuth", "Back by", "Recall signal", "Call"):
        assert label in blank


@pytest.mark.parametrize("paper", ["a4", "a5", "letter"])
@pytest.mark.parametrize("strip", [STRIP, Safety()])
def test_the_safety_page_is_one_page(paper: str, strip: Safety) -> None:
    field = set_field_course(FieldAsked(learners=4, seed=1), np.random.default_rng(1))
    for course in (course_of(strip), replace(field, safety=strip)):
        pdf = typeset([course_sheet("safety", course, PAPERS[paper])], PAPERS[paper])  # type: ignore[index]
        with pymupdf.open(stream=pdf) as pages:
            assert len(pages) == 1


def test_azimuth_and_metres_are_the_largest_things_on_a_card() -> None:
    pdf = typeset([course_sheet("cards", course_of(STRIP), PAPERS["a5"])], PAPERS["a5"])
    with pymupdf.open(stream=pdf) as pages:
        spans = [
            span
            for block in pages[0].get_text("dict")["blocks"]
            for line in block.get("lines", ())
            for span in line["spans"]
        ]
    large = {span["text"].strip() for span in spans if span["size"] > max(LARGEST_PT, 18) - 0.1}
    assert large == {"37", "500", "180", "400"}
    assert MY_COUNT_MM >= 30


def test_a_return_is_expected_by_speed_posts_and_search() -> None:
    course = course_of(STRIP)
    # 900 m at 3,000 m an hour are 18 minutes; two posts of 3; 20 to search.
    assert course.expected_min(course.cards[0]) == 44
    slower = replace(course, timing=Timing(1500.0, 600.0, 5.0, 0.0))
    assert slower.expected_min(course.cards[0]) == 46
    uphill = replace(course, cards=(replace(course.cards[0], climb_m=60.0),))
    assert uphill.expected_min(uphill.cards[0]) == 50


def test_strip_and_times_come_back_from_a_course_file() -> None:
    course = replace(course_of(STRIP), timing=Timing(2500.0, 600.0, 4.0, 15.0))
    assert read_course(write_course(course)) == course


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"back_by": "25:00"}, "not a time of day"),
        ({"backstop_azimuth_deg": 360.0}, "not an azimuth"),
        ({"recall": "x" * 61}, "does not fit the strip"),
        ({"backstop_within_m": 0.0}, "not met within"),
    ],
)
def test_a_strip_that_cannot_be_is_refused(wrong: dict[str, object], told: str) -> None:
    with pytest.raises(ValueComplaint, match=told):
        Safety(**wrong)  # type: ignore[arg-type]
