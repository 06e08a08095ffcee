"""One pass over a log for one bias and scale: from the start to the end, or from the end to the start.

Belief stays on cells numbered by the start (see `kernels`). The pass from the start ends with where the
walker now is; what it leaves on those cells is the start with all scatter in it, and so no answer to where
the walk began: that is what the pass from the end gives.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.chances import Doubt
from pacewright.ground.locate.kernel_arguments import MARGIN, LegChance
from pacewright.ground.locate.kernels import Kernels
from pacewright.ground.locate.noise_steps import NoiseStep
from pacewright.ground.locate.question import Question, Weighing

Floats = NDArray[np.float64]
Field = NDArray[np.float32]
Tiles = NDArray[np.bool_]

PRUNE_BELOW: Final = 1e-9
"""Tiles believed in so much less than the best of the same station are dropped (measured: no change)."""
_LEAST: Final = 1e-300
_NO_OFFSET: Final = np.zeros((1, 1), dtype=np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Swept:
    """What one pass leaves.

    Attributes
    ----------
    belief
        Over a piece of the domain beyond which nothing is believed, with sum 1; empty where nothing
        survived.
    top, left
        Where the piece lies in the domain.
    log_chance
        Natural logarithm of the chance of all that is said, over the prior of the pass.
    before, after
        For every station the logarithm (base 2) of the most believed in each tile, before and after
        what is said there is weighed; shape (stations, tile rows, tile columns), float16.
    """

    belief: Field
    top: int
    left: int
    log_chance: float
    before: NDArray[np.float16] | None
    after: NDArray[np.float16] | None


class _Fields:
    """A belief, with or without the mean of the altimeter's offset beside it."""

    def __init__(self, shape: tuple[int, int], has_offset: bool) -> None:
        self.belief = np.zeros(shape, dtype=np.float32)
        self.offset = np.zeros(shape, dtype=np.float32) if has_offset else _NO_OFFSET


class SweepRoom:
    """What a pass writes on; empty before and after, so that the next pass on the same cells can have it.

    Fresh memory for every pass takes longer than a pass that looks at few tiles.
    """

    def __init__(self, question: Question) -> None:
        rows, columns = question.domain.rows, question.domain.columns
        shape = (rows + 2 * MARGIN, columns + 2 * MARGIN)
        has_offset = any(one.reading_m > -9000.0 for one in question.weighings[0].stations)
        self.here, self.moved, self.spare = (_Fields(shape, has_offset) for _ in range(3))


