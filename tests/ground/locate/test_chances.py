"""What remarks are taken to say of the ground."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.ground.locate.chances import Doubt, crossing_table, level_limits, station_table
from pacewright.ground.locate.ground_said import StationSaid
from pacewright.ground.locate.layers import UNKNOWN_KIND, kinds_apart

POINTS = [45.0 * k for k in range(8)]


def test_the_sides_and_flat_leave_little_over():
    told = [station_table(StationSaid(faces_deg=one), 0.0, Doubt()) for one in POINTS]
    told.append(station_table(StationSaid(is_flat=True), 0.0, Doubt()))
    total = np.sum(told, axis=0)[:UNKNOWN_KIND]
    assert total.min() > 0.95 and total.max() < 1.5


def test_a_side_is_likeliest_on_ground_that_falls_to_it():
    side, steep, _, _ = kinds_apart()
    table = station_table(StationSaid(faces_deg=90.0), 0.0, Doubt())
    steepest = steep == 7
    best = side[:][steepest][table[:UNKNOWN_KIND][steepest].argmax()]
    assert best == 6
    turned = station_table(StationSaid(faces_deg=90.0), 45.0, Doubt())
    assert side[steepest][turned[:UNKNOWN_KIND][steepest].argmax()] == 9


def test_no_remark_is_ever_impossible():
    """Trap: a wrong remark must not end a search, and by default the doubt is on the high side."""
    assert Doubt().wrong_remarks >= 0.1
    for said in (StationSaid(faces_deg=0.0), StationSaid(lie="ridge"), StationSaid(is_on_stream=True)):
        assert station_table(said, 0.0, Doubt())[:UNKNOWN_KIND].min() > 0.005
    assert crossing_table(True, Doubt())[:8].min() > 0.03


def test_nothing_said_is_nothing_taken():
    assert station_table(StationSaid(), 0.0, Doubt()) is None


@pytest.mark.parametrize("length_m", [80.0, 250.0, 600.0])
def test_level_reaches_farther_on_a_longer_leg(length_m):
    limit, soft = level_limits(length_m, Doubt())
    assert 4.0 < limit < 20.0 and soft > 0
    assert level_limits(length_m, Doubt(height_sd_m=12.0))[1] > soft
