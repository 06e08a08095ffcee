"""A map over several pages: to scale on each, the same line on neighbours, an index, and what is refused."""

from __future__ import annotations

import itertools

import pytest

from pacewright.drawing import svg
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.map_sheets import OVERLAP_MM, MapPages, map_sheets
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import opened, strokes_mm, tags, words


def ruled(page_mm, scale):
    """A stand-in for a map: upright and level lines 50 mm apart, the width of the paper in the key."""
    width, height = page_mm
    lines = [svg.line(x, 0, x, height) for x in range(0, int(width) + 1, 50)]
    lines += [svg.line(0, y, width, y) for y in range(0, int(height) + 1, 50)]
    styled = [svg.group(lines, stroke="#111", stroke_width=0.3)]
    return svg.drawing(width, height, styled, title=f"Ruled {width:.0f}")


def printed(name="a4", scale=5000.0, land_m=(1200.0, 1000.0), draw=ruled):
    return typeset([map_sheets(draw, PAPERS[name], "Cinder Fen", scale, land_m)], PAPERS[name])


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
def test_the_pages_cover_the_land_that_is_wanted(name):
    made = printed(name)
    wide, high = 1200 / 5, 1000 / 5
    room = PAPERS[name].room_mm
    pages = opened(made).page_count - 1
    assert pages * room[0] * room[1] > wide * high
    assert tags(made)["Figure"] == pages + 1
    told = words(made)
    for number in range(1, pages + 1):
        assert f"Map page {number}, 1:5000" in told


def test_every_page_is_to_scale_and_shares_its_edge_with_the_next():
    cut = MapPages(2, 2, (170.0, 220.0))
    at = {(page.row, page.column): (page.left_mm, page.top_mm) for page in cut.pages()}
    assert cut.whole_mm == (2 * 170 - OVERLAP_MM, 2 * 220 - OVERLAP_MM)
    assert at == {(1, 1): (0, 0), (1, 2): (155, 0), (2, 1): (0, 205), (2, 2): (155, 205)}
    made = printed()
    seen = []
    for number in (1, 2):
        lines = [s for s in strokes_mm(made, number) if abs(s[0] - s[2]) < 1e-6 and abs(s[1] - s[3]) > 400]
        upright = sorted(s[0] for s in lines)
        assert len(upright) >= 6
        gaps = [b - a for a, b in itertools.pairwise(upright)]
        assert gaps == pytest.approx([50.0] * len(gaps), abs=0.02)
        seen.append(upright[0])
    # The same line lies one page, less the overlap, farther left on the next page.
    assert seen[0] - seen[1] == pytest.approx(PAPERS["a4"].room_mm[0] - OVERLAP_MM, abs=0.02)


def test_a_page_names_its_neighbours():
    told = words(printed())
    assert "Beside it: east 2, south 3." in told and "Beside it: west 3, north 2." in told


def test_a_map_that_fits_is_one_page_without_an_index():
    made = printed(scale=25_000.0, land_m=(1000.0, 1000.0))
    assert opened(made).page_count == 1
    assert "Neighbouring pages" not in words(made)
    assert opened(printed(scale=None)).page_count == 1


def test_a_key_that_needs_more_room_takes_another_row_of_pages():
    asked = []

    def high(page_mm, scale):
        asked.append(page_mm)
        if page_mm[1] < 600:
            raise ValueComplaint("key and caption leave no room for the map", "Give larger paper")
        return ruled(page_mm, scale)

    printed(draw=high)
    assert len(asked) == 2 and asked[1][1] > asked[0][1]


@pytest.mark.parametrize("scale", [1.0, 1e-9, 100.0])
def test_a_map_of_too_many_pages_is_refused(scale):
    with pytest.raises(ValueComplaint, match=r"this map would take \d+ by \d+ pages"):
        printed(scale=scale)


@pytest.mark.parametrize("scale", [0.0, -1.0, float("nan"), float("inf")])
def test_an_absurd_scale_is_refused(scale):
    with pytest.raises(ValueComplaint, match="is no scale"):
        printed(scale=scale)


def test_a_pocket_card_takes_a_map_only_in_pieces():
    with pytest.raises(ValueComplaint, match="a map does not fit one page of pocket"):
        printed("pocket", scale=None)
    made = printed("pocket", scale=25_000.0, land_m=(1000.0, 1000.0))
    assert "Map page 4, 1:25000" in words(made)


def test_what_the_drawing_refuses_is_refused():
    def never(page_mm, scale):
        raise ValueComplaint("the walk does not fit on this sheet", "Give a larger scale")

    with pytest.raises(ValueComplaint, match="the walk does not fit on this sheet"):
        printed(draw=never)
