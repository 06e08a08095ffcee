"""What lies in the way: cliffs kept off, small things boxed, steep ground crossed on a slant.

Slopes are made, so what is right follows from geometry: on a slope of angle s a way that goes at t from the
fall line rises by tan s cos t.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.ground.terrain import Terrain
from pacewright.route.planning.figures import walk_figures
from pacewright.route.planning.in_the_way import in_the_way
from pacewright.route.planning.kernels import SAMPLE_M, sample_rays
from pacewright.route.planning.land import PlanLand, bare_ground, make_land
from pacewright.route.planning.lines import Line, Sight
from pacewright.route.planning.obstacles import barred_by_area, barred_by_terrain
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.search import Asked, Searcher
from pacewright.route.planning.step import Dial, sure_spread
from pacewright.route.planning.steps import steps_from
from pacewright.route.planning.walking import walk_plan

FIGURES = walk_figures(Walker(per_100_m=62.5))
FLAT = (-4000.0, -4000.0, 4000.0, 4000.0)
NORTH = PlanLeg("count", (0.0, 0.0), (0.0, 1000.0), 1000.0, 0.0, 0.0, 1000.0, 1000.0, 15.0)


def square(half_m: float, east: float = 0.0, north: float = 500.0) -> np.ndarray:
    corners = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    return np.array([(east + half_m * x, north + half_m * y) for x, y in corners], dtype=np.float64)


def with_area(ring: np.ndarray, *lines: Line, name: str = "pond") -> PlanLand:
    sights = [Sight("start", (0.0, 0.0), True), Sight("goal", (0.0, 1000.0), True)]
    barred = {name: barred_by_area(bare_ground(FLAT), ring)}
    return make_land(None, lines, sights, barred, bounds=FLAT)


def band(slope: float) -> Terrain:
    """Land that is level but for a band 300 m wide, 600 m north of the middle, that rises northward."""
    cell = 30.0
    north = 1500.0 - cell * (np.arange(100) + 0.5)
    heights = slope * np.clip(north - 600.0, 0.0, 300.0)
    return Terrain(
        np.tile(heights[:, None], (1, 100)).astype(np.float32), -1500.0, 1500.0, cell, cell, "local"
    )


def test_what_is_small_is_boxed_on_the_nearer_side_and_what_is_wide_is_not() -> None:
    # The pond's middle lies 30 m to the right of the leg and it is 100 m wide: 20 m reach to the left of it.
    small = in_the_way(with_area(square(50.0, east=30.0)), NORTH)
    (box,) = small.boxes
    assert box.what == "pond" and box.side == "left"
    assert box.out_m == pytest.approx(20.0 + 20.0, abs=20.0)
    assert box.at_m == pytest.approx(450.0, abs=25.0)
    wide = with_area(square(90.0))
    assert in_the_way(wide, NORTH).boxes == ()
    assert wide.clear_at(0.0, 500.0) == 0.0 and with_area(square(50.0)).clear_at(0.0, 500.0) == 0.0


def test_two_things_close_together_are_not_boxed() -> None:
    both = barred_by_area(bare_ground(FLAT), square(50.0)) | barred_by_area(
        bare_ground(FLAT), square(50.0, east=140.0)
    )
    land = make_land(None, [], [], {"pond": both}, bounds=FLAT)
    assert land.obstacles.boxes == () and land.obstacles.kept_off.any()


def test_boxing_costs_time_and_adds_its_own_scatter() -> None:
    bare, pond = make_land(None, [], [], bounds=FLAT), with_area(square(60.0))
    assert pond.straight_min((0.0, 0.0), (0.0, 1000.0)) > bare.straight_min((0.0, 0.0), (0.0, 1000.0)) + 2.0
    out_m = in_the_way(pond, NORTH).out_m
    across = []
    for land in (bare, pond):
        crowd = walk_plan(land, FIGURES, [NORTH], sure_spread(FIGURES), np.random.default_rng(7), 60_000)
        across.append(float(crowd.places_m[-1][:, 0].std()))
    # Two counts of the offset, each with its own scatter (first-order propagation, Ghilani, eq. 8.2).
    added = math.sqrt(2.0) * out_m * FIGURES.count_sd
    assert across[1] == pytest.approx(math.hypot(across[0], added), rel=0.02)


def test_a_plan_boxes_a_pond_and_keeps_off_a_lake() -> None:
    track = Line("track", np.array([(-3000.0, 1000.0), (3000.0, 1000.0)]))
    ways = []
    for half_m in (60.0, 200.0):
        land = with_area(square(half_m), track)
        searcher = Searcher(land, FIGURES, Dial(), Asked((0.0, 0.0), sure_spread(FIGURES), 0, (1,)))
        way = searcher.fastest()
        assert way is not None
        ways.append([in_the_way(land, leg) for leg in way.legs])
    # Where the lake is, the leg leads clear of it; nothing of the lake is ever boxed.
    assert not any(one.boxes for one in ways[1])


def test_steep_ground_is_crossed_on_a_slant_and_a_cliff_never() -> None:
    # 40 degrees: tan 40 cos t = 0.84 cos t, so no more than 0.47 from 56 degrees off the fall line.
    land = _steep(40.0)
    minutes, free = sample_rays()(0.0, 300.0, 360, 0.0, 19, *land.sampled)
    past = int(700.0 / SAMPLE_M)
    assert free[0, past] < 0.0 and free[40, past] < 0.0
    assert free[62, int(1000.0 / SAMPLE_M)] > 0.0
    # Slower than as far over level ground.
    assert minutes[62, 16] > 1.3 * minutes[180, 16]
    cliff = _steep(50.0)
    _, free = sample_rays()(0.0, 300.0, 360, 0.0, 19, *cliff.sampled)
    assert free[62, 13] <= 0.0


def _steep(slope_deg: float) -> PlanLand:
    terrain = band(math.tan(math.radians(slope_deg)))
    barred, steep = barred_by_terrain(terrain, 35.0, with_level=False)
    return make_land(terrain, [], [], barred, steep=steep)


def test_the_limits_of_slants_and_boxes_are_said_as_assumed_and_are_those_gone_by() -> None:
    from pacewright.answers.plan import answer_plan
    from pacewright.answers.plan_question import MapHeld, Named, PlanAsked

    ends = Named("Gate", (0.0, 1200.0)), Named("Post", (300.0, 1400.0))
    asked = PlanAsked(*ends, with_streams=False, with_level=False)
    answer = answer_plan(MapHeld(band(0.0)), Walker(per_100_m=62.5), asked, np.random.default_rng(1))
    (said,) = (one for one in answer.remarks if "assumed" in one)
    assert "boxed where no wider than 150 m, with 20 m to spare" in said and "no more than 25 degrees" in said
    # On 40 degrees a way that leads t off the fall line climbs tan 40 cos t: 25 degrees at t = 56.2.
    _, free = sample_rays()(0.0, 300.0, 360, 0.0, 19, *_steep(40.0).sampled)
    past = int(700.0 / SAMPLE_M)
    assert free[54, past] < 0.0 < free[58, past]
    # Cells of 20 m that the outline touches are kept off: 7 of them are 140 m wide, 9 are 180 m.
    assert in_the_way(with_area(square(60.0)), NORTH).boxes
    assert not in_the_way(with_area(square(81.0)), NORTH).boxes


def test_the_leg_says_where_it_crosses_steep_ground() -> None:
    leg = PlanLeg(
        "count", (-600.0, 400.0), (300.0, 900.0), 1030.0, 60.9, 60.9, 1030.0, 1030.0, 15.0
    )  # fmt: skip
    ((begin, end),) = in_the_way(_steep(40.0), leg).steep
    # The band begins 200 m north of the start of the leg, to a cell (62 m on this slant): 200 / cos 60.9.
    assert begin == pytest.approx(200.0 / math.cos(math.radians(60.9)), abs=80.0)
    assert end > begin + 300.0


def test_a_track_is_followed_over_a_cliff_but_not_into_a_barred_area() -> None:
    terrain = band(math.tan(math.radians(55.0)))
    places = np.array([(0.0, 0.0), (0.0, 1400.0)])
    barred, steep = barred_by_terrain(terrain, 35.0, with_level=False)
    track, wall = Line("track", places), Line("wall", places + np.array([300.0, 0.0]))
    land = make_land(terrain, [track, wall], [], barred, steep=steep)
    assert np.diff(land.closed_first).tolist() == [0, 1]
    barred["quarry"] = barred_by_area(terrain, square(100.0, north=300.0))
    shut = make_land(terrain, [track, wall], [], barred, steep=steep)
    assert np.diff(shut.closed_first).tolist() == [1, 1]


def test_a_very_small_bound_looks_sooner_for_the_end_of_a_leg() -> None:
    # One standard normal tail at 2.5 and one at 3: 0.0062 + 0.0013 are lost on every line however near it is.
    usual, sure = (walk_figures(Walker(per_100_m=62.5), miss=miss) for miss in (0.05, 0.005))
    track = Line("track", np.array([(-3000.0, 1000.0), (3000.0, 1000.0)]))
    chances = []
    for figures in (usual, sure):
        land = make_land(None, [track], [Sight("start", (0.0, 0.0), True)], bounds=FLAT)
        steps = steps_from(land, figures, Dial(), (0.0, 0.0), sure_spread(figures), onto_lines=True)
        chances.append(float(steps.chances.max()))
    assert chances[0] < 0.9955 < 0.999 < chances[1]
