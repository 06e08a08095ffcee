"""What a walker recognises without a map file: streams as lines, and tops, from the heights of the land."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.streams import KNOWN_ABOVE, UNKNOWN_HEIGHT, water_paths
from pacewright.ground.terrain import Terrain

Array = NDArray[np.float64]

STREAM_KM2: Final = 0.5
"""Land that drains through a stream a walker will see, square kilometres: assumed, in the middle of the
levels that a search takes for doubtful and sure."""
TOP_RADIUS_M: Final = 300.0
TOP_ABOVE_M: Final = 20.0
"""A top is the highest land this far round, and stands so far above all of the ring about it: assumed."""
_SMOOTH: Final = 2
_KEPT_EVERY: Final = 2


def stream_lines(terrain: Terrain, least_km2: float = STREAM_KM2) -> list[Array]:
    """The streams of a land, each from its head or a confluence down to the next confluence.

    Parameters
    ----------
    terrain
        On square cells.
    least_km2
        How much land drains through the smallest.

    Returns
    -------
    list of ndarray
        East and north in metres, shape (n, 2), in the direction in which the water runs. Ends that meet
        are the same point, so that no path slips through between two streams.
    """
    heights = terrain.elevation_m
    level = np.where(np.isnan(heights), UNKNOWN_HEIGHT, heights).astype(np.float32)
    drained, goal = water_paths(level)
    cell_km2 = terrain.cell_east_m * terrain.cell_north_m / 1e6
    wet = ((drained * cell_km2 >= least_km2) & (level > KNOWN_ABOVE)).ravel()
    cells = np.flatnonzero(wet)
    below = np.where(goal[cells] >= 0, goal[cells], 0)
    runs_on = (goal[cells] >= 0) & wet[below]
    fed = np.zeros(wet.size, dtype=np.intp)
    np.add.at(fed, below[runs_on], 1)
    lines = []
    for first in cells[fed[cells] != 1]:
        cell, path = int(first), [int(first)]
        while goal[cell] >= 0 and wet[goal[cell]]:
            cell = int(goal[cell])
            path.append(cell)
            if fed[cell] != 1:
                break
        if len(path) > 1:
            lines.append(_drawn(np.array(path), terrain))
    return lines


def _drawn(path: NDArray[np.intp], terrain: Terrain) -> Array:
    """A path of cells as a smooth line whose ends stay."""
    columns = terrain.elevation_m.shape[1]
    points = np.stack(
        [terrain.centres_east_m[path % columns], terrain.centres_north_m[path // columns]], axis=1
    )
    count = len(points)
    smooth = points.copy()
    for k in range(1, count - 1):
        reach = min(_SMOOTH, k, count - 1 - k)
        smooth[k] = points[k - reach : k + reach + 1].mean(axis=0)
    kept = np.unique(np.r_[0 : count - 1 : _KEPT_EVERY, count - 1])
    return np.asarray(smooth[kept])


def tops(terrain: Terrain) -> Array:
    """The tops of a land: east and north in metres, shape (n, 2).

    A top is the highest cell within `TOP_RADIUS_M`, and stands `TOP_ABOVE_M` above the land on the whole
    ring of that radius, so that a shoulder is none.
    """
    from scipy import ndimage

    heights = np.where(np.isnan(terrain.elevation_m), -np.inf, terrain.elevation_m).astype(float)
    radius = max(2, round(TOP_RADIUS_M / terrain.cell_east_m))
    highest = ndimage.maximum_filter(heights, 2 * radius + 1, mode="nearest")
    rows, columns = np.nonzero((heights == highest) & np.isfinite(heights))
    turn = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    kept = []
    for row, column in zip(rows, columns, strict=True):
        ring_row = np.rint(row + radius * np.cos(turn)).astype(int)
        ring_column = np.rint(column + radius * np.sin(turn)).astype(int)
        inside = (ring_row >= 0) & (ring_row < heights.shape[0])
        inside &= (ring_column >= 0) & (ring_column < heights.shape[1])
        if not inside.all():
            continue
        if (heights[row, column] - heights[ring_row, ring_column]).min() >= TOP_ABOVE_M:
            kept.append((terrain.centres_east_m[column], terrain.centres_north_m[row]))
    return np.array(kept, dtype=np.float64).reshape(-1, 2)
