"""How to get there so that the chance of missing is known and small: legs, walked by made walkers first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.answers.hand_plan import HandLeg, laid_legs
from pacewright.answers.moved_plan import End, legs_through
from pacewright.answers.plan_question import MapHeld, Named, PlanAsked, ground_bounds, rest_share
from pacewright.core.pace.walker import Slope, Walker
from pacewright.exceptions import ValueComplaint
from pacewright.ground.landmarks import stream_lines, tops
from pacewright.ground.terrain import Terrain
from pacewright.route.map_leg import PacedLength, Walking, paced_length
from pacewright.route.planning.figures import WalkFigures, walk_figures
from pacewright.route.planning.land import (
    PlanLand,
    bare_ground,
    make_land,
)
from pacewright.route.planning.lines import Line, Sight, nearest_on
from pacewright.route.planning.obstacles import (
    BESIDE_M,
    CLIFF_BEYOND_DEG,
    MOST_BOXED_M,
    SLANT_DEG,
    STEEP_SLOWER,
    barred_by_area,
    barred_by_terrain,
)
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.proving import ProvedPlan, find_proved_plan, prove
from pacewright.route.planning.search import Asked, Progress, Searcher
from pacewright.route.planning.step import SET_OUT_MIN, Dial, sure_spread
from pacewright.route.planning.told_legs import ToldLeg, WalkedLeg, barred_at, tell_leg

Array = NDArray[np.float64]
Place = tuple[float, float]

GRADED_FROM: Final = 0.08
"""A leg that rises or falls by more than this is counted as up or down (assumed)."""
MOST_CELLS: Final = 4_000_000
FEW_LINES_M: Final = 5000.0
"""So far apart few lines are met on a way; what may be missed is shared out over what is farther."""


@dataclass(frozen=True, slots=True, eq=False)
class CountedLeg:
    """A leg as it is told and counted.

    Attributes
    ----------
    told
        The leg, and what is told of it.
    slope
        As it is counted.
    length, too_far, look
        In paces, on the cord, metres and minutes: of the leg, of where it is too far, of where to look.
    leave_min
        Minutes from setting out to its end, rests included.
    """

    told: ToldLeg
    slope: Slope
    length: PacedLength
    too_far: PacedLength
    look: PacedLength
    leave_min: float


@dataclass(frozen=True, slots=True, eq=False)
class PlanAnswer:
    """A plan with its proof, or why there is none.

    Attributes
    ----------
    asked, walker, land, figures
        What was asked, of whom, on which ground.
    legs
        The plan; empty where there is none at all.
    plan
        The same with its walkers; None where there is none.
    straight
        The straight line, walked for comparison.
    others
        Other plans that differ, the surest first.
    by_hand
        Whether the plan was made by hand and only proved here.
    nearest_line_m
        How far the goal lies from the nearest line that could catch one; None without lines.
    hemmed_in_m
        Where there is no plan: how far start and goal lie from what is kept off.
    gave_up
        Where there is no plan: whether there may be one that was not found.
    remarks
        What was assumed.
    """

    asked: PlanAsked
    walker: Walker
    land: PlanLand
    figures: WalkFigures
    legs: tuple[CountedLeg, ...]
    plan: ProvedPlan | None
    straight: ProvedPlan
    others: tuple[ProvedPlan, ...]
    by_hand: bool
    nearest_line_m: float | None
    hemmed_in_m: tuple[float, float]
    gave_up: bool
    remarks: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether the plan keeps what was asked, as walked."""
        if self.plan is None:
            return False
        if self.asked.most_min is not None:
            return self.minutes <= self.asked.most_min + 1e-9
        return self.plan.walked.missed <= self.asked.miss

    @property
    def minutes(self) -> float:
        """All of it, rests included."""
        return 0.0 if self.plan is None else self.plan.minutes * rest_share(self.asked)


def answer_plan(
    held: MapHeld,
    walker: Walker,
    asked: PlanAsked,
    rng: np.random.Generator,
    progress: Progress | None = None,
) -> PlanAnswer:
    """Plan legs that can be held by compass and count, and prove them by walking.

    Parameters
    ----------
    held
        What the map holds.
    walker
        Who walks.
    asked
        What is asked.
    rng
        Where the made walkers' chance comes from.
    progress
        Told of the share that is done.

    Raises
    ------
    ValueComplaint
        A place lies off the land or on barred ground, or the land is too large.
    """
    searcher, remarks = _searcher(held, walker, asked)
    straight = prove(searcher, [_straight_leg(searcher, asked)], rng)
    plan = find_proved_plan(searcher, rng, progress)
    if plan is None and not asked.via:
        (leg,) = straight.legs
        # Where nothing leads to the goal from sight to sight, straight on is the best there is.
        is_clear = barred_at(searcher.land, searcher.figures, leg, searcher.figures.stands_sd_m) is None
        plan = straight if is_clear else None
    return _answer(
        searcher, asked, walker, plan, straight, _others(searcher, plan, rng), remarks, by_hand=False
    )


