"""The layers of a land made part by part."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.ground.locate.land_layers import LandLayers
from pacewright.ground.locate.layers import build_layers
from support.made_land_walks import hilly_land
from support.searches import terrain_of

LAND = terrain_of(hilly_land(300, 0.16, seed=8))


def test_a_land_of_one_part_has_the_layers_of_the_whole():
    whole, piece = build_layers(LAND), LandLayers(LAND).piece(40, 240, 10, 300, with_streams=True)
    for name in ("height_m", "kind", "stream"):
        assert np.array_equal(getattr(piece, name), getattr(whole, name)[40:240, 10:300]), name
    assert (piece.west_m, piece.north_m) == (LAND.west_m + 300.0, LAND.north_m - 1200.0)


def test_parts_meet_with_no_seam_in_the_heights_and_hardly_any_in_the_rest():
    whole = build_layers(LAND)
    parts = LandLayers(LAND, side=150).piece(0, 300, 0, 300, with_streams=True)
    assert np.array_equal(parts.height_m, whole.height_m)
    # What begins beyond the room about a part is not seen there: streams lose a level in few cells.
    assert (parts.stream == whole.stream).mean() > 0.97


@pytest.mark.parametrize("with_streams", [True, False])
def test_a_part_is_made_once_for_all_searches_on_it(with_streams):
    made = []

    def keeper(land, streams, make):
        made.append(land.elevation_m.shape)
        return make()

    ground = LandLayers(LAND, keeper=keeper)
    for top in (0, 50, 100):
        ground.piece(top, top + 100, 0, 100, with_streams=with_streams)
    assert made == [(300, 300)]
