"""A local grid against the distances and azimuths of UTM."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid import grid_turn, to_grid
from pacewright.ground.local_grid import LocalGrid

ORIGIN = (33.3, 44.4)


def test_a_grid_along_grid_north_is_utm_but_for_its_scale():
    """UTM is conformal: near a point it turns by the convergence and stretches by the scale."""
    turn = grid_turn(*ORIGIN)
    local = LocalGrid(*ORIGIN, turn_deg=turn.convergence_deg)
    start = to_grid(*ORIGIN)
    for east, north in ((1000, 0), (0, 1000), (-700, 300), (3, -4)):
        end = to_grid(*local.place(east, north))
        assert end.east_m - start.east_m == pytest.approx(east * turn.scale, abs=0.01)
        assert end.north_m - start.north_m == pytest.approx(north * turn.scale, abs=0.01)


def test_a_grid_along_a_compass_is_turned_by_the_declination():
    along_compass = LocalGrid(*ORIGIN, turn_deg=90.0).place(0, 1000)
    assert along_compass == pytest.approx(LocalGrid(*ORIGIN).place(1000, 0), abs=1e-12)


@given(
    st.floats(-90, 90),
    st.floats(-180, 180),
    st.floats(-180, 180),
    st.floats(-50_000, 50_000),
    st.floats(-50_000, 50_000),
)
def test_a_place_comes_back_to_its_offsets(latitude, longitude, turn, east, north):
    grid = LocalGrid(latitude, longitude, turn)
    back = grid.offsets_m(*grid.place(east, north))
    assert math.dist(back, (east, north)) < 1e-4


def test_what_is_too_far_or_no_number_is_refused():
    grid = LocalGrid(*ORIGIN)
    for east, north in ((1e6, 1e6), (math.nan, 0)):
        with pytest.raises(ValueComplaint, match="too far for a local grid"):
            grid.place(east, north)
    with pytest.raises(ValueComplaint, match="too far for a local grid"):
        grid.offsets_m(-33.3, -135)
    with pytest.raises(ValueComplaint, match="not a latitude"):
        LocalGrid(99, 0)
    with pytest.raises(ValueComplaint, match="not an angle"):
        LocalGrid(0, 0, math.inf)
