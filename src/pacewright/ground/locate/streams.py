"""Where water gathers: how much land drains through every cell of a height grid.

Pits are filled from the edge inward, lowest spill first. Every cell then drains to its steepest neighbour
below, and across a filled pit to the neighbour that the filling came from. The same lines run compiled
where the compiler is installed, and as they stand where it is not: slow on large land, with the same answer.

References
----------
R. Barnes, C. Lehman, D. Mulla, Priority-flood, Computers & Geosciences 62 (2014), 117 to 127; draining
to one of eight neighbours: J. F. O'Callaghan, D. M. Mark (1984). From memory.
"""

from __future__ import annotations

import heapq
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.compiling import compiled

UNKNOWN_HEIGHT: Final = np.float32(-32768.0)
"""Stands for a height that is not known; no not-a-number, which fast arithmetic would not see."""
KNOWN_ABOVE: Final = -9000.0


def drained_cells(heights: NDArray[np.float32]) -> NDArray[np.float32]:
    """How many cells drain through every cell, itself counted.

    Parameters
    ----------
    heights
        Shape (rows, columns); what is not known is `UNKNOWN_HEIGHT`, and water leaves the land there.
    """
    return water_paths(heights)[0]


def water_paths(heights: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
    """How many cells drain through every cell, and to which cell it drains in turn.

    Parameters
    ----------
    heights
        As `drained_cells` takes them.

    Returns
    -------
    drained, goal
        Shape (rows, columns), and shape (rows * columns,): the number of the cell below, counted row by
        row, or -1 where the water leaves the land.
    """
    flat = np.ascontiguousarray(heights, dtype=np.float32).ravel()
    filled, order, parent = _flood()(flat, *heights.shape, _seeds(heights))
    gathered, below = _gather()(filled, *heights.shape, order, parent)
    return np.asarray(gathered, dtype=np.float32).reshape(heights.shape), np.asarray(below)


def _seeds(heights: NDArray[np.float32]) -> NDArray[np.bool_]:
    """The cells at which water leaves: those of the edge and those beside what is not known."""
    from scipy import ndimage

    known = heights > KNOWN_ABOVE
    inner = ndimage.binary_erosion(known, np.ones((3, 3), dtype=bool), border_value=0)
    seeds: NDArray[np.bool_] = (known & ~inner).ravel()
    return seeds


@lru_cache(maxsize=1)
def _flood() -> Any:
    return compiled(_flood_from_edge)


@lru_cache(maxsize=1)
def _gather() -> Any:
    return compiled(_gather_down)


def _flood_from_edge(flat: Any, rows: int, columns: int, seeds: Any) -> Any:
    """The filled heights, the cells in the order in which the filling reaches them, and from where."""
    done = flat < -9000.0
    filled = flat.copy()
    parent = np.full(flat.size, -1, dtype=np.int32)
    order = np.empty(flat.size, dtype=np.int32)
    # (height of the water, number in the order of reaching, cell): a level is walked breadth first.
    heap = [(np.float32(0.0), 0, 0)]
    heap.pop()
    pushed = 0
    for cell in range(flat.size):
        if seeds[cell]:
            done[cell] = True
            heapq.heappush(heap, (flat[cell], pushed, cell))
            pushed += 1
    count = 0
    while len(heap) > 0:
        level, _, cell = heapq.heappop(heap)
        order[count] = cell
        count += 1
        row, column = cell // columns, cell % columns
        for down in range(-1, 2):
            for across in range(-1, 2):
                r, c = row + down, column + across
                if r < 0 or c < 0 or r >= rows or c >= columns:
                    continue
                beside = r * columns + c
                if done[beside]:
                    continue
                done[beside] = True
                parent[beside] = cell
                filled[beside] = max(level, flat[beside])
                heapq.heappush(heap, (filled[beside], pushed, beside))
                pushed += 1
    return filled, order[:count], parent


def _gather_down(filled: Any, rows: int, columns: int, order: Any, parent: Any) -> Any:
    gathered = np.zeros(filled.size, dtype=np.float32)
    below = np.full(filled.size, -1, dtype=np.int32)
    diagonal = np.float32(0.70710678)
    for k in range(order.size - 1, -1, -1):
        cell = order[k]
        gathered[cell] += np.float32(1.0)
        row, column = cell // columns, cell % columns
        steepest, goal = np.float32(0.0), parent[cell]
        for down in range(-1, 2):
            for across in range(-1, 2):
                r, c = row + down, column + across
                if r < 0 or c < 0 or r >= rows or c >= columns:
                    continue
                beside = r * columns + c
                fall = filled[cell] - filled[beside]
                if filled[beside] < -9000.0:
                    continue
                if down != 0 and across != 0:
                    fall *= diagonal
                if fall > steepest:
                    steepest, goal = fall, beside
        below[cell] = goal
        if goal >= 0:
            gathered[goal] += gathered[cell]
    return gathered, below
