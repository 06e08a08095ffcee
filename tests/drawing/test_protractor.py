"""The protractor's drawing: sizes refused and sizes made, in every unit."""

from __future__ import annotations

import re

import pytest

from pacewright.drawing.protractor import draw_protractor
from pacewright.exceptions import ValueComplaint


@pytest.mark.parametrize(("unit", "ticks"), [("degrees", 360), ("mils", 320), ("gon", 400)])
def test_a_large_dial_has_every_tick(unit, ticks):
    assert draw_protractor(80, unit).count('class="tick"') == ticks


@pytest.mark.parametrize("unit", ["degrees", "mils", "gon"])
@pytest.mark.parametrize("radius_mm", [20, 27.9, 41, 62, 150])
def test_neither_ticks_nor_numbers_touch_their_neighbours(unit, radius_mm):
    drawn = draw_protractor(radius_mm, unit)
    assert 2 * 3.1416 * radius_mm / drawn.count('class="tick"') >= 0.8 or radius_mm <= 20
    sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', drawn)]
    # All but the word of the unit.
    numbers = (len(sizes) - 1) // 2
    digits = {"degrees": 3, "mils": 4, "gon": 3}[unit]
    assert max(sizes) * 0.602 * digits <= 2 * 3.1416 * 0.865 * radius_mm / numbers
    assert min(sizes) >= (2.4 if radius_mm > 25 else 1.2)


@pytest.mark.parametrize("radius_mm", [0, 19.9, 151, float("nan"), float("inf"), -30])
def test_a_radius_that_cannot_be_read_is_refused(radius_mm):
    with pytest.raises(ValueComplaint, match="cannot be read"):
        draw_protractor(radius_mm)
