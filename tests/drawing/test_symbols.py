"""Each mark and line has the shape and the length that it claims."""

from __future__ import annotations

import itertools
import math
import re
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.drawing import symbols


def elements(*pieces):
    return list(ElementTree.fromstring(f"<g>{''.join(pieces)}</g>").iter())[1:]


def texts(*pieces):
    return [e.text for e in elements(*pieces) if e.tag == "text"]


def points(element):
    numbers = [float(n) for n in re.split("[ ,]", element.get("points"))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def inside(point, outline):
    """Say whether a point is inside an outline, by the sum of the angles under which its sides are seen."""
    total = 0.0
    for (x1, y1), (x2, y2) in zip(outline, [*outline[1:], outline[0]], strict=True):
        one, two = math.atan2(y1 - point[1], x1 - point[0]), math.atan2(y2 - point[1], x2 - point[0])
        total += (two - one + math.pi) % (2 * math.pi) - math.pi
    return abs(total) > math.pi


@pytest.mark.parametrize("unit", ["pace", "metre"])
@pytest.mark.parametrize("mm_per_unit", [0.0123, 0.1, 0.37, 1.0, 7.7, 55.0])
def test_the_scale_bar_is_as_long_as_it_says(mm_per_unit, unit):
    drawn = symbols.scale_bar(10, 20, mm_per_unit, unit, 60)
    baseline = elements(drawn)[0]
    length_mm = float(baseline.get("x2")) - float(baseline.get("x1"))
    many, word = texts(drawn)[1].replace(" ", "").partition(unit)[::2]
    assert length_mm == pytest.approx(float(many) * mm_per_unit, abs=0.01)
    assert 60 / 2.5 - 0.01 <= length_mm <= 60.01
    assert word == ("" if many == "1" else "s")


@given(st.floats(1e-12, 1e12))
def test_a_round_length_is_one_two_or_five_and_a_power_of_ten(longest):
    length = symbols.round_length(longest)
    assert f"{length:.0e}"[0] in "125" and float(f"{length:.0e}") == length
    assert length <= longest * (1 + 1e-8) < 2.51 * length


def test_the_three_norths_point_up_are_told_in_words_and_look_different():
    drawn = {ref: symbols.north_arrow(50, 40, 15, ref) for ref in ("magnetic", "true", "grid")}
    for reference, arrow in drawn.items():
        assert texts(arrow) == [reference, "north"]
        heads = [points(e) for e in elements(arrow) if e.tag == "polygon"]
        tip = min((p for head in heads for p in head), key=lambda p: p[1])
        assert tip == (50, 25)
    tags = {tuple(e.tag for e in elements(arrow)) for arrow in drawn.values()}
    assert len(tags) == 3


def test_the_station_marks_differ_in_shape_not_in_colour_alone():
    drawn = {kind: symbols.station_mark(0, 0, kind) for kind in symbols.MARK_RADIUS_MM}
    shapes = {
        kind: tuple((e.tag, e.get("r"), e.get("width"), e.get("fill") == "#111") for e in elements(mark))
        for kind, mark in drawn.items()
    }
    assert len(set(shapes.values())) == len(shapes)


def test_lines_of_different_meaning_have_different_dashes():
    ends = [(0.0, 0.0), (40.0, 0.0)]
    drawn = [
        symbols.leg_line(*ends),
        symbols.leg_line(*ends, estimated=True),
        symbols.way_back_line(ends),
        symbols.alternative_line(ends),
    ]
    dashes = [elements(piece)[0].get("stroke-dasharray") for piece in drawn]
    assert len(set(dashes)) == 4
    assert dashes[0] is None


def test_a_boxing_goes_square_out_along_and_back_on_the_side_stated():
    # Walking north is up the page, so right is east: x grows.
    way = symbols.boxed_way((50, 90), (50, 10), [("right", 12), ("left", 6)])
    assert way[0] == (50, 90) and way[-1] == (50, 10)
    xs = [round(x, 9) for x, _ in way]
    assert xs == [50, 50, 62, 62, 50, 50, 44, 44, 50, 50]
    assert all(a[1] >= b[1] for a, b in itertools.pairwise(way))


@given(st.floats(0, 360), st.floats(3, 30), st.sampled_from(["right", "left"]))
def test_every_corner_of_a_boxing_is_square_and_the_offset_to_scale(turn_deg, offset, side):
    end = (80 * math.cos(math.radians(turn_deg)), 80 * math.sin(math.radians(turn_deg)))
    way = symbols.boxed_way((0, 0), end, [(side, offset)])
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in itertools.pairwise(way)]
    for (ax, ay), (bx, by) in itertools.pairwise(steps):
        assert ax * bx + ay * by == pytest.approx(0, abs=1e-6)
    assert math.hypot(*steps[1]) == pytest.approx(offset)
    assert math.hypot(*steps[3]) == pytest.approx(offset)


