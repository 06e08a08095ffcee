"""The field booklet: what it holds, that its contents tell the truth, and that it folds into order."""

from __future__ import annotations

import re

import pytest

from pacewright.core.pace.walker import Walker
from pacewright.exceptions import Complaint
from pacewright.files.field_model import open_norths
from pacewright.sheets.booklet import booklet_sheets, print_booklet, signature
from pacewright.sheets.paper import PAPERS, bound
from support.command import run
from support.made_sheets import INES
from support.page_geometry import beyond_margin, overlaps
from support.pdf_pages import MM_PER_PT, opened, tags


@pytest.fixture(scope="module")
def sheets():
    return booklet_sheets(INES, open_norths("37.45 -119.3", "2026-05-14"), log_pages=2)


@pytest.fixture(scope="module")
def flat(sheets):
    return print_booklet(sheets, PAPERS["a4"], "2026-05-15", is_flat=True)


def page_numbers(pdf, page):
    return [int(number) for number in re.findall(r"page (\d+)(?!\d)", opened(pdf)[page].get_text())]


def test_the_contents_say_where_every_part_begins(sheets, flat):
    document = opened(flat.pdf)
    listed = " ".join(document[0].get_text().split())
    for one in sheets[1:]:
        title = one.title
        at = int(re.search(rf"{re.escape(title[:47])}\S* (\d+)", listed)[1])
        assert title[:20] in " ".join(document[at - 1].get_text().split())[:60]
    assert flat.pages == document.page_count and tags(flat.pdf)["Document"] == 1


@pytest.mark.parametrize(("name", "size_mm"), [("a4", (297, 210)), ("letter", (279.4, 215.9))])
def test_folded_it_reads_from_page_to_page(sheets, flat, name, size_mm):
    """A sheet's front and back, its left and its right, hold the pages that a folded stack needs."""
    pdf = print_booklet(sheets, PAPERS[name], "2026-05-15").pdf
    document = opened(pdf)
    whole = -(-flat.pages // 4) * 4
    assert document.page_count == whole // 2
    page = document[0]
    assert (page.rect.width * MM_PER_PT, page.rect.height * MM_PER_PT) == pytest.approx(size_mm, abs=0.1)
    held = [page_numbers(pdf, side) for side in range(document.page_count)]
    # Opened at any leaf, the page to the left is even and the next one stands to its right.
    leaves = {}
    for side, numbers in enumerate(held):
        for number in numbers:
            leaves[number] = side
    assert sorted(leaves) == list(range(1, flat.pages + 1))
    for k in range(whole // 4):
        front, back = set(held[2 * k]), set(held[2 * k + 1])
        assert front <= {whole - 2 * k, 2 * k + 1} and back <= {2 * k + 2, whole - 2 * k - 1}
    assert not overlaps(pdf) and not beyond_margin(pdf)


@pytest.mark.parametrize("pages", [1, 4, 5, 8, 31])
def test_every_page_is_on_one_side_of_a_sheet_and_its_leaf_bears_its_neighbour(pages):
    pairs = signature(pages)
    assert sorted(n for pair in pairs for n in pair if n) == list(range(1, pages + 1))
    for front, back in zip(pairs[::2], pairs[1::2], strict=True):
        # Turned over on the short edge, the right half of the front lies on the left half of the back.
        for one, behind in ((front[1], back[0]), (back[1], front[0])):
            assert 0 in (one, behind) or behind == one + 1


def test_without_a_pace_count_there_is_a_page_for_trials():
    titles = [one.title for one in booklet_sheets(Walker(), log_pages=1)]
    assert "Pace trials" in titles and not any(title.startswith("Pace card") for title in titles)
    assert not any(title.startswith("Three norths") for title in titles)


def test_the_command_prints_the_booklet_and_says_how_to_fold_it(tmp_path):
    out = tmp_path / "book.pdf"
    said = run("sheet", "booklet", "--log-pages", "1", "--out", out)
    assert said.code == 0 and "short edge; fold in the middle and staple" in said.out
    assert out.read_bytes().startswith(b"%PDF")
    assert run("sheet", "booklet", "--out", tmp_path / "book.txt").code == 2


def test_pages_to_be_bound_keep_free_the_side_of_the_binding():
    assert bound(PAPERS["a4"]).text_width_mm == PAPERS["a4"].text_width_mm - 10.0
    with pytest.raises(Complaint, match="cut out and not bound"):
        bound(PAPERS["pocket"])
