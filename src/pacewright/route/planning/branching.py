"""Which of the lines that leave a place is followed: one of a kind is told from another by its azimuth alone.

Where streams join, "upstream" may lead two ways. The card gives the azimuth from begin to end of what is
followed; a walker faces it by compass and takes the line that leads there nearest. Downstream is never taken
for upstream: water shows its way. Of a track both ways are open.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from pacewright.route.planning.figures import WalkFigures
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.lines import Line, nearest_on
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import Place

Array = NDArray[np.float64]
Numbers = NDArray[np.int64]

_ABOUT_SDS: Final = 4.0
"""A line leaves from where one stands if it passes within so many standard deviations of the place."""
_STUB_SDS: Final = 3.0
"""A line that ends sooner leads nowhere: its end is where one stands."""


@dataclass(frozen=True, slots=True)
class Branch:
    """A line of the same kind by which one may leave: which, where on it one stands, and which way."""

    line: int
    along_m: float
    way: int


def branches_at(
    land: PlanLand, figures: WalkFigures, place: Place, line: int, along_m: float, way: int
) -> list[Branch]:
    """The branch that is meant, and after it all that may be taken for it.

    Parameters
    ----------
    place
        Where one stands.
    line, along_m, way
        What is meant to be followed, from where on it and to which of its ends.
    """
    kind = land.kinds[line]
    part = land.segments[land.kinds[land.segments[:, 4].astype(int)] == kind]
    within = _ABOUT_SDS * figures.stands_sd_m
    start, step = part[:, 0:2], part[:, 2:4] - part[:, 0:2]
    share = ((np.array(place) - start) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-9)
    away = np.hypot(*(start + np.clip(share, 0.0, 1.0)[:, None] * step - place).T)
    near = np.unique(part[away <= within, 4].astype(int)).tolist()
    ways = (way,) if land.lines[line].kind == "stream" else (1, -1)
    others = [
        Branch(one, along_m if one == line else nearest_on(land.lines[one], place)[0], its)
        for one in near
        for its in ways
        if (one, its) != (line, way)
    ]
    return [Branch(line, along_m, way), *others]


def turns_rad(
    land: PlanLand, figures: WalkFigures, branches: list[Branch], length_m: float, azimuth_deg: float
) -> Array:
    """How far each branch lies off an azimuth, so far along it; NaN for one that ends where one stands."""
    least = min(_STUB_SDS * figures.stands_sd_m, length_m / 2.0)
    turns = []
    for one in branches:
        line = land.lines[one.line]
        here, there = line.at(one.along_m), line.at(one.along_m + one.way * length_m)
        east, north = there[0] - here[0], there[1] - here[1]
        off = math.atan2(east, north) - math.radians(azimuth_deg)
        is_stub = math.hypot(east, north) < least
        turns.append(math.nan if is_stub else math.remainder(off, 2.0 * math.pi))
    return np.array(turns)


def branch_chance(
    land: PlanLand, figures: WalkFigures, branches: list[Branch], length_m: float, azimuth_deg: float
) -> float:
    """The chance that the branch that is meant, the first, is taken."""
    if len(branches) == 1:
        return 1.0
    turns = turns_rad(land, figures, branches, length_m, azimuth_deg)
    apart = np.abs(np.remainder(turns[1:] - turns[0] + math.pi, 2.0 * math.pi) - math.pi)
    apart = apart[np.isfinite(apart)]
    return float(ndtr(apart / (2.0 * figures.azimuth_sd_rad)).prod())


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """What each of many walkers follows: the line, metres along it where they come to it, and which way.

    The line is -1 for who sees none; each of shape (n,).
    """

    line: Numbers
    along_m: Array
    way: Numbers


def lines_taken(
    land: PlanLand, figures: WalkFigures, leg: PlanLeg, places: Array, bias_rad: Array,
    rng: np.random.Generator, *, is_known: bool,
) -> Taken:  # fmt: skip
    """What walkers follow who are to follow a line from about where a leg begins.

    Each takes, of the lines of the kind in sight of where they stand, the one that leads nearest to the
    azimuth told, from the place on it that lies nearest.

    Parameters
    ----------
    leg
        The leg along the line that is meant.
    places
        Where the walkers stand, shape (n, 2).
    bias_rad
        Of the compass of each, shape (n,).
    is_known
        Whether they stand at a sight where the line is: they then see it.
    """
    assert leg.line is not None
    ways = (leg.way,) if land.lines[leg.line].kind == "stream" else (1, -1)
    sees_m = max(figures.seen_m, _ABOUT_SDS * figures.stands_sd_m) if is_known else figures.seen_m
    near = _lines_near(land, leg.line, places, sees_m)
    taken = Taken(
        np.full(len(places), -1, dtype=np.int64), np.full(len(places), np.nan), np.full(len(places), leg.way)
    )
    faces = math.radians(leg.azimuth_deg) + bias_rad
    faces = faces + figures.turn_sd_rad * rng.standard_normal(bias_rad.size)
    least_off, least_away = np.full(len(places), np.inf), np.full(len(places), np.inf)
    for number, away, along in near:
        sees = away <= sees_m
        for way in ways:
            off = _turns_off(land.lines[number], figures, along, way * leg.length_m, faces)
            # Where all that is seen ends here, what is nearest.
            better = sees & ((off < least_off) | (np.isinf(off) & np.isinf(least_off) & (away < least_away)))
            taken.line[better], taken.along_m[better], taken.way[better] = number, along[better], way
            least_off[better], least_away[better] = off[better], away[better]
    return taken


def sees_line_chance(figures: WalkFigures, across_sd_m: float) -> float:
    """The chance that who stands about a line sees it."""
    return float(2.0 * ndtr(figures.seen_m / max(across_sd_m, 1e-9)) - 1.0)


def _turns_off(line: Line, figures: WalkFigures, along: Array, length_m: float, faces: Array) -> Array:
    """How far a line leads off what each walker faces; inf where it ends where they stand."""
    there = along + length_m
    step_e, step_n = (
        np.interp(there, line.lengths_m, line.points_m[:, k])
        - np.interp(along, line.lengths_m, line.points_m[:, k])
        for k in (0, 1)
    )
    off = np.abs(np.remainder(np.arctan2(step_e, step_n) - faces + math.pi, 2.0 * math.pi) - math.pi)
    least = min(_STUB_SDS * figures.stands_sd_m, abs(length_m) / 2.0)
    return np.where(np.hypot(step_e, step_n) < least, np.inf, off)


def _lines_near(land: PlanLand, line: int, places: Array, within_m: float) -> list[tuple[int, Array, Array]]:
    """Lines of a kind about any of the places: number, how far off it is, and where along it is nearest."""
    part = land.segments[land.kinds[land.segments[:, 4].astype(int)] == land.kinds[line]]
    low, high = places.min(axis=0) - within_m, places.max(axis=0) + within_m
    box_low = np.minimum(part[:, 0:2], part[:, 2:4])
    box_high = np.maximum(part[:, 0:2], part[:, 2:4])
    part = part[(box_low <= high).all(axis=1) & (box_high >= low).all(axis=1)]
    found = []
    for number in np.unique(part[:, 4].astype(int)).tolist():
        away, along = np.full(len(places), np.inf), np.full(len(places), np.nan)
        for piece in part[part[:, 4] == number]:
            step = piece[2:4] - piece[0:2]
            size = max(math.hypot(*step), 1e-9)
            share = np.clip(((places - piece[0:2]) @ step) / size**2, 0.0, 1.0)
            gap = np.hypot(*(piece[0:2] + share[:, None] * step - places).T)
            nearer = gap < away
            away[nearer], along[nearer] = gap[nearer], piece[5] + share[nearer] * size
        found.append((number, away, along))
    return found
