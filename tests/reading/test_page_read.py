"""A pencilled page comes back as it was written, or a person is asked to look; nothing is fetched for it."""

from __future__ import annotations

import socket

import numpy as np
import pytest

from pacewright.reading.page_read import SURE, read_page
from pacewright.sheets.log_page import blank_log
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.typesetting import typeset
from support.photographed_page import Camera, Row, photograph, printed, write

CAMERA = Camera(
    tilt_deg=32, tilt_towards_deg=70, turn_deg=188, curl_mm=3, crease_mm=2, shadow=0.4, blur_px=0.8, noise=3,
    wide_px=2100, high_px=2800,
)  # fmt: skip
ROWS = [
    Row("305", "240", ticks=(0,)),
    Row("38", "1185"),
    Row("346", "", ticks=(1,), note=True),
    Row("52", "330", ticks=(3,), note=True),
    Row("97", "70", ticks=(4,)),
    Row("213", "560", struck=True),
    Row("14", "6 7"),
    Row(),
    Row("180", "94"),
]


def photographed(rows, camera, seed=4, name="a5"):
    sheet, boxes = printed(typeset([blank_log(PAPERS[name])], PAPERS[name]))
    return photograph(write(sheet, boxes, rows, np.random.default_rng(seed), camera), camera)


@pytest.fixture(scope="module")
def page():
    data = photographed(ROWS, CAMERA)
    with pytest.MonkeyPatch.context() as patch:

        def refuse(*_):
            raise AssertionError("the reader asked for the network")

        patch.setattr(socket, "socket", refuse)
        return read_page(data)


def test_rows_ticks_and_notes_stand_where_they_were_written(page):
    told = {row.number: (row.ticks, row.has_note) for row in page.rows}
    assert told == {
        1: (("at",), False),
        2: ((), False),
        3: (("see",), True),
        4: (("box right",), True),
        5: (("est",), False),
        6: ((), False),
        7: ((), False),
        9: ((), False),
    }
    assert not any(row.tick_doubt for row in page.rows)


def test_a_digit_that_is_sure_is_the_digit_that_was_written(page):
    written = {number: (row.azimuth, row.count) for number, row in enumerate(ROWS, start=1)}
    sure = right = digits = 0
    for row in page.rows:
        if row.number in (6, 7):
            continue
        for got, true in zip((row.azimuth, row.count), written[row.number], strict=True):
            assert len(got.text) == len(true)
            for digit, chances, one in zip(got.text, got.chances, true, strict=True):
                digits += 1
                right += digit == one
                sure += max(chances) >= SURE
                assert max(chances) < SURE or digit == one
                assert 0.0 < sum(chances) < 1.001
    assert right >= 0.9 * digits and sure >= 0.7 * digits


def test_what_is_struck_out_or_has_a_gap_is_for_a_person(page):
    by_number = {row.number: row for row in page.rows}
    assert by_number[6].azimuth.doubt == by_number[6].count.doubt == "joined"
    assert by_number[7].count.doubt == "gap" and by_number[7].azimuth.doubt in ("", "digit")


def test_a_page_with_nothing_on_it_has_no_rows():
    assert read_page(photographed([], CAMERA)).rows == ()
