"""A page that was not printed by us is read within the frame that a person set, its digits without boxes."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from pacewright.exceptions import FormatComplaint, ValueComplaint
from pacewright.reading.framed import Frame, read_framed
from support.handwriting import handwritten

ROWS = [("305", "240"), ("38", "185"), ("", ""), ("52", "330"), ("97", "70"), ("213", "560"), ("180", "94")]
ROW_PX, WIDE_PX, LEFT_PX, TOP_PX = 110, 1300, 150, 200
COLUMNS = (0.3, 0.58)


def note_book(is_ruled, rng):
    """A page of a notebook, its numbers from the NIST collection, a word in the notes of its second row."""
    page = np.full((TOP_PX + ROW_PX * len(ROWS) + 200, WIDE_PX + 300), 235, np.uint8)
    if is_ruled:
        for row in range(len(ROWS) + 1):
            y = TOP_PX + row * ROW_PX
            cv2.line(page, (LEFT_PX - 80, y), (LEFT_PX + WIDE_PX + 80, y), 150, 3)
    for row, numbers in enumerate(ROWS):
        for text, share in zip(numbers, (0.03, COLUMNS[0] + 0.03), strict=True):
            x = LEFT_PX + round(share * WIDE_PX)
            for letter in text:
                image = handwritten()[int(letter)][rng.integers(500)]
                large = cv2.resize(image, (84, 84), interpolation=cv2.INTER_CUBIC)
                rows, columns = np.nonzero(large > 80)
                large = large[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
                y = TOP_PX + row * ROW_PX + 20
                under = page[y : y + large.shape[0], x : x + large.shape[1]]
                under[:] = np.minimum(under, 235 - np.clip(large.astype(int) - 60, 0, 180))
                x += large.shape[1] + 22
    y = TOP_PX + ROW_PX + 40
    for word in range(3):
        x = LEFT_PX + 900 + 90 * word
        cv2.polylines(
            page, [np.array([(x, y + 30), (x + 25, y), (x + 40, y + 35), (x + 70, y + 5)])], False, 60, 5
        )
    return page


def photographed(page):
    """The page seen from the side, as a JPEG, and where the corners of its rows came to lie."""
    high, wide = page.shape
    seen = np.array([(40, 60), (1500, 20), (1580, 1240), (90, 1150)], np.float32)
    matrix = cv2.getPerspectiveTransform(
        np.array([(0, 0), (wide, 0), (wide, high), (0, high)], np.float32), seen
    )
    picture = cv2.warpPerspective(page, matrix, (1650, 1300), borderValue=90)
    right, foot = LEFT_PX + WIDE_PX, TOP_PX + ROW_PX * len(ROWS)
    corners = np.array([[(LEFT_PX, TOP_PX), (right, TOP_PX), (right, foot), (LEFT_PX, foot)]], np.float32)
    placed = cv2.perspectiveTransform(corners, matrix)[0]
    return cv2.imencode(".jpg", picture)[1].tobytes(), tuple((float(x), float(y)) for x, y in placed)


@pytest.mark.parametrize(("is_ruled", "rows"), [(True, 0), (True, 7), (False, 7)])
def test_numbers_without_boxes_stand_in_their_rows_or_are_in_doubt(is_ruled, rows):
    data, corners = photographed(note_book(is_ruled, np.random.default_rng(5)))
    page = read_framed(data, Frame(corners, COLUMNS, rows))
    assert [row.number for row in page.rows] == [1, 2, 4, 5, 6, 7]
    assert [row.number for row in page.rows if row.has_note] == [2]
    digits = right = 0
    for row in page.rows:
        for got, true in zip((row.azimuth, row.count), ROWS[row.number - 1], strict=True):
            if got.doubt in ("joined", "small"):
                continue
            assert len(got.text) == len(true)
            for digit, one, chances in zip(got.text, true, got.chances, strict=True):
                digits += 1
                right += digit == one
                assert digit == one or got.doubt or max(chances) >= 0.5
    assert digits >= 24 and right >= 0.9 * digits
    assert page.picture is not None and len(page.picture.row_tops) == 8


def test_a_page_with_nothing_written_has_no_rows_in_a_frame():
    blank = np.full((1100, 1600), 235, np.uint8)
    data, corners = photographed(blank)
    assert read_framed(data, Frame(corners, COLUMNS, 7)).rows == ()
    with pytest.raises(ValueComplaint, match="rows of this page are not to be told apart"):
        read_framed(data, Frame(corners, COLUMNS))


SQUARE = ((100.0, 100.0), (900.0, 100.0), (900.0, 900.0), (100.0, 900.0))


@pytest.mark.parametrize(
    ("frame", "said"),
    [
        (Frame(SQUARE[:3], COLUMNS), "a frame has four corners"),
        (Frame((*SQUARE[:3], (100.0, float("nan"))), COLUMNS), "a frame has four corners"),
        (Frame((*SQUARE[:3], (-9.0, 900.0)), COLUMNS), "outside of the photograph, which has 1000 by 1000"),
        (Frame(SQUARE[::-1], COLUMNS), "do not go round a page"),
        (Frame((SQUARE[0],) * 4, COLUMNS), "do not go round a page"),
        (Frame(SQUARE, (0.6, 0.3)), "are no column lines"),
        (Frame(SQUARE, COLUMNS, 500), "500 is no number of rows"),
    ],
)
def test_a_frame_that_is_none_is_refused_in_one_sentence(frame, said):
    data = cv2.imencode(".jpg", np.full((1000, 1000), 235, np.uint8))[1].tobytes()
    with pytest.raises(ValueComplaint) as refused:
        read_framed(data, frame)
    assert said in refused.value.what and refused.value.do and "\n" not in str(refused.value)


def test_what_is_no_photograph_has_no_frame():
    with pytest.raises(FormatComplaint, match="this is not a photograph"):
        read_framed(b"azimuth,count,notes\n", Frame(SQUARE, COLUMNS, 5))
