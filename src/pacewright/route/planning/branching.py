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
from pacewright.route.planning.lines import nearest_on
from pacewright.route.planning.step import Place

Array = NDArray[np.float64]

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


def takes_the_right_one(
    land: PlanLand, figures: WalkFigures, branches: list[Branch], length_m: float, azimuth_deg: float,
    bias_rad: Array, rng: np.random.Generator,
) -> NDArray[np.bool_]:  # fmt: skip
    """Who of many walkers, each with a bias of the compass, takes the branch that is meant; shape (n,)."""
    if len(branches) == 1:
        return np.ones(bias_rad.size, dtype=bool)
    turns = turns_rad(land, figures, branches, length_m, azimuth_deg)
    faces = bias_rad + figures.turn_sd_rad * rng.standard_normal(bias_rad.size)
    off = np.abs(np.remainder(turns[:, None] - faces + math.pi, 2.0 * math.pi) - math.pi)
    # What was meant is never a stub: it leads to the sight at the end of the leg.
    off[0] = np.where(np.isnan(off[0]), 0.0, off[0])
    return np.asarray(np.nanargmin(off, axis=0) == 0)
