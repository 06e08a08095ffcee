"""The search itself: what it must not do to a belief, and that all its short cuts change nothing."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from pacewright.answers.locate import LocateAsked
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame
from pacewright.core.way.reckoning import reckon
from pacewright.files.log_csv import read_log
from pacewright.ground.locate.belief import find_belief
from pacewright.ground.locate.chances import Doubt
from pacewright.ground.locate.compiling import is_compiler_there
from pacewright.ground.locate.ground_said import find_ground_said
from pacewright.ground.locate.kernels import kernels
from pacewright.ground.locate.search import Block, Told, pose_block
from pacewright.ground.locate.sweep import sweep
from pacewright.ground.locate.walk import walk_of
from support.made_land_walks import hilly_land, walk_on
from support.searches import how_well, searched, terrain_of

LAND = hilly_land(150, 0.16, seed=4)
WALK = walk_on(LAND, 7, {"trend", "side"}, seed=11)


def posed(text=WALK.text, land=LAND, doubt=None, slip_chance=0.03):
    doubt = doubt or Doubt()
    log = read_log(text.encode(), "made.csv")
    reckoning = reckon(log, Walker(), map_frame(log.heading, Walker()))
    told = Told(walk_of(log, reckoning, slip_chance), find_ground_said(log), doubt)
    terrain = terrain_of(land)
    rows, columns = terrain.elevation_m.shape
    prior = np.isfinite(terrain.elevation_m).astype(np.float32)
    layers, question = pose_block(told, terrain, prior / prior.sum(), Block(0, 0, rows, columns))
    return layers, question, doubt


def moments(belief):
    rows, columns = np.indices(belief.shape)
    total = belief.sum()
    middle = (belief * rows).sum() / total, (belief * columns).sum() / total
    spread = [
        (belief * (rows - middle[0]) ** 2).sum() / total,
        (belief * (columns - middle[1]) ** 2).sum() / total,
    ]
    return middle, spread


def one_cell(question):
    prior = np.zeros_like(question.prior)
    prior[prior.shape[0] // 2, prior.shape[1] // 2] = 1.0
    return replace(question, prior=prior)


def test_moving_adds_no_scatter_to_that_of_the_legs():
    """Trap: a belief that is moved by interpolation gains half a cell of scatter at every leg."""
    text = (
        "# azimuth: grid degrees\n# count: metres\nazimuth,count,notes\n"
        + "37,251,\n122,143,\n265,199,\n" * 4
    )
    _, question, doubt = posed(text, slip_chance=0.0)
    swept = sweep(one_cell(question), doubt, 0, kernels(), is_forward=True)
    own = question.walk.own_m2.sum(axis=0)
    _, spread = moments(swept.belief.astype(float))
    assert spread[0] * 30.0**2 == pytest.approx(own[1, 1], rel=2e-3)
    assert spread[1] * 30.0**2 == pytest.approx(own[0, 0], rel=2e-3)


def test_what_the_pass_from_the_start_leaves_is_no_answer_to_where_that_was():
    """Trap: its cells are numbered by the start with all later scatter in them."""
    text = "# azimuth: grid degrees\n# count: metres\nazimuth,count,notes\n" + "90,400,\n" * 6
    _, question, doubt = posed(text, slip_chance=0.0)
    question = one_cell(question)
    forward = sweep(question, doubt, 0, kernels(), is_forward=True)
    backward = sweep(question, doubt, 0, kernels(), is_forward=False)
    assert np.count_nonzero(forward.belief > 1e-4) > 5
    assert np.count_nonzero(backward.belief) == 1


def test_both_passes_find_the_log_as_likely():
    _, question, doubt = posed()
    for node in (0, 7, 24):
        out, back = (sweep(question, doubt, node, kernels(), is_forward=way) for way in (True, False))
        assert out.log_chance == pytest.approx(back.log_chance, abs=0.05)


def test_wide_cells_first_change_nothing():
    layers, question, doubt = posed()
    short, full = (find_belief(question, doubt, layers.shape, kernels(), prunes=way) for way in (True, False))
    assert short.is_fine
    assert np.abs(short.now / short.now.sum() - full.now / full.now.sum()).sum() / 2.0 < 2e-3
    assert np.abs(short.start - full.start).sum() / 2.0 < 2e-3


def test_maps_of_chances_lie_in_memory_row_by_row():
    """Woven into each other they are read far apart, and the loops are compiled once more for it."""
    _, question, _ = posed()
    wide = question.on_wider_cells(3)
    for one in wide.weighings:
        assert len(one.extras) > 1 and one.extras.flags.c_contiguous


@pytest.mark.parametrize("remarks", [{"trend", "side"}, {"trend", "alt", "lie"}])
def test_errors_of_the_heights_are_weighed_by_how_well_each_explains_the_log(remarks):
    walk = walk_on(LAND, 6, remarks, seed=12)
    both = searched(LAND, walk)
    doubts, chances = zip(*Doubt().by_heights(), strict=True)
    each = [searched(LAND, walk, LocateAsked(doubt=one)).found for one in doubts]
    logs = np.array([one.log_chance for one in each]) + np.log(chances)
    assert both.found.log_chance == pytest.approx(np.logaddexp.reduce(logs), abs=0.01)
    shares = np.exp(logs - np.logaddexp.reduce(logs))
    assert 0.02 < shares[0] < 0.98
    for name in ("now", "start"):
        mixed = sum(share * getattr(one, name) for share, one in zip(shares, each, strict=True))
        assert np.abs(getattr(both.found, name) - mixed).sum() / 2.0 < 0.03


@pytest.mark.skipif(not is_compiler_there(), reason="the compiler is not installed")
@pytest.mark.parametrize("remarks", [{"trend", "side"}, {"trend", "alt", "stream", "lie"}])
@pytest.mark.slow
def test_without_the_compiler_the_answer_is_the_same(remarks):
    walk = walk_on(LAND, 5, remarks, seed=3)
    quick, plain = (searched(LAND, walk, LocateAsked(is_plain=way)) for way in (False, True))
    assert np.abs(quick.found.now - plain.found.now).max() < 1e-5
    assert quick.found.log_chance == pytest.approx(plain.found.log_chance, abs=1e-4)


def test_land_that_is_not_known_neither_speaks_nor_spoils():
    """Trap: fast arithmetic does not see a not-a-number, so a hole must be a number of its own."""
    heights = LAND.height_m.copy()
    heights[40:60, 40:60] = np.nan
    holed = type(LAND)(np.nan_to_num(heights, nan=300.0).astype(np.float32), LAND.cell_m)
    object.__setattr__(holed, "height_m", heights)
    found = searched(holed, WALK).found
    assert np.isfinite(found.now).all() and found.now.sum() == pytest.approx(1.0, abs=1e-5)
    assert found.start[40:60, 40:60].sum() == 0.0


def test_a_long_log_that_fits_badly_stays_a_number():
    """Trap: belief in single precision sinks below its least number and comes back as not-a-number."""
    rows = "".join(
        f"{(37 * k) % 360},200,[{'up' if k % 2 else 'down'}] [faces {'N' if k % 3 else 'S'}]\n"
        for k in range(60)
    )
    text = "# azimuth: grid degrees\n# count: metres\nazimuth,count,notes\n" + rows
    _, question, doubt = posed(text, doubt=Doubt(wrong_remarks=0.001))
    swept = sweep(question, doubt, 0, kernels(), is_forward=True)
    assert np.isfinite(swept.belief).all()
    assert not math.isnan(swept.log_chance)


def test_where_nothing_survives_the_search_ends_with_nothing():
    layers, question, doubt = posed()
    nowhere = tuple(replace(one, tables=np.zeros_like(one.tables)) for one in question.weighings)
    nothing = find_belief(replace(question, weighings=nowhere), doubt, layers.shape, kernels())
    assert nothing.log_chance == -math.inf
    assert nothing.now.sum() == 0.0


def test_a_walk_is_found_with_where_it_began():
    told = how_well(LAND, WALK, searched(LAND, WALK))
    assert told.is_held and told.agrees
    altimeter = walk_on(LAND, 9, {"trend", "side", "alt", "lie"}, seed=21)
    told = how_well(LAND, altimeter, searched(LAND, altimeter))
    assert told.now_off_m < 100.0 and told.start_off_m < 150.0 and told.can_tell


def test_a_slip_of_the_pencil_does_not_lose_the_walk():
    walk = walk_on(LAND, 10, {"trend", "side", "lie"}, seed=33)
    lines = walk.text.splitlines()
    azimuth, count, notes = lines[8].split(",", 2)
    lines[8] = f"{(int(azimuth) + 180) % 360},{count},{notes}"
    slipped = replace(walk, text="\n".join(lines) + "\n")
    told = how_well(LAND, slipped, searched(LAND, slipped))
    assert told.is_held
    assert told.now_off_m < 150.0


def test_a_bearing_to_a_known_thing_narrows_the_place():
    plain = "# azimuth: grid degrees\n# count: metres\n{known}azimuth,count,notes\n90,300,[up]\n{seen}"
    from pacewright.answers.locate import answer_locate
    from pacewright.answers.located_walk import position_at

    land = terrain_of(LAND)
    tower = position_at(land.crs, 502_000.0, 3_998_000.0)
    known = f"# known: Tower = {tower.latitude_deg:.6f} {tower.longitude_deg:.6f} +-10 m\n"
    seen = "135,,[see Tower]\n"
    without, with_it = (
        answer_locate(read_log(plain.format(known=k, seen=s).encode(), "made.csv"), None, land)
        for k, s in (("", ""), (known, seen))
    )
    assert with_it.region.km2 < 0.4 * without.region.km2
    rows, columns = np.nonzero(with_it.found.now > with_it.region.least)
    off = np.degrees(np.arctan2(2000.0 - (columns + 0.5) * 30.0, -2000.0 + (rows + 0.5) * 30.0)) - 135.0
    assert np.mean(np.abs((off + 180.0) % 360.0 - 180.0) < 10.0) > 0.95


def test_a_round_walked_back_to_its_start_is_as_sure_of_its_end():
    text = (
        "# azimuth: grid degrees\n# count: metres\n# start: Gate\nazimuth,count,notes\n"
        "0,500,[up]\n90,500,\n180,500,\n270,505,[at Gate]\n"
    )
    from pacewright.answers.located_walk import told_walk

    log = read_log(text.encode(), "made.csv")
    told, _ = told_walk(log, Walker(), terrain_of(LAND), None, Doubt(), 0.03)
    open_round = read_log(text.replace("[at Gate]", "").encode(), "made.csv")
    other, _ = told_walk(open_round, Walker(), terrain_of(LAND), None, Doubt(), 0.03)
    assert np.hypot(*told.walk.place_m[-1]) < 1.5
    assert told.walk.scatter_m < 0.8 * other.walk.scatter_m
