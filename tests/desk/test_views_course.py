"""Courses at the desk: set by a form, brought in and out, printed."""

from __future__ import annotations

import re

import numpy as np
import pymupdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.desk.classes.courses import FIELD_TYPED, PACE_TYPED, course_of, keep_course
from pacewright.desk.models import Exercise, KeptCourse
from support.desk_class import made_course, made_exercise
from support.pdf_pages import words


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return made_exercise(owner_member)


@pytest.fixture
def kept_course(owner_member) -> KeptCourse:
    return made_course(owner_member)


def test_a_field_course_is_set_from_the_form_as_it_first_stands(owner):
    page = owner.get("/class/courses/new/field").content.decode()
    seed = re.search(r'name="seed" value="(\d+)"', page)
    assert seed
    done = owner.post("/class/courses/new/field", {**FIELD_TYPED, "seed": seed[1]})
    kept = KeptCourse.objects.get()
    assert done.status_code == 302
    assert done["Location"] == f"/class/courses/{kept.pk}"
    expected = set_field_course(FieldAsked(20, seed=int(seed[1])), np.random.default_rng(int(seed[1])))
    assert course_of(kept) == expected


def test_a_pace_course_over_two_grounds_is_set(owner):
    two = {
        "length_m_1": "100",
        "ground_1": "track",
        "length_m_2": "60,5",
        "ground_2": "brush",
        "slope_2": "up",
    }
    owner.post("/class/courses/new/pace", {**PACE_TYPED, **two, "learners": "4"})
    course = course_of(KeptCourse.objects.get())
    assert [post.name for post in course.posts] == ["0 m", "100 m", "160.5 m"]
    assert (course.cards[0].legs[1].ground, course.cards[0].legs[1].slope) == ("brush", "up")


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"legs": "three"}, "Three is not a number"),
        ({"learners": "2.5"}, "2.5 is not a whole number"),
        ({"learners": "nan"}, "Nan is not a number"),
        ({"stakes": "2"}, "2 stakes cannot be asked of a field course"),
        ({"drills": "swim"}, "This is not on the list"),
        ({"field_along_m": "30", "spacing_m": "20"}, "need a base line of"),
    ],
)
def test_a_complaint_stands_beside_the_form_and_what_was_typed_stays(owner, changed, said):
    answer = owner.post(
        "/class/courses/new/field", {**FIELD_TYPED, "seed": "5", "title": "My field", **changed}
    )
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in page
    assert 'value="My field"' in page
    assert not KeptCourse.objects.exists()


def test_a_course_goes_out_as_a_file_and_comes_in_as_the_same_course(owner, kept_course):
    sent = owner.get(f"/class/courses/{kept_course.pk}/file")
    file = SimpleUploadedFile("field.toml", sent.content)
    owner.post("/class/courses/import", {"file": file})
    other = KeptCourse.objects.exclude(pk=kept_course.pk).get()
    assert course_of(other) == course_of(kept_course)


def test_a_file_that_is_no_course_is_complained_of_and_not_kept(owner):
    file = SimpleUploadedFile("field.toml", b"title = 3")
    page = owner.post("/class/courses/import", {"file": file}, follow=True).content.decode()
    assert "field.toml" in page
    assert not KeptCourse.objects.exists()


def test_the_page_of_a_course_says_every_fact_that_setting_found(owner, kept_course):
    page = owner.get(f"/class/courses/{kept_course.pk}").content.decode()
    assert page.count('<tr><th scope="row">') == len(course_of(kept_course).facts)
    assert "<svg" in page and "style=" not in page


@pytest.mark.parametrize("kind", ["cards", "key", "labels", "marking", "safety"])
def test_every_sheet_of_a_course_prints(owner, kept_course, kind):
    sheet = owner.get(f"/class/courses/{kept_course.pk}/sheet?kind={kind}&paper=a5")
    assert sheet["Content-Type"] == "application/pdf"
    assert sheet.content.startswith(b"%PDF")


def test_a_letter_that_no_font_has_is_told_on_the_sheet_itself(owner, owner_member):
    posts = (Post("Gate \U000f0000", (0.0, 0.0)), Post("Split oak", (0.0, 99.0)))
    cards = (Card(1, posts[0].name, (CourseLeg(0.0, 99.0, "Split oak"),), "Split oak"),)
    kept = keep_course(owner_member, Course("Cinder Fen", "posts", "magnetic", posts, cards))
    printed = words(owner.get(f"/class/courses/{kept.pk}/sheet?kind=key").content)
    assert "Gate ‹U+F0000›" in printed
    assert "because no font at hand has it: U+F0000." in printed


def test_a_course_with_an_exercise_is_not_deleted(owner, exercise):
    owner.post(f"/class/courses/{exercise.course_id}/change", {"do": "delete"})
    assert KeptCourse.objects.filter(pk=exercise.course_id).exists()


def test_a_sheet_follows_the_settings_of_whoever_prints_it(owner, kept_course) -> None:
    def printed() -> tuple[str, int]:
        data = owner.get(f"/class/courses/{kept_course.pk}/sheet?kind=key").content
        with pymupdf.open(stream=data, filetype="pdf") as pages:
            return "\n".join(page.get_text() for page in pages), round(pages[0].rect.width)

    before, _ = printed()
    owner.post("/settings", {"decimals": "comma", "dates": "dmy", "paper": "a5"})
    after, wide = printed()
    decimals = re.findall(r"(?<![\d.,])\d+\.\d{1,3}(?!\.?\d)", before)
    # ISO 216: A5 is 148 mm wide, 420 points.
    assert decimals and wide == 420
    whole = set(re.findall(r"\d+(?:[.,]\d+)*", after))
    assert {one for one in decimals if one.replace(".", ",") not in whole or one in whole} == set()
