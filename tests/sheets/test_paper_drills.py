"""Worksheets and keys on paper: one or two pages, at exact scale, no answer on the worksheet."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.course.drills.making import Worksheet, make_worksheet
from pacewright.course.drills.problem import LEVELS, PAPER_DRILLS
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.paper_drills import answer_sheet, worksheet
from pacewright.sheets.typesetting import typeset
from pacewright.wording.paper_drills import SOURCES, say_value
from support.pdf_pages import opened, strokes_mm, words


def made(kind: str, level: int) -> Worksheet:
    return make_worksheet(kind, level, 3, np.random.default_rng(3))


@pytest.mark.parametrize("kind", PAPER_DRILLS)
@pytest.mark.parametrize("level", LEVELS)
def test_a_worksheet_is_one_or_two_pages_and_its_key_one(kind: str, level: int) -> None:
    for name in ("a4", "letter"):
        paper = PAPERS[name]  # type: ignore[index]
        assert len(opened(typeset([worksheet(made(kind, level), paper)], paper))) <= 2
        assert len(opened(typeset([answer_sheet(made(kind, level), paper)], paper))) == 1


@pytest.mark.parametrize("kind", PAPER_DRILLS)
def test_the_key_has_every_answer_and_the_worksheet_its_source(kind: str) -> None:
    paper, sheet = PAPERS["a4"], made(kind, 3)
    key = words(typeset([answer_sheet(sheet, paper)], paper))
    for problem in sheet.problems:
        assert all(say_value(answer) in key for answer in problem.answers)
    assert SOURCES[sheet.kind].split(":")[1][:20].strip() in words(typeset([worksheet(sheet, paper)], paper))


def test_squares_are_five_millimetres_wide_on_paper() -> None:
    pdf = typeset([worksheet(made("plot", 1), PAPERS["a5"])], PAPERS["a5"])
    for page in range(len(opened(pdf))):
        upright = sorted(
            {
                round(x, 2)
                for x, y, right, low in strokes_mm(pdf, page)
                if abs(x - right) < 0.01 and abs(low - y) > 80
            }
        )
        gaps = np.diff(upright)
        if len(gaps) > 10:
            assert np.abs(gaps - 5.0).max() < 0.05
            break
    else:
        pytest.fail("no squares were printed")


def test_a_pocket_card_is_refused() -> None:
    with pytest.raises(ValueComplaint, match="pocket card"):
        worksheet(made("back", 1), PAPERS["pocket"])
