"""Rulers whatever their unit, and what is refused."""

from __future__ import annotations

import re

import pytest

from pacewright.drawing.rulers import Ruler, draw_rulers
from pacewright.exceptions import ValueComplaint


def ticks(drawn):
    return [float(x) for x in re.findall(r'<line x1="([\d.]+)"[^>]*class="tick"', drawn)]


@pytest.mark.parametrize("mm_per_unit", [1e-6, 0.0037, 0.04, 0.2, 0.32, 0.9, 1.0, 2.04, 13.0, 60.0, 1e4])
def test_ticks_stand_at_the_smallest_round_step_that_the_eye_tells_apart(mm_per_unit):
    at = ticks(draw_rulers([Ruler("a ruler", mm_per_unit)], 180))
    steps = (digit * 10.0**power * mm_per_unit for power in range(-6, 9) for digit in (1, 2, 5))
    step_mm = min(step for step in steps if step >= 0.9 - 1e-9)
    # From 2 mm inside the left edge on, as many as 173 mm hold.
    assert at == pytest.approx([2.0 + k * step_mm for k in range(int(173 / step_mm + 1e-9) + 1)], abs=0.006)


def test_a_long_label_stays_on_the_paper():
    drawn = draw_rulers([Ruler("paces of somebody with a very long name at 1:5000", 0.3)], 57, 50)
    size = float(re.search(r'font-size="([\d.]+)" font-weight="bold"', drawn)[1])
    assert size * 0.602 * 49 <= 57


@pytest.mark.parametrize("mm_per_unit", [0.0, -1.0, float("nan"), float("inf")])
def test_a_unit_that_is_no_length_is_refused(mm_per_unit):
    with pytest.raises(ValueComplaint, match="is no unit of a ruler"):
        draw_rulers([Ruler("a ruler", mm_per_unit)], 180)


def test_a_check_line_longer_than_the_paper_is_refused():
    with pytest.raises(ValueComplaint, match="a check line of 100 mm does not fit 57 mm"):
        draw_rulers([], 57)


@pytest.mark.parametrize("width_mm", [57.0, 126.0, 180.0])
def test_the_words_of_the_check_line_are_wrapped_and_not_made_small(width_mm):
    drawn = draw_rulers([Ruler("a ruler", 0.3)], width_mm, 50)
    words = re.findall(r'font-size="2.85"[^>]*>([^<]+)<', drawn)
    assert " ".join(words) == "check: this line measures 50 mm, or all is out of scale"
    lowest = max(float(y) for y in re.findall(r' y="([\d.]+)" font-size="2.85"', drawn))
    assert lowest < float(re.search(r'height="([\d.]+)mm"', drawn)[1])
