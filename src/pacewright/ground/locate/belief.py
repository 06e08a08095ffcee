"""What is believed of start and present place: wide cells over everything, fine ones where it matters.

The pass over wide cells, from both ends, tells which tiles can matter at which station for which bias and
scale; the fine pass looks at those alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from queue import Empty, SimpleQueue
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.chances import Doubt
from pacewright.ground.locate.domain import TILE
from pacewright.ground.locate.kernels import Kernels
from pacewright.ground.locate.question import Question
from pacewright.ground.locate.sweep import SweepRoom, Swept, Tiles, sweep

Floats = NDArray[np.float64]

WIDE: Final = 3
"""Wide cells are so many cells of the land each way."""
ALIVE_BITS: Final = 17.0
"""A tile is looked at finely where its best cell is likelier than one in 2 ** 17 of the best of all: what is
left out comes to one or two thousandths of the belief at most, and five bits more took twice as long
(measured)."""
REACHED_BITS: Final = 28.0
"""The pass back looks at tiles likelier than one in 2 ** 28 of the best that the pass out found."""
MOST_FINE_UPDATES: Final = 4e8
"""Beyond it the belief is spread so wide that finer cells would tell nothing: the wide ones stand."""
LEAST_NODE: Final = 1e-5
"""A bias and scale less likely than this, of all, is not looked at finely."""

Progress = Callable[[float], None]
"""Told the share of the work that is done; raises to stop."""


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """What is believed over one block.

    Attributes
    ----------
    log_chance
        Natural logarithm of the chance of the log, over the prior of the block's starts (with sum 1).
    start, now
        Over the layers, each with sum 1 or less where belief has left the map; all 0 where nothing
        survived.
    node_chance
        Of every bias, scale and error of the heights.
    is_fine
        Whether it stands on the land's own cells.
    """

    log_chance: float
    start: NDArray[np.float32]
    now: NDArray[np.float32]
    node_chance: Floats
    is_fine: bool


def find_belief(
    question: Question,
    doubt: Doubt,
    shape: tuple[int, int],
    loops: Kernels,
    *,
    workers: int = 2,
    told: Progress | None = None,
    prunes: bool = True,
    alive_bits: float = ALIVE_BITS,
) -> Belief:
    """What is believed of start and present place on one block.

    Parameters
    ----------
    question
        The log on the land.
    doubt
        How far it is trusted.
    shape
        Rows and columns of the layers.
    loops
        The inner loops.
    workers
        Threads.
    told
        Told of progress.
    prunes
        Without it, every cell is looked at finely.
    alive_bits
        Fewer where the best of this block is not the best of all.
    """
    count = question.nodes.weight.size
    done = _Done(told, 4 * count)
    with ThreadPoolExecutor(workers) as pool:
        passes = _Passes(pool, workers, doubt, loops, done)
        every = list(range(count))
        if not prunes:
            ends, begins = (passes(question, every, None, way, False) for way in (True, False))
            return _join(question, every, ends, begins, shape)
        widely = question.on_wider_cells(WIDE)
        first = _least_trusting(question)
        ends = passes(widely, first, None, True, True)
        reached = _reached(question, ends)
        if reached is None:
            return _nothing(shape, count)
        begins = passes(widely, first, reached, False, True)
        alive = _alive(question, ends, begins, alive_bits) * len(question.weighings)
        nodes = [k for k in every if alive[k].any()]
        if sum(int(alive[k].sum()) for k in nodes) * TILE**2 * 2 > MOST_FINE_UPDATES:
            others = every[len(first) :]
            done.expect(2 * count)
            ends += passes(widely, others, reached * len(question.weighings), True, False)
            begins += passes(widely, others, reached * len(question.weighings), False, False)
            return _join(widely, every, ends, begins, shape)
        done.expect(2 * len(first) + 2 * len(nodes))
        closer, alive = _closer(question, alive)
        ends, begins = (passes(closer, nodes, alive, way, False) for way in (True, False))
        return _join(closer, nodes, ends, begins, shape)


def find_evidence(
    question: Question,
    doubt: Doubt,
    loops: Kernels,
    *,
    workers: int = 2,
    told: Progress | None = None,
) -> float:
    """Natural logarithm of the chance of the log on one block: on wide cells, heights trusted least.

    Of two blocks it tells which matters, for a quarter of the work or less; for the arguments see
    `find_belief`.
    """
    first = _least_trusting(question)
    with ThreadPoolExecutor(workers) as pool:
        passes = _Passes(pool, workers, doubt, loops, _Done(told, len(first)))
        ends = passes(question.on_wider_cells(WIDE), first, None, True, False)
    logs = [one.log_chance for one in ends] + np.log(question.nodes.weight[: len(first)])
    return float(np.logaddexp.reduce(logs))


def _least_trusting(question: Question) -> list[int]:
    """The nodes whose heights are trusted least: they rule out least, so what cannot matter to them cannot to
    the others."""
    return list(range(question.nodes.weight.size // len(question.weighings)))


class _Passes:
    """Sweeps of many nodes, side by side."""

    def __init__(
        self, pool: ThreadPoolExecutor, workers: int, doubt: Doubt, loops: Kernels, done: _Done
    ) -> None:
        self._pool, self._workers = pool, workers
        self._doubt, self._loops, self._done = doubt, loops, done

    def __call__(
        self,
        posed: Question,
        nodes: Sequence[int],
        alive: Sequence[Tiles] | None,
        is_forward: bool,
        keeps: bool,
    ) -> list[Swept]:
        rooms: SimpleQueue[SweepRoom] = SimpleQueue()

        def one(node: int) -> Swept:
            mask = None if alive is None else alive[node]
            try:
                room = rooms.get_nowait()
            except Empty:
                room = SweepRoom(posed)
            swept = sweep(
                posed,
                self._doubt,
                node,
                self._loops,
                is_forward=is_forward,
                alive=mask,
                keeps_most=keeps,
                room=room,
            )
            rooms.put(room)
            self._done.step()
            return swept

        return list(self._pool.map(one, nodes) if self._workers > 1 else map(one, nodes))


class _Done:
    def __init__(self, told: Progress | None, steps: int) -> None:
        self._told, self._steps, self._done = told, steps, 0

    def expect(self, steps: int) -> None:
        self._steps = steps

    def step(self) -> None:
        self._done += 1
        if self._told is not None:
            self._told(min(1.0, self._done / self._steps))


def _log2_weights(question: Question) -> Floats:
    return np.log2(np.maximum(question.nodes.weight, 1e-300))


def _reached(question: Question, ends: Sequence[Swept]) -> list[Tiles] | None:
    """The tiles that the pass from the start believes in, for every node and station.

    The pass back need look at no others. None where nothing survived.
    """
    if not any(math.isfinite(one.log_chance) for one in ends):
        return None
    after = [_weighted(one.after, weight) for one, weight in zip(ends, _log2_weights(question), strict=False)]
    best = np.max([one.max(axis=(1, 2)) for one in after], axis=0)
    return [one > (best - REACHED_BITS)[:, None, None] for one in after]


def _alive(
    question: Question, ends: Sequence[Swept], begins: Sequence[Swept], alive_bits: float
) -> list[Tiles]:
    """The tiles that matter, for every node and station."""
    both = [
        _weighted(one.before, weight) + _weighted(other.after, 0.0)
        for one, other, weight in zip(ends, begins, _log2_weights(question), strict=False)
    ]
    best = np.max([one.max(axis=(1, 2)) for one in both], axis=0)
    log_chance = np.array([one.log_chance for one in ends]) + np.log(question.nodes.weight[: len(ends)])
    likely = log_chance > log_chance.max() + math.log(LEAST_NODE)
    return [
        (one > (best - alive_bits)[:, None, None]) & bool(ok) for one, ok in zip(both, likely, strict=True)
    ]


def _closer(question: Question, alive: Sequence[Tiles]) -> tuple[Question, list[Tiles]]:
    """The question on the part of the domain that matters, and its tiles."""
    matters = np.any([one.any(axis=0) for one in alive], axis=0)
    rows, columns = np.flatnonzero(matters.any(axis=1)), np.flatnonzero(matters.any(axis=0))
    top, low, left, right = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
    if (low - top) * (right - left) > 0.5 * matters.size:
        return question, list(alive)
    size = (int(k) * TILE for k in (top, left, low - top, right - left))
    return question.cropped(*size), [one[:, top:low, left:right] for one in alive]


def _weighted(most: NDArray[np.float16] | None, weight: float) -> NDArray[np.float32]:
    assert most is not None
    return np.asarray(most.astype(np.float32) + np.float32(weight))


def _join(
    question: Question,
    nodes: Sequence[int],
    forward: Sequence[Swept],
    backward: Sequence[Swept],
    shape: tuple[int, int],
) -> Belief:
    """Put the passes of all nodes together, weighed by how well each explains the log."""
    count = question.nodes.weight.size
    prior = np.log(question.nodes.weight[list(nodes)])
    logs = np.array([one.log_chance for one in forward]) + prior
    back = np.array([one.log_chance for one in backward]) + prior
    if not np.isfinite(logs).any() or not np.isfinite(back).any():
        return _nothing(shape, count)
    log_chance = float(np.logaddexp.reduce(logs))
    shares = np.exp(logs - log_chance)
    back_shares = np.exp(back - np.logaddexp.reduce(back))
    start = np.zeros(shape, dtype=np.float32)
    now = np.zeros(shape, dtype=np.float32)
    for k, ends, begins, share, back_share in zip(nodes, forward, backward, shares, back_shares, strict=True):
        if share > 1e-12:
            row, column = question.places[k, -1]
            _lay(now, ends, share, question, float(row), float(column))
        if back_share > 1e-12:
            _lay(start, begins, back_share, question, 0.0, 0.0)
    every = np.zeros(count)
    every[list(nodes)] = shares
    return Belief(log_chance, start, now, every, question.step == 1)


def _nothing(shape: tuple[int, int], count: int) -> Belief:
    empty = np.zeros(shape, dtype=np.float32)
    return Belief(-math.inf, empty, empty.copy(), np.zeros(count), False)


def _lay(
    goal: NDArray[np.float32],
    swept: Swept,
    share: float,
    question: Question,
    row: float,
    column: float,
) -> None:
    """Add a share of a pass to the layers, moved by rows and columns, parted between four cells."""
    step, top, left = question.step, swept.top * question.step, swept.left * question.step
    piece = swept.belief * np.float32(share / step**2)
    if step > 1:
        piece = np.repeat(np.repeat(piece, step, axis=0), step, axis=1)
        row, column = row * step, column * step
    r, c = math.floor(row), math.floor(column)
    fr, fc = row - r, column - c
    for down, share_down in ((0, 1 - fr), (1, fr)):
        for across, share_across in ((0, 1 - fc), (1, fc)):
            part = share_down * share_across
            if part > 0:
                at = (question.domain.top + top + r + down, question.domain.left + left + c + across)
                _add(goal, piece * np.float32(part), *at)


def _add(goal: NDArray[np.float32], piece: NDArray[np.float32], top: int, left: int) -> None:
    rows, columns = piece.shape
    t, b = max(0, -top), min(rows, goal.shape[0] - top)
    le, ri = max(0, -left), min(columns, goal.shape[1] - left)
    if t < b and le < ri:
        goal[top + t : top + b, left + le : left + ri] += piece[t:b, le:ri]
