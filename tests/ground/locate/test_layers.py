"""Streams, sides and lies of a land: against published algorithms and against land whose shape is known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from pacewright.ground.locate.layers import (
    UNKNOWN_KIND,
    UNKNOWN_STREAM,
    _connected,
    build_layers,
    kinds_apart,
    working_terrain,
)
from pacewright.ground.locate.streams import drained_cells
from pacewright.ground.terrain import Terrain
from support.made_land_walks import hilly_land

CRS = "EPSG:32616"


def test_all_land_drains_to_the_edge():
    heights = hilly_land(60, 0.1, seed=2).height_m
    drained = drained_cells(heights)
    edge = np.ones(heights.shape, dtype=bool)
    edge[1:-1, 1:-1] = False
    assert drained.min() == 1.0
    # What drains off the edge, each cell of it counted where it leaves, is at least all the inner land.
    assert drained[edge].sum() >= heights.size


def test_a_tilted_valley_gathers_its_water_in_the_middle():
    rows, columns = np.mgrid[0:40, 0:41]
    heights = (5.0 * np.abs(columns - 20) + 2.0 * (40 - rows)).astype(np.float32)
    drained = drained_cells(heights)
    assert drained[38].argmax() == 20
    assert drained[38, 20] > 0.7 * 41 * 38


def test_drained_land_is_that_of_a_general_library():
    """Against pyflwdir 0.5 (Deltares, MIT): upstream area by steepest descent after filling pits."""
    pyflwdir = pytest.importorskip("pyflwdir")
    heights = hilly_land(200, 0.13, seed=9).height_m
    mine = drained_cells(heights) > 400
    theirs = pyflwdir.from_dem(heights, nodata=-32768.0, outlets="edge").upstream_area("cell") > 400
    near = ndimage.binary_dilation(theirs, np.ones((3, 3)))
    assert 0.8 < mine.sum() / theirs.sum() < 1.25
    assert (mine & near).sum() / mine.sum() > 0.8


def test_a_stream_that_runs_aslant_cannot_be_slipped_through():
    """Trap: a line of cells that touch at corners only lets a path through between them."""
    level = np.eye(12, dtype=np.uint8) * 5
    for line in (level, level[:, ::-1]):
        parts, _ = ndimage.label(_connected(line))
        assert parts.max() == 1


def test_the_side_and_the_slope_of_a_plane():
    rows, columns = np.mgrid[0:30, 0:30]
    # Falls to the south-east, 20 % in all.
    heights = 500.0 - 30.0 * 0.2 * (columns + rows) / np.sqrt(2.0)
    layers = build_layers(Terrain(heights.astype(np.float32), 0, 0, 30, 30, CRS))
    side, steep, _, _ = kinds_apart()
    middle = int(layers.kind[15, 15])
    assert side[middle] == 9
    assert steep[middle] == 4


def test_ridge_and_valley_stand_apart():
    columns = np.arange(120)
    heights = 100.0 * np.cos(columns * 2 * np.pi / 40)[None, :] * np.ones((60, 1)) + 0.01 * columns
    layers = build_layers(Terrain((heights + 300).astype(np.float32), 0, 0, 30, 30, CRS))
    lie = kinds_apart()[2]
    assert lie[layers.kind[30, 40]] > 4 > 2 > lie[layers.kind[30, 60]]


def test_a_hole_is_unknown_ground():
    heights = hilly_land(40, 0.1, seed=1).height_m.copy()
    heights[10:15, 10:15] = np.nan
    layers = build_layers(Terrain(heights, 0, 0, 30, 30, CRS))
    assert (layers.kind[10:15, 10:15] == UNKNOWN_KIND).all()
    assert (layers.stream[10:15, 10:15] == UNKNOWN_STREAM).all()


@pytest.mark.parametrize(
    ("cell_m", "side"), [(5.0, 30.0), (10.0, 30.0), (30.0, 30.0), (90.0, 30.0), (75.0, 37.5)]
)
def test_land_of_any_cells_is_searched_on_about_thirty_metres(cell_m, side):
    heights = hilly_land(60, 0.1, seed=1).height_m
    land = working_terrain(Terrain(heights, 1000.0, 9000.0, cell_m, cell_m, CRS))
    assert land.cell_east_m == pytest.approx(land.cell_north_m)
    assert land.cell_east_m == pytest.approx(side)
    assert (land.west_m, land.north_m) == (1000.0, 9000.0)
