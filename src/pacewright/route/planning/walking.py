"""A plan walked by many made walkers, each with a bias of their own: the printed chance comes from here.

The lines are walked into as they lie, and any line of the kind that is looked for is taken; where several
leave a place, the one that leads nearest to the azimuth told. What a plan's own reckoning leaves out is met
here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.route.planning.branching import Taken, lines_taken
from pacewright.route.planning.figures import WalkFigures
from pacewright.route.planning.in_the_way import in_the_way
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.lines import SAME_SIGHT_M
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import is_sure

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Numbers = NDArray[np.int64]

WALKERS: Final = 2000
"""The standard error of a chance of 0.05 is then 0.005."""


_Stands = Literal["at a sight", "on the line", "anywhere"]
_SAME_PLACE_M: Final = 1.0
_ALIKE_WITHIN_M: Final = 1000.0
"""Twice as far as any sight is seen from (500 m)."""


@dataclass(frozen=True, slots=True, eq=False)
class Walked:
    """What became of the walkers.

    Attributes
    ----------
    walkers
        How many set out.
    arrived
        The share that ended every leg where it was meant to end.
    lost
        The share of all walkers that missed on each leg, shape (legs,).
    places_m
        Where each stood after each leg, shape (legs + 1, walkers, 2); NaN once missed.
    """

    walkers: int
    arrived: float
    lost: Array
    places_m: Array

    @property
    def missed(self) -> float:
        """The share that missed somewhere."""
        return 1.0 - self.arrived

    @property
    def by_leg(self) -> Array:
        """The chance of missing each leg for those who come to it, shape (legs,)."""
        came = 1.0 - np.concatenate([[0.0], np.cumsum(self.lost)[:-1]])
        return self.lost / np.maximum(came, 1e-9)


@dataclass(slots=True, eq=False)
class _Crowd:
    """Where the walkers are: places, who is not lost, which line each stands on and how far along it.

    Who took another line than was meant may come back to the plan by the next leg: `strayed` is the leg on
    which he took it, -1 for who goes by the plan. `lost_on` is the leg that a walker is lost by, or -1.
    """

    place: Array
    right: Bools
    along: Array
    on: Numbers
    strayed: Numbers
    lost_on: Numbers
    bias_rad: Array
    scale: Array


def walk_plan(
    land: PlanLand,
    figures: WalkFigures,
    legs: Sequence[PlanLeg],
    spread: tuple[float, float, float],
    rng: np.random.Generator,
    walkers: int = WALKERS,
) -> Walked:
    """Let walkers walk a plan.

    Parameters
    ----------
    land, figures
        The ground, and how a walker strays.
    legs
        The plan; at least one leg.
    spread
        Variance east, covariance and variance north of where they set out.
    rng
        Where chance comes from.
    walkers
        How many.
    """
    root = np.linalg.cholesky(np.array([[spread[0], spread[1]], [spread[1], spread[2]]]) + 1e-9 * np.eye(2))
    crowd = _Crowd(
        place=np.array(legs[0].from_m) + rng.standard_normal((walkers, 2)) @ root.T,
        right=np.ones(walkers, dtype=bool),
        along=np.full(walkers, np.nan),
        on=np.full(walkers, -1, dtype=np.int64),
        strayed=np.full(walkers, -1, dtype=np.int64),
        lost_on=np.full(walkers, -1, dtype=np.int64),
        bias_rad=figures.bias_sd_rad * rng.standard_normal(walkers),
        scale=figures.scale_sd * rng.standard_normal(walkers),
    )
    places = [crowd.place.copy()]
    for number, leg in enumerate(legs):
        before = crowd.right.copy()
        # True metres to a counted metre on this leg.
        true = 1.0 + crowd.scale + figures.count_sd * rng.standard_normal(walkers)
        if leg.follows:
            before_it = legs[number - 1] if number else None
            is_meant = _follow(land, figures, leg, crowd, true, rng, _stands(leg, before_it, figures, spread))
        else:
            turn = leg.azimuth_deg * math.pi / 180.0 + crowd.bias_rad
            turn = turn + figures.turn_sd_rad * rng.standard_normal(walkers)
            is_meant = _walk(land, figures, leg, crowd, true, turn, rng, is_last=number == len(legs) - 1)
        if not _may_come_back(land, leg, legs[number + 1] if number + 1 < len(legs) else None):
            crowd.right &= is_meant
        by = np.where(crowd.strayed >= 0, crowd.strayed, number)
        crowd.lost_on = np.where(before & ~crowd.right, by, crowd.lost_on)
        if leg.ends != "count":
            crowd.strayed = np.where(is_meant, -1, by)
        places.append(np.where((crowd.right & (crowd.strayed < 0))[:, None], crowd.place, np.nan))
    lost = np.bincount(crowd.lost_on[~crowd.right], minlength=len(legs)) / walkers
    return Walked(walkers, float(crowd.right.mean()), lost, np.array(places))


def _stands(
    leg: PlanLeg, before: PlanLeg | None, figures: WalkFigures, spread: tuple[float, float, float]
) -> _Stands:
    """Where one stands who is to follow a line."""
    if before is None:
        return "at a sight" if is_sure(figures, spread) else "anywhere"
    if before.ends == "line" and before.line == leg.line:
        return "on the line"
    return "at a sight" if before.ends == "sight" else "anywhere"


def _may_come_back(land: PlanLand, leg: PlanLeg, after: PlanLeg | None) -> bool:
    """Whether one who took another line of the kind than was meant can go on by what the next leg says."""
    if after is None or leg.line is None or leg.ends != "line":
        return leg.ends == "count" and after is not None and not after.follows
    # A stream is drawn anew from every junction, and shows itself which way is up. Of another line than the
    # one that is meant nobody knows which way to follow it.
    return not after.follows or (after.line == leg.line and land.lines[leg.line].kind == "stream")


def _walk(
    land: PlanLand, figures: WalkFigures, leg: PlanLeg, crowd: _Crowd, true: Array, turn: Array,
    rng: np.random.Generator, *, is_last: bool,
) -> Bools:  # fmt: skip
    """Walk a leg by azimuth to its end; who ends where it is meant to end."""
    ahead = np.stack([np.sin(turn), np.cos(turn)], axis=1)
    out_m = in_the_way(land, leg).out_m
    if out_m:
        # Out and back are two counts across the leg, and two azimuths that turn them a little along it.
        by = math.sqrt(2.0) * out_m * np.array([figures.turn_sd_rad, figures.count_sd])
        off = by * rng.standard_normal((true.size, 2))
        aside = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
        crowd.place = crowd.place + off[:, :1] * ahead + off[:, 1:] * aside
    if leg.ends == "line":
        assert leg.line is not None
        met, its, along = _first_line(land, leg, crowd.place, ahead, true)
        crowd.right &= its >= 0
        crowd.along, crowd.on = along, its
        crowd.place = crowd.place + np.where(np.isfinite(met), met, 0.0)[:, None] * ahead
        return np.asarray(its == leg.line)
    crowd.place = crowd.place + (leg.length_m * true)[:, None] * ahead
    crowd.along = np.full(true.size, np.nan)
    if leg.ends == "sight":
        away = np.hypot(*(crowd.place - leg.to_m).T)
        is_meant = away <= figures.seen_m
        if not is_last:
            # Whoever is within sight of where he was to go to has arrived; before that, the nearest is taken.
            is_meant &= away <= _nearest_alike(land, leg, crowd.place)
        crowd.right &= is_meant
        _stand_at(leg, figures, crowd, rng)
        return np.asarray(is_meant)
    return crowd.strayed < 0


def _nearest_alike(land: PlanLand, leg: PlanLeg, places: Array) -> Array:
    """How far off the nearest other sight is that looks like the one meant and was not set out from."""
    assert leg.sight is not None
    sights = np.array([one.place_m for one in land.sights])
    is_other = (land.looks == land.looks[leg.sight]) & (np.arange(len(sights)) != leg.sight)
    is_other &= np.hypot(*(sights - leg.from_m).T) >= _SAME_PLACE_M
    # What lies farther than this from the one meant is nearer to nobody who sees that one.
    is_other &= np.hypot(*(sights - leg.to_m).T) <= _ALIKE_WITHIN_M
    away = [np.hypot(*(places - place).T) for place in sights[is_other]]
    return np.min(away, axis=0) if away else np.full(len(places), np.inf)


def _stand_at(leg: PlanLeg, figures: WalkFigures, crowd: _Crowd, rng: np.random.Generator) -> None:
    crowd.place = np.array(leg.to_m) + figures.stands_sd_m * rng.standard_normal(crowd.place.shape)


def _first_line(
    land: PlanLand, leg: PlanLeg, place: Array, ahead: Array, true: Array
) -> tuple[Array, NDArray[np.int64], Array]:
    """The first line of the kind each walker meets while looking: how far, which, metres along it."""
    kind = land.kinds[leg.line]
    end = place + (leg.stop_m * true)[:, None] * ahead
    low, high = np.minimum(place, end).min(axis=0), np.maximum(place, end).max(axis=0)
    part = land.segments[land.kinds[land.segments[:, 4].astype(int)] == kind]
    box_low = np.minimum(part[:, 0:2], part[:, 2:4])
    box_high = np.maximum(part[:, 0:2], part[:, 2:4])
    part = part[(box_low <= high).all(axis=1) & (box_high >= low).all(axis=1)]
    best = np.full(len(place), np.inf)
    its = np.full(len(place), -1, dtype=np.int64)
    along = np.full(len(place), np.nan)
    look, stop = leg.look_m * true, leg.stop_m * true
    for piece in part:
        step = piece[2:4] - piece[0:2]
        gap = piece[0:2] - place
        cross = ahead[:, 0] * step[1] - ahead[:, 1] * step[0]
        with np.errstate(divide="ignore", invalid="ignore"):
            far = (gap[:, 0] * step[1] - gap[:, 1] * step[0]) / cross
            share = (gap[:, 0] * ahead[:, 1] - gap[:, 1] * ahead[:, 0]) / cross
        met = (share >= 0) & (share < 1) & (far > 0) & (far >= look) & (far <= stop) & (far < best)
        best[met] = far[met]
        its[met] = int(piece[4])
        along[met] = piece[5] + share[met] * math.hypot(*step)
    return best, its, along


def _follow(
    land: PlanLand, figures: WalkFigures, leg: PlanLeg, crowd: _Crowd, true: Array,
    rng: np.random.Generator, stands: _Stands,
) -> Bools:  # fmt: skip
    """Follow a line to the first sight that looks like the one expected; who comes to that one."""
    assert leg.line is not None and leg.sight is not None
    is_known = stands == "at a sight"
    if stands == "on the line":
        its = Taken(crowd.on, crowd.along, np.full(true.size, leg.way))
    else:
        its = lines_taken(land, figures, leg, crowd.place, crowd.bias_rad, rng, is_known=is_known)
    taken = np.full(true.size, -1, dtype=np.int64)
    for line, way in np.unique(np.stack([its.line, its.way])[:, crowd.right & (its.line >= 0)], axis=1).T:
        mine = (its.line == line) & (its.way == way)
        taken[mine] = _first_sight(
            land, leg, (int(line), int(way)), its.along_m[mine], true[mine], is_known=is_known
        )
    crowd.right &= taken == leg.sight
    crowd.along = np.full(true.size, np.nan)
    _stand_at(leg, figures, crowd, rng)
    return np.asarray(taken == leg.sight)


def _first_sight(
    land: PlanLand, leg: PlanLeg, line_way: tuple[int, int], here: Array, true: Array, *, is_known: bool
) -> Numbers:
    """The first sight of the look expected that is met along a line between the two counts; -1 for none.

    What one sets out from is not taken for the next of its look, where it `is_known` that one stands there.
    """
    line, way = line_way
    low, high = land.first_sight[line], land.first_sight[line + 1]
    best = np.full(true.size, np.inf)
    taken = np.full(true.size, -1, dtype=np.int64)
    for row in range(low, high):
        if land.sight_rows[row, 1] != land.looks[leg.sight]:
            continue
        if is_known and math.dist(land.sights[land.on_lines[row].sight].place_m, leg.from_m) < _SAME_PLACE_M:
            continue
        far = way * (land.sight_rows[row, 0] - here)
        # One alike that was passed a few metres before is still in sight, and taken for the one meant.
        behind_m = 0.0 if land.on_lines[row].sight == leg.sight else SAME_SIGHT_M / 2.0
        met = (far > -behind_m) & (far >= leg.look_m * true - behind_m)
        met &= (far <= leg.stop_m * true) & (far < best)
        best[met] = far[met]
        taken[met] = land.on_lines[row].sight
    return taken
