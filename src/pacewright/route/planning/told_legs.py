"""What a walker is told of a planned leg: climb, what is met on it, when it is too far, and what then."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.terrain import height_at
from pacewright.route.planning.backstops import BailOut, nearest_backstop
from pacewright.route.planning.figures import CORRIDOR_SDS, WalkFigures
from pacewright.route.planning.in_the_way import InTheWay, in_the_way
from pacewright.route.planning.kernels import SAMPLE_M
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import Dial

Array = NDArray[np.float64]

_STEP_M: Final = 20.0
_SAME_LINE_M: Final = 60.0
_AIM_OFF_SDS: Final = (1.0, 4.0)
"""A line met so far beside the sight is aimed off; farther, it is a handrail, and nearer, no more than a mark
of the dial."""


@dataclass(frozen=True, slots=True)
class Met:
    """A line that is crossed on the way: its kind, and how far along the leg."""

    kind: str
    at_m: float


@dataclass(frozen=True, slots=True)
class WalkedLeg:
    """What became of who walked a leg: the chance of not missing it, and how widely they began it."""

    chance: float
    begin_sd_m: float


@dataclass(frozen=True, slots=True)
class ToldLeg:
    """A leg with what a walker is told of it.

    Attributes
    ----------
    leg
        The leg.
    climb_m, descent_m
        Up and down on it.
    met
        Lines crossed on the way.
    in_the_way
        Steep land that it slants over, and what is boxed on it.
    end_kind, sight
        The kind of line it ends on or follows, and the words of the sight at its end; empty without.
    begin_sd_m
        How far across the leg walkers stand from where it begins.
    aims_off_deg
        From the straight azimuth to the sight to the azimuth dialled, where the leg aims off; else None.
    aims_off_to_m, aims_off_sds
        How far beside the sight the line is met, and how many standard deviations that is.
    bail_out
        What to do when it was missed; None where no line is sure to be met.
    barred_at_m
        Where along the leg its 95 % corridor touches barred ground first; None where it keeps off.
    chance
        The chance of not missing it, for who comes to it, as walked.
    """

    leg: PlanLeg
    climb_m: float
    descent_m: float
    met: tuple[Met, ...]
    in_the_way: InTheWay
    end_kind: str
    sight: str
    begin_sd_m: float
    aims_off_deg: float | None
    aims_off_to_m: float
    aims_off_sds: float
    bail_out: BailOut | None
    barred_at_m: float | None
    chance: float


def tell_leg(
    land: PlanLand, figures: WalkFigures, dial: Dial, leg: PlanLeg, after: PlanLeg | None, walked: WalkedLeg
) -> ToldLeg:
    """What a walker is told of a leg.

    Parameters
    ----------
    after
        The leg that follows; a leg onto a line aims off where the next one follows that line.
    walked
        What became of who walked it.
    """
    climb, descent = _rises(land, leg)
    off = _aims_off(land, figures, leg, after, walked.begin_sd_m)
    return ToldLeg(
        leg=leg,
        climb_m=climb,
        descent_m=descent,
        met=() if leg.follows else _met(land, leg),
        in_the_way=in_the_way(land, leg),
        end_kind="" if leg.line is None else land.lines[leg.line].kind,
        sight="" if leg.sight is None else land.sights[leg.sight].what,
        begin_sd_m=walked.begin_sd_m,
        aims_off_deg=off[0],
        aims_off_to_m=off[1],
        aims_off_sds=off[2],
        bail_out=nearest_backstop(land, figures, dial, leg, walked.begin_sd_m),
        barred_at_m=None if leg.follows else barred_at(land, figures, leg, walked.begin_sd_m),
        chance=walked.chance,
    )


def profile(land: PlanLand, leg: PlanLeg) -> tuple[Array, Array]:
    """Metres along a leg and the heights there, both shape (n,)."""
    along = np.linspace(0.0, leg.length_m, max(2, math.ceil(leg.length_m / _STEP_M) + 1))
    if leg.follows and leg.line is not None and leg.along is not None:
        line = land.lines[leg.line]
        on = leg.along - leg.way * (leg.length_m - along)
        east = np.interp(on, line.lengths_m, line.points_m[:, 0])
        north = np.interp(on, line.lengths_m, line.points_m[:, 1])
    else:
        share = along / max(leg.length_m, 1e-9)
        east = leg.from_m[0] + share * (leg.to_m[0] - leg.from_m[0])
        north = leg.from_m[1] + share * (leg.to_m[1] - leg.from_m[1])
    return along, height_at(land.terrain, east, north)


def corridor(figures: WalkFigures, leg: PlanLeg, begin_sd_m: float) -> Array:
    """The outline of the 95 % corridor of a leg by azimuth, shape (n, 2), east and north."""
    far = np.linspace(0.0, leg.length_m, 12)
    wide = CORRIDOR_SDS * np.hypot(begin_sd_m, figures.azimuth_sd_rad * far)
    step = np.subtract(leg.to_m, leg.from_m)
    unit = step / max(float(np.hypot(*step)), 1e-9)
    beside = np.array([unit[1], -unit[0]])
    middle = np.array(leg.from_m) + far[:, None] * unit
    right, left = middle + wide[:, None] * beside, middle - wide[:, None] * beside
    return np.concatenate([right, left[::-1]])


def along_leg(land: PlanLand, leg: PlanLeg) -> Array:
    """The places along a leg, straight or along its line, shape (n, 2)."""
    if not leg.follows or leg.line is None or leg.along is None:
        return np.array([leg.from_m, leg.to_m])
    line = land.lines[leg.line]
    on = np.linspace(leg.along - leg.way * leg.length_m, leg.along, max(2, math.ceil(leg.length_m / _STEP_M)))
    return np.stack([np.interp(on, line.lengths_m, line.points_m[:, k]) for k in (0, 1)], axis=1)


def barred_at(land: PlanLand, figures: WalkFigures, leg: PlanLeg, begin_sd_m: float) -> float | None:
    """Where along a leg its 95 % corridor touches barred ground first; None where it keeps off."""
    for far in np.arange(
        SAMPLE_M, leg.length_m * (1 + CORRIDOR_SDS * figures.length_sd) + SAMPLE_M, SAMPLE_M
    ):
        share = far / max(leg.length_m, 1e-9)
        east = leg.from_m[0] + share * (leg.to_m[0] - leg.from_m[0])
        north = leg.from_m[1] + share * (leg.to_m[1] - leg.from_m[1])
        wide = CORRIDOR_SDS * math.hypot(begin_sd_m, figures.azimuth_sd_rad * far)
        if land.clear_at(east, north) < wide:
            return float(min(far, leg.length_m))
    return None


def _rises(land: PlanLand, leg: PlanLeg) -> tuple[float, float]:
    if not land.has_heights:
        return 0.0, 0.0
    rise = np.diff(np.nan_to_num(profile(land, leg)[1]))
    return float(rise[rise > 0].sum()), float(-rise[rise < 0].sum())


def _met(land: PlanLand, leg: PlanLeg) -> tuple[Met, ...]:
    """The lines that the straight leg crosses well before its end."""
    step = np.array(leg.to_m) - leg.from_m
    length = float(np.hypot(*step))
    if length == 0 or not len(land.segments):
        return ()
    unit = step / length
    gap = land.segments[:, 0:2] - leg.from_m
    stride = land.segments[:, 2:4] - land.segments[:, 0:2]
    cross = unit[0] * stride[:, 1] - unit[1] * stride[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        far = (gap[:, 0] * stride[:, 1] - gap[:, 1] * stride[:, 0]) / cross
        share = (gap[:, 0] * unit[1] - gap[:, 1] * unit[0]) / cross
    hit = (share >= 0) & (share < 1) & (far > _SAME_LINE_M) & (far < length - _SAME_LINE_M)
    met: list[Met] = []
    for at in sorted(np.flatnonzero(hit), key=lambda k: float(far[k])):
        kind = land.lines[int(land.segments[at, 4])].kind
        if not any(one.kind == kind and abs(one.at_m - far[at]) < _SAME_LINE_M for one in met):
            met.append(Met(kind, float(far[at])))
    return tuple(met)


def _aims_off(
    land: PlanLand, figures: WalkFigures, leg: PlanLeg, after: PlanLeg | None, begin_sd_m: float
) -> tuple[float | None, float, float]:
    if leg.ends != "line" or after is None or not after.follows or after.line != leg.line or leg.line is None:
        return None, 0.0, 0.0
    to_sight = np.array(after.to_m) - leg.from_m
    straight_deg = math.degrees(math.atan2(to_sight[0], to_sight[1]))
    turn = (leg.azimuth_deg - straight_deg + 180.0) % 360.0 - 180.0
    along = leg.along if leg.along is not None else 0.0
    here, there = land.lines[leg.line].at(along - 20.0), land.lines[leg.line].at(along + 20.0)
    line_rad = math.atan2(there[0] - here[0], there[1] - here[1])
    sine = abs(math.sin(line_rad - math.radians(leg.azimuth_deg)))
    cosine = math.cos(line_rad - math.radians(leg.azimuth_deg))
    across = math.hypot(begin_sd_m, figures.azimuth_sd_rad * leg.length_m)
    # A walker who drifts across the leg meets a slanting line farther along it.
    sd = across / max(sine, 0.1) if abs(cosine) < 0.99 else across
    sds = after.length_m / sd
    return (turn if _AIM_OFF_SDS[0] <= sds <= _AIM_OFF_SDS[1] else None), after.length_m, sds
