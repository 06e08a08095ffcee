"""A page while it is typed: what is understood so far, and what each wrong cell lacks."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.core.log.travel_log import Cells
from pacewright.core.log.typed_page import TypedPage, read_typed
from pacewright.exceptions import Complaint
from pacewright.files.bundled import DEMO_LOG, bundled
from pacewright.files.log_csv import read_log

HEADING = ["azimuth: magnetic degrees", "count: paces", "start: Gate"]


def typed(*rows: tuple[str, ...], heading: list[str] = HEADING) -> TypedPage:
    return read_typed(heading, [Cells(*row, *[""] * (3 - len(row))) for row in rows])


def test_an_empty_page_is_whole_and_holds_no_log() -> None:
    page = typed()
    assert page.is_whole
    assert page.log is None
    assert typed(("", "", ""), ("  ", "\t", "")).log is None


def test_a_page_that_is_understood_is_the_log_that_the_file_reader_reads() -> None:
    read = read_log(bundled(DEMO_LOG), DEMO_LOG)
    lines = bundled(DEMO_LOG).decode("utf-8").splitlines()
    heading = [line.lstrip("#").strip() for line in lines if line.startswith("#")]
    page = read_typed(heading, [row.cells for row in read.rows])
    assert page.is_whole
    assert page.log is not None
    assert page.log.heading == read.heading
    assert page.log.legs == read.legs


def test_the_log_ends_above_the_first_row_that_is_not_understood() -> None:
    page = typed(("305", "240"), ("400", "30"), ("38", "185"))
    assert page.understood == 1
    assert not page.is_whole
    assert page.log is not None
    assert [leg.count for leg in page.log.legs] == [240]
    assert [row.complaint is None for row in page.rows] == [True, False, True]


def test_every_wrong_cell_is_named_not_the_first_alone() -> None:
    page = typed(("400", "30"), ("38", "many"), ("52", "330", "[bux right 40]"))
    found = [(row.complaint.where.line, row.complaint.where.column) for row in page.rows if row.complaint]
    assert found == [(1, "azimuth"), (2, "count"), (3, "notes")]


def test_an_empty_row_is_neither_wrong_nor_a_leg() -> None:
    page = typed(("305", "240"), ("", "", ""), ("38", "185"))
    assert page.rows[1].row is None
    assert page.rows[1].complaint is None
    assert page.log is not None
    assert len(page.log.legs) == 2


def test_a_wrong_heading_gives_no_log_but_says_why_and_still_reads_the_rows() -> None:
    page = typed(("305", "240"), heading=["azimuth: magnetic furlongs"])
    assert page.log is None
    assert page.heading_complaint is not None
    assert "furlongs" in page.heading_complaint.what
    assert not page.is_whole


def test_prose_in_the_heading_is_no_mistake() -> None:
    assert typed(("305", "240"), heading=["wet boots all day", *HEADING]).is_whole


def test_a_name_spelled_otherwise_further_down_marks_the_later_row() -> None:
    page = typed(("305", "240", "[at Split oak]"), ("38", "185", "[at split oak]"), ("52", "30"))
    assert page.understood == 1
    complaint = page.rows[1].complaint
    assert complaint is not None
    assert complaint.where.line == 2


def test_rows_are_read_in_the_units_that_the_heading_states() -> None:
    mils = typed(("6000", "10"), heading=["azimuth: grid mils"])
    assert mils.is_whole
    assert not typed(("6000", "10"), heading=["azimuth: grid degrees"]).is_whole


@given(
    st.lists(st.tuples(*[st.text(max_size=12)] * 3), max_size=5), st.lists(st.text(max_size=20), max_size=3)
)
def test_whatever_is_typed_every_row_has_a_meaning_a_complaint_or_nothing_in_it(
    rows: list[tuple[str, str, str]], heading: list[str]
) -> None:
    page = typed(*rows, heading=heading)
    assert [row.cells for row in page.rows] == [Cells(*row) for row in rows]
    for row in page.rows:
        is_empty = not any(cell.strip() for cell in (row.cells.azimuth, row.cells.count, row.cells.notes))
        assert (row.row is None and row.complaint is None) == is_empty
        assert row.row is None or row.complaint is None
    assert page.understood <= len(rows)


@pytest.mark.parametrize("upto", range(5))
def test_what_was_understood_stays_so_as_the_page_grows(upto: int) -> None:
    rows = [
        ("305", "240", "[at Split oak]"),
        ("38", "185"),
        ("346", "", "[see Fire tower]"),
        ("52", "30"),
        ("97", "7"),
    ]
    part, whole = typed(*rows[:upto]), typed(*rows)
    assert part.rows == whole.rows[:upto]
    assert part.is_whole


def test_a_complaint_says_where_what_and_what_to_do() -> None:
    complaint = typed(("400", "30")).rows[0].complaint
    assert isinstance(complaint, Complaint)
    said = "line 1, column azimuth: 400 is not an azimuth in degrees. Write a number from 0 to 360"
    assert str(complaint).startswith(said)


def test_a_point_among_decimal_commas_is_named_in_its_row() -> None:
    page = typed(("30,5", "240"), ("120", "1.200"))
    (complaint,) = (row.complaint for row in page.rows if row.complaint)
    assert (complaint.where.line, complaint.where.column) == (2, "count")
    assert complaint.what.startswith("1.200 is unclear: other numbers of this log have a decimal comma")
    assert page.log is not None
    assert len(page.log.legs) == 1
