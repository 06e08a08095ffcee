"""The height that words are taken to need is the height that they are given on paper."""

from __future__ import annotations

import pytest

from pacewright.drawing import svg
from pacewright.sheets.blocks import caution, heading, picture, text
from pacewright.sheets.paper import PAPERS, Sheet
from pacewright.sheets.room_taken import body_mm, gap_mm, heights_mm
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import MM_PER_PT, opened

WORDS = "Look for it from 312 on; at 472 stop and search, do not walk on. " * 7
MARK = picture(svg.drawing(20, 4, [svg.rect(0, 0, 20, 4, fill="#000")], title="Mark"))


def foot_of_mark(pdf):
    """How far below the top of the page, or of the first panel, the mark ends, in mm."""
    black = [d["rect"] for d in opened(pdf)[0].get_drawings() if d["fill"] == (0, 0, 0)]
    [rect] = [one for one in black if abs(one.width * MM_PER_PT - 20) < 0.1 and one.height > 5]
    return MM_PER_PT * rect.y1


@pytest.mark.parametrize("name", PAPERS)
@pytest.mark.parametrize(
    "blocks",
    [
        [heading("Cinder Fen", 1)],
        [heading("Cinder Fen, first crossing, and back again by the ditch before the fen was flooded", 1)],
        [heading("Fen", 1), heading("Key to the map")],
        [text(WORDS, size_em=0.85)],
        [text(WORDS, bold=True, size_em=0.92)],
        [caution(WORDS), text("One line.", size_em=0.85)],
    ],
)
def test_words_take_the_height_that_they_are_taken_to_need(name, blocks):
    paper = PAPERS[name]
    made = typeset([Sheet("Sheet", (*blocks, MARK))], paper)
    if paper.panel is None:
        top = paper.margin_mm
    else:
        top = (paper.height_mm - paper.panel.down * paper.panel.height_mm) / 2 + paper.panel.pad_mm
    wanted = top + heights_mm([*blocks, MARK], paper) - gap_mm(paper)
    # Never more than is reckoned with, and little less: a map gives way to it.
    assert -1.5 < foot_of_mark(made) - wanted < 0.7


@pytest.mark.parametrize("name", PAPERS)
def test_a_picture_of_the_whole_height_fills_a_page_and_a_taller_one_does_not_fit(name):
    paper = PAPERS[name]

    def panels(height_mm):
        drawn = picture(svg.drawing(20, height_mm, [], title="Tall"))
        document = opened(typeset([Sheet("Sheet", (drawn, text("After.")))], paper))
        return int(document[0].get_text().split("/")[1].split()[0]) if paper.is_card else document.page_count

    high = body_mm(paper) - heights_mm([text("After.")], paper) - gap_mm(paper)
    assert panels(high - 0.5) == 1
    assert panels(high + 4.0) == 2
