"""Paper sizes, and the folded card with its cut and fold marks."""

from __future__ import annotations

import pytest

from pacewright.sheets.blocks import Column, table, text
from pacewright.sheets.paper import PAPERS, sheet
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import MM_PER_PT, opened, strokes_mm, words

ROWS = table([Column("no.", mm=9), Column("notes")], [[str(i), "a note"] for i in range(60)], row_mm=6.0)


@pytest.mark.parametrize(
    ("name", "size_mm"),
    [
        ("a4", (210, 297)),  # ISO 216
        ("a5", (148, 210)),  # ISO 216
        ("letter", (8.5 * 25.4, 11 * 25.4)),  # ANSI/ASME Y14.1
        ("pocket", (297, 210)),
        ("pocket-letter", (11 * 25.4, 8.5 * 25.4)),
    ],
)
def test_a_page_has_the_size_of_its_paper(name, size_mm):
    made = typeset([sheet("A sheet", [ROWS])], PAPERS[name])
    for page in opened(made):
        assert (page.rect.width * MM_PER_PT, page.rect.height * MM_PER_PT) == pytest.approx(size_mm, abs=0.05)


@pytest.mark.parametrize("name", ["pocket", "pocket-letter"])
def test_cut_marks_and_folds_lie_a_panel_apart(name):
    made = typeset([sheet("A sheet", [ROWS])], PAPERS[name])
    upright = [s for s in strokes_mm(made) if abs(s[0] - s[2]) < 1e-6]
    cuts = sorted({round(s[0], 2) for s in upright if abs(abs(s[1] - s[3]) - 3.5) < 0.01})
    assert cuts[-1] - cuts[0] == pytest.approx(260.0, abs=0.02)
    folds = sorted({round(s[0], 2) for s in upright if abs(s[1] - s[3]) > 186.0})
    assert [fold - cuts[0] for fold in folds] == pytest.approx([65.0, 130.0, 195.0], abs=0.02)
    across = [s for s in strokes_mm(made) if abs(s[1] - s[3]) < 1e-6 and abs(s[0] - s[2]) > 260.0]
    top = min(s[1] for s in strokes_mm(made) if abs(s[1] - s[3]) < 1e-6)
    assert [s[1] - top for s in across] == pytest.approx([93.0], abs=0.02)
    assert "260 mm from corner to corner" in words(made)


@pytest.mark.parametrize("name", ["pocket", "pocket-letter"])
def test_nothing_is_written_across_a_fold(name):
    made = typeset([sheet("A sheet", [text("word " * 150), ROWS])], PAPERS[name])
    panel = PAPERS[name].panel
    left = (PAPERS[name].width_mm - 4 * panel.width_mm) / 2
    top = (PAPERS[name].height_mm - 2 * panel.height_mm) / 2
    for x1, y1, x2, y2, *_ in (w for page in opened(made) for w in page.get_text("words")):
        if not top < y1 * MM_PER_PT < PAPERS[name].height_mm - top:
            continue
        columns = {int((x * MM_PER_PT - left) // panel.width_mm) for x in (x1, x2)}
        rows = {int((y * MM_PER_PT - top) // panel.height_mm) for y in (y1, y2)}
        assert len(columns) == len(rows) == 1


@pytest.mark.parametrize("name", ["pocket", "pocket-letter"])
@pytest.mark.parametrize("rows", [3, 30, 60])
def test_no_mark_crosses_how_to_cut_the_card(name, rows):
    body = table([Column("no.", mm=9)], [[str(i)] for i in range(rows)], row_mm=6.0)
    made = typeset([sheet("A sheet", [body])], PAPERS[name])
    page = opened(made)[0]
    found = [*page.search_for("Print at 100 %"), *page.search_for("cut at the corners")]
    assert found
    for box in (tuple(MM_PER_PT * part for part in one) for one in found):
        for x1, y1, x2, y2 in strokes_mm(made):
            aside = max(x1, x2) < box[0] or min(x1, x2) > box[2]
            assert aside or max(y1, y2) <= box[1] + 0.4 or min(y1, y2) >= box[3]
        # A printer leaves the outermost 4 mm of the paper white (common practice).
        assert box[3] < PAPERS[name].height_mm - 4.0


def test_a_card_keeps_every_row_in_order():
    told = words(typeset([sheet("A sheet", [ROWS])], PAPERS["pocket"]))
    places = [told.index(f" {i} a note") for i in range(60)]
    assert places == sorted(places)