def test_the_obstacle_of_a_boxing_is_hatched_between_the_leg_and_the_way_round():
    drawn = elements(symbols.boxed_leg((0, 0), (60, 0), [("right", 12)]))
    [blot] = [points(e) for e in drawn if e.tag == "polygon"]
    assert any(e.tag == "path" for e in drawn)
    assert min(x for x, _ in blot) > 18 and max(x for x, _ in blot) < 42
    assert min(y for _, y in blot) < 0 < max(y for _, y in blot) < 12


def test_a_leg_of_no_length_with_a_boxing_is_drawn_without_complaint():
    assert set(symbols.boxed_way((5, 5), (5, 5), [("left", 3)])) == {(5, 5)}
    assert elements(symbols.boxed_leg((5, 5), (5, 5), [("left", 3)]))


@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(0, 100)), min_size=3, max_size=9),
    st.sampled_from([45.0, 135.0]),
)
def test_hatching_stays_inside_the_box_of_its_outline(outline, slope_deg):
    for start, end in symbols.hatch_strokes(outline, 2.5, slope_deg):
        for x, y in (start, end):
            assert min(p[0] for p in outline) - 1e-6 <= x <= max(p[0] for p in outline) + 1e-6
            assert min(p[1] for p in outline) - 1e-6 <= y <= max(p[1] for p in outline) + 1e-6


def test_hatching_of_a_hollow_outline_leaves_the_hollow_free():
    hollow = [(0, 0), (40, 0), (40, 40), (30, 40), (30, 10), (10, 10), (10, 40), (0, 40)]
    strokes = symbols.hatch_strokes(hollow, 2.5, 45.0)
    assert len(strokes) > 15
    for (x1, y1), (x2, y2) in strokes:
        assert inside(((x1 + x2) / 2, (y1 + y2) / 2), hollow)


def test_an_arrow_head_has_its_tip_where_the_arrow_ends():
    [head] = elements(symbols.arrow_head((0, 0), (30, 40), 5, solid=True))
    left, tip, right = points(head)
    assert tip == (30, 40)
    assert ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2) == pytest.approx((27, 36), abs=0.01)


def test_an_arrow_without_direction_has_no_head():
    assert symbols.arrow_head((3, 3), (3, 3), 4, solid=True) == ""
    assert symbols.misclosure_arrow((3, 3), (3, 3)) == ""
    assert elements(symbols.way_back_line([(3, 3), (3, 3)]))[0].tag == "polyline"


def test_an_arrival_is_left_open_and_a_suspect_is_hatched():
    """Maps show land that may not be entered by hatching in colour (common practice): a goal is none."""
    square = [(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)]
    for style, hatched, dashed in (("station", 0, False), ("arrival", 0, True), ("suspect", 1, True)):
        drawn = elements(symbols.region_shape(square, style))
        assert sum(one.tag == "path" for one in drawn) == hatched
        (edge,) = (one for one in drawn if one.tag == "polygon")
        assert edge.get("fill") == "none" and (edge.get("stroke-dasharray") is not None) == dashed


def test_measuring_crosses_lie_ten_millimetres_apart_and_on_the_start():
    d = elements(symbols.measuring_crosses((33.3, 47.7), (10, 10, 90, 90), 10))[0].get("d")
    level = re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) \2", d)
    middles = {((float(a) + float(c)) / 2, float(b)) for a, b, c in level}
    assert any(middle == pytest.approx((33.3, 47.7)) for middle in middles)
    assert sorted({round(x, 1) for x, _ in middles}) == [13.3, 23.3, 33.3, 43.3, 53.3, 63.3, 73.3, 83.3]
