"""Legs whose ends were set on the map: what lies where an end was put ends the leg."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from pacewright.exceptions import ValueComplaint
from pacewright.route.planning.figures import LEAST_LOOK_M, LEAST_STOP_M
from pacewright.route.planning.following import follow_leg
from pacewright.route.planning.kernels import cast_rays
from pacewright.route.planning.lines import nearest_on
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.search import Searcher
from pacewright.route.planning.step import SET_OUT_MIN, Place

End = tuple[float, float, bool]
"""East, north, and whether a line is followed there."""

SIGHT_WITHIN_M: Final = 45.0
LINE_WITHIN_M: Final = 30.0
"""An end put so near to a sight, or to a line, is meant to be at it: about as exactly as a finger points."""
_LEAST_M: Final = 5.0


def legs_through(searcher: Searcher, ends: Sequence[End]) -> list[PlanLeg]:
    """The legs through ends set on the map, each from where the one before is meant to end.

    An end at a sight is that sight; at a line, the first line of the kind met; elsewhere the count alone ends
    the leg. Azimuths are whole marks of the dial, so an end by count lies a little beside where it was put.

    Raises
    ------
    ValueComplaint
        There is no leg, or one has no length.
    """
    if not ends:
        raise ValueComplaint("there is no leg to prove", "Put the end of a leg on the map")
    made: list[PlanLeg] = []
    place, own2 = searcher.asked.start, (searcher.asked.spread[0] + searcher.asked.spread[2]) / 2.0
    before2 = own2
    for number, (east, north, follows) in enumerate(ends, 1):
        if math.hypot(east - place[0], north - place[1]) < _LEAST_M:
            raise ValueComplaint(f"leg {number} has no length", "Move its end, or take it out")
        goal = searcher.asked.through[-1] if number == len(ends) else None
        laid = _followed(searcher, made, place, (before2, own2), (east, north), goal) if follows else None
        laid = laid or _straight(searcher, place, own2, (east, north), goal)
        made.append(laid)
        place = laid.to_m
        far2 = own2 + (searcher.figures.azimuth_sd_rad * laid.length_m) ** 2
        before2, own2 = own2, far2 if laid.ends == "count" else searcher.figures.stands_sd_m**2
    return made


def _straight(searcher: Searcher, place: Place, own2: float, end: Place, goal: int | None) -> PlanLeg:
    land, figures, dial = searcher.land, searcher.figures, searcher.dial
    sight = _sight_at(searcher, end) if goal is None else goal
    aim = end if sight is None else land.sights[sight].place_m
    length = math.hypot(aim[0] - place[0], aim[1] - place[1])
    mark = round(
        (math.degrees(math.atan2(aim[0] - place[0], aim[1] - place[1])) - dial.turn_deg) / dial.step_deg
    )
    dial_deg = mark * dial.step_deg % 360.0
    azimuth_deg = (dial_deg + dial.turn_deg) % 360.0
    sd = math.sqrt(own2 + (figures.length_sd * length) ** 2)
    look = max(length - max(figures.look_sds * sd, LEAST_LOOK_M), 0.0)
    stop = length + max(figures.stop_sds * sd, LEAST_STOP_M)
    minutes = land.straight_min(place, aim) + SET_OUT_MIN
    if sight is not None:
        return PlanLeg("sight", place, aim, length, dial_deg, azimuth_deg, look, stop, minutes, sight=sight)
    turn = math.radians(azimuth_deg)
    met = _line_at(searcher, place, azimuth_deg, length)
    if met is not None:
        far, line, along = met
        to = (place[0] + far * math.sin(turn), place[1] + far * math.cos(turn))
        return PlanLeg(
            "line", place, to, far, dial_deg, azimuth_deg, max(look + far - length, 0.0), stop + far - length,
            minutes, line=line, along=along,
        )  # fmt: skip
    to = (place[0] + length * math.sin(turn), place[1] + length * math.cos(turn))
    return PlanLeg("count", place, to, length, dial_deg, azimuth_deg, length, length, minutes)


def _followed(
    searcher: Searcher, made: Sequence[PlanLeg], place: Place, own2: tuple[float, float], end: Place,
    goal: int | None,
) -> PlanLeg | None:  # fmt: skip
    """The leg along a line from where the last one ended; None where no line leads from there to here.

    `own2` is how unsure the last leg was begun, and how unsure it ended; variances.
    """
    land, figures = searcher.land, searcher.figures
    sight = _sight_at(searcher, end) if goal is None else goal
    if sight is None:
        return None
    on = made[-1].line if made and made[-1].ends == "line" else None
    best: tuple[float, int, float, float] | None = None
    for one in land.on_lines:
        if one.sight != sight or (on is not None and one.line != on):
            continue
        here, away = nearest_on(land.lines[one.line], place)
        far = abs(one.along_m - here)
        if away <= LINE_WITHIN_M and far > _LEAST_M and (best is None or far < best[0]):
            best = (far, one.line, here, one.along_m)
    if best is None:
        return None
    far, line, here, there = best
    sd = math.hypot(_along_sd_m(searcher, made, *own2), figures.length_sd * far)
    look, stop = (
        far - max(figures.look_sds * sd, LEAST_LOOK_M),
        far + max(figures.stop_sds * sd, LEAST_STOP_M),
    )
    return follow_leg(land, line, here, there, sight, place, look, stop, 1.0, searcher.dial.turn_deg)


def _along_sd_m(searcher: Searcher, made: Sequence[PlanLeg], before2: float, own2: float) -> float:
    """How widely one stands along the line that the last leg ended on, begun with a variance of `before2`."""
    figures, last = searcher.figures, made[-1] if made else None
    if last is None or last.ends != "line" or last.line is None or last.along is None or last.follows:
        return math.sqrt(own2)
    line = searcher.land.lines[last.line]
    here, there = line.at(last.along - 20.0), line.at(last.along + 20.0)
    turn = math.atan2(there[0] - here[0], there[1] - here[1]) - math.radians(last.azimuth_deg)
    across2 = before2 + (figures.azimuth_sd_rad * last.length_m) ** 2
    length2 = before2 + (figures.length_sd * last.length_m) ** 2
    # The error runs along the line, and a slanting one is met farther along it.
    drift2 = across2 + length2 * math.cos(turn) ** 2
    return math.hypot(figures.stands_sd_m, math.sqrt(drift2) / max(abs(math.sin(turn)), 0.3))


def _sight_at(searcher: Searcher, end: Place) -> int | None:
    places = np.array([one.place_m for one in searcher.land.sights])
    away = np.hypot(*(places - end).T)
    away[0] = np.inf  # The start is where one sets out, never where a leg ends.
    best = int(np.argmin(away))
    return best if away[best] <= SIGHT_WITHIN_M else None


def _line_at(
    searcher: Searcher, place: Place, azimuth_deg: float, length: float
) -> tuple[float, int, float] | None:
    """How far on the line lies that the leg is to end at, which it is, and metres along it."""
    count, met = cast_rays()(*place, 1, math.radians(azimuth_deg), length + 100.0, searcher.land.segments)
    hits = [(abs(far - length), far, line, along) for far, line, along, _ in met[0, : count[0]].tolist()]
    near = [hit for hit in hits if hit[0] <= LINE_WITHIN_M]
    if not near:
        return None
    _, far, line, along = min(near)
    return far, int(line), along
