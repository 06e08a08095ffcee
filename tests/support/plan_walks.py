"""Made walkers who walk a plan step by step, for tests and benches alone: none of the tool's own code.

Each has a compass that is off all day, a pace that is off all day, and a scatter of both on every leg.
Every few metres he asks whether a line of the kind that he looks for is underfoot. He takes the first one,
whichever it is; follows it to the first thing that looks as he was told; and goes on from wherever that is,
also when it was the wrong one. He has arrived who ends within sight of the goal.

The lines are strings of points two metres apart, looked up in a tree: no piece of a line is intersected.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Floats = NDArray[np.float64]

STEP_M = 5.0
DOT_M = 2.0
UNDERFOOT_M = 3.0
STUB_SDS = 3.0


@dataclass(frozen=True)
class Person:
    """Figures of the default walker: one azimuth scatter a leg however long.

    A sight along a line is known from `known_m`: two confluences thirty metres apart are one on the ground.
    """

    azimuth_sd_deg: float = 2.5
    dial_sd_deg: float = 1.0 / 12**0.5
    bias_sd_deg: float = 1.5
    count_sd: float = 0.05
    scale_sd: float = 0.03
    stands_sd_m: float = 15.0
    seen_m: float = 50.0
    known_m: float = 31.0


@dataclass(frozen=True)
class ToldLeg:
    """What the walker was told of one leg; azimuth by the north of the ground."""

    azimuth_deg: float
    length_m: float
    ends: str
    kind: str
    look: str
    look_m: float
    stop_m: float
    follows: bool = False
    onward: bool = True


class Ground:
    """Lines as dots, and what stands on them."""

    def __init__(
        self, lines: Sequence[tuple[str, Floats]], sights: Sequence[tuple[str, tuple[float, float]]]
    ):
        self.dots: list[Floats] = []
        self.kinds = [kind for kind, _ in lines]
        for _, points in lines:
            far = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
            at = np.arange(0.0, far[-1], DOT_M)
            self.dots.append(np.stack([np.interp(at, far, points[:, k]) for k in (0, 1)], axis=1))
        self.trees = {}
        for kind in set(self.kinds):
            mine = [k for k, its in enumerate(self.kinds) if its == kind]
            places = np.concatenate([self.dots[k] for k in mine])
            owner = np.concatenate([np.full(len(self.dots[k]), k) for k in mine])
            number = np.concatenate([np.arange(len(self.dots[k])) for k in mine])
            self.trees[kind] = (cKDTree(places), owner, number)
        self.looks: dict[str, cKDTree] = {}
        for look in {what for what, _ in sights}:
            self.looks[look] = cKDTree(np.array([place for what, place in sights if what == look]))


def walk(
    ground: Ground, legs: Sequence[ToldLeg], start: tuple[float, float], goal: tuple[float, float],
    walkers: int, seed: int, person: Person = Person(), doubt_m: tuple[float, float] | None = None,
) -> float:  # fmt: skip
    """The share of walkers that end within sight of the goal; `doubt_m` of the start is east and north."""
    rng = np.random.default_rng(seed)
    arrived = 0
    begins_sd_m = np.array(doubt_m or (person.stands_sd_m, person.stands_sd_m))
    for _ in range(walkers):
        begin = np.array(start) + begins_sd_m * rng.standard_normal(2)
        known = np.array(start) if doubt_m is None else None
        arrived += _one(ground, legs, known, begin, goal, rng, person)
    return arrived / walkers


def _one(
    ground: Ground, legs: Sequence[ToldLeg], start: Floats | None, place: Floats, goal: tuple[float, float],
    rng: np.random.Generator, person: Person,
) -> bool:  # fmt: skip
    bias = person.bias_sd_deg * rng.standard_normal()
    scale = person.scale_sd * rng.standard_normal()
    on: tuple[int, int] | None = None
    # What he stands at and knows: he does not take it for the next thing of the same look.
    left: Floats | None = start
    for number, leg in enumerate(legs):
        metre = 1.0 + scale + person.count_sd * rng.standard_normal()
        if leg.follows:
            if on is None:
                faced = leg.azimuth_deg + bias + rng.normal(0.0, person.azimuth_sd_deg)
                # Who stands at a thing sees the line that it lies on.
                sees_m = person.seen_m if left is None else max(person.seen_m, 4.0 * person.stands_sd_m)
                on = _line_here(ground, leg, place, faced, person, sees_m)
            if on is None:
                return False
            place, is_found = _follow(ground, leg, on, metre, person.known_m, left)
            on = None
            if not is_found:
                return False
            left = place
            place = place + person.stands_sd_m * rng.standard_normal(2)
            continue
        turn = leg.azimuth_deg + bias + rng.normal(0.0, person.azimuth_sd_deg)
        turn += rng.normal(0.0, person.dial_sd_deg)
        ahead = np.array([np.sin(np.radians(turn)), np.cos(np.radians(turn))])
        behind, on, left = left, None, None
        if leg.ends == "line":
            found = _to_line(ground, leg, place, ahead, metre)
            if found is None:
                return False
            place, on = found
            continue
        place = place + leg.length_m * metre * ahead
        if leg.ends == "sight":
            if number == len(legs) - 1:
                break
            left = _seen(ground.looks[leg.look], place, behind, person.seen_m)
            if left is None:
                return False
            place = left + person.stands_sd_m * rng.standard_normal(2)
    return bool(np.hypot(*(place - goal)) <= person.seen_m)


def _seen(tree: cKDTree, place: Floats, behind: Floats | None, seen_m: float) -> Floats | None:
    """The nearest thing in sight that looks as told, but for the one he set out from; None for none."""
    places = tree.data[tree.query_ball_point(place, seen_m)]
    if behind is not None:
        places = places[np.hypot(*(places - behind).T) >= 1.0]
    return places[np.argmin(np.hypot(*(places - place).T))].copy() if len(places) else None


def _to_line(
    ground: Ground, leg: ToldLeg, place: Floats, ahead: Floats, metre: float
) -> tuple[Floats, tuple[int, int]] | None:
    tree, owner, number = ground.trees[leg.kind]
    far = np.arange(leg.look_m * metre, leg.stop_m * metre, STEP_M / 2)
    away, which = tree.query(place + far[:, None] * ahead)
    under = np.flatnonzero(away <= UNDERFOOT_M)
    if not under.size:
        return None
    dot = which[under[0]]
    return tree.data[dot].copy(), (int(owner[dot]), int(number[dot]))


def _line_here(
    ground: Ground, leg: ToldLeg, place: Floats, faced_deg: float, person: Person, sees_m: float
) -> tuple[int, int] | None:
    """The line in sight that leads where he was told to go, as he faces it by his compass; None for none."""
    tree, owner, number = ground.trees[leg.kind]
    ahead = np.array([np.sin(np.radians(faced_deg)), np.cos(np.radians(faced_deg))])
    # One that ends within what he may stand off the sight ends at the sight: it leads nowhere.
    least = min(STUB_SDS * person.stands_sd_m, leg.length_m / 2.0)
    best, best_turn = None, -2.0
    about = tree.query_ball_point(place, sees_m)
    for line in {int(owner[k]) for k in about}:
        dots = ground.dots[line]
        here = min((number[k] for k in about if owner[k] == line), key=lambda n: np.hypot(*(dots[n] - place)))
        reach = round(leg.length_m / DOT_M)
        there = min(max(here + (reach if leg.onward else -reach), 0), len(dots) - 1)
        step = dots[there] - dots[here]
        if np.hypot(*step) > least and float(step @ ahead / np.hypot(*step)) > best_turn:
            best, best_turn = (line, int(here)), float(step @ ahead / np.hypot(*step))
    if best is None and about:
        # All that is in sight ends here: he takes what is nearest.
        k = min(about, key=lambda n: np.hypot(*(tree.data[n] - place)))
        best = int(owner[k]), int(number[k])
    return best


def _follow(
    ground: Ground, leg: ToldLeg, on: tuple[int, int], metre: float, known_m: float, left: Floats | None
) -> tuple[Floats, bool]:
    line, dot = on
    dots = ground.dots[line]
    look, stop = leg.look_m * metre, leg.stop_m * metre
    path = dots[dot:] if leg.onward else dots[: dot + 1][::-1]
    far = DOT_M * np.arange(len(path))
    kept = (far >= max(look, DOT_M)) & (far <= stop)
    if not kept.any():
        return path[-1], False
    # The two nearest, as one of them may be what he left.
    tree = ground.looks[leg.look]
    away, which = (np.atleast_2d(one) for one in tree.query(path[kept], k=min(2, tree.n)))
    if tree.n == 1:
        away, which = away.T, which.T
    places = tree.data[which]
    if left is not None:
        away = np.where(np.hypot(*(places - left).transpose(2, 0, 1)) < 1.0, np.inf, away)
    near = np.flatnonzero(away.min(axis=1) <= known_m)
    if not near.size:
        return path[-1], False
    first = near[0]
    return places[first, np.argmin(away[first])].copy(), True
