"""What can be done from a sight by following the lines it lies on."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from typing import Final

from scipy.special import ndtr

from pacewright.core.compass import direction_deg
from pacewright.route.planning.branching import branch_chance, branches_at, sees_line_chance
from pacewright.route.planning.figures import LEAST_LOOK_M, LEAST_STOP_M, WalkFigures
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.lines import SAME_SIGHT_M, OnLine
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import Dial, Place, Step, is_sure, only_leg, sure_spread

_SIGHTS_ALONG: Final = 4
_LEAST_CHANCE: Final = 0.3
_WINDOWS_SDS: Final = ((4.0, 4.5), (3.0, 3.5))
"""From where the end is looked for and where it is too far: wider than on a leg by azimuth, as nothing else
is met meanwhile but sights of the same line. The narrower is for a line with another such sight nearer."""


def follow_leg(
    land: PlanLand, line: int, along: float, to: float, sight: int | None, from_m: Place,
    look_m: float, stop_m: float, chance: float, turn_deg: float,
) -> PlanLeg:  # fmt: skip
    """The leg along a line from one place on it to another.

    Parameters
    ----------
    turn_deg
        What is added to an azimuth as it is dialled to make it the grid's: a card tells it as it is dialled.
    """
    end = land.lines[line].at(to) if sight is None else land.sights[sight].place_m
    azimuth_deg = direction_deg(end[0] - from_m[0], end[1] - from_m[1])
    return PlanLeg(
        ends="sight", from_m=from_m, to_m=end, length_m=abs(to - along),
        dial_deg=(azimuth_deg - turn_deg) % 360.0, azimuth_deg=azimuth_deg,
        look_m=max(look_m, 0.0), stop_m=stop_m,
        minutes=land.follow_min(line, along, to), line=line, along=to,
        way=1 if to >= along else -1, sight=sight, chance=chance,
    )  # fmt: skip


def steps_along(
    land: PlanLand, figures: WalkFigures, dial: Dial, sight: int, spread: tuple[float, float, float]
) -> list[Step]:
    """What can be done from a sight by following the lines it lies on.

    Parameters
    ----------
    spread
        How unsure one stands at the sight: variance east, covariance, variance north.
    """
    steps = []
    for on in land.on_lines:
        if on.sight != sight:
            continue
        low, high = int(land.first_sight[on.line]), int(land.first_sight[on.line + 1])
        for way in (1, -1):
            place = land.sights[sight].place_m
            own_sd, across_sd = _along_and_across(land, on, spread)
            sees = 1.0 if is_sure(figures, spread) else sees_line_chance(figures, across_sd)
            branches = branches_at(land, figures, place, on.line, on.along_m, way)
            passed: list[tuple[float, int]] = []
            for row in range(low, high)[::way]:
                to = land.on_lines[row]
                far = way * (to.along_m - on.along_m)
                if far <= 20.0 or to.sight == sight:
                    continue
                if len(passed) == _SIGHTS_ALONG or _is_closed(land, on.line, on.along_m, to.along_m):
                    break
                alike = [nearer for nearer, its in passed if land.looks[its] == land.looks[to.sight]]
                chance, look, stop = max(
                    _window(figures, own_sd, far, alike, *window) for window in _WINDOWS_SDS
                )
                passed.append((far, to.sight))
                end = land.sights[to.sight].place_m
                azimuth_deg = direction_deg(end[0] - place[0], end[1] - place[1])
                chance *= sees * branch_chance(land, figures, branches, far, azimuth_deg)
                if chance < _LEAST_CHANCE:
                    continue
                make = partial(
                    follow_leg, land, on.line, on.along_m, to.along_m, to.sight, place,
                    look, stop, chance, dial.turn_deg,
                )  # fmt: skip
                minutes = land.follow_min(on.line, on.along_m, to.along_m)
                key = (4, on.line, way, to.sight)
                steps.append(
                    Step(to.sight, end, sure_spread(figures), minutes, chance, key, partial(only_leg, make))
                )
    return steps


def _window(
    figures: WalkFigures, own_sd: float, far: float, alike: Sequence[float], look_sds: float, stop_sds: float
) -> tuple[float, float, float]:
    """The chance to find a sight so far along a line; from where it is looked for, and where it is too far.

    `alike` is how far sights of the same look lie that are passed before.
    """
    sd = math.hypot(own_sd, figures.length_sd * far)
    look = max(far - max(look_sds * sd, LEAST_LOOK_M), 0.0)
    stop = far + max(stop_sds * sd, LEAST_STOP_M)
    chance = float(ndtr((far - look) / sd) * ndtr((stop - far) / sd))
    for nearer in alike:
        chance *= float(
            ndtr((look - nearer - SAME_SIGHT_M / 2.0) / math.hypot(own_sd, figures.length_sd * nearer))
        )
    return chance, look, stop


def _along_and_across(land: PlanLand, on: OnLine, spread: tuple[float, float, float]) -> tuple[float, float]:
    """How unsure one stands about a place on a line, along it and across it; metres."""
    line = land.lines[on.line]
    here, there = line.at(on.along_m - 20.0), line.at(on.along_m + 20.0)
    turn = math.atan2(there[0] - here[0], there[1] - here[1])
    sine, cosine = math.sin(turn), math.cos(turn)
    ee, en, nn = spread
    along2 = sine * sine * ee + 2.0 * sine * cosine * en + cosine * cosine * nn
    across2 = cosine * cosine * ee - 2.0 * sine * cosine * en + sine * sine * nn
    return math.sqrt(max(along2, 0.0)), math.sqrt(max(across2, 0.0))


def _is_closed(land: PlanLand, line: int, here: float, there: float) -> bool:
    low, high = land.closed_first[line], land.closed_first[line + 1]
    near, far = min(here, there), max(here, there)
    return bool(((land.closed[low:high, 0] < far) & (land.closed[low:high, 1] > near)).any())
