"""Two walkers side by side: pace counts by class with what is chance between them, and how each scatters."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from pacewright.core.pace.walker import Walker

BEYOND_SD: Final = 1.96
"""So many standard deviations hold 95 of 100 differences that are chance alone."""


@dataclass(frozen=True, slots=True)
class PaceDifference:
    """One class of ground on which both have a pace count, in paces to a hundred metres.

    Attributes
    ----------
    label
        The class; empty for the ordinary one.
    one, other
        The counts.
    sd
        How sure the difference is; 0 where it is not known.
    off_in_1000_m
        Metres by which somebody ends too far on 1000 m who walks by the other's count of the first walker:
        positive where the second walker's paces are longer.
    """

    label: str
    one: float
    other: float
    sd: float
    off_in_1000_m: float

    @property
    def is_beyond_chance(self) -> bool:
        """True where the difference is more than chance gives 95 times in 100."""
        return self.sd > 0 and abs(self.one - self.other) > BEYOND_SD * self.sd


@dataclass(frozen=True, slots=True)
class WalkersCompared:
    """Two walkers, the classes on which both have a pace count, the ordinary one first."""

    one: Walker
    other: Walker
    paces: tuple[PaceDifference, ...]


def compare_walkers(one: Walker, other: Walker) -> WalkersCompared:
    """Compare two walkers.

    Notes
    -----
    The doubt of an ordinary pace count is `count.scale_sd_pct` of it, that of a class its own
    `per_100_m_sd`; the difference of two independent figures has the root of the sum of their squares.

    Examples
    --------
    >>> found = compare_walkers(Walker(per_100_m=60.0), Walker(per_100_m=66.0))
    >>> found.paces[0].is_beyond_chance, round(found.paces[0].off_in_1000_m)
    (True, -91)
    """
    paces = []
    if one.per_100_m is not None and other.per_100_m is not None:
        sd = math.hypot(
            one.count.scale_sd_pct / 100.0 * one.per_100_m,
            other.count.scale_sd_pct / 100.0 * other.per_100_m,
        )
        paces.append(_difference("", one.per_100_m, other.per_100_m, sd))
    theirs = {(c.ground, c.slope, c.load_kg): c for c in other.classes}
    for mine in one.classes:
        same = theirs.get((mine.ground, mine.slope, mine.load_kg))
        if same is None:
            continue
        is_known = mine.per_100_m_sd > 0 and same.per_100_m_sd > 0
        sd = math.hypot(mine.per_100_m_sd, same.per_100_m_sd) if is_known else 0.0
        label = ", ".join(filter(None, (mine.ground, mine.slope or "", _load(mine.load_kg))))
        paces.append(_difference(label or "any ground", mine.per_100_m, same.per_100_m, sd))
    return WalkersCompared(one, other, tuple(paces))


def _difference(label: str, one: float, other: float, sd: float) -> PaceDifference:
    return PaceDifference(label, one, other, sd, 1000.0 * (one / other - 1.0))


def _load(load_kg: float | None) -> str:
    return "" if not load_kg else f"{load_kg:g} kg"
