"""Debriefs to be cut, and the class table: on paper, read back."""

from __future__ import annotations

import pytest

from pacewright.exceptions import ValueComplaint
from pacewright.sheets.class_sheets import class_table_sheet, debrief_slips
from pacewright.sheets.paper import PAPERS, PaperName
from pacewright.sheets.typesetting import typeset
from pacewright.wording.class_table import report_table
from support.page_geometry import on_rules, overlaps
from support.pdf_pages import opened, words
from support.taught_class import NAMES, taught

COURSE, REPORT = taught()


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
def test_every_debrief_stands_on_one_page_with_its_learner(name: PaperName) -> None:
    paper = PAPERS[name]
    pdf = typeset([debrief_slips(COURSE, REPORT, paper)], paper)
    pages = [" ".join(page.get_text().split()) for page in opened(pdf)]
    heads = [f"{one.handed.learner}: {COURSE.title}, card {one.handed.card}" for one in REPORT.fit.grades]
    for head in set(heads):
        held = [page for page in pages if head in page]
        assert sum(page.count(head) for page in held) == heads.count(head)
    # As often as a debrief begins on a page it ends there.
    for page in pages:
        assert page.count("This says how one walk went") == sum(page.count(head) for head in set(heads))


def test_several_debriefs_stand_on_a_page_of_a4() -> None:
    pdf = typeset([debrief_slips(COURSE, REPORT, PAPERS["a4"])], PAPERS["a4"])
    assert len(opened(pdf)) <= len(REPORT.fit.grades) / 2


def test_one_learner_s_debrief_is_one_page_without_the_others() -> None:
    one = REPORT.fit.grades[0]
    pdf = typeset([debrief_slips(COURSE, REPORT, PAPERS["a5"], one)], PAPERS["a5"])
    assert len(opened(pdf)) == 1
    assert one.handed.learner in words(pdf)
    assert not any(name in words(pdf) for name in NAMES if name != one.handed.learner)


def test_the_class_table_says_what_the_command_says() -> None:
    pdf = typeset([class_table_sheet(COURSE, REPORT, PAPERS["a4"])], PAPERS["a4"])
    said = words(pdf)
    for row in report_table(REPORT)[1]:
        assert all(part in said for cell in row for part in cell.split())
    assert len(opened(pdf)) == 1


def test_a_pocket_card_is_refused() -> None:
    with pytest.raises(ValueComplaint, match="pocket card"):
        debrief_slips(COURSE, REPORT, PAPERS["pocket"])


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
def test_no_word_of_the_class_table_stands_on_a_rule_or_another_word(name: PaperName) -> None:
    pdf = typeset([class_table_sheet(COURSE, REPORT, PAPERS[name])], PAPERS[name])
    assert overlaps(pdf) == on_rules(pdf) == []
