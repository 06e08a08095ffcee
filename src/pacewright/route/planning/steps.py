"""What can be done from a place: to a sight, to a line and along it, by count alone; with time and chance."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from pacewright.route.planning.figures import LEAST_LOOK_M, LEAST_STOP_M, WalkFigures
from pacewright.route.planning.following import follow_leg
from pacewright.route.planning.kernels import SAMPLE_M, cast_rays, end_on_lines, sample_rays, surer_ones
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import (
    KEY_LENGTH,
    NO_KEY,
    SET_OUT_MIN,
    Dial,
    Place,
    Step,
    Steps,
    gathered,
    joined,
    only_leg,
    sure_spread,
)

Array = NDArray[np.float64]

REACH_M: Final = 3000.0
"""The longest leg that a plan considers."""
_SIGHT_WITHIN_M: Final = 700.0
_BIN_M: Final = 200.0
_LEAST_ONTO: Final = 0.9
_SURER_SIGHT, _SURER_LINE = 0.006, 0.02
"""A slower way to the same place is looked at only where it is surer by so much."""
_FREE_M: Final = (350.0, 700.0, 1200.0)
_FREE_EVERY: Final = 24
_LEAST_CHANCE: Final = 0.5
_LEAST_GOAL_CHANCE: Final = 0.03


def steps_from(
    land: PlanLand, figures: WalkFigures, dial: Dial, place: Place, spread: tuple[float, float, float],
    *, onto_lines: bool = False, by_count: bool = False, goals: tuple[int, ...] = (),
) -> Steps:  # fmt: skip
    """What can be done from a place by azimuth.

    Parameters
    ----------
    place, spread
        Where the walker is meant to stand, and how unsure that is.
    onto_lines, by_count
        Whether steps that end at no sight, on a line or where the count is full, are given as well.
    goals
        Sights that are tried for from afar, however small the chance.
    """
    turn = math.radians(dial.turn_deg)
    samples = int(REACH_M / SAMPLE_M) + 1
    minutes, free = sample_rays()(*place, dial.marks, turn, samples, *land.sampled)
    count, met = cast_rays()(*place, dial.marks, turn, REACH_M, land.segments)
    fan = _Fan(land, figures, dial, place, spread, minutes, free)
    steps = [gathered(_to_sights(fan, goals))]
    walker = np.array(
        [
            figures.azimuth_sd_rad,
            figures.length_sd,
            figures.stands_sd_m,
            figures.look_sds,
            LEAST_LOOK_M,
            figures.stop_sds,
            LEAST_STOP_M,
        ]
    )
    if len(land.segments):
        _, rows = end_on_lines()(
            count, met, free, turn, np.array(spread), walker, land.kinds,
            land.first_sight, land.sight_rows, land.closed_first, land.closed,
        )  # fmt: skip
        steps.append(_to_lines(fan, met, rows, onto_lines))
    if by_count:
        steps.append(gathered(_by_count(fan)))
    return joined(steps)


@dataclass(frozen=True, slots=True, eq=False)
class _Fan:
    """All azimuths of one place."""

    land: PlanLand
    figures: WalkFigures
    dial: Dial
    place: Place
    spread: tuple[float, float, float]
    minutes: Array
    free: Array

    def azimuth_deg(self, ray: int) -> float:
        return (ray * self.dial.step_deg + self.dial.turn_deg) % 360.0

    def minutes_to(self, ray: int, length_m: float) -> float:
        k = min(length_m / SAMPLE_M, self.minutes.shape[1] - 1.001)
        low = int(k)
        return float(
            self.minutes[ray, low] + (k - low) * (self.minutes[ray, low + 1] - self.minutes[ray, low])
        )

    def end(self, ray: int, length_m: float) -> Place:
        angle = math.radians(self.azimuth_deg(ray))
        return self.place[0] + length_m * math.sin(angle), self.place[1] + length_m * math.cos(angle)

    def variances(self, ray: int) -> tuple[float, float]:
        """Of the place, along a ray and across it."""
        angle = math.radians(self.azimuth_deg(ray))
        ux, uy = math.sin(angle), math.cos(angle)
        ee, en, nn = self.spread
        return ux * ux * ee + 2 * ux * uy * en + uy * uy * nn, uy * uy * ee - 2 * ux * uy * en + ux * ux * nn

    def is_clear(self, ray: int, length_m: float) -> bool:
        """Whether the 95 % corridor of a leg keeps off what is barred, to beyond its end."""
        along2, across2 = self.variances(ray)
        beyond = length_m + 1.96 * math.sqrt(along2 + (self.figures.length_sd * length_m) ** 2)
        last = math.ceil(beyond / SAMPLE_M)
        if last >= self.free.shape[1]:
            return False
        far = SAMPLE_M * np.arange(1, last + 1)
        wide = 1.96 * np.sqrt(across2 + (self.figures.azimuth_sd_rad * far) ** 2)
        return bool((self.free[ray, 1 : last + 1] >= wide).all())

    def leg(self, ray: int, length_m: float, **more: object) -> PlanLeg:
        azimuth_deg = self.azimuth_deg(ray)
        given: dict[str, object] = {
            "from_m": self.place,
            "to_m": self.end(ray, length_m),
            "length_m": length_m,
            "dial_deg": ray * self.dial.step_deg % 360.0,
            "azimuth_deg": azimuth_deg,
            "minutes": self.minutes_to(ray, length_m) + SET_OUT_MIN,
        }
        return PlanLeg(**{**given, **more})  # type: ignore[arg-type]


def seen_chance(off_m: Array, along_sd_m: Array, across_sd_m: Array, seen_m: float) -> Array:
    """The chance of standing within sight of a point when the count is full.

    Parameters
    ----------
    off_m
        How far beside the point the leg is aimed, as the dial has no mark between; shape (n,).
    along_sd_m, across_sd_m
        Of the end of the leg.

    Examples
    --------
    >>> one = np.array([20.4])
    >>> np.round(seen_chance(np.zeros(1), one, one, 50.0), 2).tolist()
    [0.95]
    """
    edges = np.linspace(-1.0, 1.0, 65) * seen_m
    middles = (edges[1:] + edges[:-1]) / 2
    half = np.sqrt(seen_m**2 - middles**2)
    lanes = np.diff(ndtr((edges - off_m[:, None]) / across_sd_m[:, None]), axis=1)
    return np.asarray((lanes * (2 * ndtr(half / along_sd_m[:, None]) - 1)).sum(axis=1))


def _to_sights(fan: _Fan, goals: tuple[int, ...]) -> list[Step]:
    land, figures, dial = fan.land, fan.figures, fan.dial
    if not land.sights:
        return []
    offsets = np.array([sight.place_m for sight in land.sights]) - fan.place
    away = np.hypot(*offsets.T)
    is_goal = np.isin(np.arange(len(away)), goals)
    near = np.flatnonzero((away > 30.0) & (away <= np.where(is_goal, REACH_M, _SIGHT_WITHIN_M)))
    marks = (np.degrees(np.arctan2(*offsets[near].T)) - dial.turn_deg) / dial.step_deg
    rays = np.rint(marks).astype(int)
    turn = np.radians((marks - rays) * dial.step_deg)
    length, off = away[near] * np.cos(turn), away[near] * np.sin(turn)
    rays %= dial.marks
    spreads = np.array([fan.variances(int(ray)) for ray in rays]).reshape(-1, 2)
    along = np.sqrt(spreads[:, 0] + (figures.length_sd * length) ** 2)
    across = np.sqrt(spreads[:, 1] + (figures.azimuth_sd_rad * length) ** 2)
    chance = seen_chance(off, along, across, figures.seen_m)
    steps = []
    for k in np.flatnonzero(chance >= np.where(is_goal[near], _LEAST_GOAL_CHANCE, _LEAST_CHANCE)):
        ray, sight = int(rays[k]), int(near[k])
        if not fan.is_clear(ray, float(length[k])):
            continue
        make = partial(
            fan.leg, ray, float(length[k]), ends="sight", sight=sight, to_m=land.sights[sight].place_m,
            look_m=max(0.0, float(length[k] - figures.look_sds * along[k])),
            stop_m=float(length[k] + figures.stop_sds * along[k]), chance=float(chance[k]),
        )  # fmt: skip
        minutes = fan.minutes_to(ray, float(length[k])) + SET_OUT_MIN
        steps.append(
            Step(
                sight, land.sights[sight].place_m, sure_spread(figures), minutes, float(chance[k]),
                (0, ray, sight), partial(only_leg, make),
            )
        )  # fmt: skip
    return steps


def _to_lines(fan: _Fan, met: Array, rows: Array, onto_lines: bool) -> Steps:
    """The best ways to every sight by way of a line, and the best onto every stretch of a line."""
    land = fan.land
    is_sight = rows[:, 3] >= 0
    rows = rows[is_sight | (onto_lines & (rows[:, 4] >= _LEAST_ONTO))]
    hits = met[rows[:, 0].astype(int), rows[:, 1].astype(int)]
    minutes = _minutes_by_line(fan, hits, rows)
    line, at = hits[:, 1].astype(int), rows[:, 3].astype(int)
    group = np.where(
        at >= 0, 2 * at + (rows[:, 2] > 0), -1 - 1000 * line - (rows[:, 9] // _BIN_M).astype(int)
    )
    order = np.lexsort((-rows[:, 4], minutes, group))
    order = order[surer_ones()(group[order], rows[order, 4], _SURER_SIGHT, _SURER_LINE)]
    rows, hits, minutes, line, at = rows[order], hits[order], minutes[order], line[order], at[order]
    ray, along, way = rows[:, 0].astype(int), np.rint(hits[:, 2]).astype(int), rows[:, 2].astype(int)
    is_sight = at >= 0
    sights = np.where(is_sight, land.row_sights[at], -1) if len(land.row_sights) else np.full(at.size, -1)
    places = land.places_on(line, hits[:, 2])
    places[is_sight] = land.sight_places_m[sights[is_sight]]
    spreads = _spreads_on_line(land, line, rows[:, 9], rows[:, 10], fan.figures)
    spreads[is_sight] = sure_spread(fan.figures)
    keys = np.full((at.size, KEY_LENGTH), NO_KEY, dtype=np.int64)
    keys[:, 0], keys[:, 1], keys[:, 2], keys[:, 3] = np.where(is_sight, 1, 2), ray, line, along
    keys[is_sight, 4], keys[is_sight, 5] = way[is_sight], sights[is_sight]
    return Steps(
        sights, places, spreads, minutes, rows[:, 4], keys, lambda k: _line_legs(fan, hits[k], rows[k])
    )


def _minutes_by_line(fan: _Fan, hits: Array, rows: Array) -> Array:
    """Minutes to the line, and along it to the sight."""
    place = hits[:, 0] / SAMPLE_M
    ray, low = rows[:, 0].astype(int), np.minimum(place.astype(int), fan.minutes.shape[1] - 2)
    walked = fan.minutes[ray, low]
    minutes = walked + (place - low) * (fan.minutes[ray, low + 1] - walked) + SET_OUT_MIN
    to = rows[:, 3] >= 0
    minutes[to] += fan.land.follow_minutes(
        hits[to, 1].astype(int), hits[to, 2], fan.land.sight_rows[rows[to, 3].astype(int), 0]
    )
    return np.asarray(minutes)


def _line_legs(fan: _Fan, hit: Array, row: Array) -> tuple[PlanLeg, ...]:
    land, line, along = fan.land, int(hit[1]), float(hit[2])
    first = fan.leg(
        int(row[0]), float(hit[0]), ends="line", line=line, along=along, look_m=float(row[5]),
        stop_m=float(row[6]), chance=float(row[4]),
    )  # fmt: skip
    if row[3] < 0:
        return (first,)
    on = land.on_lines[int(row[3])]
    look, stop = float(row[7]), float(row[8])
    return first, follow_leg(
        land, line, along, on.along_m, on.sight, first.to_m, look, stop, 1.0, fan.dial.turn_deg
    )


def _spreads_on_line(
    land: PlanLand, line: NDArray[np.int64], along: Array, variance: Array, figures: WalkFigures
) -> Array:
    step = land.places_on(line, along + 20.0) - land.places_on(line, along - 20.0)
    ux, uy = (step / np.maximum(np.hypot(*step.T), 1e-9)[:, None]).T
    own = figures.stands_sd_m**2
    return np.stack([ux * ux * variance + own, ux * uy * variance, uy * uy * variance + own], axis=1)


def _by_count(fan: _Fan) -> list[Step]:
    """Steps that end where the count is full, round about."""
    figures, steps = fan.figures, []
    for k in range(_FREE_EVERY):
        ray = k * fan.dial.marks // _FREE_EVERY
        along2, across2 = fan.variances(ray)
        angle = math.radians(fan.azimuth_deg(ray))
        ux, uy = math.sin(angle), math.cos(angle)
        for length in _FREE_M:
            if not fan.is_clear(ray, length):
                break
            a2 = along2 + (figures.length_sd * length) ** 2
            c2 = across2 + (figures.azimuth_sd_rad * length) ** 2
            spread = (ux * ux * a2 + uy * uy * c2, ux * uy * (a2 - c2), uy * uy * a2 + ux * ux * c2)
            make = partial(fan.leg, ray, length, ends="count", look_m=length, stop_m=length)
            minutes = fan.minutes_to(ray, length) + SET_OUT_MIN
            key = (3, ray, round(length))
            steps.append(Step(None, fan.end(ray, length), spread, minutes, 1.0, key, partial(only_leg, make)))
    return steps
