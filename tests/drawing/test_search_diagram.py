"""The search drawing: turned with the way, whatever its size."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from pacewright.answers.way import way_back
from pacewright.core.way.search_pattern import expanding_square, overshoot
from pacewright.drawing.search_diagram import draw_search
from support.logs import log_of


def drawn(azimuth, count, sighting=20.0):
    way = way_back(log_of((azimuth, count)))
    square = None if sighting is None else expanding_square(way, sighting)
    return draw_search(way, overshoot(way), square)


@pytest.mark.parametrize("azimuth", [0, 45, 90, 135, 180, 225, 270, 315])
@pytest.mark.parametrize("count", [10, 400, 50_000])
def test_every_point_lies_on_the_page(azimuth, count):
    svg = drawn(azimuth, count, sighting=max(5.0, count / 20))
    ElementTree.fromstring(svg)
    polylines = re.findall(r'points="([^"]+)"', svg)
    assert polylines
    for polyline in polylines:
        for pair in polyline.split():
            x, y = map(float, pair.split(","))
            assert 0 <= x <= 110 and 0 <= y <= 130


def test_the_stop_lies_ahead_and_the_look_behind():
    """Going back north from 400 south: up the page is ahead."""
    svg = drawn(180, 400)
    look, stop = (float(re.search(rf'y="([\d.]+)"[^>]*>{word}<', svg)[1]) for word in ("look", "stop"))
    assert stop < look


def test_without_a_square_the_region_is_still_drawn():
    svg = drawn(30, 400, sighting=None)
    assert 'class="search"' not in svg and "dashed region 95 times in 100" in svg


def test_numbers_of_sides_stand_clear_of_the_way_in():
    """Going back due north the way comes in up the middle; the first side goes on along it."""
    found = re.findall(r'<text x="([\d.]+)"[^>]*>(\d+)<', drawn(180, 400))
    numbers = {int(number): float(x) for x, number in found if number != "0" and int(number) < 30}
    assert len(numbers) >= 8
    assert all(abs(x - 55) > 2.0 for number, x in numbers.items() if number > 1)
