"""Who sets out along a line with a doubt of the place is somewhere else along it, or does not see it at all.

Set beside walkers that share no code with the tool, and beside the normal distribution.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from pacewright.core.pace.walker import Walker
from pacewright.route.planning.figures import walk_figures
from pacewright.route.planning.following import follow_leg, steps_along
from pacewright.route.planning.land import PlanLand, make_land
from pacewright.route.planning.lines import Line, Sight
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import Dial
from pacewright.route.planning.walking import walk_plan
from support import plan_walks

FIGURES = walk_figures(Walker(per_100_m=62.5))
FAR = 600.0
SURE = (15.0, 15.0)
"""Of one who stands at a sight and knows it."""
LOOK, STOP = 400.0, 800.0


def land_of(*more: Line) -> PlanLand:
    """A track due east through the start, and a post on it."""
    track = Line("track", np.linspace((-3000.0, 0.0), (3000.0, 0.0), 61))
    sights = [
        Sight("start", (0.0, 0.0), True),
        Sight("post", (FAR, 0.0)),
        Sight("far post", (FAR + 500.0, 0.0)),
    ]
    return make_land(None, [track, *more], sights, bounds=(-4000.0, -4000.0, 4000.0, 4000.0))


def along(land: PlanLand, begin: float = 0.0, look: float = LOOK, stop: float = STOP) -> PlanLeg:
    sight = 1 if begin == 0.0 else 2
    to = land.sights[sight].place_m[0]
    return follow_leg(land, 0, 3000.0 + begin, 3000.0 + to, sight, (begin, 0.0), look, stop, 1.0, 0.0)


def said(land: PlanLand, doubt_m: tuple[float, float], *legs: PlanLeg) -> float:
    spread = doubt_m[0] ** 2, 0.0, doubt_m[1] ** 2
    return walk_plan(land, FIGURES, legs, spread, np.random.default_rng(1), 8000).missed


# Who knows a post from afar has it before the count says look, and after it says too far.
NEAR = plan_walks.Person(known_m=3.0)


def walked_apart(
    land: PlanLand, doubt_m: tuple[float, float], *legs: PlanLeg, person: plan_walks.Person = NEAR
) -> float:
    told = plan_walks.Ground(
        [(line.kind, line.points_m) for line in land.lines], [(one.what, one.place_m) for one in land.sights]
    )
    its = [
        plan_walks.ToldLeg(
            leg.azimuth_deg, leg.length_m, leg.ends, "track",
            "" if leg.sight is None else land.sights[leg.sight].what,
            leg.look_m, leg.stop_m, leg.follows, leg.way > 0,
        )
        for leg in legs
    ]  # fmt: skip
    goal = land.sights[legs[-1].sight or 0].place_m
    return 1.0 - plan_walks.walk(
        told, its, (0.0, 0.0), goal, 3000, 5, person, None if doubt_m == SURE else doubt_m
    )


def test_a_doubt_along_the_line_is_walked_out_along_it() -> None:
    land = land_of()
    missed = said(land, (200.0, 10.0), along(land))
    # The post lies 600 m on from where one is thought to stand, and is looked for from 400 m to 800 m.
    sd = math.hypot(200.0, FAR * FIGURES.length_sd)
    assert missed == pytest.approx(2.0 * norm.sf((STOP - FAR) / sd), abs=0.02)
    assert missed == pytest.approx(walked_apart(land, (200.0, 10.0), along(land)), abs=0.025)


def test_who_stands_too_far_beside_the_line_to_see_it_is_lost() -> None:
    land = land_of()
    missed = said(land, (10.0, 60.0), along(land))
    assert missed == pytest.approx(2.0 * norm.sf(FIGURES.seen_m / 60.0), abs=0.015)
    assert missed == pytest.approx(walked_apart(land, (10.0, 60.0), along(land)), abs=0.02)


def test_a_leg_by_count_beside_the_line_carries_its_own_doubt_on_to_it() -> None:
    land = land_of()
    by_count = PlanLeg("count", (0.0, 0.0), (600.0, 0.0), 600.0, 90.0, 90.0, 600.0, 600.0, 9.0)
    legs = by_count, along(land, 600.0, look=440.0, stop=590.0)
    missed = said(land, SURE, *legs)
    beside = math.hypot(15.0, 600.0 * FIGURES.azimuth_sd_rad)
    assert missed > 2.0 * norm.sf(FIGURES.seen_m / beside) - 0.01
    assert missed == pytest.approx(walked_apart(land, SURE, *legs), abs=0.02)


def test_who_stands_nearer_to_another_line_of_the_kind_may_follow_that() -> None:
    # Beside the track another one, two hundred metres to the north, that leads the same way.
    land = land_of(Line("track", np.linspace((-3000.0, 200.0), (3000.0, 200.0), 61)))
    missed = said(land, (10.0, 100.0), along(land))
    assert missed == pytest.approx(2.0 * norm.sf(FIGURES.seen_m / 100.0), abs=0.02)
    assert missed == pytest.approx(walked_apart(land, (10.0, 100.0), along(land)), abs=0.02)


@pytest.mark.parametrize("doubt_m", [SURE, (120.0, 20.0), (40.0, 45.0)])
def test_the_step_along_a_line_from_a_start_in_doubt_reckons_with_it(doubt_m: tuple[float, float]) -> None:
    land = land_of()
    spread = doubt_m[0] ** 2, 0.0, doubt_m[1] ** 2
    (step,) = (one for one in steps_along(land, FIGURES, Dial(), 0, spread) if one.sight == 1)
    (leg,) = step.legs
    # It is looked for over the whole of where one may stand.
    assert leg.length_m - leg.look_m >= min(2.9 * math.hypot(doubt_m[0], FAR * FIGURES.length_sd), FAR)
    assert 1.0 - step.chance == pytest.approx(said(land, doubt_m, leg), abs=0.015)
    assert 1.0 - step.chance == pytest.approx(walked_apart(land, doubt_m, leg), abs=0.02)


def test_what_one_sets_out_from_is_not_taken_for_the_next_that_looks_like_it() -> None:
    # Two posts alike, 80 m apart: whoever leaves the first is to look for the second from the first step on.
    track = Line("track", np.linspace((-3000.0, 0.0), (3000.0, 0.0), 61))
    sights = [Sight("post", (0.0, 0.0)), Sight("post", (80.0, 0.0))]
    land = make_land(None, [track], sights, bounds=(-4000.0, -4000.0, 4000.0, 4000.0))
    leg = follow_leg(land, 0, 3000.0, 3080.0, 1, (0.0, 0.0), 0.0, 180.0, 1.0, 0.0)
    assert said(land, SURE, leg) < 0.01
    assert walked_apart(land, SURE, leg) < 0.01


def test_a_sight_alike_that_was_passed_just_before_it_is_looked_for_is_taken_for_the_one_meant() -> None:
    # The first post lies twenty metres short of where the second is looked for: it is still in sight there.
    track = Line("track", np.linspace((-3000.0, 0.0), (3000.0, 0.0), 61))
    sights = [Sight("start", (0.0, 0.0), True), Sight("post", (600.0, 0.0)), Sight("post", (380.0, 0.0))]
    land = make_land(None, [track], sights, bounds=(-4000.0, -4000.0, 4000.0, 4000.0))
    leg = along(land)
    # Walkers apart know a post from 31 metres; the count is off by so much where it says look.
    off = math.hypot(15.0, LOOK * FIGURES.length_sd)
    assert said(land, SURE, leg) == pytest.approx(norm.cdf((380.0 + 30.0 - LOOK) / off), abs=0.03)
    person = plan_walks.Person(known_m=31.0)
    assert said(land, SURE, leg) == pytest.approx(walked_apart(land, SURE, leg, person=person), abs=0.03)
