"""Legs planned by hand, laid on the ground: where each is meant to end, and from where one looks for it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.core.log.remarks import At, StationOn
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import ValueComplaint
from pacewright.route.planning.figures import LEAST_LOOK_M, LEAST_STOP_M
from pacewright.route.planning.kernels import cast_rays
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.search import Searcher
from pacewright.route.planning.step import SET_OUT_MIN

_SIGHT_WITHIN_M: Final = 300.0


@dataclass(frozen=True, slots=True)
class HandLeg:
    """A leg as a hand planned it.

    Attributes
    ----------
    dial_deg, length_m
        What is dialled, and how far.
    end
        The words of the line or sight expected at its end; empty for none.
    number
        Its number on the page, for complaints.
    """

    dial_deg: float
    length_m: float
    end: str
    number: int


def hand_legs(log: TravelLog, walker: Walker) -> list[HandLeg]:
    """The legs of a log as a plan made by hand.

    A leg ends at what `[at NAME]` names, a sight or a kind of line; `[on stream]` and `[on ridge]` are lines.

    Raises
    ------
    MissingComplaint
        Counts are in paces and the walker has no pace count.
    """
    unit = log.heading.count_unit
    to_m = 1.0 if unit == "metres" else walker.pace_m() / (2.0 if unit == "steps" else 1.0)
    made: list[HandLeg] = []
    for leg in log.legs:
        at_station = [one.name for one in leg.remarks if isinstance(one, At)]
        at_station += [
            one.feature
            for one in leg.remarks
            if isinstance(one, StationOn) and one.feature in ("stream", "ridge")
        ]
        made.append(
            HandLeg(leg.azimuth_deg, leg.count * to_m, at_station[0] if at_station else "", len(made) + 1)
        )
    return made


def laid_legs(searcher: Searcher, legs: Sequence[HandLeg]) -> list[PlanLeg]:
    """Legs planned by hand as they lie on the ground, each from where the one before is meant to end.

    Raises
    ------
    ValueComplaint
        There is no leg, or one ends at a line or sight that is not there.
    """
    if not legs:
        raise ValueComplaint("there is no leg to prove", "Write azimuth and count of every leg")
    made: list[PlanLeg] = []
    place, own2 = searcher.asked.start, (searcher.asked.spread[0] + searcher.asked.spread[2]) / 2.0
    for number, leg in enumerate(legs):
        is_last = number == len(legs) - 1
        laid = _laid(
            searcher, leg, place, own2, searcher.asked.through[-1] if is_last and not leg.end else None
        )
        made.append(laid)
        place = laid.to_m
        across2 = own2 + (searcher.figures.azimuth_sd_rad * laid.length_m) ** 2
        own2 = across2 if laid.ends == "count" else searcher.figures.stands_sd_m**2
    return made


def _laid(
    searcher: Searcher, leg: HandLeg, place: tuple[float, float], own2: float, goal: int | None
) -> PlanLeg:
    land, figures = searcher.land, searcher.figures
    azimuth_deg = (leg.dial_deg + searcher.dial.turn_deg) % 360.0
    angle = math.radians(azimuth_deg)
    end = (place[0] + leg.length_m * math.sin(angle), place[1] + leg.length_m * math.cos(angle))
    sd = math.sqrt(own2 + (figures.length_sd * leg.length_m) ** 2)
    minutes = land.straight_min(place, end) + SET_OUT_MIN
    given = (leg.length_m, leg.dial_deg % 360.0, azimuth_deg)
    words = leg.end.casefold()
    if goal is None and not words:
        return PlanLeg("count", place, end, *given, leg.length_m, leg.length_m, minutes)
    if goal is None and words in {line.kind.casefold() for line in land.lines}:
        line, along, far = _line_met(searcher, leg, place, azimuth_deg, words)
        look = max(leg.length_m - max(figures.look_sds * sd, LEAST_LOOK_M), 0.0)
        stop = leg.length_m + max(figures.stop_sds * sd, LEAST_STOP_M)
        met = (place[0] + far * math.sin(angle), place[1] + far * math.cos(angle))
        return PlanLeg("line", place, met, *given, look, stop, minutes, line=line, along=along)
    sight = _sight(searcher, leg, end, words) if goal is None else goal
    look, stop = max(0.0, leg.length_m - figures.look_sds * sd), leg.length_m + figures.stop_sds * sd
    return PlanLeg("sight", place, land.sights[sight].place_m, *given, look, stop, minutes, sight=sight)


def _line_met(
    searcher: Searcher, leg: HandLeg, place: tuple[float, float], azimuth_deg: float, words: str
) -> tuple[int, float, float]:
    """The line of the kind that the leg meets nearest to where its count is full."""
    land = searcher.land
    count, met = cast_rays()(*place, 1, math.radians(azimuth_deg), 2.0 * leg.length_m + 500.0, land.segments)
    best = None
    for far, line, along, _ in met[0, : count[0]]:
        if land.lines[int(line)].kind.casefold() == words:
            miss = abs(far - leg.length_m)
            if best is None or miss < best[0]:
                best = (miss, int(line), float(along), float(far))
    if best is None:
        raise ValueComplaint(
            f"leg {leg.number} is to end at a {leg.end}, and there is none on its azimuth",
            "Check the azimuth and the north, or name another end",
        )
    return best[1:]


def _sight(searcher: Searcher, leg: HandLeg, end: tuple[float, float], words: str) -> int:
    named = [k for k, one in enumerate(searcher.land.sights) if one.what.casefold() == words]
    away = [
        math.hypot(searcher.land.sights[k].place_m[0] - end[0], searcher.land.sights[k].place_m[1] - end[1])
        for k in named
    ]
    if not named or min(away) > max(_SIGHT_WITHIN_M, 0.3 * leg.length_m):
        known = ", ".join(
            sorted({one.what for one in searcher.land.sights} | {line.kind for line in searcher.land.lines})
        )
        raise ValueComplaint(
            f"leg {leg.number} is to end at {leg.end}, and there is nothing of that name near its end",
            f"Take one of: {known[:300]}",
        )
    return named[int(np.argmin(away))]
