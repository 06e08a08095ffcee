"""What lies in the way of a leg: what is kept off, what is small enough to box, what is merely steep."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.terrain import Terrain, level_areas, slope_deg

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int32]

STEEPEST_DEG: Final = 35.0
"""Land steeper than this over a cell is crossed on a slant alone: assumed, hands are needed about there."""
CLIFF_BEYOND_DEG: Final = 10.0
"""Land so much steeper still is kept off as a cliff is (assumed)."""
SLANT_DEG: Final = 25.0
"""On steep land the way itself rises or falls by so much at the most (assumed)."""
SLANT_GRADE: Final = math.tan(math.radians(SLANT_DEG))
STEEP_SLOWER: Final = 2.0
"""Over steep land one takes twice the time (assumed)."""
BOXED_SLOWER: Final = 3.0
"""Out, along and back takes three times the time of straight through: square offsets as far as it is wide."""
MOST_BOXED_M: Final = 150.0
"""What is wider than this is not boxed: the offsets would cost more than they keep (assumed)."""
BESIDE_M: Final = 20.0
"""One passes so far beside what is boxed (assumed)."""
CLIFF: Final = "cliff"
WATER: Final = "water"
"""What the heights bar, in words."""
_ROOM_M: Final = 60.0


@dataclass(frozen=True, slots=True, eq=False)
class Boxable:
    """Something small that is kept off and can be walked round by square offsets.

    Attributes
    ----------
    what
        In words: `cliff`, `water`, or the name of an area.
    middle_m, half_m
        East and north of its middle, and half of its greatest width.
    """

    what: str
    middle_m: tuple[float, float]
    half_m: float


@dataclass(frozen=True, slots=True, eq=False)
class Obstacles:
    """What of the ground is in the way, cell by cell.

    Attributes
    ----------
    kept_off
        Cells that no corridor may touch, shape (rows, columns).
    boxed
        The number in `boxes` of what is boxed there, from 1; 0 for nothing.
    boxes
        What can be boxed.
    steep
        Cells that are crossed on a slant.
    areas
        Cells that are kept off for another reason than the heights.
    """

    kept_off: Bools
    boxed: Ints
    boxes: tuple[Boxable, ...]
    steep: Bools
    areas: Bools

    @property
    def slower(self) -> Array:
        """How many times as long every cell takes."""
        from scipy import ndimage

        slower = np.where(self.steep, STEEP_SLOWER, 1.0)
        # One steps aside before it, and a leg is looked at every two cells.
        slower[ndimage.binary_dilation(self.boxed > 0, np.ones((3, 3), dtype=bool))] = BOXED_SLOWER
        return slower


def find_obstacles(ground: Terrain, barred: dict[str, Bools], steep: Bools | None = None) -> Obstacles:
    """What is in the way, what is small told from what is not.

    Parameters
    ----------
    ground
        On square cells; where it has no height nobody goes.
    barred
        What is kept off: its words, and its cells.
    steep
        Cells to be crossed on a slant.
    """
    from scipy import ndimage

    off = np.isnan(ground.elevation_m)
    for cells in barred.values():
        off = off | cells
    steep = np.zeros(off.shape, dtype=bool) if steep is None else steep
    numbers, count = ndimage.label(off, np.ones((3, 3), dtype=bool))
    cell_m, room = ground.cell_east_m, max(1, round(_ROOM_M / ground.cell_east_m))
    boxed = np.zeros(off.shape, dtype=np.int32)
    boxes: list[Boxable] = []
    for number, (rows, columns) in enumerate(ndimage.find_objects(numbers, count), 1):
        wide_m = cell_m * max(rows.stop - rows.start, columns.stop - columns.start)
        low, left = max(0, rows.start - room), max(0, columns.start - room)
        about = numbers[low : rows.stop + room, left : columns.stop + room]
        at_edge = rows.stop + room > off.shape[0] or columns.stop + room > off.shape[1] or not (low and left)
        if wide_m > MOST_BOXED_M or at_edge or np.any((about > 0) & (about != number)):
            continue
        cells = np.zeros_like(off)
        cells[rows, columns] = numbers[rows, columns] == number
        what = next((words for words, its in barred.items() if (its & cells).any()), "gap in the heights")
        boxed[cells] = len(boxes) + 1
        row, column = (rows.start + rows.stop) / 2.0, (columns.start + columns.stop) / 2.0
        middle = (ground.west_m + column * cell_m, ground.north_m - row * cell_m)
        boxes.append(Boxable(what, middle, wide_m / 2.0))
    areas = np.zeros(off.shape, dtype=bool)
    for words, cells in barred.items():
        if words not in (CLIFF, WATER):
            areas |= cells
    return Obstacles(off & (boxed == 0), boxed, tuple(boxes), steep & ~off, areas)


def barred_by_terrain(
    terrain: Terrain, steepest_deg: float = STEEPEST_DEG, with_level: bool = True
) -> tuple[dict[str, Bools], Bools]:
    """The cells that the heights bar, by their words, and those that are merely steep."""
    with np.errstate(invalid="ignore"):
        slope = slope_deg(terrain)
        cliff: Bools = slope > steepest_deg + CLIFF_BEYOND_DEG
        steep: Bools = (slope > steepest_deg) & ~cliff
    barred = {CLIFF: cliff}
    if with_level:
        numbers, _ = level_areas(terrain)
        barred[WATER] = numbers > 0
    return barred, steep


def barred_by_area(terrain: Terrain, ring_m: Array) -> Bools:
    """The cells that a ring of places holds or passes through, shape (n, 2), the last joining the first.

    What is thinner than a cell is so kept off along all its length.
    """
    easts, norths = np.meshgrid(terrain.centres_east_m, terrain.centres_north_m)
    inside = np.zeros(easts.shape, dtype=bool)
    rows, columns = inside.shape
    step_m = terrain.cell_east_m / 8.0
    for (x1, y1), (x2, y2) in zip(ring_m, np.roll(ring_m, -1, axis=0), strict=True):
        if y1 != y2:
            spans = (y1 > norths) != (y2 > norths)
            inside ^= spans & (easts < x1 + (norths - y1) * (x2 - x1) / (y2 - y1))
    for (x1, y1), (x2, y2) in zip(ring_m, np.roll(ring_m, -1, axis=0), strict=True):
        share = np.linspace(0.0, 1.0, math.ceil(math.hypot(x2 - x1, y2 - y1) / step_m) + 1)
        row = np.floor((terrain.north_m - (y1 + share * (y2 - y1))) / terrain.cell_north_m).astype(int)
        column = np.floor((x1 + share * (x2 - x1) - terrain.west_m) / terrain.cell_east_m).astype(int)
        on = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        inside[row[on], column[on]] = True
    return inside
