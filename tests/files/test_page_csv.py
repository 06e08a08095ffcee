"""A typed page as a travel log, its struck rows with it, and back."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, Page, TravelLog
from pacewright.exceptions import Complaint
from pacewright.files.bundled import DEMO_LOG, bundled
from pacewright.files.log_csv import read_log
from pacewright.files.page_csv import page_heading, page_rows, write_page

LEG = (Cells("305", "240", ""), False)
STRUCK = [
    Cells("52", "330", "pond: dry"),
    Cells("", "", ""),
    Cells('"5', "3|3", "a, b; c\td # 100 % | [was 52]"),
    Cells(" 52 ", "", "two\nlines\r\nand\u2028more\x85"),
    Cells("%3A", "%", "%25"),
    Cells("52", "330", "沼 – 12 °"),
    Cells("abc", "x", "# struck 1 | 2 | 3"),
]
LAYOUTS = [
    TravelLog(Heading(), (), Page(delimiter, newline, mark))
    for delimiter, newline, mark in [(",", "\n", False), (";", "\r\n", True), ("\t", "\n", False)]
]


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("cells", STRUCK)
def test_a_struck_row_comes_back_at_its_place_and_to_the_letter(cells: Cells, layout: TravelLog) -> None:
    rows = [LEG, (cells, True), LEG, (cells, True)]
    log = read_log(write_page(["start: Gate", "prose"], rows, layout))
    assert page_rows(log) == rows
    assert page_heading(log) == ["start: Gate", "prose"]
    assert len(log.legs) == 2


@pytest.mark.parametrize("layout", LAYOUTS)
@given(cells=st.tuples(*[st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=8)] * 3))
@settings(max_examples=150, deadline=None)
def test_any_struck_row_comes_back(cells: tuple[str, str, str], layout: TravelLog) -> None:
    rows = [(Cells(*cells), True), LEG]
    assert page_rows(read_log(write_page([], rows, layout))) == rows


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("notes", ["", "240", "a, b", 'say "so"', "# no prose", "; \t", "two\nlines", " x "])
def test_a_note_comes_back_whatever_parts_the_cells(notes: str, layout: TravelLog) -> None:
    rows = [LEG, (Cells("", "", notes), False), LEG]
    assert page_rows(read_log(write_page([], rows, layout))) == rows


def test_a_row_that_begins_like_prose_stays_a_row() -> None:
    with pytest.raises(Complaint, match="line 2, column azimuth: #12"):
        read_log(write_page([], [(Cells("#12", "240", ""), False), LEG]))


def test_a_struck_row_that_went_through_a_spreadsheet_comes_back() -> None:
    written = write_page([], [LEG, (Cells("52", "330", "pond: dry, then wet"), True)]).decode("utf-8")
    struck = written.splitlines()[-1]
    for saved in (f"{struck},,\n", f"{struck};;\n"):
        log = read_log(written.replace(f"{struck}\n", saved).encode("utf-8"))
        assert page_rows(log)[-1] == (Cells("52", "330", "pond: dry, then wet"), True)


def test_a_heading_in_quotation_marks_is_read_without_them() -> None:
    log = read_log(b'"# title: Fen, north side",,\n# start: Gate,,\nazimuth,count,notes\n305,240,\n')
    assert page_heading(log) == ["title: Fen, north side", "start: Gate"]


def test_the_example_is_written_as_it_was_read() -> None:
    data = bundled(DEMO_LOG)
    log = read_log(data)
    assert write_page(page_heading(log), page_rows(log), log) == data
