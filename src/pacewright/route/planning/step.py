"""One step of a plan: from a place where one knows where one is to the next."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.route.planning.figures import WalkFigures
from pacewright.route.planning.plan_legs import PlanLeg

Array = NDArray[np.float64]
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


KEY_LENGTH: Final = 6
NO_KEY: Final = -(2**40)
"""Fills a key that is shorter than others."""


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """Many steps from one place, as the search reads them: few are ever looked at one by one.

    Attributes
    ----------
    sights
        The sight at the end of each, -1 for none; shape (n,).
    places, spreads
        Where each ends, shape (n, 2), and how unsure that is, shape (n, 3).
    minutes, chances
        What it takes, and that it is not missed; shape (n,).
    keys
        What tells each from all others, shape (n, 6).
    make
        The legs of each by its number.
    """

    sights: NDArray[np.int64]
    places: Array
    spreads: Array
    minutes: Array
    chances: Array
    keys: NDArray[np.int64]
    make: Callable[[int], tuple[PlanLeg, ...]]

    def __len__(self) -> int:
        return len(self.sights)

    def key(self, number: int) -> tuple[int, ...]:
        """What tells a step from all others."""
        return tuple(one for one in self.keys[number].tolist() if one != NO_KEY)

    def number(self, key: tuple[int, ...]) -> int | None:
        """The step with this key; None where it is not among them."""
        filled = np.full(KEY_LENGTH, NO_KEY, dtype=np.int64)
        filled[: len(key)] = key
        at = np.flatnonzero((self.keys == filled).all(axis=1))
        return int(at[0]) if at.size else None

    def one(self, number: int) -> Step:
        """A step alone."""
        sight = int(self.sights[number])
        east, north = self.places[number].tolist()
        spread_e, spread_en, spread_n = self.spreads[number].tolist()
        return Step(
            None if sight < 0 else sight, (east, north), (spread_e, spread_en, spread_n),
            float(self.minutes[number]), float(self.chances[number]), self.key(number),
            lambda: self.make(number),
        )  # fmt: skip


def gathered(steps: Sequence[Step]) -> Steps:
    """Steps that were made one by one."""
    keys = np.full((len(steps), KEY_LENGTH), NO_KEY, dtype=np.int64)
    for k, one in enumerate(steps):
        keys[k, : len(one.key)] = one.key
    return Steps(
        np.array([-1 if one.sight is None else one.sight for one in steps], dtype=np.int64),
        np.array([one.place for one in steps], dtype=np.float64).reshape(-1, 2),
        np.array([one.spread for one in steps], dtype=np.float64).reshape(-1, 3),
        np.array([one.minutes for one in steps], dtype=np.float64),
        np.array([one.chance for one in steps], dtype=np.float64),
        keys, lambda number: steps[number].legs,
    )  # fmt: skip


def joined(parts: Sequence[Steps]) -> Steps:
    """Steps of several sorts from one place."""
    ends = np.cumsum([len(one) for one in parts])

    def make(number: int) -> tuple[PlanLeg, ...]:
        at = int(np.searchsorted(ends, number, side="right"))
        return parts[at].make(number - int(ends[at] - len(parts[at])))

    return Steps(
        np.concatenate([one.sights for one in parts]), np.concatenate([one.places for one in parts]),
        np.concatenate([one.spreads for one in parts]), np.concatenate([one.minutes for one in parts]),
        np.concatenate([one.chances for one in parts]), np.concatenate([one.keys for one in parts]), make,
    )  # fmt: skip


def sure_spread(figures: WalkFigures) -> tuple[float, float, float]:
    """How one stands at a sight."""
    return figures.stands_sd_m**2, 0.0, figures.stands_sd_m**2


def is_sure(figures: WalkFigures, spread: tuple[float, float, float]) -> bool:
    """Whether so small a doubt is that of one who stands at a sight: what lies at it is then seen."""
    return spread[0] + spread[2] <= 2.0 * figures.stands_sd_m**2 + 1e-6


def only_leg(make: Callable[[], PlanLeg]) -> tuple[PlanLeg, ...]:
    """The legs of a step of one leg."""
    return (make(),)
