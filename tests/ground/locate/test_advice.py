"""What to note next: the gain of each is the mutual information of what is noted and the place."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.ground.locate.advice import find_advice
from pacewright.ground.locate.chances import Doubt
from pacewright.ground.locate.land_layers import LandLayers
from pacewright.ground.locate.sights import Sight, find_summits, in_sight
from pacewright.ground.terrain import Terrain
from support.made_land_walks import hilly_land
from support.searches import terrain_of

CELLS, CELL_M = 140, 30.0


def layers_of(height_m):
    land = Terrain(height_m.astype(np.float32), 0.0, CELLS * CELL_M, CELL_M, CELL_M, "EPSG:32616")
    return LandLayers(land).piece(0, CELLS, 0, CELLS, with_streams=False)


def cone():
    """A hill alone on a plane, its top in the middle."""
    rows, columns = np.mgrid[0:CELLS, 0:CELLS]
    away_m = np.hypot(rows - CELLS // 2, columns - CELLS // 2) * CELL_M
    return 100.0 + np.maximum(0.0, 400.0 - 0.5 * away_m)


def belief_at(*cells):
    now = np.zeros((CELLS, CELLS), np.float32)
    for row, column in cells:
        now[row, column] = 1.0 / len(cells)
    return now


def test_a_bearing_to_a_summit_between_two_places_is_worth_one_bit():
    """Two places alike but for where the summit lies: one bit (C. E. Shannon, 1948)."""
    layers = layers_of(cone())
    east_and_west = belief_at((70, 20), (70, 120))
    summits = find_summits(layers, (70.0, 70.0))
    assert len(summits) == 1 and summits[0].height_m == pytest.approx(500.0, abs=25.0)
    found = {one.what: one for one in find_advice(layers, east_and_west, Doubt(), 30.0, summits)}
    assert found["bearing"].bits == pytest.approx(1.0, abs=0.01)
    assert "altitude" not in found and "lie" not in found


def test_what_ground_hides_is_not_advised():
    wall = cone()
    # Two walls higher than the hill, between it and both places.
    wall[:, 40:43], wall[:, 98:101] = 900.0, 900.0
    layers, top = layers_of(wall), Sight("", 70.5 * CELL_M, 69.5 * CELL_M, 500.0)
    cells = (np.array([70, 70]), np.array([20, 120]))
    assert not in_sight(layers, cells, top).any()
    assert in_sight(layers_of(cone()), cells, top).all()
    advice = find_advice(layers, belief_at((70, 20), (70, 120)), Doubt(), 30.0, [top])
    assert all(one.what != "bearing" for one in advice)


def test_two_remarks_tell_more_than_one_and_no_more_than_their_sum():
    land = terrain_of(hilly_land(CELLS, 0.16, seed=3))
    layers = LandLayers(land).piece(0, CELLS, 0, CELLS, with_streams=False)
    now = np.full((CELLS, CELLS), 1.0 / CELLS**2, np.float32)
    advice = find_advice(layers, now, Doubt(), 30.0)
    assert [one.bits for one in advice] == sorted((one.bits for one in advice), reverse=True)
    (both,) = (one for one in advice if one.what == "together")
    bits = [one.bits for one in both.parts]
    assert max(bits) < both.bits <= sum(bits) + 1e-9


def test_a_walk_tells_two_places_apart_that_look_alike_here():
    columns = np.arange(CELLS)[None, :] * np.ones((CELLS, 1))
    # A plane that rises from its western half on.
    layers = layers_of(100.0 + np.maximum(0.0, (columns - 70) * CELL_M) * 0.3)
    (walk, *_) = find_advice(layers, belief_at((60, 20), (60, 62)), Doubt(height_sd_m=4.0), 30.0)
    assert walk.what == "walk" and walk.bits > 0.7
    assert 45.0 <= walk.azimuth_deg <= 135.0
