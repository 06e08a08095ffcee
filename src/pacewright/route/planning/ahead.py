"""How many minutes a place lies from a goal at least, round what is kept off: a search looks ahead by it."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.route.planning.land import PlanLand
from pacewright.route.planning.step import Place

Array = NDArray[np.float64]
Ahead = Callable[[Array], Array]
"""Minutes for places, shape (n, 2) to (n,)."""

_FIELD_CELL_M: Final = 90.0
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
    middle = (land.pace.size - 1) // 2
    numbers = np.arange(rows * columns, dtype=np.int32).reshape(rows, columns)
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

    def cells(places: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        row = ((ground.north_m - places[:, 1]) / size).astype(np.intp)
        column = ((places[:, 0] - ground.west_m) / size).astype(np.intp)
        return np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)

    row, column = (int(one[0]) for one in cells(np.array([goal])))
    about = numbers[max(0, row - 1) : row + 2, max(0, column - 1) : column + 2].ravel()
    minutes = dijkstra(graph, indices=about, min_only=True).reshape(rows, columns)
    # Who stands close to what is kept off sets out from beside it.
    flat = np.asarray(minimum_filter(minutes, 3, mode="nearest"))
    # On a path one is faster than off it, and cells are coarse: what is said must be too little.
    share = 0.9 * (0.8 if any(line.kind not in ("stream", "ridge") for line in land.lines) else 1.0)

    off = 4.0 * size * float(land.pace[middle])

    def ahead(places: Array) -> Array:
        return np.asarray(np.maximum(0.0, share * (flat[cells(places)] - off)))

    return ahead
