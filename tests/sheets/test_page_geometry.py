"""No sheet has words on words, words on rules, cut text, too small type or an all but empty page."""

from __future__ import annotations

import pytest

from pacewright.exceptions import Complaint
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.typesetting import typeset
from support.made_sheets import BLANK, LOGS, OF_A_LOG
from support.page_geometry import beyond_margin, on_rules, orphan_pages, overlaps, too_small, without_drawings

pytestmark = pytest.mark.slow

DENSE = {("traverse", "a5")}
"""Nine parts of a row have no room on half a sheet in larger type than 7 pt."""


def faults(sheet, name, kind):
    paper = PAPERS[name]
    pdf = typeset([sheet], paper, printed_on="2026-05-15")
    bare = typeset([without_drawings(sheet)], paper, printed_on="2026-05-15")
    small = [] if (kind, name) in DENSE else too_small(pdf, paper)
    return {
        "on one another": overlaps(pdf),
        "beyond the margin": beyond_margin(pdf),
        "on a rule": on_rules(bare),
        "too small": small,
        "all but empty": orphan_pages(pdf),
    }


def of_a_log(kind, log, name):
    return faults(OF_A_LOG[kind](LOGS[log](), PAPERS[name]), name, kind)


@pytest.mark.parametrize("name", PAPER_NAMES)
@pytest.mark.parametrize("log", LOGS)
@pytest.mark.parametrize("kind", OF_A_LOG)
def test_every_sheet_of_every_log_on_every_paper_is_clean(kind, log, name):
    try:
        found = of_a_log(kind, log, name)
    except Complaint as complaint:
        # What has no room is refused in one sentence, never printed cut.
        assert str(complaint)
        return
    assert not {what: said for what, said in found.items() if said}


@pytest.mark.parametrize("name", PAPER_NAMES)
@pytest.mark.parametrize("kind", BLANK)
def test_every_sheet_without_a_log_is_clean_on_every_paper(kind, name):
    found = faults(BLANK[kind](PAPERS[name]), name, kind)
    assert not {what: said for what, said in found.items() if said}


def test_the_measure_finds_what_it_is_to_find():
    """A page with two words on one another, a word on a rule, type of 6 pt and a word beyond the margin."""
    import pymupdf

    document = pymupdf.open()
    page = document.new_page(width=400, height=400)
    page.insert_text((100, 100), "count", fontsize=10)
    page.insert_text((110, 102), "azimuth", fontsize=10)
    page.insert_text((100, 200), "paces", fontsize=6)
    page.draw_line((90, 198), (200, 198))
    page.insert_text((5, 300), "edge", fontsize=10)
    pdf = document.tobytes()
    assert overlaps(pdf) == ["page 1: 'count' and 'azimuth'"]
    assert len(on_rules(pdf)) == 1 and "'paces' on a rule" in on_rules(pdf)[0]
    assert too_small(pdf, PAPERS["a4"]) == ["page 1: 'paces' of 6.0 pt"]
    assert beyond_margin(pdf) == ["page 1: 'edge'"]
