"""The line that catches whoever missed the end of a leg, from wherever he may then stand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.route.planning.figures import CORRIDOR_SDS, WalkFigures
from pacewright.route.planning.kernels import SAMPLE_M, cast_rays, sample_rays
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import Dial, Place
from pacewright.route.planning.steps import REACH_M

Array = NDArray[np.float64]

_REGION_SDS: Final = 2.448
"""Where 95 in 100 stand, in standard deviations of two dimensions: the root of chi-square's 5.991."""
_PLACES_ROUND: Final = 8


@dataclass(frozen=True, slots=True)
class BailOut:
    """The nearest line to walk to from where a leg was missed.

    Attributes
    ----------
    dial_deg
        What is dialled.
    kind, within_m
        The line, and how far it is at most.
    """

    dial_deg: float
    kind: str
    within_m: float


def nearest_backstop(
    land: PlanLand, figures: WalkFigures, dial: Dial, leg: PlanLeg, begin_sd_m: float
) -> BailOut | None:
    """The azimuth that soonest meets a line of one kind for 95 in 100 of those who walked too far.

    A line that lies nearer than they are scattered has some of them beyond it already, so it is a backstop
    only where a next one catches those. None where nothing is sure to be met, or where what is kept off lies
    between.
    """
    if not len(land.segments) or leg.follows:
        return None
    places = _places(figures, leg, begin_sd_m)
    beside = max(1, round(2.0 * math.degrees(figures.azimuth_sd_rad) / dial.step_deg))
    best: dict[str, Array] = {}
    for place in places:
        for kind, far in _first_of_kinds(land, dial, place).items():
            # A neighbour of the mark that was dialled is what is walked.
            wide = np.max([np.roll(far, k) for k in range(-beside, beside + 1)], axis=0)
            best[kind] = np.maximum(best[kind], wide) if kind in best else wide
    ranked = sorted(
        (float(far[ray]), kind, int(ray))
        for kind, far in best.items()
        for ray in np.flatnonzero(far < REACH_M)
    )
    if not ranked:
        return None
    free = [_free(land, dial, place) for place in places]
    for within_m, kind, ray in ranked:
        if all(_is_clear(figures, one[ray], within_m) for one in free):
            return BailOut(float(ray * dial.step_deg % 360.0), kind, within_m)
    return None


def _places(figures: WalkFigures, leg: PlanLeg, begin_sd_m: float) -> list[Place]:
    """Where it is too far, and round it where 95 in 100 of the walkers stand then."""
    turn = math.radians(leg.azimuth_deg)
    ahead = np.array([math.sin(turn), math.cos(turn)])
    aside = np.array([ahead[1], -ahead[0]])
    middle = np.array(leg.to_m) + (leg.stop_m - leg.length_m) * ahead
    along = _REGION_SDS * math.hypot(begin_sd_m, figures.length_sd * leg.stop_m)
    across = _REGION_SDS * math.hypot(begin_sd_m, figures.azimuth_sd_rad * leg.stop_m)
    round_it = np.arange(_PLACES_ROUND) * 2.0 * math.pi / _PLACES_ROUND
    ring = middle + along * np.cos(round_it)[:, None] * ahead + across * np.sin(round_it)[:, None] * aside
    return [(float(east), float(north)) for east, north in (middle, *ring)]


def _first_of_kinds(land: PlanLand, dial: Dial, place: Place) -> dict[str, Array]:
    """How far off the first line of each kind is met on each mark of the dial; inf where none is."""
    count, met = cast_rays()(*place, dial.marks, math.radians(dial.turn_deg), REACH_M, land.segments)
    is_met = np.arange(met.shape[1]) < count[:, None]
    kinds = land.kinds[met[:, :, 1].astype(int)]
    names = {int(land.kinds[number]): line.kind for number, line in enumerate(land.lines)}
    return {
        name: np.where(is_met & (kinds == number), met[:, :, 0], np.inf).min(axis=1)
        for number, name in names.items()
    }


def _free(land: PlanLand, dial: Dial, place: Place) -> Array:
    """How far off what is kept off lies, at every sample of every mark."""
    _, free = sample_rays()(
        *place, dial.marks, math.radians(dial.turn_deg), int(REACH_M / SAMPLE_M) + 1, *land.sampled
    )
    return np.asarray(free)


def _is_clear(figures: WalkFigures, free: Array, far_m: float) -> bool:
    last = min(int(far_m / SAMPLE_M) + 1, free.size - 1)
    far = SAMPLE_M * np.arange(1, last + 1)
    need = CORRIDOR_SDS * np.hypot(figures.stands_sd_m, figures.azimuth_sd_rad * far)
    return bool((free[1 : last + 1] >= need).all())
