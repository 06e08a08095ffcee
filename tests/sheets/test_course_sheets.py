"""The paper of a course, read back from the PDF."""

import re
from dataclasses import replace

import numpy as np
import pytest

from pacewright.course.answer_key import answer_key
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.pace_setting import PaceAsked, set_pace_course
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.course_pocket import course_paper, pocket_cards
from pacewright.sheets.course_sheets import COURSE_SHEETS, course_sheet
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from pacewright.wording.course_cards import CARD_CAUTION, say_dialled, say_ground, say_metres, say_obstacle
from support.command import run
from support.habit_class import course_with
from support.page_geometry import beyond_margin, on_rules, overlaps, too_small
from support.pdf_pages import words


@pytest.fixture(scope="module")
def course():
    return set_field_course(FieldAsked(9, drills=("", "box", "detour")), np.random.default_rng(3))


def text_of(kind, course, paper="a4"):
    return " ".join(words(typeset([course_sheet(kind, course, PAPERS[paper])], PAPERS[paper])).split())


def test_a_card_tells_the_legs_and_not_where_they_end(course):
    for card in course.cards:
        alone = type(course)(
            course.title, "field", "magnetic", course.posts, (card,), tolerance_m=course.tolerance_m
        )
        said = text_of("cards", alone).split()
        for leg in card.legs:
            assert f"{leg.azimuth_deg:.0f}" in said
            assert f"{leg.length_m:.0f}" in said
        assert card.start in [word.rstrip(",") for word in said]
        assert card.ends not in " ".join(said).replace(card.start, "")


def test_the_key_tells_where_every_card_ends_as_the_answer_key_has_it(course):
    said = text_of("key", course).split()
    for card in course.cards:
        east, north = answer_key(course, card.number).rows[-1].ends_m
        assert card.ends in said
        assert f"{east:.1f}" in said and f"{north:.1f}" in said


def test_the_marking_sheet_has_a_row_for_every_card_and_no_end(course):
    said = text_of("marking", course)
    for card in course.cards:
        assert f" {card.number} {card.start}" in said
    assert "ticked in before anybody leaves" in said


def test_labels_bear_name_and_word_of_every_post(course):
    said = text_of("labels", course)
    for post in course.posts:
        assert f"{post.name} word: {post.word}" in said


def test_the_safety_page_leaves_room_for_what_only_the_instructor_knows(course):
    said = text_of("safety", course)
    for label in (
        "Boundary north",
        "Recall signal",
        "Emergency number",
        "Danger areas",
        "walks the backstop",
    ):
        assert label in said


@pytest.mark.parametrize("kind", COURSE_SHEETS)
@pytest.mark.parametrize("paper", ["a4", "letter", "a5", "pocket"])
def test_every_sheet_is_made_on_every_paper_or_refused_in_a_sentence(kind, paper, course):
    try:
        made = typeset([course_sheet(kind, course, PAPERS[paper])], PAPERS[paper])
    except ValueComplaint as complaint:
        assert "Take larger paper" in str(complaint)
        assert paper == "pocket"
    else:
        assert made.startswith(b"%PDF")
        assert made == typeset([course_sheet(kind, course, PAPERS[paper])], PAPERS[paper])


def test_a_pace_course_has_its_sheets_too():
    course = set_pace_course(PaceAsked(learners=4))
    for kind in COURSE_SHEETS:
        assert course.title in text_of(kind, course)


@pytest.mark.parametrize("name", ["pocket", "pocket-letter"])
def test_a_pocket_card_holds_all_that_the_card_of_a_learner_says(course, name):
    made = pocket_cards(course)
    assert len(made) == len(course.cards)
    for card, one in zip(course.cards, made, strict=True):
        told = words(typeset([one], PAPERS[name]))
        for number, leg in enumerate(card.legs, start=1):
            assert f"{number} {say_dialled(leg)} {say_metres(leg)}" in told
            assert all(said in told for said in (say_obstacle(leg), say_ground(leg)) if said)
        assert CARD_CAUTION in told and f"card {card.number}" in told
        assert card.ends not in told.replace(card.start, "")


@pytest.mark.parametrize("name", ["pocket", "pocket-letter"])
def test_pocket_cards_are_clean(course, name):
    pace = set_pace_course(PaceAsked(4))
    for one in (*pocket_cards(course)[:3], *pocket_cards(pace)):
        pdf = typeset([one], PAPERS[name])
        assert not overlaps(pdf) and not beyond_margin(pdf) and not on_rules(pdf)
        assert not too_small(pdf, PAPERS[name])


def test_only_cards_are_in_pocket_size(course):
    assert len(course_paper("cards", course, PAPERS["pocket"])) == len(course.cards)
    assert len(course_paper("cards", course, PAPERS["a5"])) == 1
    with pytest.raises(ValueComplaint, match="do not fit a pocket card"):
        course_paper("key", course, PAPERS["pocket"])


def test_a_card_of_azimuths_alone_asks_for_no_count_and_one_for_the_compass_for_a_tape() -> None:
    course = course_with("", "bias", "azimuth")
    for drill, said, unsaid in (
        ("azimuth", "Do not count. Your partner", "by your own count"),
        ("bias", "tape where you stand", "Do not count"),
        ("", "by your own count", "Do not count"),
    ):
        cards = tuple(card for card in course.cards if card.drill == drill)
        pdf = typeset([course_sheet("cards", replace(course, cards=cards), PAPERS["a5"])], PAPERS["a5"])
        assert said in words(pdf)
        assert unsaid not in words(pdf)


def test_sheets_of_a_course_say_when_they_were_printed(tmp_path):
    course, out = tmp_path / "course.toml", tmp_path / "cards.pdf"
    assert run("course", "set", "field", "--learners", "2", "--seed", "1", "--out", course).code == 0
    assert run("course", "sheet", "cards", course, "--out", out).code == 0
    assert re.search(r"printed \d{4}-\d\d-\d\d, page 1 of", words(out.read_bytes()))
