"""Detours written out as three rows: square offset out, past the obstacle, square offset back.

The two offsets are alike by design. That they are alike speaks against a slip in one of them, and a
slip without which they would be alike is so much likelier.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from pacewright.core.compass import turn_deg

SQUARE_WITHIN_DEG: Final = 2.0
ALIKE_WITHIN: Final = 0.05
LONGEST_OFFSET: Final = 200.0
"""Detours by count hardly work past some 200 paces out (common practice); so long is no detour."""
OFFSET_OF_MEDIAN: Final = 0.5
"""Nor is an offset that is more than half of the log's usual leg: a rectangle is walked for its own sake."""
ALIKE_WEIGHT: Final = math.log(1000.0)
"""How much less likely it is that a slip, and not the walker, made two offsets alike and square: to the
degree and to the pace they agree by chance once in some 10 000 times; held back to 1000 (assumed)."""
WOULD_BE_ALIKE_WEIGHT: Final = math.log(30.0)
"""How much likelier a slip is without which they would be alike: held back further, for legs along the
cardinal points come near to a detour by themselves (assumed)."""


@dataclass(frozen=True, slots=True)
class Held:
    """A leg as a detour sees it: azimuth in degrees and count."""

    azimuth_deg: float
    count: float


def is_detour(out: Held, past: Held, back: Held, longest: float = LONGEST_OFFSET) -> bool:
    """Whether three legs are a square offset out, past the obstacle, and as much back.

    Parameters
    ----------
    out, past, back
        The legs.
    longest
        The longest count that an offset may have.

    >>> is_detour(Held(10, 40), Held(100, 200), Held(190, 40))
    True
    """
    least, most = sorted((out.count, back.count))
    return (
        0 < most <= min(longest, least * (1.0 + ALIKE_WITHIN) + 1.0)
        and abs(abs(turn_deg(past.azimuth_deg, out.azimuth_deg)) - 90.0) <= SQUARE_WITHIN_DEG
        and abs(turn_deg(out.azimuth_deg + 180.0, back.azimuth_deg)) <= SQUARE_WITHIN_DEG
    )


def longest_offset(legs: Sequence[Held]) -> float:
    """The longest count that an offset in this log may have."""
    usual = median(leg.count for leg in legs) if legs else 0.0
    return min(LONGEST_OFFSET, OFFSET_OF_MEDIAN * usual)


def find_detours(legs: Sequence[Held]) -> list[int]:
    """The first leg, from 1, of every detour written out."""
    longest = longest_offset(legs)
    threes = zip(legs, legs[1:], legs[2:], strict=False)
    return [first for first, three in enumerate(threes, start=1) if is_detour(*three, longest)]


class DetourSense:
    """What the detours of a log say for and against a slip in one of its legs.

    Parameters
    ----------
    legs
        Azimuth and count of every leg as written.
    """

    __slots__ = ("_broken", "_legs", "_longest", "_whole", "firsts")

    def __init__(self, legs: Sequence[Held]) -> None:
        self._legs = legs
        self._longest = longest_offset(legs)
        self.firsts = find_detours(legs)
        self._whole = {first + place for first in self.firsts for place in (0, 1, 2)}
        self._broken: dict[int, list[int]] = {}
        for first in range(1, len(legs) - 1):
            if first not in self.firsts and self._nearly(first):
                for leg in (first, first + 1, first + 2):
                    self._broken.setdefault(leg, []).append(first)

    def weight(self, leg: int, instead: Held) -> float:
        """The log of how much likelier leg `leg` (from 1) is as `instead` than as written."""
        if leg not in self._whole and leg not in self._broken:
            return 0.0
        weight = 0.0
        for first in self.firsts:
            if first <= leg <= first + 2 and not self._holds(first, leg, instead):
                weight -= ALIKE_WEIGHT
        for first in self._broken.get(leg, ()):
            if self._holds(first, leg, instead):
                weight += WOULD_BE_ALIKE_WEIGHT
        return weight

    def is_offset(self, leg: int) -> bool:
        """Whether leg `leg` (from 1) is an offset of a detour."""
        return leg in self.firsts or leg - 2 in self.firsts

    def _holds(self, first: int, leg: int, instead: Held) -> bool:
        out, past, back = (
            instead if number == leg else self._legs[number - 1] for number in (first, first + 1, first + 2)
        )
        return is_detour(out, past, back, self._longest)

    def _nearly(self, first: int) -> bool:
        """Whether all but one of the things that make a detour hold."""
        out, past, back = self._legs[first - 1 : first + 2]
        least, most = sorted((out.count, back.count))
        if least > self._longest:
            return False
        holds = [
            0 < most <= least * (1.0 + ALIKE_WITHIN) + 1.0,
            abs(abs(turn_deg(past.azimuth_deg, out.azimuth_deg)) - 90.0) <= SQUARE_WITHIN_DEG,
            abs(abs(turn_deg(past.azimuth_deg, back.azimuth_deg)) - 90.0) <= SQUARE_WITHIN_DEG,
            abs(turn_deg(out.azimuth_deg + 180.0, back.azimuth_deg)) <= SQUARE_WITHIN_DEG,
        ]
        # A wrong azimuth of one offset spoils two of the four at once.
        return sum(holds) >= 2 and (holds[0] or all(holds[1:]))