def sweep(
    question: Question,
    doubt: Doubt,
    node: int,
    loops: Kernels,
    *,
    is_forward: bool,
    alive: Tiles | None = None,
    keeps_most: bool = False,
    begins: Field | None = None,
    room: SweepRoom | None = None,
) -> Swept:
    """Pass once over the log.

    Parameters
    ----------
    question
        The log on the land.
    doubt
        For the altimeter's offset.
    node
        Which bias, scale and error of the heights.
    loops
        The inner loops.
    is_forward
        From the start, or from the end.
    alive
        Tiles worth looking at, for every station; shape (stations, tile rows, tile columns). Without
        them all are, until they are believed in too little.
    keeps_most
        Whether to keep `before` and `after`.
    begins
        The belief at the station the pass begins with; by default the prior, or anywhere.
    room
        To be used again; by default the pass makes its own.
    """
    rows, columns, size = question.domain.rows, question.domain.columns, question.size
    tiles = (rows // size, columns // size)
    last = question.walk.legs
    order = range(last + 1) if is_forward else range(last, -1, -1)
    room = room or SweepRoom(question)
    here, moved, spare = room.here, room.moved, room.spare
    weighing = question.weighings[question.nodes.heights[node]]
    steps, slips = question.steps, question.slips(is_forward)
    most = [np.zeros(tiles, dtype=np.float32) for _ in range(3)]
    kept = [np.full((last + 1, *tiles), -np.inf, dtype=np.float16) for _ in range(2)] if keeps_most else None
    active = _begin(question, moved.belief, is_forward, begins, None if alive is None else alive[order[0]])
    offset_variance = doubt.altimeter_offset_sd_m**2
    log_chance, total = 0.0, 1.0
    previous = -1
    for station in order:
        leg = max(station, previous)
        if previous >= 0:
            spread = loops.spread_tiles(active, _reach(steps[leg - 1], size))
            runs = loops.runs_of(spread)
            _scatter(here, moved, spare, runs, steps[leg - 1], size, loops)
            _clear(here, loops.runs_of(active), size, loops)
            reached, least = spread.copy(), PRUNE_BELOW * float(most[1].max())
            loops.slid_tiles(reached, active, most[1], slips[leg - 1], size, least)
            offset_variance += doubt.altimeter_drift_m**2
        else:
            reached, runs = active, loops.runs_of(active)
        asked = reached if alive is None else reached & alive[station]
        for one in most:
            one[:] = 0.0
        said = weighing.stations[station]._replace(offset_variance_m2=offset_variance)
        loops.weigh(
            moved.belief, moved.offset, here.belief, here.offset, loops.runs_of(asked), size, 1.0 / total,
            tuple(_leg(weighing, leg if previous >= 0 else 0, is_forward)),
            slips[leg - 1] if previous >= 0 else np.zeros((0, 3)),
            tuple(said), question.height, question.kind, question.crossings, question.crossing_tables,
            weighing.tables, weighing.extras, _at(question, node, station, previous),
            *most,
        )  # fmt: skip
        _clear(moved, runs, size, loops)
        if said.reading_m > -9000.0:
            offset_variance *= said.variance_m2 / (said.variance_m2 + offset_variance)
        if kept is not None:
            _keep(kept, station, most, log_chance, total)
        total = float(most[2].sum(dtype=np.float64))
        if not total > 1e-30:
            _clear(here, loops.runs_of(asked), size, loops)
            return Swept(np.zeros((0, 0), np.float32), 0, 0, -math.inf, *(kept or (None, None)))
        log_chance += math.log(total)
        active = asked & (most[1] > PRUNE_BELOW * most[1].max())
        _clear(here, loops.runs_of(asked & ~active), size, loops)
        previous = station
    belief, top, left = _taken(here.belief, active, size)
    belief /= np.float32(total)
    _clear(here, loops.runs_of(active), size, loops)
    if not is_forward:
        belief *= question.prior[top : top + belief.shape[0], left : left + belief.shape[1]]
        found = float(belief.sum(dtype=np.float64))
        log_chance += math.log(max(found, _LEAST))
        belief /= np.float32(max(found, 1e-30))
    return Swept(belief, top, left, log_chance, *(kept or (None, None)))


def _begin(
    question: Question, goal: Field, is_forward: bool, begins: Field | None, alive: Tiles | None
) -> Tiles:
    """Lay what is believed at first, on the tiles that are looked at; says which."""
    size = question.size
    tiles = (question.domain.rows // size, question.domain.columns // size)
    first = question.prior if begins is None and is_forward else begins
    active = np.ones(tiles, dtype=np.bool_)
    if first is not None:
        active = np.asarray(first.reshape(tiles[0], size, tiles[1], size).max(axis=(1, 3)) > 0.0)
    if alive is not None:
        active &= alive
    for row, column in zip(*np.nonzero(active), strict=True):
        top, left = row * size, column * size
        here = (slice(top, top + size), slice(left, left + size))
        there = (slice(MARGIN + top, MARGIN + top + size), slice(MARGIN + left, MARGIN + left + size))
        goal[there] = 1.0 if first is None else first[here]
    return active


def _taken(belief: Field, active: Tiles, size: int) -> tuple[Field, int, int]:
    """Copy the piece that holds all tiles, with where it begins."""
    rows, columns = np.flatnonzero(active.any(axis=1)), np.flatnonzero(active.any(axis=0))
    top, low, left, right = (int(k) * size for k in (rows[0], rows[-1] + 1, columns[0], columns[-1] + 1))
    return belief[MARGIN + top : MARGIN + low, MARGIN + left : MARGIN + right].copy(), top, left


def _leg(weighing: Weighing, leg: int, is_forward: bool) -> LegChance:
    said = weighing.legs[leg]
    # Walked from its end, what went up goes down.
    return said if is_forward or said.trend < 0 else said._replace(trend=2 - said.trend)


def _at(question: Question, node: int, station: int, previous: int) -> Floats:
    places = question.places[node]
    ends = [places[station], places[max(previous, 0)], places[max(station, previous)]]
    at: Floats = np.concatenate(ends) + question.domain.pad
    return at


def _scatter(
    here: _Fields,
    moved: _Fields,
    spare: _Fields,
    runs: NDArray[np.int32],
    steps: Sequence[NoiseStep],
    size: int,
    loops: Kernels,
) -> None:
    """Scatter `here` into `moved`; `spare` is empty before and after."""
    pairs = [(here.belief, moved.belief, spare.belief)]
    if here.offset.shape[0] > 1:
        pairs.append((here.offset, moved.offset, spare.offset))
    for source, goal, other in pairs:
        # The last step must end in `goal`, and the ones before alternate.
        targets = [goal if (len(steps) - k) % 2 else other for k in range(len(steps))]
        current = source
        for step, target in zip(steps, targets, strict=True):
            shares = (step.down, step.across, step.corner, step.falls)
            loops.scatter(current, target, runs, size, step.stride, *shares)
            current = target
        if not steps:
            goal[:] = source
        if len(steps) > 1:
            loops.clear(other, runs, size)


def _reach(steps: Sequence[NoiseStep], size: int) -> int:
    return -(-sum(step.stride for step in steps) // size)


def _clear(fields: _Fields, runs: NDArray[np.int32], size: int, loops: Kernels) -> None:
    loops.clear(fields.belief, runs, size)
    if fields.offset.shape[0] > 1:
        loops.clear(fields.offset, runs, size)


def _keep(
    kept: Sequence[NDArray[np.float16]], station: int, most: Sequence[Field], log_chance: float, total: float
) -> None:
    scale = log_chance / math.log(2.0)
    with np.errstate(divide="ignore"):
        # What came in was not yet divided by its sum.
        kept[0][station] = np.log2(most[0] / np.float32(total)) + scale
        kept[1][station] = np.log2(most[1]) + scale
