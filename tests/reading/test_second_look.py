"""The second opinion knows real handwriting it was not taught with, alone and beside the first."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.reading import digits
from pacewright.reading.digits import digit_chances
from pacewright.reading.page_read import SURE
from pacewright.reading.second_look import second_look, stroke_directions
from support.handwriting import handwritten


def cut_to_ink(image):
    ink = image.astype(np.float32) / 255
    rows, columns = np.nonzero(ink > 0.3)
    return ink[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]


@pytest.fixture(scope="module")
def hands():
    """Forty of every digit of the NIST collection (`tests/support/handwriting.py`), of its second half."""
    images = handwritten()
    inks = [cut_to_ink(image) for digit in range(10) for image in images[digit][250:290]]
    return inks, np.repeat(np.arange(10), 40)


def test_it_reads_hands_it_was_not_taught_with(hands):
    inks, true = hands
    chances = second_look(inks)
    assert chances.sum(axis=1) == pytest.approx(1.0, abs=1e-5)
    assert np.mean(chances.argmax(axis=1) == true) >= 0.9


def test_how_large_how_thick_and_how_slanted_a_digit_is_changes_little(hands):
    inks, _ = hands
    for ink in inks[::40]:
        larger = np.kron(ink, np.ones((2, 2), np.float32))
        assert float(stroke_directions(ink) @ stroke_directions(larger)) > 0.95


@pytest.mark.slow
def test_both_opinions_together_are_right_oftener_than_either_alone(hands, monkeypatch):
    from pacewright.reading import digits

    inks, true = hands
    both = digit_chances(inks)
    monkeypatch.setattr(digits, "_SECOND", 0.0)
    first = digit_chances(inks)
    right = [np.mean(one.argmax(axis=1) == true) for one in (both, first, second_look(inks))]
    assert right[0] >= 0.98 and right[0] > max(right[1:])


def test_what_the_first_opinion_does_not_take_for_a_digit_is_not_made_one():
    nothing = np.zeros((40, 30), np.float32)
    nothing[5:35, 3:27] = 1
    assert digit_chances([nothing]).max() < SURE


def test_a_2_that_both_opinions_take_for_a_9_is_in_doubt_by_its_foot_and_a_9_is_not(monkeypatch):
    def nine(inks):
        return np.tile(np.eye(10)[9], (len(inks), 1))

    monkeypatch.setattr(digits, "_recogniser", lambda: (None, []))
    monkeypatch.setattr(digits, "_seen", lambda session, columns, inks, look: nine(inks))
    monkeypatch.setattr(digits, "second_look", nine)
    doubted = {}
    for digit in (2, 9):
        # Of the hands by which the measure of a foot was not chosen.
        chances = digits.digit_chances([cut_to_ink(image) for image in handwritten()[digit][250:]])
        doubted[digit] = np.mean(chances.max(axis=1) < SURE)
        assert np.allclose(chances.sum(axis=1), 1)
    assert doubted[2] > 0.8 and doubted[9] < 0.05
