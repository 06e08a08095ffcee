"""What lies on a leg itself: steep land it slants over, and what is boxed on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.obstacles import BESIDE_M
from pacewright.route.planning.plan_legs import PlanLeg

Array = NDArray[np.float64]

_STEP_M: Final = 10.0


@dataclass(frozen=True, slots=True)
class Boxing:
    """Something boxed on a leg by square offsets.

    Attributes
    ----------
    what
        In words.
    at_m
        Where along the leg it begins.
    side
        To which side one steps out.
    out_m
        How far out, and how far back behind it.
    """

    what: str
    at_m: float
    side: Literal["left", "right"]
    out_m: float


@dataclass(frozen=True, slots=True)
class InTheWay:
    """What lies on a leg: stretches of steep land, from and to in metres along it, and what is boxed."""

    steep: tuple[tuple[float, float], ...] = ()
    boxes: tuple[Boxing, ...] = ()

    @property
    def out_m(self) -> float:
        """All offsets together as one scatters by them: the root of the sum of their squares."""
        return math.sqrt(sum(one.out_m**2 for one in self.boxes))


def in_the_way(land: PlanLand, leg: PlanLeg) -> InTheWay:
    """What lies on a leg by azimuth; nothing where it follows a line."""
    if leg.follows or not (land.obstacles.boxes or land.obstacles.steep.any()):
        return InTheWay()
    along = np.arange(0.0, leg.length_m + _STEP_M, _STEP_M)
    ahead = np.array([math.sin(math.radians(leg.azimuth_deg)), math.cos(math.radians(leg.azimuth_deg))])
    row, column = land.cells(leg.from_m[0] + along * ahead[0], leg.from_m[1] + along * ahead[1])
    steep = _stretches(land.obstacles.steep[row, column], along)
    numbers, first = np.unique(land.obstacles.boxed[row, column], return_index=True)
    boxes = [
        _boxing(land, int(number), float(along[at]), leg, ahead)
        for number, at in zip(numbers, first, strict=True)
        if number
    ]
    return InTheWay(steep, tuple(sorted(boxes, key=lambda one: one.at_m)))


def _boxing(land: PlanLand, number: int, at_m: float, leg: PlanLeg, ahead: Array) -> Boxing:
    box = land.obstacles.boxes[number - 1]
    gap = np.subtract(box.middle_m, leg.from_m)
    to_right = float(gap[0] * ahead[1] - gap[1] * ahead[0])
    out_m = max(box.half_m - abs(to_right), 0.0) + BESIDE_M
    return Boxing(box.what, at_m, "left" if to_right > 0 else "right", out_m)


def _stretches(is_steep: NDArray[np.bool_], along: Array) -> tuple[tuple[float, float], ...]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], is_steep, [False]]).astype(int)))
    return tuple(
        (float(along[low]), float(along[high - 1])) for low, high in zip(edges[::2], edges[1::2], strict=True)
    )
