"""Cases for plans: the bundled ground with made tracks on it, starts and goals some kilometres apart."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from pacewright.answers.plan import PlanAnswer
from pacewright.answers.plan_question import MapHeld, Named, PlanAsked, PlanNorth
from pacewright.core.pace.walker import Walker
from pacewright.files.elevation import demo_ground
from pacewright.ground.landmarks import stream_lines
from pacewright.ground.locate.layers import working_terrain
from pacewright.ground.terrain import Terrain, slope_deg
from pacewright.route.planning.land import make_land
from pacewright.route.planning.lines import Line
from support import plan_walks

WALKER = Walker(name="Made walker", per_100_m=62.5)
NORTH = PlanNorth("magnetic", 11.0)


@lru_cache(maxsize=1)
def ground() -> Terrain:
    """The bundled ground on the cells that are planned on."""
    return working_terrain(demo_ground())


@lru_cache(maxsize=1)
def tracks() -> tuple[Line, ...]:
    """Four made tracks across the land, two either way, that wind a little."""
    west, south, east, north = ground().bounds
    along = np.linspace(0.0, 1.0, 60)
    made = []
    for k, share in enumerate((0.3, 0.68)):
        wind = 350.0 * np.sin(7.0 * along + 2.1 * k) + 120.0 * np.sin(23.0 * along + k)
        made.append(np.stack([west + along * (east - west), south + share * (north - south) + wind], axis=1))
        made.append(np.stack([west + share * (east - west) + wind, south + along * (north - south)], axis=1))
    return tuple(Line("track", points) for points in made)


@dataclass(frozen=True)
class Case:
    """One start and one goal."""

    held: MapHeld
    asked: PlanAsked


def cases(
    count: int, *, with_tracks: bool, seed: int, far: tuple[float, float] = (3000.0, 5000.0)
) -> list[Case]:
    """Cases on open ground: to a bridge where there are tracks, to a confluence where there are none."""
    rng = np.random.default_rng(seed)
    land = ground()
    lines = tracks() if with_tracks else ()
    streams = [Line("stream", points) for points in stream_lines(land)]
    sights = make_land(land, [*streams, *lines], []).sights
    look = "stream crosses track" if with_tracks else "junction of streams"
    goals = [one.place_m for one in sights if one.what == look]
    with np.errstate(invalid="ignore"):
        steep = slope_deg(land)
    made: list[Case] = []
    west, south, east, north = land.bounds
    while len(made) < count:
        goal = goals[rng.integers(len(goals))]
        away, turn = rng.uniform(*far), rng.uniform(0.0, 2.0 * np.pi)
        start = (goal[0] + away * np.sin(turn), goal[1] + away * np.cos(turn))
        inside = all(
            west + 1200 < place[0] < east - 1200 and south + 1200 < place[1] < north - 1200
            for place in (goal, start)
        )
        if not inside:
            continue
        row, column = int((north - start[1]) / land.cell_north_m), int((start[0] - west) / land.cell_east_m)
        if steep[row - 3 : row + 4, column - 3 : column + 4].max() > 30.0:
            continue
        # What is kept off is tested elsewhere: here the chance is the question.
        asked = PlanAsked(
            Named("start", start), Named("goal", goal), north=NORTH, steepest_deg=60.0, with_level=False
        )
        made.append(Case(MapHeld(land, lines), asked))
    return made


def walked_apart(answer: PlanAnswer, walkers: int, seed: int) -> float:
    """The share that arrives by the walkers who share no code with the tool."""
    land = answer.land
    told = plan_walks.Ground(
        [(line.kind, line.points_m) for line in land.lines], [(one.what, one.place_m) for one in land.sights]
    )
    legs = []
    assert answer.plan is not None
    for leg in answer.plan.legs:
        kind = "" if leg.line is None else land.lines[leg.line].kind
        look = "" if leg.sight is None else land.sights[leg.sight].what
        legs.append(
            plan_walks.ToldLeg(
                leg.azimuth_deg, leg.length_m, leg.ends, kind, look, leg.look_m, leg.stop_m,
                leg.follows, leg.way > 0,
            )
        )  # fmt: skip
    return plan_walks.walk(told, legs, answer.asked.start.place_m, answer.asked.goal.place_m, walkers, seed)
