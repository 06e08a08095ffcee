"""Things to take a bearing to that would tell places apart: known ones, and summits of the map in sight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.layers import GroundLayers
from pacewright.ground.locate.streams import KNOWN_ABOVE

Floats = NDArray[np.float64]
Cells = tuple[NDArray[np.intp], NDArray[np.intp]]

BEARING_SD_DEG: Final = 2.5
"""Of a bearing taken by hand, with what the compass is off all day (assumed)."""
STEP_DEG: Final = 5.0
EYE_M: Final = 1.7
_FAR_M: Final = 8_000.0
_NEAR_M: Final = 300.0
"""A thing nearer than this is seen from part of the places only, and its bearing turns with every step."""
_ABOUT_M: Final = 1_200.0
"""A summit is the highest cell so far round."""
_MOST_SUMMITS: Final = 6
_ROUGH_M: Final = 3.0
"""Heights between are off by so much."""
_SAMPLES: Final = 40


@dataclass(frozen=True, slots=True)
class Sight:
    """A thing that a bearing may be taken to.

    Attributes
    ----------
    name
        As the log calls it; empty for a summit of the map.
    east_m, north_m
        Where it is, on the land's grid.
    height_m
        Of a summit; None for what is not one.
    """

    name: str
    east_m: float
    north_m: float
    height_m: float | None = None


def find_summits(layers: GroundLayers, middle: tuple[float, float]) -> list[Sight]:
    """The highest summits of a land about a place in rows and columns, the highest first."""
    from scipy import ndimage

    # Every third cell tells a summit as well, and takes a ninth of the time.
    step = 3
    heights = layers.height_m[::step, ::step]
    cell_m = step * layers.cell_m
    around = ndimage.maximum_filter(heights, size=2 * round(_ABOUT_M / cell_m) + 1, mode="constant", cval=1e5)
    rows, columns = np.nonzero((heights >= around) & (heights > KNOWN_ABOVE))
    away_m = np.hypot(rows * step - middle[0], columns * step - middle[1]) * layers.cell_m
    inside = away_m < _FAR_M
    order = np.argsort(-heights[rows[inside], columns[inside]], kind="stable")[:_MOST_SUMMITS]
    return [_top(layers, int(rows[inside][k]) * step, int(columns[inside][k]) * step, step) for k in order]


def _top(layers: GroundLayers, row: int, column: int, room: int) -> Sight:
    """The highest cell close by."""
    top, left = max(row - room, 0), max(column - room, 0)
    piece = layers.height_m[top : row + room + 1, left : column + room + 1]
    down, across = (int(k) for k in np.unravel_index(int(piece.argmax()), piece.shape))
    east_m = layers.west_m + (left + across + 0.5) * layers.cell_m
    north_m = layers.north_m - (top + down + 0.5) * layers.cell_m
    return Sight("", east_m, north_m, float(piece[down, across]))


def bearing_chances(layers: GroundLayers, cells: Cells, sight: Sight, seen: NDArray[np.bool_]) -> Floats:
    """How likely each bearing is from every cell; shape (labels, cells).

    Parameters
    ----------
    layers, cells
        The land, and the rows and columns of the cells.
    sight
        The thing.
    seen
        From where it is in sight; elsewhere the bearing says nothing.
    """
    azimuth_deg, away_m = _towards(layers, cells, sight)
    middles = np.arange(0.0, 360.0, STEP_DEG)[:, None]
    off_deg = (azimuth_deg[None, :] - middles + 180.0) % 360.0 - 180.0
    # The place itself is off by half a cell, and the label is as wide as its step.
    of_place_deg = np.degrees(layers.cell_m / 2.0 / np.maximum(away_m, layers.cell_m))
    sd_deg = np.sqrt(BEARING_SD_DEG**2 + of_place_deg**2 + STEP_DEG**2 / 12.0)
    told = np.exp(-0.5 * (off_deg / sd_deg) ** 2)
    return np.asarray(np.where(seen, told / np.maximum(told.sum(axis=0), 1e-12), 1.0 / middles.size))


def in_sight(layers: GroundLayers, cells: Cells, sight: Sight) -> NDArray[np.bool_]:
    """From which cells a thing is seen: it is not too near, and no ground stands between.

    The Earth's bend is left out: over 8 km it hides 5 m.
    """
    rows, columns = cells
    high, wide = layers.shape
    _, away_m = _towards(layers, cells, sight)
    free = np.asarray(away_m > _NEAR_M)
    row = (layers.north_m - sight.north_m) / layers.cell_m - 0.5
    column = (sight.east_m - layers.west_m) / layers.cell_m - 0.5
    if not (0 <= row <= high - 1 and 0 <= column <= wide - 1):
        # Of land that was not read nothing stands between for all that is known.
        return free
    goal_m = float(layers.height_m[round(row), round(column)])
    here_m = layers.height_m[rows, columns] + EYE_M
    for part in np.linspace(0.0, 1.0, _SAMPLES + 2)[1:-1]:
        r = np.round(rows + (row - rows) * part).astype(np.intp)
        c = np.round(columns + (column - columns) * part).astype(np.intp)
        free &= layers.height_m[r, c] <= here_m + (goal_m - here_m) * part + _ROUGH_M
    return free


def _towards(layers: GroundLayers, cells: Cells, sight: Sight) -> tuple[Floats, Floats]:
    rows, columns = cells
    off_east = sight.east_m - (layers.west_m + (columns + 0.5) * layers.cell_m)
    off_north = sight.north_m - (layers.north_m - (rows + 0.5) * layers.cell_m)
    return np.degrees(np.arctan2(off_east, off_north)) % 360.0, np.hypot(off_east, off_north)
