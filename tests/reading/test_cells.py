"""The ink of a box is that of its digit alone, where the rule before it has been shifted by a crease."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from pacewright.drawing.log_grid import LOG_GRIDS
from pacewright.reading.bends import PX_PER_MM
from pacewright.reading.cells import number_ink

GRID = LOG_GRIDS[0]


def page_with(*strokes):
    """A flattened page with strokes in the first box of its first azimuth: mm of that box, ink 0.6."""
    ink = np.zeros((round(GRID.height_mm * PX_PER_MM), round(GRID.width_mm * PX_PER_MM)), np.float32)
    corner = np.array([GRID.azimuth_mm, GRID.row_top_mm(0)])
    for stroke in strokes:
        places = np.round((np.array(stroke) + corner) * PX_PER_MM).astype(np.int32)
        cv2.polylines(ink, [places], False, 0.6, 3)
    return ink


SEVEN = [(3.0, 1.6), (5.0, 1.6), (3.8, 5.2)]
ONE = [(3.0, 0.0), (3.1, 6.8)]


@pytest.mark.parametrize("rule", [[(1.6, -0.5), (1.6, 7.3)], [(1.7, -0.5), (1.7, 3.0), (1.2, 7.3)]])
def test_a_rule_that_a_crease_has_shifted_into_the_box_is_no_part_of_its_digit(rule):
    alone, beside = (
        number_ink(page_with(*all_of), GRID, 0, GRID.azimuth_mm) for all_of in ([SEVEN], [SEVEN, rule])
    )
    assert alone.digits[0] is not None and np.array_equal(alone.digits[0], beside.digits[0])


def test_a_1_from_rule_to_rule_is_a_digit_and_so_is_what_stands_before_another_stroke():
    assert number_ink(page_with(ONE), GRID, 0, GRID.azimuth_mm).digits[0] is not None
    hook = [(1.2, 1.5), (1.2, 3.4), (2.6, 3.4)]
    both = number_ink(page_with(hook, ONE), GRID, 0, GRID.azimuth_mm).digits[0]
    assert both is not None and both.shape[1] > 1.5 * PX_PER_MM
