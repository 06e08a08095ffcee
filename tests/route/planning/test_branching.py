"""Where lines of one kind leave a place, the wrong one may be followed: said as often as others walk it."""

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
from pacewright.route.planning.step import Dial, sure_spread
from pacewright.route.planning.walking import walk_plan
from support import plan_walks

FIGURES = walk_figures(Walker(per_100_m=62.5))
FAR = 400.0
AZIMUTH_SD_DEG = math.hypot(2.5, 1.5)
"""Of a default walker: a scatter a leg and a bias all day, as the walkers apart have them."""


def straight(kind: str, begin: tuple[float, float], end: tuple[float, float]) -> Line:
    return Line(kind, np.linspace(begin, end, 21))


def at(azimuth_deg: float, far: float = FAR) -> tuple[float, float]:
    return far * math.sin(math.radians(azimuth_deg)), far * math.cos(math.radians(azimuth_deg))


def joining(apart_deg: float) -> PlanLand:
    """A stream from due north, another from so far beside it: they join at the start and go on south."""
    lines = [
        straight("stream", at(0.0), (0.0, 0.0)),
        straight("stream", at(apart_deg), (0.0, 0.0)),
        straight("stream", (0.0, 0.0), (0.0, -500.0)),
    ]
    sights = [Sight("start", (0.0, 0.0), True), Sight("spring", at(0.0))]
    return make_land(None, lines, sights, bounds=(-2000.0, -2000.0, 2000.0, 2000.0))


def upstream(land: PlanLand) -> PlanLeg:
    (step,) = (one for one in steps_along(land, FIGURES, Dial(), 0, sure_spread(FIGURES)) if one.sight == 1)
    (leg,) = step.legs
    return leg


def said(land: PlanLand, *legs: PlanLeg) -> float:
    return walk_plan(land, FIGURES, legs, sure_spread(FIGURES), np.random.default_rng(1), 8000).missed


def walked_apart(land: PlanLand, *legs: PlanLeg) -> float:
    told = plan_walks.Ground(
        [(line.kind, line.points_m) for line in land.lines], [(one.what, one.place_m) for one in land.sights]
    )
    its = [
        plan_walks.ToldLeg(
            leg.azimuth_deg, leg.length_m, leg.ends, "stream",
            "" if leg.sight is None else land.sights[leg.sight].what,
            leg.look_m, leg.stop_m, leg.follows, leg.way > 0,
        )
        for leg in legs
    ]  # fmt: skip
    return 1.0 - plan_walks.walk(told, its, (0.0, 0.0), land.sights[1].place_m, 3000, 5)


@pytest.mark.parametrize("apart_deg", [8.0, 16.0, 60.0])
def test_the_stream_beside_the_one_meant_is_taken_as_often_as_others_take_it(apart_deg: float) -> None:
    land = joining(apart_deg)
    leg = upstream(land)
    # Nearer to the other stream than to this one: a normal distribution beyond half of what lies between.
    beyond = norm.sf(apart_deg / 2.0, scale=AZIMUTH_SD_DEG)
    missed, apart = said(land, leg), walked_apart(land, leg)
    assert missed == pytest.approx(apart, abs=0.02)
    assert missed == pytest.approx(beyond, abs=0.015)
    assert 1.0 - leg.chance == pytest.approx(beyond, abs=0.015)


def test_a_stream_that_ends_where_one_stands_is_not_the_way_on() -> None:
    # Straight on: the stream walked up so far ends at a junction, and the next begins there. Whoever stands
    # some metres down the old one still goes on up the new one.
    lines = [
        straight("stream", at(0.0), (0.0, 0.0)),
        straight("stream", (0.0, 0.0), at(180.0)),
        straight("stream", at(250.0), (0.0, 0.0)),
    ]
    sights = [Sight("start", (0.0, 0.0), True), Sight("spring", at(0.0))]
    land = make_land(None, lines, sights, bounds=(-2000.0, -2000.0, 2000.0, 2000.0))
    leg = upstream(land)
    assert said(land, leg) < 0.01 and walked_apart(land, leg) < 0.01


def test_of_tracks_both_ways_are_open_and_of_streams_one() -> None:
    def chance(kind: str) -> float:
        lines = [straight(kind, at(0.0), (0.0, 0.0)), straight(kind, (0.0, 0.0), at(6.0))]
        sights = [Sight("start", (0.0, 0.0), True), Sight("spring", at(0.0))]
        land = make_land(None, lines, sights, bounds=(-2000.0, -2000.0, 2000.0, 2000.0))
        leg = follow_leg(land, 0, FAR, 0.0, 1, (0.0, 0.0), 320.0, 520.0, 1.0, 0.0)
        return 1.0 - said(land, leg)

    # Two tracks that leave at six degrees; the second stream leaves downstream, and is not taken for one up.
    assert chance("stream") > 0.98
    assert chance("track") == pytest.approx(norm.cdf(3.0, scale=AZIMUTH_SD_DEG), abs=0.02)


def test_whoever_meets_the_other_of_two_streams_and_still_comes_to_the_junction_is_not_lost() -> None:
    # Two streams come together ahead; the leg is aimed at the left one, and down either the junction lies.
    lines = [
        straight("stream", (600.0, 800.0), (1000.0, 0.0)),
        straight("stream", (600.0, -800.0), (1000.0, 0.0)),
        straight("stream", (1000.0, 0.0), (1800.0, 0.0)),
    ]
    sights = [Sight("start", (0.0, 0.0), True), Sight("goal", (1000.0, 0.0), True)]
    land = make_land(None, lines, sights, bounds=(-2000.0, -2000.0, 2000.0, 2000.0))
    along = math.hypot(360.0, 720.0)
    onto = PlanLeg(
        "line", (0.0, 0.0), (960.0, 80.0), math.hypot(960.0, 80.0), 85.0, 85.236, 750.0, 1200.0, 20.0,
        line=0, along=along,
    )  # fmt: skip
    down = follow_leg(land, 0, along, math.hypot(400.0, 800.0), 1, (960.0, 80.0), 0.0, 330.0, 1.0, 0.0)
    missed = said(land, onto, down)
    assert missed < 0.03
    assert missed == pytest.approx(walked_apart(land, onto, down), abs=0.02)
    # As the last leg it is missed by all who stand at the other stream: who drifts beyond where they join.
    beyond = norm.sf(1000.0 / 12.0, scale=math.hypot(15.0, 1000.0 * FIGURES.azimuth_sd_rad))
    assert said(land, onto) == pytest.approx(beyond, abs=0.012)
