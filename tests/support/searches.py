"""Made-up walks put to the search, and how well it did."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from pacewright.answers.locate import LocateAnswer, LocateAsked, answer_locate
from pacewright.files.log_csv import read_log
from pacewright.ground.terrain import Terrain
from support.made_land_walks import LandWalk, MadeLand

WEST, NORTH = 500_000.0, 4_000_000.0


@dataclass(frozen=True, slots=True)
class HowWell:
    """How far off the likeliest place is, what it claims, and whether the region holds the truth."""

    now_off_m: float
    start_off_m: float
    claim: float
    is_held: bool
    km2: float
    can_tell: bool
    agrees: bool


def terrain_of(land: MadeLand, crs: str = "EPSG:32616") -> Terrain:
    return Terrain(land.height_m, WEST, NORTH, land.cell_m, land.cell_m, crs)


def searched(land: MadeLand, walk: LandWalk, asked: LocateAsked | None = None, **more: Any) -> LocateAnswer:
    return answer_locate(
        read_log(walk.text.encode(), "made.csv"), None, terrain_of(land), asked=asked, **more
    )


def how_well(land: MadeLand, walk: LandWalk, answer: LocateAnswer) -> HowWell:
    start, now = walk.stations_m[0], walk.stations_m[-1]
    row, column = int(-now[1] / land.cell_m), int(now[0] / land.cell_m)
    best = answer.candidates[0] if answer.candidates else None
    return HowWell(
        np.inf if best is None else _off(best.now_m, now),
        np.inf if best is None else _off(best.start_m, start),
        0.0 if best is None else best.probability,
        bool(answer.found.now[row, column] >= answer.region.least),
        answer.region.km2,
        answer.can_tell,
        answer.agrees,
    )


def _off(found: tuple[float, float], truth: Any) -> float:
    return float(np.hypot(found[0] - WEST - truth[0], found[1] - NORTH - truth[1]))
