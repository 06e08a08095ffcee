"""Heights, slopes and level ground agree with SciPy and with surfaces whose slope is known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.ground.terrain import (
    Terrain,
    aspect_deg,
    gradient,
    height_at,
    level_areas,
    mean_of_blocks,
    resample,
    slope_deg,
    window,
)

CRS = "EPSG:32611"


def land(heights, cell=30.0, west=500_000.0, north=4_000_000.0, cell_north=None):
    return Terrain(np.asarray(heights, dtype=np.float32), west, north, cell, cell_north or cell, CRS)


def surface(function, shape=(40, 50), cell=10.0):
    """A surface of east and north, taken at the middles of the cells."""
    blank = land(np.zeros(shape), cell)
    east, north = np.meshgrid(blank.centres_east_m, blank.centres_north_m)
    return land(function(east - 500_000.0, north - 4_000_000.0), cell), east - 500_000.0, north - 4_000_000.0


def rough(shape=(12, 9), seed=4):
    return land(np.random.default_rng(seed).uniform(0, 500, shape), cell=30.0, cell_north=20.0)


def test_heights_between_cells_are_those_of_scipys_linear_interpolation():
    terrain = rough()
    reference = RegularGridInterpolator(
        (terrain.centres_north_m[::-1], terrain.centres_east_m), terrain.elevation_m[::-1].astype(float)
    )
    chance = np.random.default_rng(5)
    east = chance.uniform(terrain.centres_east_m[0], terrain.centres_east_m[-1], 300)
    north = chance.uniform(terrain.centres_north_m[-1], terrain.centres_north_m[0], 300)
    assert height_at(terrain, east, north) == pytest.approx(
        reference(np.column_stack([north, east])), abs=1e-6
    )


def test_the_middle_of_a_cell_has_the_height_of_the_cell():
    terrain = rough()
    heights = height_at(terrain, terrain.centres_east_m[None, :], terrain.centres_north_m[:, None])
    assert heights == pytest.approx(terrain.elevation_m, abs=1e-3)


def test_the_height_outside_the_land_is_not_known():
    terrain = land([[10, 20], [30, 40]])
    west, south, east, north = terrain.bounds
    outside = height_at(
        terrain, [west - 0.1, east + 0.1, west + 5, np.nan], [south + 5, north - 5, north + 1, north]
    )
    assert np.isnan(outside).all()
    assert height_at(terrain, west, north) == 10


def test_a_hole_is_unknown_and_leaves_the_cells_beside_it_known():
    heights = np.full((5, 5), 100.0)
    heights[2, 2] = np.nan
    terrain = land(heights)
    east, north = terrain.centres_east_m, terrain.centres_north_m
    assert np.isnan(height_at(terrain, east[2] + 10, north[2]))
    assert height_at(terrain, east[1], north[2]) == 100


def test_a_plane_has_its_own_slope_and_aspect_to_its_very_edge():
    # A plane that rises 3 in 10 to the east and 4 in 10 to the north: slope 1/2, falling south-west.
    terrain, _, _ = surface(lambda e, n: 1000 + 0.3 * e + 0.4 * n)
    assert slope_deg(terrain) == pytest.approx(np.degrees(np.arctan(0.5)), abs=1e-2)
    assert aspect_deg(terrain) == pytest.approx(180 + np.degrees(np.arctan2(0.3, 0.4)), abs=1e-2)


def test_slope_on_a_curved_surface_is_the_derivative_of_its_formula():
    terrain, east, north = surface(lambda e, n: 1000 + 0.002 * e**2 - 0.001 * n**2 + 0.0005 * e * n)
    to_east, to_north = gradient(terrain)
    # Central differences of a surface of the second degree are its derivatives, inside the edge.
    inside = (slice(1, -1), slice(1, -1))
    assert to_east[inside] == pytest.approx((0.004 * east + 0.0005 * north)[inside], abs=1e-3)
    assert to_north[inside] == pytest.approx((-0.002 * north + 0.0005 * east)[inside], abs=1e-3)


def test_the_gradient_is_horns_weighted_mean_of_numpys_central_differences():
    # Horn 1981: the difference across a row, weighted 1, 2, 1 over three rows.
    terrain = rough()
    z = terrain.elevation_m.astype(float)
    across = np.gradient(z, 30.0, axis=1)
    down = -np.gradient(z, 20.0, axis=0)
    to_east, to_north = gradient(terrain)
    horn_east = (across[:-2] + 2 * across[1:-1] + across[2:])[:, 1:-1] / 4
    horn_north = (down[:, :-2] + 2 * down[:, 1:-1] + down[:, 2:])[1:-1] / 4
    assert to_east[1:-1, 1:-1] == pytest.approx(horn_east, abs=1e-9)
    assert to_north[1:-1, 1:-1] == pytest.approx(horn_north, abs=1e-9)


@pytest.mark.parametrize(
    ("rise_east", "rise_north", "falls_to"), [(0, -1, 0), (-1, 0, 90), (0, 1, 180), (1, 0, 270)]
)
def test_a_slope_falls_to_the_side_that_is_lower(rise_east, rise_north, falls_to):
    terrain, _, _ = surface(lambda e, n: 500 + rise_east * e + rise_north * n, (5, 5))
    assert aspect_deg(terrain)[2, 2] == pytest.approx(falls_to)


def test_level_ground_has_no_aspect():
    assert np.isnan(aspect_deg(land(np.full((4, 4), 7.0)))).all()


def slope_with_ponds():
    heights = 900 + 5.0 * np.add.outer(np.arange(30), np.arange(40))
    heights[3:12, 4:14] = 950.0
    heights[20:23, 30:33] = 1100.0
    return land(heights)


def test_a_pond_on_a_slope_is_found_with_its_height_and_size():
    numbers, areas = level_areas(slope_with_ponds())
    [pond] = areas
    assert (pond.height_m, pond.area_m2) == (950.0, 9 * 10 * 900)
    assert set(zip(*np.nonzero(numbers), strict=True)) == {(r, c) for r in range(3, 12) for c in range(4, 14)}


def test_a_pond_smaller_than_asked_for_is_left_out():
    assert len(level_areas(slope_with_ponds(), least_m2=5000)[1]) == 2
    assert level_areas(slope_with_ponds(), least_m2=1e6)[1] == ()


def test_a_gentle_slope_is_not_taken_for_water():
    heights = 100 + 0.04 * np.add.outer(np.arange(40), np.zeros(40))
    _, areas = level_areas(land(heights), within_m=0.1)
    assert all(area.area_m2 <= 6 * 40 * 900 for area in areas)


def test_a_cut_keeps_every_cell_that_the_land_asked_for_touches():
    terrain = rough()
    piece = window(terrain, (500_031.0, 3_999_900.0, 500_100.0, 3_999_959.0))
    assert piece.bounds == (500_030.0, 3_999_900.0, 500_120.0, 3_999_960.0)
    assert np.array_equal(piece.elevation_m, terrain.elevation_m[2:5, 1:4])


def test_a_cut_outside_the_land_says_how_far_it_reaches():
    with pytest.raises(MissingComplaint, match="does not reach 0 to 100 m east") as complaint:
        window(rough(), (0, 0, 100, 100))
    assert "500000 to 500270 m east and 3999760 to 4000000 m north (EPSG:32611)" in complaint.value.do


@pytest.mark.parametrize("bounds", [(1, 0, 0, 1), (0, 0, np.nan, 1), (0, 5, 1, 5)])
def test_bounds_that_bound_nothing_are_refused(bounds):
    with pytest.raises(ValueComplaint, match="do not bound"):
        window(rough(), bounds)


def test_finer_cells_lie_on_the_surface_and_coarser_ones_are_means():
    terrain, _, _ = surface(lambda e, n: 1000 + 0.3 * e + 0.4 * n + 0.001 * e * n, (60, 60), 10.0)
    bounds = (500_100.0, 3_999_600.0, 500_400.0, 3_999_900.0)
    for count in (75, 10):
        new = resample(terrain, bounds, (count, count))
        east, north = np.meshgrid(new.centres_east_m, new.centres_north_m)
        e, n = east - 500_000, north - 4_000_000
        assert new.elevation_m == pytest.approx(1000 + 0.3 * e + 0.4 * n + 0.001 * e * n, abs=0.05)
        assert new.bounds == pytest.approx(bounds)


def test_smoothing_never_digs_below_a_lake():
    heights = np.full((20, 20), 300.0)
    heights[:, 10:] = 300 + 40.0 * np.arange(10)
    new = resample(land(heights), land(heights).bounds, (150, 150))
    assert new.elevation_m.min() == 300.0


def test_holes_and_the_land_beyond_the_edge_stay_unknown_on_new_cells():
    heights = np.full((10, 10), 5.0)
    heights[4:6, 4:6] = np.nan
    west, south, east, north = land(heights).bounds
    new = resample(land(heights), (west - 60, south, east, north), (40, 48))
    assert np.isnan(height_at(new, west - 30, north - 30))
    assert np.isnan(height_at(new, west + 150, north - 150))
    assert height_at(new, west + 30, north - 30) == 5


def test_a_block_more_than_half_unknown_has_no_mean():
    heights = np.array([[1, 3, np.nan, np.nan], [5, 7, np.nan, 9]], dtype=np.float32)
    assert mean_of_blocks(heights, 2, 2).tolist()[0][0] == 4.0
    assert np.isnan(mean_of_blocks(heights, 2, 2)[0, 1])


@pytest.mark.parametrize(
    ("heights", "kind", "what"),
    [
        ([[1, 2]], ValueComplaint, "not a grid"),
        ([1, 2, 3], ValueComplaint, "not a grid"),
        ([[1, np.inf], [2, 3]], ValueComplaint, "infinite"),
        ([[np.nan, np.nan], [np.nan, np.nan]], MissingComplaint, "no height at all"),
    ],
)
def test_what_is_no_land_is_refused(heights, kind, what):
    with pytest.raises(kind, match=what):
        land(heights)


@pytest.mark.parametrize("cell", [0.0, -30.0, np.nan, np.inf])
def test_a_cell_without_a_size_is_refused(cell):
    with pytest.raises(ValueComplaint, match="cell size"):
        Terrain(np.ones((3, 3), dtype=np.float32), 0.0, 0.0, cell, 30.0, CRS)


def test_a_margin_does_not_reach_for_land_that_is_not_asked_for():
    with pytest.raises(MissingComplaint, match="does not reach"):
        window(rough(), (499_000, 3_999_800, 499_990, 3_999_900), beyond_cells=3)


@pytest.mark.filterwarnings("error")
def test_a_pond_is_found_beside_land_that_is_mostly_unknown():
    heights = slope_with_ponds().elevation_m.copy()
    heights[:, 14:] = np.nan
    _, areas = level_areas(land(heights))
    assert [(area.height_m, area.area_m2) for area in areas] == [(950.0, 9 * 10 * 900)]
