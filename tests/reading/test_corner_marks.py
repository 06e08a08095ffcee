"""A page is found by its corner marks however it lies, and is what its code says; what hides them is said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.exceptions import FormatComplaint
from pacewright.reading.corner_marks import find_page
from pacewright.reading.photographs import read_photograph
from pacewright.sheets.log_page import blank_log
from pacewright.sheets.paper import PAPERS, bound
from pacewright.sheets.typesetting import typeset
from support.photographed_page import PX_PER_MM, Camera, Row, any_camera, photograph, printed, write

SMALL = {"wide_px": 1350, "high_px": 1800}


@pytest.fixture(scope="module")
def a4():
    return printed(typeset([blank_log(PAPERS["a4"])], PAPERS["a4"]))


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
@pytest.mark.parametrize("is_bound", [False, True])
def test_every_box_is_printed_where_the_reader_looks_for_it(name, is_bound):
    paper = bound(PAPERS[name]) if is_bound else PAPERS[name]
    sheet, boxes = printed(typeset([blank_log(paper, pages=2)], paper), number=1)
    found = find_page(sheet.astype(np.uint8))
    assert (found.code.rows, found.code.page) == (len(boxes.rows), 2)
    grid = found.grid
    places = [
        *((grid.azimuth_mm + at * grid.digit_mm, 30.0, x, None) for at, x in enumerate(boxes.azimuth)),
        *((grid.count_mm + at * grid.digit_mm, 30.0, x, None) for at, x in enumerate(boxes.count)),
        *((60.0, grid.row_top_mm(at), None, top) for at, (top, _) in enumerate(boxes.rows)),
        (60.0, grid.foot_mm, None, boxes.rows[-1][1]),
    ]
    for x, y, seen_x, seen_y in places:
        on_sheet = found.to_photograph @ (x, y, 1.0)
        px = on_sheet[:2] / on_sheet[2] / PX_PER_MM
        if seen_x is not None:
            assert px[0] == pytest.approx(seen_x, abs=0.12)
        if seen_y is not None:
            assert px[1] == pytest.approx(seen_y, abs=0.12)


@pytest.mark.parametrize("seed", range(6))
def test_a_page_is_found_tilted_turned_curled_and_in_shadow(a4, seed):
    camera = replace(any_camera(np.random.default_rng(seed), seed), **SMALL, tilt_deg=[40, 30, 20][seed % 3])
    found = find_page(read_photograph(photograph(a4[0], camera)))
    assert (found.code.paper, found.code.rows, found.code.page) == (1, 23, 1)


@pytest.mark.parametrize("towards_deg", [0, 315])
def test_noughts_that_look_as_large_as_the_ring_do_not_hide_it(a4, towards_deg):
    sheet, boxes = a4
    camera = Camera(wide_px=1800, high_px=2400, tilt_deg=40, tilt_towards_deg=towards_deg)
    noughts = [Row("0000", "0000")] * 20
    page = write(sheet, boxes, noughts, np.random.default_rng(0), camera)
    assert find_page(read_photograph(photograph(page, camera))).code.rows == 23


def test_a_hidden_corner_a_dark_room_and_no_page_at_all_are_told_apart(a4):
    sheet, _ = a4
    hidden = sheet.copy()
    right = hidden[:, hidden.shape[1] // 2 :]
    right[round(55 * PX_PER_MM) : round(70 * PX_PER_MM), right.shape[1] - round(25 * PX_PER_MM) :] = 255
    coded = sheet.copy()
    coded[round(216 * PX_PER_MM) : round(228 * PX_PER_MM), round(30 * PX_PER_MM) : round(60 * PX_PER_MM)] = 30
    for page, camera, said in (
        (hidden, Camera(**SMALL), "one of the four corner marks is missing"),
        (sheet, Camera(**SMALL, light=0.08), "too dark"),
        (np.full_like(sheet, 250), Camera(**SMALL), "no log page"),
        (coded, Camera(**SMALL), "page code"),
    ):
        with pytest.raises(FormatComplaint) as refused:
            find_page(read_photograph(photograph(page, camera)))
        assert said in refused.value.what
