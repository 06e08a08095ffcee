"""The way from sight to sight that takes the least time under a bound on the chance of missing.

From a sight all begins anew, so ways are told apart by where they are, the time and the chance alone; only a
leg that ends on a line or by count carries its own doubt on, for one leg more.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import count
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.route.planning.ahead import Ahead, least_minutes
from pacewright.route.planning.figures import WalkFigures
from pacewright.route.planning.following import steps_along
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import Dial, Place, Step, Steps, gathered, joined
from pacewright.route.planning.steps import steps_from

Array = NDArray[np.float64]
Key = tuple[int, ...]
Progress = Callable[[float], None]

MINUTES_PER_NAT: Final = 600.0
"""Where no way reaches the bound: a chance of one in a hundred is given for six minutes."""
EAGER: Final = 1.25
"""Ways that have come nearer to the goal are gone on with first: what is still needed at least counts so many
times. No plan can then take longer than so many times the least; on made cases none took longer at all."""
_SAME_MIN: Final = 0.5
_SAME_LOSS: Final = 0.001
_BIN_M: Final = 150.0


@dataclass(frozen=True, slots=True)
class Asked:
    """What is searched for.

    Attributes
    ----------
    start, spread
        Where the walker stands and how unsure that is.
    start_sight
        The sight at the start; None where there is none.
    through
        The sights to come to in turn, the goal last.
    miss
        The chance of missing that is allowed in all.
    most_min
        The time that is allowed; None where the chance is bound.
    """

    start: Place
    spread: tuple[float, float, float]
    start_sight: int | None
    through: tuple[int, ...]
    miss: float = 0.05
    most_min: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A way that was found: its steps in turn, minutes without rests, and the chance as worked out."""

    steps: tuple[Step, ...]
    minutes: float
    chance: float
    keys: tuple[tuple[Key, Key], ...]

    @property
    def legs(self) -> tuple[PlanLeg, ...]:
        """Its legs in turn."""
        return tuple(leg for step in self.steps for leg in step.legs)


@dataclass(slots=True, eq=False)
class _Label:
    minutes: float
    loss: float
    place: Place
    spread: tuple[float, float, float]
    sight: int | None
    stage: int
    before: _Label | None = None
    by: _Known | None = None
    number: int = -1

    @property
    def key(self) -> Key:
        """Of the step it was come by; empty at the start."""
        return () if self.by is None else self.by.steps.key(self.number)


_Spot = int | tuple[int, int]
"""A sight's number, or a square of the land."""
_Held = tuple[float, float, float, _Label]
"""Minutes, loss and doubt of a way that is kept."""


@dataclass(slots=True, eq=False)
class _Known:
    """What can be done from one place: the steps, -log of their chances, and the same as plain lists.

    `where` tells ways to the same place from others, and `doubts` how unsure one is there; at a sight all are
    alike sure. `ahead` are minutes that are needed at least from the end of every step, by stage.
    """

    steps: Steps
    loss: Array
    sights: list[int]
    places: list[Place]
    spreads: list[tuple[float, float, float]]
    where: list[_Spot]
    doubts: list[float]
    ahead: dict[int, Array] = field(default_factory=dict)


