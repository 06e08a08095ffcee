"""The log on a photographed course card tells whose card it is; a photographed marking sheet what it is."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.drawing.log_grid import grid_of_card
from pacewright.exceptions import FormatComplaint
from pacewright.reading.corner_marks import find_page
from pacewright.reading.page_read import read_page
from pacewright.reading.photographs import read_photograph
from pacewright.sheets.course_sheets import course_sheet
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import opened
from support.photographed_page import Camera, Row, photograph, printed, printed_sheet, write

TILTED = Camera(
    tilt_deg=32, tilt_towards_deg=70, turn_deg=188, curl_mm=3, crease_mm=2, shadow=0.4, blur_px=0.8, noise=3,
    wide_px=2100, high_px=2800,
)  # fmt: skip


@pytest.fixture(scope="module")
def course():
    return set_field_course(FieldAsked(6, drills=("", "box", "detour")), np.random.default_rng(3))


@pytest.mark.parametrize("name", ["a4", "letter"])
def test_a_photographed_card_tells_its_number_and_what_was_written_on_its_log(name, course):
    pdf = typeset([course_sheet("cards", course, PAPERS[name])], PAPERS[name])
    assert opened(pdf).page_count == len(course.cards)
    sheet, boxes = printed(pdf, 2)
    rows = [Row("305", "24"), Row("38", "51", ticks=(0,))]
    page = read_page(photograph(write(sheet, boxes, rows, np.random.default_rng(4), TILTED), TILTED))
    assert (page.card, page.page) == (course.cards[2].number, 1)
    assert [row.number for row in page.rows] == [1, 2] and page.rows[1].ticks == ("at",)
    assert [len(row.azimuth.text) for row in page.rows] == [3, 2]


def test_on_small_paper_the_log_has_a_page_of_its_own(course):
    pdf = typeset([course_sheet("cards", course, PAPERS["a5"])], PAPERS["a5"])
    assert opened(pdf).page_count == 2 * len(course.cards)
    sheet, _ = printed(pdf, 3)
    code = find_page(read_photograph(photograph(sheet, TILTED))).code
    assert (code.card, code.rows) == (course.cards[1].number, 15)


def test_a_card_of_many_legs_has_a_whole_page_to_write_on():
    few, many = (grid_of_card(PAPERS["a4"].text_width_mm, legs) for legs in (8, 9))
    assert (few.rows, many.rows) == (10, 23)


def test_a_set_without_log_pages_has_no_marks(course):
    pdf = typeset([course_sheet("cards", course, PAPERS["a4"], with_log=False)], PAPERS["a4"])
    assert "log of card" not in "".join(page.get_text() for page in opened(pdf))


@pytest.mark.parametrize("name", ["a4", "a5"])
def test_a_photographed_marking_sheet_is_told_for_what_it_is(name, course):
    pdf = typeset([course_sheet("marking", course, PAPERS[name])], PAPERS[name])
    with pytest.raises(FormatComplaint) as refused:
        read_page(photograph(printed_sheet(pdf), TILTED))
    assert refused.value.what.startswith(f"this is the marking sheet of cards 1 to {len(course.cards)}: ")
