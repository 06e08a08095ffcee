"""A row whose height is told beforehand is as high as what it holds, and nothing in it is wrapped."""

from __future__ import annotations

import itertools
import random

import pytest

from pacewright.sheets.blocks import Column, beside, keep, table, text
from pacewright.sheets.paper import PAPER_NAMES, PAPERS, sheet
from pacewright.sheets.row_heights import MONO_ADVANCE_EM, full_width_mm, with_heights
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import MM_PER_PT, opened

COLUMNS = [
    Column("no.", mm=9.0, align="right"),
    Column("count", bold=True, size_em=1.15),
    Column("notes", 2.0),
]


def heights(rows, paper="a4", **how):
    (made,) = with_heights([table(COLUMNS, rows, **how)], PAPERS[paper])
    return made["heights"]


def test_a_letter_is_as_wide_as_the_type_says():
    made = typeset([sheet("A sheet", [text("n" * 20)])], PAPERS["a4"])
    (placed,) = [word for word in opened(made)[0].get_text("words") if word[4] == "n" * 20]
    assert placed[2] - placed[0] == pytest.approx(20 * MONO_ADVANCE_EM * PAPERS["a4"].text_pt, rel=0.01)


def test_a_short_row_has_a_height_and_a_long_one_is_measured():
    assert heights([["1", "240", "dry"]]) != [None]
    assert heights([["1", "240", "word " * 40]]) == [None]


@pytest.mark.parametrize("note", ["two\nlines", "Ωμέγα", "日本", "e\u0301te\u0301", "שער", "a\u200bb"])
def test_what_is_not_plain_is_measured(note):
    assert heights([["1", "240", note]]) == [None]


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_no_row_of_a_told_height_is_wrapped_or_run_over(paper):
    """Notes of every length about the width of their column (seed 5)."""
    chance = random.Random(5)
    rows = [
        [str(i), str(chance.randrange(10_000)), " ".join(["nn"] * chance.randrange(1, 30))] for i in range(60)
    ]
    told = [row for row, high in zip(rows, heights(rows, paper), strict=True) if high is not None]
    assert 10 < len(told) < 60
    made = typeset([sheet("A sheet", [table(COLUMNS, told)])], PAPERS[paper])
    left_mm = (PAPERS[paper].width_mm - 4 * 65.0) / 2
    lines = {
        # Lines of two panels of a card may stand side by side.
        (page.number, round(word[1]), (word[0] * MM_PER_PT - left_mm) // 65.0 if PAPERS[paper].is_card else 0)
        for page in opened(made)
        for word in page.get_text("words")
        if word[4] == "nn"
    }
    assert len(lines) == len(told)


@pytest.mark.parametrize("row_mm", [0.0, 6.0])
def test_a_told_row_is_as_high_as_a_measured_one(row_mm):
    """A blank that has no width makes a row measured; both hold one line."""
    plain, measured = ([["1", "240", "dry" + mark]] * 6 for mark in ("", "\u200b"))

    def apart(rows):
        made = typeset([sheet("A sheet", [table(COLUMNS, rows, row_mm=row_mm)])], PAPERS["a4"])
        tops = [word[1] * MM_PER_PT for word in opened(made)[0].get_text("words") if word[4] == "240"]
        return [b - a for a, b in itertools.pairwise(tops)]

    assert apart(plain) == pytest.approx(apart(measured), abs=0.15)


def test_tables_within_other_blocks_are_told_too():
    inner = table(COLUMNS, [["1", "240", "dry"]])
    paper = PAPERS["a4"]
    (kept,) = with_heights([keep([inner])], paper)
    (side,) = with_heights([beside([text("left")], [inner], full_width_mm(paper) - 30.0)], paper)
    assert kept["blocks"][0]["heights"] != [None]
    # In so narrow a column the count has no room on one line.
    assert side["right"][0]["heights"] == [None]