@dataclass(slots=True, eq=False)
class Searcher:
    """Searches one land for one walker; what can be done from a sight is worked out once.

    Attributes
    ----------
    land, figures, dial, asked
        The ground, the walker, the compass, and what is asked.
    most_opened
        How many places are looked round from at most.
    by_count
        Whether a leg may end where the count is full.
    charges
        What a step was found to lose beyond its chance, as -log; by where it begins and its key.
    gave_up
        Whether the last search ended before it had looked everywhere.
    """

    land: PlanLand
    figures: WalkFigures
    dial: Dial
    asked: Asked
    most_opened: int = 500
    by_count: bool = False
    charges: dict[tuple[Key, Key], float] = field(default_factory=dict)
    gave_up: bool = False
    _known: dict[Key, _Known] = field(default_factory=dict)
    _fields: list[Ahead] = field(default_factory=list)

    def fastest(self, progress: Progress | None = None) -> Way | None:
        """The fastest way within the bound; None where there is none."""
        bound = -math.log1p(-self.asked.miss)
        return self._search(bound, 0.0, progress)

    def safest(self, progress: Progress | None = None) -> Way | None:
        """The surest way, time being worth little beside it; None where there is no way at all."""
        return self._search(-math.log(0.01), MINUTES_PER_NAT, progress)

    def open_by_count(self) -> None:
        """Allow legs that end where the count is full and nothing marks it."""
        self.by_count = True
        # Only from a sight does one set out by count alone, and from the start.
        for known in [one for one in self._known if len(one) == 1]:
            del self._known[known]

    def is_shut_off(self) -> bool:
        """Whether no path at all leads to the goal between what is kept off."""
        return not math.isfinite(self._ahead(_Label(0.0, 0.0, self.asked.start, self.asked.spread, None, 0)))

    def _search(self, bound: float, per_nat: float, progress: Progress | None) -> Way | None:
        asked, ticket = self.asked, count()
        first = _Label(0.0, 0.0, asked.start, asked.spread, asked.start_sight, 0)
        queue = [(EAGER * self._ahead(first), next(ticket), first)]
        kept: dict[tuple[_Spot, int], list[_Held]] = {}
        opened = 0
        straight = queue[0][0]
        if not math.isfinite(straight):
            return None
        while queue and opened < self.most_opened:
            _, _, label = heapq.heappop(queue)
            if label.stage == len(asked.through):
                return _way(label)
            if label.before is None or any(one[3] is label for one in kept[_spot(label)]):
                known_by = _known_by(label)
                opened += known_by not in self._known
                if progress is not None and straight > 0:
                    progress(min(0.99, opened / self.most_opened))
                opens = self._open(label, bound)
                known, next_sight = self._known[known_by], asked.through[label.stage]
                for number, minutes, loss, ahead in opens:
                    stage = label.stage + (known.sights[number] == next_sight)
                    held = kept.setdefault((known.where[number], stage), [])
                    # Nearly all are beaten: what is not worth keeping is not made.
                    doubt = known.doubts[number]
                    if not _is_beaten(held, minutes, loss, doubt, per_nat):
                        made = _after(label, known, number, minutes, loss, stage)
                        _keep(held, made, doubt)
                        heapq.heappush(queue, (minutes + per_nat * loss + EAGER * ahead, next(ticket), made))
        self.gave_up = bool(queue)
        return None

    def _open(self, label: _Label, bound: float) -> Iterator[tuple[int, float, float, float]]:
        """The steps that keep the bound: number, minutes, loss, and minutes needed from there."""
        known, through = self._steps(label), self.asked.through
        minutes, loss = label.minutes + known.steps.minutes, label.loss + known.loss
        begun = _begun(label)
        for (before, key), charge in self.charges.items():
            number = known.steps.number(key) if before == begun else None
            if number is not None:
                loss[number] += charge
        here = self._ahead_of(known, label.stage)
        comes = known.steps.sights == through[label.stage]
        ahead = np.where(comes, self._ahead_of(known, label.stage + 1), here) if comes.any() else here
        good = np.isfinite(ahead) & (loss <= bound)
        if self.asked.most_min is not None:
            good &= minutes + ahead <= self.asked.most_min
        at = np.flatnonzero(good)
        return zip(at.tolist(), minutes[at].tolist(), loss[at].tolist(), ahead[at].tolist(), strict=True)

    def _ahead_of(self, known: _Known, stage: int) -> Array:
        if stage not in known.ahead:
            known.ahead[stage] = self._field(stage)(known.steps.places)
        return known.ahead[stage]

    def _steps(self, label: _Label) -> _Known:
        known = _known_by(label)
        if known not in self._known:
            steps = self._made_steps(label)
            is_sight = steps.sights >= 0
            bins = np.rint(steps.places / _BIN_M).astype(np.int64).tolist()
            sights = steps.sights.tolist()
            self._known[known] = _Known(
                steps, -np.log(np.maximum(steps.chances, 1e-9)), sights,
                [(east, north) for east, north in steps.places.tolist()],
                [(ee, en, nn) for ee, en, nn in steps.spreads.tolist()],
                [its if its >= 0 else (east, north) for its, (east, north) in zip(sights, bins, strict=True)],
                np.where(is_sight, 0.0, steps.spreads[:, 0] + steps.spreads[:, 2]).tolist(),
            )  # fmt: skip
        return self._known[known]

    def _made_steps(self, label: _Label) -> Steps:
        is_sure = label.sight is not None
        made = steps_from(
            self.land, self.figures, self.dial, label.place, label.spread,
            onto_lines=is_sure, by_count=is_sure and self.by_count, goals=self.asked.through,
        )  # fmt: skip
        if label.sight is None:
            return made
        along = steps_along(self.land, self.figures, self.dial, label.sight, label.spread)
        return joined([made, gathered(along)])

    def _ahead(self, label: _Label) -> float:
        """Minutes that are needed at least from here on."""
        return float(self._field(label.stage)(np.array([label.place]))[0])

    def _field(self, stage: int) -> Ahead:
        if not self._fields:
            through = [self.land.sights[sight].place_m for sight in self.asked.through]
            fields = [least_minutes(self.land, place) for place in through]
            rest = [0.0] * (len(through) + 1)
            for k in range(len(through) - 2, -1, -1):
                rest[k] = rest[k + 1] + float(fields[k + 1](np.array([through[k]]))[0])
            self._fields += [_with_more(one, rest[k]) for k, one in enumerate(fields)]
            self._fields.append(lambda places: np.zeros(len(places)))
        return self._fields[stage]


