"""The way from sight to sight that takes the least time under a bound on the chance of missing.

From a sight all begins anew, so ways are told apart by where they are, the time and the chance alone; only a
leg that ends on a line or by count carries its own doubt on, for one leg more.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.route.planning.figures import WalkFigures
from pacewright.route.planning.following import steps_along
from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.plan_legs import PlanLeg
from pacewright.route.planning.step import Dial, Place, Step
from pacewright.route.planning.steps import steps_from

Array = NDArray[np.float64]
Key = tuple[int, ...]
Progress = Callable[[float], None]

MINUTES_PER_NAT: Final = 600.0
"""Where no way reaches the bound: a chance of one in a hundred is given for six minutes."""
_FIELD_CELL_M: Final = 90.0
_LEAST_CLEAR_M: Final = 25.0
"""Nobody passes nearer to what is kept off: the 95 % corridor of a leg is 29 m wide where it begins."""
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
    keys: tuple[Key, ...]

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
    step: Step | None = None


@dataclass(slots=True, eq=False)
class Searcher:
    """Searches one land for one walker; what can be done from a sight is worked out once.

    Attributes
    ----------
    land, figures, dial, asked
        The ground, the walker, the compass, and what is asked.
    most_opened
        How many places are looked round from at most.
    charges
        What a step was found to lose beyond its chance, as -log; by where it begins and its key.
    """

    land: PlanLand
    figures: WalkFigures
    dial: Dial
    asked: Asked
    most_opened: int = 800
    by_count: bool = False
    charges: dict[Key, float] = field(default_factory=dict)
    _known: dict[Key, list[Step]] = field(default_factory=dict)
    _fields: list[Callable[[Place], float]] = field(default_factory=list)

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
        self._known.clear()

    def is_shut_off(self) -> bool:
        """Whether no path at all leads to the goal between what is kept off."""
        return not math.isfinite(self._ahead(_Label(0.0, 0.0, self.asked.start, self.asked.spread, None, 0)))

    def _search(self, bound: float, per_nat: float, progress: Progress | None) -> Way | None:
        asked, ticket = self.asked, count()
        first = _Label(0.0, 0.0, asked.start, asked.spread, asked.start_sight, 0)
        queue = [(self._ahead(first), next(ticket), first)]
        kept: dict[tuple[object, ...], list[_Label]] = {}
        opened = 0
        straight = queue[0][0]
        if not math.isfinite(straight):
            return None
        while queue and opened < self.most_opened:
            _, _, label = heapq.heappop(queue)
            if label.stage == len(asked.through):
                return _way(label)
            if any(one is label for one in kept.get(_where(label), [label])):
                opened += _known_by(label) not in self._known
                if progress is not None and straight > 0:
                    progress(min(0.99, opened / self.most_opened))
                for step in self._steps(label):
                    made = self._after(label, step)
                    if not math.isfinite(self._ahead(made)):
                        continue
                    if made.loss > bound or (asked.most_min is not None and made.minutes > asked.most_min):
                        continue
                    if _is_kept(made, kept, per_nat):
                        worth = made.minutes + per_nat * made.loss + self._ahead(made)
                        heapq.heappush(queue, (worth, next(ticket), made))
        return None

    def _steps(self, label: _Label) -> Sequence[Step]:
        known = _known_by(label)
        if known not in self._known:
            self._known[known] = self._made_steps(label)
        return self._known[known]

    def _made_steps(self, label: _Label) -> list[Step]:
        is_sure = label.sight is not None
        made = steps_from(
            self.land, self.figures, self.dial, label.place, label.spread,
            onto_lines=is_sure, by_count=is_sure and self.by_count, goals=self.asked.through,
        )  # fmt: skip
        return made if label.sight is None else made + steps_along(self.land, self.figures, label.sight)

    def _after(self, label: _Label, step: Step) -> _Label:
        loss = label.loss - math.log(max(step.chance, 1e-9)) + self.charges.get(_key(label, step), 0.0)
        stage = label.stage
        if stage < len(self.asked.through) and step.sight == self.asked.through[stage]:
            stage += 1
        return _Label(
            label.minutes + step.minutes, loss, step.place, step.spread, step.sight, stage, label, step
        )

    def _ahead(self, label: _Label) -> float:
        """Minutes that are needed at least from here on."""
        if not self._fields:
            self._make_fields()
        return self._fields[label.stage](label.place)

    def _make_fields(self) -> None:
        through = [self.land.sights[sight].place_m for sight in self.asked.through]
        fields = [least_minutes(self.land, place) for place in through]
        rest = [0.0] * (len(through) + 1)
        for k in range(len(through) - 2, -1, -1):
            rest[k] = rest[k + 1] + fields[k + 1](through[k])
        for k, one in enumerate(fields):
            self._fields.append(_with_more(one, rest[k]))
        self._fields.append(lambda place: 0.0)


def _with_more(field: Callable[[Place], float], more_min: float) -> Callable[[Place], float]:
    return lambda place: field(place) + more_min


def _key(label: _Label, step: Step) -> Key:
    if label.sight is not None:
        return (label.sight, *step.key)
    # Without a sight where the step begins, the step before is part of what tells it from others.
    before = label.step.key if label.step is not None else ()
    return (-1, *before, *step.key)


def _known_by(label: _Label) -> Key:
    """By what it is known what can be done from here; the start may be less sure than a sight."""
    if label.before is None:
        return (-2,)
    if label.sight is not None:
        return (label.sight,)
    before = label.before.sight if label.before.sight is not None else -1
    return (before, *(label.step.key if label.step is not None else ()))


def _where(label: _Label) -> tuple[object, ...]:
    if label.sight is not None:
        return (label.sight, label.stage)
    return (round(label.place[0] / _BIN_M), round(label.place[1] / _BIN_M), label.stage, "unsure")


def _is_kept(made: _Label, kept: dict[tuple[object, ...], list[_Label]], per_nat: float) -> bool:
    """Keep a way unless another to the same place is no slower and no likelier to miss."""
    held = kept.setdefault(_where(made), [])
    doubt = made.spread[0] + made.spread[2]
    for one in held:
        no_wider = made.sight is not None or one.spread[0] + one.spread[2] <= 1.1 * doubt
        if per_nat > 0:
            is_beaten = one.minutes + per_nat * one.loss <= made.minutes + per_nat * made.loss
        else:
            is_beaten = one.minutes <= made.minutes + _SAME_MIN and one.loss <= made.loss + _SAME_LOSS
        if no_wider and is_beaten:
            return False
    held[:] = [
        one for one in held
        if one.minutes < made.minutes or one.loss < made.loss
        or (made.sight is None and one.spread[0] + one.spread[2] < doubt)
    ]  # fmt: skip
    held.append(made)
    return True


def _way(label: _Label) -> Way:
    steps: list[Step] = []
    keys: list[Key] = []
    at: _Label | None = label
    while at is not None and at.step is not None and at.before is not None:
        steps.append(at.step)
        keys.append(_key(at.before, at.step))
        at = at.before
    return Way(tuple(steps[::-1]), label.minutes, math.exp(-label.loss), tuple(keys[::-1]))


def least_minutes(land: PlanLand, goal: Place) -> Callable[[Place], float]:
    """What says how many minutes a place lies from a goal at least; inf where it is shut off."""
    from scipy.ndimage import minimum_filter
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import dijkstra

    ground = land.terrain
    every = max(1, round(_FIELD_CELL_M / ground.cell_east_m))
    heights = np.nan_to_num(ground.elevation_m[::every, ::every].astype(np.float64))
    open_ = land.clear_m[::every, ::every] > _LEAST_CLEAR_M
    rows, columns = heights.shape
    size = every * ground.cell_east_m
    middle = (land.pace.size - 1) // 2
    numbers = np.arange(rows * columns).reshape(rows, columns)
    starts, ends, costs = [], [], []
    # With a knight's move beside the eight neighbours no straight line is longer than by three in a hundred.
    for down, across in ((0, 1), (1, 0), (1, 1), (1, -1), (1, 2), (2, 1), (1, -2), (2, -1)):
        low, left = slice(0, rows - down), slice(max(0, -across), columns - max(0, across))
        high, right = slice(down, rows), slice(max(0, across), columns - max(0, -across))
        rise = heights[high, right] - heights[low, left]
        far = size * math.hypot(down, across)
        free = open_[low, left] & open_[high, right]
        for sign, begin, end in ((1, (low, left), (high, right)), (-1, (high, right), (low, left))):
            grade = np.clip(np.rint(100.0 * sign * rise / far), -middle, middle).astype(int) + middle
            starts.append(numbers[begin][free])
            ends.append(numbers[end][free])
            costs.append((land.pace[grade] * far)[free])
    size_all = rows * columns
    # Turned round: minutes are counted from every cell to the goal.
    graph = coo_array(
        (np.concatenate(costs), (np.concatenate(ends), np.concatenate(starts))), shape=(size_all, size_all)
    ).tocsr()

    def cell(place: Place) -> tuple[int, int]:
        row = int((ground.north_m - place[1]) / size)
        column = int((place[0] - ground.west_m) / size)
        return min(max(row, 0), rows - 1), min(max(column, 0), columns - 1)

    row, column = cell(goal)
    about = numbers[max(0, row - 1) : row + 2, max(0, column - 1) : column + 2].ravel()
    minutes = dijkstra(graph, indices=about, min_only=True).reshape(rows, columns)
    # Who stands close to what is kept off sets out from beside it.
    flat = np.asarray(minimum_filter(minutes, 3, mode="nearest"))
    # On a path one is faster than off it, and cells are coarse: what is said must be too little.
    share = 0.9 * (0.8 if any(line.kind not in ("stream", "ridge") for line in land.lines) else 1.0)

    def ahead(place: Place) -> float:
        where = cell(place)
        off = 4.0 * size * float(land.pace[middle])
        return max(0.0, share * (float(flat[where]) - off))

    return ahead
