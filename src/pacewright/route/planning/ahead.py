"""How many minutes a place lies from a goal at least, round what is kept off: a search looks ahead by it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.step import Place

Array = NDArray[np.float64]
Ahead = Callable[[Array], Array]
"""Minutes for places, shape (n, 2) to (n,)."""
Moves = tuple[NDArray[np.int32], NDArray[np.int32], Array]
"""From which cell, to which, and minutes."""

_FIELD_CELL_M: Final = 90.0
_SHARE: Final = 0.95
_OFF_CELLS: Final = 2.0
"""Cells are coarse: what is said must be too little, by a share and by what a cell is wide."""
_LEAST_CLEAR_M: Final = 25.0
"""Nobody passes nearer to what is kept off: the 95 % corridor of a leg is 29 m wide where it begins."""


def least_minutes(land: PlanLand, goal: Place) -> Ahead:
    """What says how many minutes places lie from a goal at least; inf where one is shut off."""
    from scipy.ndimage import minimum_filter
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import dijkstra

    ground = land.terrain
    every = max(1, round(_FIELD_CELL_M / ground.cell_east_m))
    heights = np.nan_to_num(ground.elevation_m[::every, ::every].astype(np.float64))
    open_ = land.clear_m[::every, ::every] > _LEAST_CLEAR_M
    rows, columns = heights.shape
    size = every * ground.cell_east_m
    numbers = np.arange(rows * columns, dtype=np.int32).reshape(rows, columns)

    def cells(places: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        row = ((ground.north_m - places[:, 1]) / size).astype(np.intp)
        column = ((places[:, 0] - ground.west_m) / size).astype(np.intp)
        return np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)

    over = [_over_land(land, heights, open_, numbers, size)]
    # A line is faster than the land beside it, and may lead where the land is kept off.
    over += [_along_line(land, number, numbers, cells, size) for number in range(len(land.lines))]
    starts, ends, costs = (np.concatenate(one) for one in zip(*over, strict=True))
    # Of several ways between two cells the least; a matrix would take their sum.
    order = np.lexsort((costs, ends, starts))
    starts, ends, costs = starts[order], ends[order], costs[order]
    first = np.ones(starts.size, dtype=bool)
    first[1:] = (np.diff(starts) != 0) | (np.diff(ends) != 0)
    size_all = rows * columns
    # Turned round: minutes are counted from every cell to the goal.
    graph = coo_array((costs[first], (ends[first], starts[first])), shape=(size_all, size_all)).tocsr()

    row, column = (int(one[0]) for one in cells(np.array([goal])))
    about = numbers[max(0, row - 1) : row + 2, max(0, column - 1) : column + 2].ravel()
    minutes = dijkstra(graph, indices=about, min_only=True).reshape(rows, columns)
    # Who stands close to what is kept off sets out from beside it.
    flat = np.asarray(minimum_filter(minutes, 3, mode="nearest"))
    off = _OFF_CELLS * size * float(land.pace[(land.pace.size - 1) // 2])

    def ahead(places: Array) -> Array:
        return np.asarray(np.maximum(0.0, _SHARE * flat[cells(places)] - off))

    return ahead


def _over_land(
    land: PlanLand, heights: Array, open_: NDArray[np.bool_], numbers: NDArray[np.int32], size: float
) -> Moves:
    """Every move from an open cell to one near by, off path."""
    rows, columns = heights.shape
    middle = (land.pace.size - 1) // 2
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
    return np.concatenate(starts), np.concatenate(ends), np.concatenate(costs)


def _along_line(land: PlanLand, number: int, numbers: NDArray[np.int32], cells: Any, size: float) -> Moves:
    """Every move along a line from one cell it passes to the next, both ways."""
    line = land.lines[number]
    along = np.linspace(0.0, line.lengths_m[-1], max(2, math.ceil(line.lengths_m[-1] / (size / 4.0))))
    places = np.stack([np.interp(along, line.lengths_m, line.points_m[:, k]) for k in (0, 1)], axis=1)
    its = numbers[cells(places)]
    at = np.flatnonzero(np.r_[True, np.diff(its) != 0])
    its, along = its[at], along[at]
    lines = np.full(max(at.size - 1, 0), number)
    onward = land.follow_minutes(lines, along[:-1], along[1:])
    back = land.follow_minutes(lines, along[1:], along[:-1])
    return (
        np.concatenate([its[:-1], its[1:]]), np.concatenate([its[1:], its[:-1]]),
        np.concatenate([onward, back]) + 1e-6,
    )  # fmt: skip
