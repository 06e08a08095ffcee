"""Contours run where the land has their height, far enough apart, and say what that height is."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from pacewright.drawing.contours import (
    INDEX_EVERY,
    Contour,
    choose_interval_m,
    contour_labels,
    contour_strokes,
    find_contours,
    on_paper,
    thinned,
)
from pacewright.drawing.hill_shade import SHADE_STEPS, darkness, level_strokes, shade_strokes, strokes_where
from pacewright.drawing.labels import Box
from pacewright.drawing.page_fit import PageFit
from pacewright.ground.terrain import Terrain, height_at

FRAME = Box(10, 10, 190, 190)


def surface(function, count=121, cell=10.0):
    blank = Terrain(np.zeros((count, count), np.float32), 0.0, count * cell, cell, cell, "EPSG:32611")
    east, north = np.meshgrid(blank.centres_east_m, blank.centres_north_m)
    heights = function(east, north).astype(np.float32)
    return Terrain(heights, 0.0, count * cell, cell, cell, "EPSG:32611")


def cone(slope=0.5):
    return surface(lambda e, n: 1000 - slope * np.hypot(e - 605, n - 605))


def plane(rise_east=0.0, rise_north=0.0):
    return surface(lambda e, n: 500 + rise_east * e + rise_north * n)


def fit(scale=10_000, middle=605.0):
    return PageFit(FRAME, middle, middle, scale / 100)


def test_the_contours_of_a_cone_are_circles_of_the_right_size():
    # A cone that falls 1 in 2: the contour 100 m below its top is 200 m from its axis.
    contours = find_contours(cone(), 50.0)
    assert len(contours) > 5
    for contour in contours:
        away = np.hypot(*(contour.points - 605).T)
        assert away == pytest.approx(2 * (1000 - contour.level_m), abs=0.6)


def test_every_point_of_a_contour_has_the_height_that_the_land_has_there():
    rough = surface(lambda e, n: 300 + 80 * np.sin(e / 90) * np.cos(n / 70) + 0.1 * e)
    contours = find_contours(rough, 20.0)
    assert all(c.level_m % 20 == 0 for c in contours)
    assert len({c.level_m for c in contours}) > 8
    for contour in contours:
        # Straight within a cell here, hyperbolic in the bilinear height: apart by a little of a cell's rise.
        assert height_at(rough, *contour.points.T) == pytest.approx(contour.level_m, abs=0.25)


def test_every_fifth_contour_is_an_index_contour():
    # Common practice; their heights are whole multiples of five intervals.
    contours = find_contours(plane(rise_east=0.5), 10.0)
    assert {c.level_m for c in contours} == set(range(510, 1110, 10))
    assert all((c.level_m % (10 * INDEX_EVERY) == 0) == c.is_index for c in contours)


def test_a_contour_ends_at_a_hole():
    land = cone()
    heights = land.elevation_m.copy()
    heights[40:80, 80:] = np.nan
    holed = Terrain(heights, 0.0, land.north_m, 10.0, 10.0, land.crs)
    contours = find_contours(holed, 50.0)
    assert len(contours) > 5
    for contour in contours:
        inside = np.isnan(height_at(holed, *contour.points.T))
        assert not inside.any()


def test_level_ground_at_just_a_contours_height_has_no_contour():
    assert find_contours(surface(lambda e, n: 0 * e + 500), 10.0) == []


@pytest.mark.parametrize(
    ("scale", "interval"), [(5_000, 5.0), (10_000, 10.0), (25_000, 20.0), (50_000, 50.0)]
)
def test_the_interval_grows_with_the_scale(scale, interval):
    # A plane of 50 %: 1.1 mm on paper at 1:10 000 is 11 m across and 5.5 m up, so every 10 m.
    assert choose_interval_m(plane(rise_east=0.5), scale) == interval


@pytest.mark.parametrize("scale", [5_000, 10_000, 25_000, 50_000])
@pytest.mark.parametrize("rise", [0.05, 0.2, 0.6])
def test_contours_on_an_even_slope_keep_a_millimetre_apart_on_paper(scale, rise):
    interval = choose_interval_m(plane(rise_east=rise), scale)
    assert interval / rise / scale * 1000 >= 1.0


def test_nearly_level_land_still_gets_a_few_contours():
    gentle = plane(rise_east=0.01)
    assert len({c.level_m for c in find_contours(gentle, choose_interval_m(gentle, 50_000))}) >= 4


def test_thinning_keeps_the_ends_and_moves_no_point_farther_than_asked():
    turn = np.linspace(0, 2, 400)
    line = np.column_stack([50 * np.cos(turn), 50 * np.sin(turn)])
    thin = thinned(line, 0.03)
    assert len(thin) < 60
    assert np.array_equal(thin[[0, -1]], line[[0, -1]])
    # Between two kept points the arc stands off its chord by its sagitta.
    chords = np.hypot(*np.diff(thin, axis=0).T)
    assert (50 - np.sqrt(50**2 - (chords / 2) ** 2)).max() <= 0.03 + 1e-6


def test_tiny_rings_are_left_out_on_paper():
    ring = np.array([[0, 0], [3, 0], [3, 3], [0, 0.0]])
    assert on_paper([Contour(10.0, False, ring)], fit()) == []
    assert len(on_paper([Contour(10.0, False, 20 * ring)], fit())) == 1


def test_index_contours_are_drawn_heavier():
    lines = on_paper(find_contours(cone(), 10.0), fit())
    thin, heavy = (float(re.search(r'stroke-width="([\d.]+)"', s)[1]) for s in contour_strokes(lines))
    assert heavy >= 2 * thin


def labels_of(drawn):
    for text in drawn:
        turn, x, y = (float(v) for v in re.search(r"rotate\((\S+) (\S+) (\S+)\)", text).groups())
        yield int(re.search(r">(\d+)<", text)[1]), turn, x, y


def test_a_label_stands_on_its_contour_and_says_its_height():
    placed = fit(5_000)
    lines = on_paper(find_contours(cone(), 10.0), placed)
    found = list(labels_of(contour_labels(lines, FRAME, [])))
    assert len(found) >= 5
    for level, turn, x, y in found:
        away_mm = math.hypot(x - 100, y - 100)
        # The chord of a label lies a little inside its circle.
        assert away_mm == pytest.approx(2 * (1000 - level) / 5, abs=0.6)
        assert -90 <= turn <= 90
        assert level % 50 == 0
        # Along the contour: square to the radius.
        along = math.radians(turn)
        assert abs(((x - 100) * math.cos(along) + (y - 100) * math.sin(along)) / away_mm) < 0.1


def test_labels_leave_what_is_taken_free_and_stay_in_the_room():
    lines = on_paper(find_contours(cone(), 10.0), fit(5_000))
    taken = [Box(10, 10, 100, 190)]
    found = list(labels_of(contour_labels(lines, FRAME, taken)))
    assert found
    assert all(x > 100 and x < 190 and 10 < y < 190 for _, _, x, y in found)


def test_without_an_index_contour_the_others_are_labelled():
    lines = [c for c in on_paper(find_contours(cone(), 10.0), fit(5_000)) if not c.is_index]
    assert contour_labels(lines, FRAME, [])


def test_slopes_away_from_the_light_are_dark_and_those_that_face_it_are_not():
    dark = darkness(cone(0.7))
    north_west, south_east = dark[30, 30], dark[90, 90]
    assert north_west == 0
    assert south_east > SHADE_STEPS[1][0]
    assert darkness(plane()).max() == 0


def test_the_darkness_of_a_slope_is_lamberts_cosine():
    # A plane of 45 degrees that falls straight away from a light 45 degrees high is grazed: all dark.
    rise = math.sqrt(0.5)
    # It rises to the north-west, so it falls to the south-east.
    assert darkness(plane(-rise, rise)) == pytest.approx(1.0, abs=1e-3)
    # Falling north-east at 45 degrees it gets sin 45 x cos 45 = 1/2, against sin 45 on the level.
    assert darkness(plane(-rise, -rise)) == pytest.approx(1 - 0.5 / math.sin(math.pi / 4), abs=1e-3)


def test_gentle_land_is_shaded_as_well():
    assert darkness(cone(0.08)).max() > SHADE_STEPS[0][0]


def ends_of(drawn):
    return np.array([[float(v) for v in p.split()] for d in drawn for p in re.findall(r"[ML]([-\d. ]+)", d)])


def test_shade_lies_on_the_far_side_of_a_hill_and_inside_the_frame():
    points = ends_of(shade_strokes(cone(0.7), fit(10_000)))
    assert len(points) > 50
    assert (points >= 9.9).all() and (points <= 190.1).all()
    # None in the quarter that faces the light, and most in the one that faces away.
    assert not ((points[:, 0] < 98) & (points[:, 1] < 98)).any()
    assert ((points[:, 0] > 100) & (points[:, 1] > 100)).mean() > 0.5


def test_level_strokes_lie_on_the_level_ground_only():
    share = np.zeros((121, 121))
    share[40:60, 20:90] = 1.0
    points = ends_of(level_strokes(share, plane(), fit(10_000)))
    left, right = (20 * 10 + 5 - 605) / 10 + 100, (89 * 10 + 5 - 605) / 10 + 100
    assert points[:, 0].min() == pytest.approx(left, abs=1.0)
    assert points[:, 0].max() == pytest.approx(right, abs=1.0)
    # Rows 40 to 59 of 121 from the top lie 20.5 to 1 mm above the middle of the frame.
    assert (points[:, 1] > 100 - 21).all() and (points[:, 1] < 100).all()


def test_strokes_lie_on_lines_fixed_to_the_page():
    strokes = strokes_where(lambda x, y: np.ones(x.shape), 0.5, FRAME, 2.0, 30.0, 0.5)
    assert len(strokes) > 20
    turn = math.radians(30)
    for start, end in strokes:
        across = [(y * math.cos(turn) - x * math.sin(turn) - 0.5) / 2.0 for x, y in (start, end)]
        assert across == pytest.approx([round(across[0])] * 2, abs=1e-6)
