"""Which stake each learner starts from and ends at: neighbours' ends lie apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

_MOST_STEPS: Final = 3000
"""Tries to seat one class before it is held impossible; a possible one takes some hundreds."""


@dataclass(frozen=True, slots=True)
class Seat:
    """One learner's place.

    Attributes
    ----------
    start
        Number of the stake, from 0.
    wave
        How many learners started from that stake before.
    neighbours
        The seats before this one, by number from 0, whose learners walk beside it or just ahead.
    """

    start: int
    wave: int
    neighbours: tuple[int, ...]


def seats(learners: int, stakes: int) -> tuple[Seat, ...]:
    """The seats of a class: every stake once, then every stake again; a last few are spread out.

    >>> [seat.start for seat in seats(5, 3)]
    [0, 1, 2, 0, 2]
    """
    found: list[Seat] = []
    last_at: dict[int, int] = {}
    for wave, first in enumerate(range(0, learners, stakes)):
        here = min(stakes, learners - first)
        starts = [round(k * (stakes - 1) / max(1, here - 1)) for k in range(here)]
        for k, start in enumerate(starts):
            number = first + k
            ahead = (last_at[start],) if start in last_at else ()
            found.append(Seat(start, wave, (*((number - 1,) if k else ()), *ahead)))
            last_at[start] = number
    return tuple(found)


def draw_ends(
    order: tuple[Seat, ...],
    stakes: int,
    apart: int,
    allowed: Callable[[int, int], bool],
    rng: np.random.Generator,
) -> tuple[int, ...] | None:
    """The stake at which each seat ends, or None where there is no such choice.

    Nobody ends at the stake of the start, and neighbours end at least `apart` stakes from each other.
    As far as that goes, the ends of a wave are all different; else each is used about as often.

    Parameters
    ----------
    order
        The seats.
    stakes
        How many there are.
    apart
        Least difference between neighbours' ends, in stakes.
    allowed
        Tells whether the card of a seat, by its number from 0, may lead to a stake.
    rng
        Chance.
    """
    for all_different in (True, False):
        found = _Search(order, stakes, apart, allowed, rng, all_different).run()
        if found is not None:
            return found
    return None


class _Search:
    def __init__(
        self,
        order: tuple[Seat, ...],
        stakes: int,
        apart: int,
        allowed: Callable[[int, int], bool],
        rng: np.random.Generator,
        all_different: bool,
    ) -> None:
        self._order, self._stakes, self._apart = order, stakes, apart
        self._allowed, self._rng, self._all_different = allowed, rng, all_different

    def run(self) -> tuple[int, ...] | None:
        """Go forward seat by seat, and back where a seat has no end left."""
        ends: list[int] = []
        untried: list[list[int]] = [self._choices(ends)]
        for _ in range(_MOST_STEPS):
            if untried[-1]:
                ends.append(untried[-1].pop())
                if len(ends) == len(self._order):
                    return tuple(ends)
                untried.append(self._choices(ends))
                continue
            untried.pop()
            if not untried:
                return None
            ends.pop()
        return None

    def _choices(self, ends: list[int]) -> list[int]:
        """The ends open to the next seat, the one to try first last."""
        seat = self._order[len(ends)]
        wave = Counter(end for end, other in zip(ends, self._order, strict=False) if other.wave == seat.wave)
        used = Counter(ends)
        open_ends = [
            end
            for end in self._rng.permutation(self._stakes).tolist()
            if end != seat.start
            and self._allowed(len(ends), end)
            and all(abs(end - ends[other]) >= self._apart for other in seat.neighbours)
            and not (self._all_different and wave[end])
        ]
        return sorted(open_ends, key=lambda end: (-wave[end], -used[end]))
