"""The likeliest places, the region that holds the truth at 95 %, and whether that tells anything."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Grid = NDArray[np.float32]

WITHIN_M: Final = 100.0
"""A place's chance is that of being within so far of it."""
APART_M: Final = 200.0
"""Places nearer to each other than this are one."""
_SMOOTH_M: Final = 40.0
MOST_PLACES: Final = 5
LEAST_CHANCE: Final = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class LikelyPlace:
    """A place at which much of a belief lies together.

    Attributes
    ----------
    row, column
        Its middle, in cells from the upper left corner.
    chance
        Of being within `WITHIN_M` of it.
    covariance_m2
        East and north of the belief there, shape (2, 2).
    """

    row: float
    column: float
    chance: float
    covariance_m2: Floats


@dataclass(frozen=True, slots=True, eq=False)
class BeliefRegion:
    """The smallest region that holds the truth with a probability.

    Attributes
    ----------
    least
        Cells believed in at least so much belong to it.
    km2
        Its area.
    holds
        The probability that it holds the truth; 0 where nothing is believed.
    """

    least: float
    km2: float
    holds: float


def region_of(belief: Grid, cell_m: float, probability: float) -> BeliefRegion:
    """The smallest region of a belief with sum 1 that holds a probability."""
    cells = np.sort(belief[belief > 0])[::-1]
    if not cells.size:
        return BeliefRegion(math.inf, 0.0, 0.0)
    held = np.cumsum(cells, dtype=np.float64)
    last = min(int(np.searchsorted(held, probability)), cells.size - 1)
    return BeliefRegion(float(cells[last]), (last + 1) * (cell_m / 1000.0) ** 2, float(held[last]))


def likely_places(belief: Grid, cell_m: float, most: int = MOST_PLACES) -> tuple[LikelyPlace, ...]:
    """The places at which most of a belief lies, the likeliest first.

    The belief is smoothed before its peaks are looked for: two neighbouring cells may share one place,
    and the larger of them alone would draw it to its side.
    """
    from scipy import ndimage

    box = _used(belief)
    if box is None:
        return ()
    top, left = box[0].start, box[1].start
    smooth = ndimage.gaussian_filter(belief[box], _SMOOTH_M / cell_m, mode="constant")
    found: list[LikelyPlace] = []
    for _ in range(6 * most):
        row, column = (int(k) for k in np.unravel_index(int(smooth.argmax()), smooth.shape))
        if not smooth[row, column] > 0:
            break
        place = _place_about(belief, row + top, column + left, cell_m)
        _empty_about(smooth, row, column, APART_M / cell_m)
        if place is None or any(_apart_m(place, one, cell_m) < APART_M for one in found):
            continue
        if place.chance >= LEAST_CHANCE or not found:
            found.append(place)
        if len(found) == most:
            break
    return tuple(sorted(found, key=lambda one: -one.chance))


def _apart_m(place: LikelyPlace, other: LikelyPlace, cell_m: float) -> float:
    return math.hypot(place.row - other.row, place.column - other.column) * cell_m


def _place_about(belief: Grid, row: int, column: int, cell_m: float) -> LikelyPlace | None:
    """Draw the middle of what is believed close by, and weigh it."""
    middle = (row + 0.5, column + 0.5)
    for _ in range(2):
        rows, columns, weight = _within(belief, *middle, cell_m)
        total = float(weight.sum(dtype=np.float64))
        if not total > 0:
            return None
        middle = (float((weight * rows).sum() / total), float((weight * columns).sum() / total))
    rows, columns, weight = _within(belief, *middle, cell_m)
    total = float(weight.sum(dtype=np.float64))
    off = np.stack([(columns - middle[1]) * cell_m, (middle[0] - rows) * cell_m])
    covariance = (weight * off[:, None] * off[None, :]).sum(axis=2) / total
    covariance += np.eye(2) * cell_m**2 / 12.0
    return LikelyPlace(*middle, total, np.asarray(covariance, dtype=np.float64))


def _within(belief: Grid, row: float, column: float, cell_m: float) -> tuple[Floats, Floats, Floats]:
    reach = math.ceil(WITHIN_M / cell_m) + 1
    top, left = max(int(row) - reach, 0), max(int(column) - reach, 0)
    piece = belief[top : int(row) + reach + 1, left : int(column) + reach + 1].astype(np.float64)
    rows, columns = np.mgrid[top : top + piece.shape[0], left : left + piece.shape[1]] + 0.5
    inside = np.hypot(rows - row, columns - column) * cell_m <= WITHIN_M
    return rows[inside], columns[inside], piece[inside]


def _empty_about(field: Grid, row: float, column: float, radius: float) -> None:
    reach = math.ceil(radius)
    top, left = max(int(row) - reach, 0), max(int(column) - reach, 0)
    piece = field[top : int(row) + reach + 1, left : int(column) + reach + 1]
    rows, columns = np.mgrid[top : top + piece.shape[0], left : left + piece.shape[1]]
    piece[np.hypot(rows - row, columns - column) <= radius] = 0.0


def _used(belief: Grid) -> tuple[slice, slice] | None:
    rows = np.flatnonzero(belief.max(axis=1))
    if not rows.size:
        return None
    columns = np.flatnonzero(belief.max(axis=0))
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)
