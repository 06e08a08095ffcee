"""Pages of a map hold all of the walk, share their edges, and are as few as can be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.drawing.labels import Box
from pacewright.drawing.map_grid import frame_bounds
from pacewright.sheets.map_pages import cut_pages

FRAME = Box(4.2, 4.2, 175.8, 224.2)
PANEL = Box(4.2, 4.2, 52.8, 60.0)


@given(st.floats(0, 9000), st.floats(0, 9000), st.sampled_from([5_000.0, 10_000.0, 25_000.0]), st.booleans())
def test_every_corner_of_the_walk_lies_well_inside_a_page(wide, high, scale, is_card):
    frame, margin_mm = (PANEL, 5.0) if is_card else (FRAME, 8.0)
    cut = cut_pages((100.0, 200.0, 100.0 + wide, 200.0 + high), frame, scale, is_card=is_card)
    west, south, east, north = cut.bounds
    margin = margin_mm * scale / 1000 - 1e-6
    assert west <= 100 - margin and east >= 100 + wide + margin
    assert south <= 200 - margin and north >= 200 + high + margin
    pages = [frame_bounds(page.fit) for page in cut.pages()]
    assert len(pages) == cut.count
    assert min(p[0] for p in pages) == pytest.approx(west) and max(p[3] for p in pages) == pytest.approx(
        north
    )


@given(st.floats(200, 9000), st.floats(200, 9000))
def test_one_row_or_column_less_would_not_hold_the_walk(wide, high):
    cut = cut_pages((0.0, 0.0, wide, high), FRAME, 5_000.0)
    for count, side, land in ((cut.across, 171.6, wide), (cut.down, 220.0, high)):
        assert count == 1 or (count - 1) * (side - 15) + 15 < land / 5 + 16


def test_neighbours_share_the_overlap_and_are_named():
    cut = cut_pages((0.0, 0.0, 1_500.0, 1_500.0), FRAME, 5_000.0)
    assert (cut.across, cut.down, cut.overlap_mm) == (2, 2, 15.0)
    first, second, third, fourth = cut.pages()
    assert frame_bounds(first.fit)[2] - frame_bounds(second.fit)[0] == pytest.approx(75)
    assert frame_bounds(third.fit)[3] - frame_bounds(first.fit)[1] == pytest.approx(75)
    assert [cut.beside(page) for page in (first, fourth)] == ["east 2, south 3", "west 3, north 2"]
