"""A complaint: what, where, what to do, on one line."""

from __future__ import annotations

import pytest

from pacewright.exceptions import (
    Complaint,
    FormatComplaint,
    MissingComplaint,
    OutputComplaint,
    ValueComplaint,
    Where,
)


def test_a_complaint_is_one_line_of_where_what_and_what_to_do():
    complaint = ValueComplaint("361 is no azimuth", "Write less", Where("walk.csv", 7, "azimuth"))
    assert str(complaint) == "walk.csv, line 7, column azimuth: 361 is no azimuth. Write less."
    assert (complaint.what, complaint.do) == ("361 is no azimuth", "Write less")


def test_a_complaint_without_a_place_begins_with_what_is_wrong():
    assert str(Complaint("A", "B")) == "A. B."
    assert str(Where(line=3)) == "line 3"
    assert str(Where(column="count")) == "column count"


def test_each_reader_adds_the_place_it_knows_and_changes_none():
    complaint = (
        FormatComplaint("A", "B").at(column="notes").at(line=3).at(file="a.csv", line=9, column="count")
    )
    assert complaint.where == Where("a.csv", 3, "notes")
    assert type(complaint) is FormatComplaint


@pytest.mark.parametrize("kind", [ValueComplaint, FormatComplaint, MissingComplaint, OutputComplaint])
def test_every_refusal_is_a_complaint(kind):
    with pytest.raises(Complaint):
        raise kind("A", "B")


def test_what_a_file_holds_neither_breaks_the_line_nor_steers_the_terminal():
    complaint = Complaint("a\nb\r\x1b[2J\x7f\x9b\u2028c", "D", Where("e\nf.csv"))
    assert str(complaint) == "e\\x0af.csv: a\\x0ab\\x0d\\x1b[2J\\x7f\\x9b\\u2028c. D."


def test_names_in_other_scripts_are_told_as_they_are():
    assert str(Complaint("שער e\u0301 \u200d", "B")) == "שער e\u0301 \u200d. B."


def test_a_complaint_over_a_megabyte_of_text_stays_readable():
    assert len(str(Complaint("x" * 2**20, "y" * 2**20))) < 1500


def test_on_a_page_a_complaint_begins_with_a_capital_and_elsewhere_as_it_was_said():
    complaint = ValueComplaint("the log has no rows", "Type one", Where(line=7))
    assert complaint.sentence == "The log has no rows. Type one."
    assert complaint.placed_sentence == "Line 7: the log has no rows. Type one."
    assert complaint.at(file="a.csv").placed_sentence == "a.csv, line 7: the log has no rows. Type one."
    assert str(complaint) == "line 7: the log has no rows. Type one."
    assert ValueComplaint("361 is no azimuth", "Write less").sentence == "361 is no azimuth. Write less."
