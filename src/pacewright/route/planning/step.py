"""One step of a plan: from a place where one knows where one is to the next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from pacewright.route.planning.figures import WalkFigures
from pacewright.route.planning.plan_legs import PlanLeg

Place = tuple[float, float]

SET_OUT_MIN: Final = 1.0
"""To dial, look about and begin to count, a leg: assumed."""


@dataclass(frozen=True, slots=True)
class Dial:
    """What can be dialled: how many marks, and what is added to a mark to make it an azimuth of the grid."""

    marks: int = 360
    turn_deg: float = 0.0

    @property
    def step_deg(self) -> float:
        """Between two marks."""
        return 360.0 / self.marks


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One or two legs to the next place where something is known.

    Attributes
    ----------
    sight
        The sight at its end; None where it ends on a line or by count, and `spread` then says how unsure.
    place, spread
        Where it ends; variance east, covariance, variance north there.
    minutes, chance
        What it takes, and that it is not missed.
    key
        Tells it from all others.
    make
        Gives its legs: one, or one to a line and one along it. Few steps are ever walked.
    """

    sight: int | None
    place: Place
    spread: tuple[float, float, float]
    minutes: float
    chance: float
    key: tuple[int, ...]
    make: Callable[[], tuple[PlanLeg, ...]]

    @property
    def legs(self) -> tuple[PlanLeg, ...]:
        """Its legs in turn."""
        return self.make()


def sure_spread(figures: WalkFigures) -> tuple[float, float, float]:
    """How one stands at a sight."""
    return figures.stands_sd_m**2, 0.0, figures.stands_sd_m**2


def only_leg(make: Callable[[], PlanLeg]) -> tuple[PlanLeg, ...]:
    """The legs of a step of one leg."""
    return (make(),)