def prove_by_hand(
    held: MapHeld, walker: Walker, asked: PlanAsked, legs: Sequence[HandLeg], rng: np.random.Generator
) -> PlanAnswer:
    """Prove legs that were planned by hand, by walking.

    Raises
    ------
    ValueComplaint
        There is no leg, or one ends at a line or sight that is not there.
    """
    searcher, remarks = _searcher(held, walker, asked)
    straight = prove(searcher, [_straight_leg(searcher, asked)], rng)
    plan = prove(searcher, laid_legs(searcher, legs), rng)
    return _answer(searcher, asked, walker, plan, straight, (), remarks, by_hand=True)


def prove_through(
    held: MapHeld, walker: Walker, asked: PlanAsked, ends: Sequence[End], rng: np.random.Generator
) -> PlanAnswer:
    """Prove legs whose ends were set on the map, by walking.

    Parameters
    ----------
    ends
        Where each leg ends, metres east and north, and whether a line is followed there; the goal last.

    Raises
    ------
    ValueComplaint
        There is no leg, or one has no length.
    """
    searcher, remarks = _searcher(held, walker, asked)
    straight = prove(searcher, [_straight_leg(searcher, asked)], rng)
    plan = prove(searcher, legs_through(searcher, ends), rng)
    return _answer(searcher, asked, walker, plan, straight, (), remarks, by_hand=True)


def _searcher(held: MapHeld, walker: Walker, asked: PlanAsked) -> tuple[Searcher, list[str]]:
    remarks: list[str] = []
    places = [asked.start, asked.goal, *asked.via]
    terrain, bounds = held.terrain, ground_bounds([one.place_m for one in places])
    lines = list(held.lines)
    sights = [Sight(asked.start.name, asked.start.place_m, True), *_ends(asked)]
    sights += [Sight(one.name, one.place_m) for one in held.points]
    ground = terrain or bare_ground(bounds)
    if ground.elevation_m.size > MOST_CELLS:
        raise ValueComplaint(
            "this is more land than a plan is made over", "Give places that lie closer together"
        )
    barred: dict[str, NDArray[np.bool_]] = {}
    steep = None
    if terrain is not None:
        barred, steep = barred_by_terrain(terrain, asked.steepest_deg, asked.with_level)
        lines += _from_heights(terrain, asked)
        sights += [Sight("top", (float(east), float(north))) for east, north in tops(terrain)]
        remarks.append(_kept_off(asked))
    for name, ring in held.barred:
        cells = barred_by_area(ground, ring)
        barred[name] = barred[name] | cells if name in barred else cells
    land = make_land(terrain, lines, sights, barred, asked.rule, bounds, steep)
    for one in places:
        _check_place(land, one)
    # On a long way many lines are met, and each is missed by who meets it before it is looked for.
    far_m = math.dist(asked.start.place_m, asked.goal.place_m)
    miss = asked.miss * min(1.0, FEW_LINES_M / max(far_m, 1.0))
    figures = walk_figures(walker, asked.north.sd_deg, asked.seen_m, miss)
    marks = round(360.0 / figures.azimuth_step_deg)
    through = tuple(range(1, 2 + len(asked.via)))
    spread = asked.start_spread or sure_spread(figures)
    most = None if asked.most_min is None else asked.most_min / rest_share(asked)
    return (
        Searcher(
            land, figures, Dial(marks, asked.north.added_deg),
            Asked(asked.start.place_m, spread, 0, through, asked.miss, most),
        ),
        remarks,
    )  # fmt: skip


def _ends(asked: PlanAsked) -> list[Sight]:
    return [Sight(one.name, one.place_m, True) for one in (*asked.via, asked.goal)]


def _from_heights(terrain: Terrain, asked: PlanAsked) -> list[Line]:
    lines: list[Line] = []
    if asked.with_streams:
        lines += [Line("stream", points) for points in stream_lines(terrain, asked.stream_km2)]
    if asked.with_ridges:
        # Where water would gather if the land were turned upside down.
        upside_down = replace(terrain, elevation_m=-terrain.elevation_m)
        lines += [Line("ridge", points) for points in stream_lines(upside_down, asked.stream_km2)]
    return lines


def _kept_off(asked: PlanAsked) -> str:
    level = (
        " and level areas of two hectares and more, which are water as a rule," if asked.with_level else ""
    )
    cliff_deg = asked.steepest_deg + CLIFF_BEYOND_DEG
    slant = ""
    if cliff_deg < 90.0:
        slant = (
            f" Ground of {asked.steepest_deg:g} to {cliff_deg:g} degrees is crossed on a slant of no more "
            f"than {SLANT_DEG:.0f} degrees, in {STEEP_SLOWER:g} times the time."
        )
    cliffs = f"Ground steeper than {cliff_deg:g} degrees{level}" if slant else "Level areas" if level else ""
    if not cliffs:
        return "Nothing is kept off but the areas you gave."
    kept = "are kept off" if level and slant else "is kept off"
    return (
        f"{cliffs} {kept} by the 95 % corridor of every leg, or boxed where no wider than "
        f"{MOST_BOXED_M:g} m, with {BESIDE_M:g} m to spare.{slant} These limits are assumed: "
        "go by what you see."
    )