def _with_more(field: Ahead, more_min: float) -> Ahead:
    return lambda places: field(places) + more_min


def _after(label: _Label, known: _Known, number: int, minutes: float, loss: float, stage: int) -> _Label:
    its = known.sights[number]
    sight = None if its < 0 else its
    return _Label(
        minutes, loss, known.places[number], known.spreads[number], sight, stage, label, known, number
    )


def _begun(label: _Label) -> Key:
    """By what the place where a step begins is told in its key."""
    # Without a sight where the step begins, the step before is part of what tells it from others.
    return (label.sight,) if label.sight is not None else (-1, *label.key)


def _known_by(label: _Label) -> Key:
    """By what it is known what can be done from here; the start may be less sure than a sight."""
    if label.before is None:
        return (-2,)
    if label.sight is not None:
        return (label.sight,)
    return (label.before.sight if label.before.sight is not None else -1, *label.key)


def _spot(label: _Label) -> tuple[_Spot, int]:
    """By what a way to the same place is told from others."""
    assert label.by is not None
    return label.by.where[label.number], label.stage


def _is_beaten(held: list[_Held], minutes: float, loss: float, doubt: float, per_nat: float) -> bool:
    """Whether another way to the same place is no slower and no likelier to miss."""
    widest = 1.1 * doubt
    if per_nat > 0:
        worth = minutes + per_nat * loss
        return any(
            its + per_nat * its_loss <= worth and its_doubt <= widest for its, its_loss, its_doubt, _ in held
        )
    # Written out: most of a long search is spent here.
    latest, most = minutes + _SAME_MIN, loss + _SAME_LOSS
    for its, its_loss, its_doubt, _ in held:
        if its <= latest and its_loss <= most and its_doubt <= widest:
            return True
    return False


def _keep(held: list[_Held], made: _Label, doubt: float) -> None:
    """Keep a way, and no other that is better in nothing."""
    held[:] = [one for one in held if one[0] < made.minutes or one[1] < made.loss or one[2] < doubt]
    held.append((made.minutes, made.loss, doubt, made))


def _way(label: _Label) -> Way:
    steps: list[Step] = []
    keys: list[tuple[Key, Key]] = []
    at: _Label | None = label
    while at is not None and at.by is not None and at.before is not None:
        steps.append(at.by.steps.one(at.number))
        keys.append((_begun(at.before), at.key))
        at = at.before
    return Way(tuple(steps[::-1]), label.minutes, math.exp(-label.loss), tuple(keys[::-1]))
