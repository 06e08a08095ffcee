"""The cells over which a walk may have begun, and the land about them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.walk import Walk, nodes_of

S = TypeVar("S", bound=np.generic)

TILE: Final = 24
"""Cells of a tile each way; a belief on cells three times as wide has tiles of a third."""


@dataclass(frozen=True, slots=True)
class Domain:
    """The cells over which a walk may have begun, with room about them for scatter and slips.

    Attributes
    ----------
    top, left
        The first of them, in rows and columns of the layers; may lie outside.
    rows, columns
        Whole tiles.
    pad
        How far the land read reaches beyond it on every side, in cells.
    """

    top: int
    left: int
    rows: int
    columns: int
    pad: int


def domain_of(walk: Walk, cell_m: float, top: int, left: int, rows: int, columns: int) -> Domain:
    """The domain for walks that begin on a block of cells."""
    moved_m = max((math.hypot(w.east_m, w.north_m) for ways in walk.slips for w in ways), default=0.0)
    room = math.ceil((5.0 * walk.scatter_m + moved_m) / cell_m) + 2
    high, wide = (-(-(size + 2 * room) // TILE) * TILE for size in (rows, columns))
    nodes = nodes_of(walk)
    reach_m = float(np.abs(nodes.places(walk.place_m)).max())
    pad = math.ceil(reach_m / cell_m) + 3
    return Domain(top - (high - rows) // 2, left - (wide - columns) // 2, high, wide, pad)


def about(values: NDArray[S], domain: Domain, fill: float) -> NDArray[S]:
    """Cut out a domain and the land about it; `fill` beyond the edge."""
    rows, columns = domain.rows + 2 * domain.pad, domain.columns + 2 * domain.pad
    made = np.full((rows, columns), fill, dtype=values.dtype)
    top, left = domain.top - domain.pad, domain.left - domain.pad
    t, b = max(top, 0), min(top + rows, values.shape[0])
    le, ri = max(left, 0), min(left + columns, values.shape[1])
    if t < b and le < ri:
        made[t - top : b - top, le - left : ri - left] = values[t:b, le:ri]
    return made
