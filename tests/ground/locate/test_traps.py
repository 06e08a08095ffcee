"""What a search can fall into: each trap met in the study of the method, with a case that shows it."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.answers.locate import LocateAsked
from pacewright.ground.locate.chances import Doubt, crossing_table, station_table
from pacewright.ground.locate.compiling import compiled, is_compiler_there
from pacewright.ground.locate.ground_said import StationSaid
from pacewright.ground.locate.layers import UNKNOWN_KIND
from pacewright.ground.locate.posterior import likely_places, region_of
from support.made_land_walks import hilly_land, walk_on
from support.searches import how_well, searched

LAND = hilly_land(200, 0.16, seed=6)


def belief(*cells):
    made = np.zeros((60, 60), np.float32)
    for row, column, chance in cells:
        made[row, column] = chance
    return made


def turned_over(values):
    total = np.zeros(values.size)
    for k in range(values.size):
        total[k] = 1.0 / values[k]
    return total


@pytest.mark.skipif(not is_compiler_there(), reason="the compiler of the terrain extra is not installed")
def test_a_division_by_nothing_in_a_compiled_loop_is_no_exception():
    """Trap: compiled code raises in the midst of a loop, where the array library would go on."""
    assert np.array_equal(compiled(turned_over, cache=False)(np.array([2.0, 0.0])), [0.5, np.inf])


@pytest.mark.skipif(not is_compiler_there(), reason="the compiler of the terrain extra is not installed")
def test_the_compiled_loops_of_a_search_divide_by_nothing_without_an_exception():
    from pacewright.ground.locate import kernels_compiled as loops
    from pacewright.ground.locate.kernel_arguments import LegChance, StationChance

    fields, height = [np.ones((40, 40), np.float32) for _ in range(2)], np.full((60, 60), 7.0, np.float32)
    most = [np.zeros((1, 1), np.float32) for _ in range(3)]
    none = np.zeros((1, 1), np.float32)
    # A line between level and up that is not soft at all, and no scatter of heights.
    leg, station = (
        LegChance(2, -1.0, 0.0, 0.1, 1.0, -1, 0.0, 1.0),
        StationChance(-1, -99999.0, 0, 0, 0, 0, -1),
    )
    loops.weigh(fields[0], none, fields[1], none, np.array([[0, 0, 1]], np.int32), 24, 1.0, tuple(leg),
                np.zeros((0, 3)), tuple(station), height, np.zeros((1, 1), np.uint16),
                np.zeros((0, 1, 1), np.uint8), np.ones((1, 9), np.float32), np.ones((1, 5377), np.float32),
                np.zeros((0, 1, 1), np.float32), np.full(6, 8.3), *most)  # fmt: skip
    assert most[2][0, 0] > 0.0


def test_the_likeliest_place_is_where_the_belief_lies_and_not_to_its_side():
    """Trap: a peak smoothed by a box is flat, and its first cell lies up to two cells off."""
    (alone,) = likely_places(belief((30, 20, 1.0)), 30.0)
    assert (alone.row, alone.column) == pytest.approx((30.5, 20.5), abs=1e-6)
    assert alone.chance == pytest.approx(1.0)
    (shared,) = likely_places(belief((30, 20, 0.5), (31, 20, 0.5)), 30.0)
    assert (shared.row, shared.column) == pytest.approx((31.0, 20.5), abs=1e-6)


def test_places_that_fit_alike_are_all_told_with_the_area_that_is_left():
    """Trap: the likeliest place alone, which is far off in half of the logs that say little."""
    split = belief((10, 10, 0.4), (30, 50, 0.35), (50, 20, 0.25))
    assert [round(one.chance, 2) for one in likely_places(split, 30.0)] == [0.4, 0.35, 0.25]
    region = region_of(split, 30.0, 0.95)
    assert region.km2 == pytest.approx(3 * 0.0009) and region.holds == pytest.approx(1.0)
    walk = walk_on(LAND, 5, {"trend"}, seed=17)
    answer = searched(LAND, walk)
    assert not answer.can_tell and answer.region.km2 > 1.0 and len(answer.candidates) > 1
    assert how_well(LAND, walk, answer).is_held


def test_the_made_land_holds_no_copy_of_itself():
    """Trap: land made by mirroring or tiling makes places alike that no real land has alike."""
    heights = LAND.height_m - LAND.height_m.mean()
    half = heights.shape[0] // 2
    a = heights[:half, :half]
    others = (heights[half:, :half], heights[:half, half:], heights[half:, half:])
    for other in others:
        for turned in (other, other[::-1], other[:, ::-1], other[::-1, ::-1], other.T):
            assert abs(np.corrcoef(a.ravel(), turned.ravel())[0, 1]) < 0.9


@pytest.mark.parametrize("wrong", [0.05, 0.2])
def test_remarks_are_trusted_no_further_than_their_wrong_share(wrong):
    """Trap: a search that trusts remarks more than they deserve is sure of the wrong place."""
    doubt = Doubt(wrong_remarks=wrong)
    table = station_table(StationSaid(faces_deg=0.0), 0.0, doubt)[:UNKNOWN_KIND]
    # One in eight of the wrong ones is right by chance.
    assert table.min() == pytest.approx(wrong / 8.0, rel=0.02)
    assert crossing_table(True, doubt)[:-1].min() >= wrong / 2.0


def test_more_wrong_remarks_than_are_owned_up_to_shrink_no_region():
    """Trap: the region holds only while as many wrong remarks are allowed for as there are."""
    walk = walk_on(LAND, 8, {"trend", "side"}, seed=23)
    trusting, doubting = (
        searched(LAND, walk, asked=LocateAsked(doubt=Doubt(wrong_remarks=share))) for share in (0.02, 0.25)
    )
    assert doubting.region.km2 > trusting.region.km2
    assert Doubt().wrong_remarks >= 0.1