def _check_place(land: PlanLand, one: Named) -> None:
    clear = land.clear_at(*one.place_m)
    if clear < 0:
        raise ValueComplaint(f"{one.name} lies off the terrain", "Give a terrain that reaches well round it")
    if clear == 0:
        raise ValueComplaint(
            f"{one.name} lies on ground that is kept off: too steep, level as water is, or barred",
            "Move it, or allow that ground (--steepest, --level-is-dry)",
        )


def _straight_leg(searcher: Searcher, asked: PlanAsked) -> PlanLeg:
    dial = searcher.dial
    step = np.subtract(asked.goal.place_m, asked.start.place_m)
    length = float(np.hypot(*step))
    if length < 1.0:
        raise ValueComplaint("a plan from a place to itself has no legs", "Give two places that differ")
    mark = round((math.degrees(math.atan2(*step)) - dial.turn_deg) / dial.step_deg)
    minutes = searcher.land.straight_min(asked.start.place_m, asked.goal.place_m) + SET_OUT_MIN
    return PlanLeg(
        "sight", asked.start.place_m, asked.goal.place_m, length, mark * dial.step_deg % 360.0,
        (mark * dial.step_deg + dial.turn_deg) % 360.0, length, length, minutes,
        sight=searcher.asked.through[-1],
    )  # fmt: skip


def _others(searcher: Searcher, plan: ProvedPlan | None, rng: np.random.Generator) -> tuple[ProvedPlan, ...]:
    """Plans beside the one that was asked for: surer and slower, or faster and less sure."""
    if plan is None:
        return ()
    found = []
    for miss in (searcher.asked.miss / 3.0, min(0.5, 3.0 * searcher.asked.miss)):
        one = replace(searcher.asked, miss=miss, most_min=None)
        other = replace(searcher, asked=one, most_opened=60)
        way = other.fastest()
        if way is not None and way.legs != plan.legs:
            made = prove(other, way.legs, rng)
            found.append(replace(made, said=way.chance))
    return tuple(sorted(found, key=lambda one: -one.chance))


def _answer(
    searcher: Searcher, asked: PlanAsked, walker: Walker, plan: ProvedPlan | None, straight: ProvedPlan,
    others: tuple[ProvedPlan, ...], remarks: list[str], *, by_hand: bool,
) -> PlanAnswer:  # fmt: skip
    land = searcher.land
    legs: list[CountedLeg] = []
    so_far = 0.0
    for k, leg in enumerate(() if plan is None else plan.legs):
        after = plan.legs[k + 1] if plan is not None and k + 1 < len(plan.legs) else None
        told = tell_leg(
            land, searcher.figures, searcher.dial, leg, after, _walked_leg(plan, k, searcher.figures)
        )
        so_far += leg.minutes * rest_share(asked)
        legs.append(_counted(told, walker, asked, so_far))
    nearest = min((nearest_on(line, asked.goal.place_m)[1] for line in land.lines), default=None)
    hemmed_in_m = land.clear_at(*asked.start.place_m), land.clear_at(*asked.goal.place_m)
    return PlanAnswer(
        asked, walker, land, searcher.figures, tuple(legs), plan, straight, others, by_hand, nearest,
        hemmed_in_m, searcher.gave_up, tuple(remarks),
    )  # fmt: skip


def _walked_leg(plan: ProvedPlan | None, number: int, figures: WalkFigures) -> WalkedLeg:
    assert plan is not None
    leg, places = plan.legs[number], plan.walked.places_m[number]
    here = places[np.isfinite(places[:, 0])]
    angle = math.radians(leg.azimuth_deg)
    across = here @ np.array([math.cos(angle), -math.sin(angle)])
    sd = float(across.std()) if len(across) > 1 else 0.0
    return WalkedLeg(1.0 - float(plan.walked.by_leg[number]), max(sd, figures.stands_sd_m))


def _counted(told: ToldLeg, walker: Walker, asked: PlanAsked, leave_min: float) -> CountedLeg:
    leg = told.leg
    grade = (told.climb_m - told.descent_m) / max(leg.length_m, 1.0)
    slope: Slope = "up" if grade > GRADED_FROM else "down" if grade < -GRADED_FROM else "level"
    walking = Walking(walker, slope=slope, rule=asked.rule)
    length = replace(paced_length(leg.length_m, walking), minutes=leg.minutes)
    return CountedLeg(
        told, slope, length, paced_length(leg.stop_m, walking), paced_length(leg.look_m, walking), leave_min
    )
