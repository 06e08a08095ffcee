"""The land as a search reads it: heights, what a walker would call every cell, and where water gathers.

What a walker would call a cell is one number that holds side, steepness, lie and nearness of a stream,
so that all remarks of a station are one look into a table.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import ValueComplaint
from pacewright.ground.locate.streams import KNOWN_ABOVE, UNKNOWN_HEIGHT, drained_cells
from pacewright.ground.terrain import Bounds, Terrain, coarsen, gradient, resample

CELL_M: Final = 30.0
"""The cells that a search works on: finer ones cost more and tell no more, for legs scatter by half of
one; coarser ones blur what a walker sees (measured: a third of the places lost at 90 m)."""

SIDES: Final = 24
STEEPNESS_PCT: Final = (3.0, 6.0, 10.0, 15.0, 22.0, 32.0, 45.0)
"""Between the eight levels of steepness."""
LIES: Final = 7
NEAR_LEVELS: Final = 4
UNKNOWN_KIND: Final = SIDES * (len(STEEPNESS_PCT) + 1) * LIES * NEAR_LEVELS
"""What a cell is called whose height is not known."""

LIE_RADIUS_M: Final = 225.0
"""A place is a ridge or a valley against the land about it this far round."""
_LIE_LIMITS: Final = (-1.5, -0.9, -0.3, 0.3, 0.9, 1.5)

STREAM_KM2: Final = (0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2)
"""Between the eight levels of drained land; a walker sees a stream about from the middle ones up."""
_NEAR_OF_LEVEL: Final = np.array([0, 0, 1, 1, 2, 2, 3, 3], dtype=np.uint8)
SURE_STREAM: Final = 7
UNKNOWN_STREAM: Final = 8
"""Above all levels, so that a leg that passes unknown ground is unknown."""


@dataclass(frozen=True, slots=True, eq=False)
class GroundLayers:
    """What a search reads of the land, on cells of one size whose north is up.

    Attributes
    ----------
    height_m
        Shape (rows, columns), float32; `UNKNOWN_HEIGHT` where it is not known.
    kind
        What a walker would call the cell, uint16; `UNKNOWN_KIND` where nothing is known.
    stream
        Level of drained land, uint8, 0 to 7; `UNKNOWN_STREAM` where the height is not known.
    west_m, north_m, cell_m
        Upper left corner and size of the cells.
    crs
        The coordinate system.
    relief_m
        Standard deviation of the heights.
    standing_m
        Standard deviation of how far cells stand above the land about them.
    """

    height_m: NDArray[np.float32]
    kind: NDArray[np.uint16]
    stream: NDArray[np.uint8]
    west_m: float
    north_m: float
    cell_m: float
    crs: str
    relief_m: float
    standing_m: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.height_m.shape[0], self.height_m.shape[1]

    @property
    def known(self) -> NDArray[np.bool_]:
        """Where the height is known."""
        return np.asarray(self.kind != UNKNOWN_KIND)


def working_terrain(terrain: Terrain) -> Terrain:
    """The land on square cells of about `CELL_M`: blocks of its own cells, or whole parts of them."""
    cell_m = min(terrain.cell_east_m, terrain.cell_north_m)
    if cell_m <= CELL_M / 1.5:
        terrain = coarsen(terrain, CELL_M + 0.25 * cell_m)
    is_square = abs(terrain.cell_east_m - terrain.cell_north_m) < 1e-6 * terrain.cell_east_m
    if is_square and terrain.cell_east_m <= 1.5 * CELL_M:
        return terrain
    west, south, east, north = terrain.bounds
    parts = max(1, round(max(terrain.cell_east_m, terrain.cell_north_m) / CELL_M))
    size_m = max(terrain.cell_east_m, terrain.cell_north_m) / parts
    rows, columns = round((north - south) / size_m), round((east - west) / size_m)
    bounds: Bounds = (west, north - rows * size_m, west + columns * size_m, north)
    return resample(terrain, bounds, (rows, columns))


def build_layers(terrain: Terrain, streams: NDArray[np.bool_] | None = None) -> GroundLayers:
    """The layers of a piece of land on square cells.

    Parameters
    ----------
    terrain
        From `working_terrain`.
    streams
        Cells through which a stream is known to run, shape (rows, columns); without them they are found
        from the heights.

    Raises
    ------
    ValueComplaint
        The streams are on other cells.
    """
    heights = terrain.elevation_m
    if streams is not None and streams.shape != heights.shape:
        raise ValueComplaint("the streams lie on other cells than the heights", "Read both for one land")
    height_m = np.where(np.isnan(heights), UNKNOWN_HEIGHT, heights).astype(np.float32)
    known = height_m > KNOWN_ABOVE
    stream = _stream_levels(height_m, terrain.cell_east_m) if streams is None else _given_levels(streams)
    to_east, to_north = gradient(terrain)
    side = _side(to_east, to_north)
    steep = np.digitize(100.0 * np.hypot(to_east, to_north), STEEPNESS_PCT)
    above_m = _standing_out_m(terrain)
    standing_m = float(above_m[known].std()) if known.any() else 0.0
    lie = np.digitize(above_m / standing_m if standing_m > 0 else above_m, _LIE_LIMITS)
    kind = ((side * (len(STEEPNESS_PCT) + 1) + steep) * LIES + lie) * NEAR_LEVELS + _near(stream)
    told = known & np.isfinite(to_east)
    return GroundLayers(
        height_m,
        np.where(told, kind, UNKNOWN_KIND).astype(np.uint16),
        np.where(known, stream, UNKNOWN_STREAM).astype(np.uint8),
        terrain.west_m,
        terrain.north_m,
        terrain.cell_east_m,
        terrain.crs,
        float(height_m[known].std()) if known.any() else 0.0,
        standing_m,
    )


def kinds_apart() -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Side, steepness, lie and nearness of a stream of every kind, each shape (UNKNOWN_KIND,)."""
    kinds = np.arange(UNKNOWN_KIND)
    near = kinds % NEAR_LEVELS
    lie = kinds // NEAR_LEVELS % LIES
    steep = kinds // (NEAR_LEVELS * LIES) % (len(STEEPNESS_PCT) + 1)
    return kinds // (NEAR_LEVELS * LIES * (len(STEEPNESS_PCT) + 1)), steep, lie, near


def _side(to_east: NDArray[np.float64], to_north: NDArray[np.float64]) -> NDArray[np.intp]:
    falls_deg = np.degrees(np.arctan2(-to_east, -to_north)) % 360.0
    step_deg = 360.0 / SIDES
    sides = np.floor(np.nan_to_num(falls_deg) / step_deg + 0.5).astype(np.intp) % SIDES
    return np.asarray(sides)


def _standing_out_m(terrain: Terrain) -> NDArray[np.float64]:
    """How far every cell stands above the land about it."""
    from scipy import ndimage

    heights = terrain.elevation_m.astype(np.float64)
    known = np.isfinite(heights)
    radius = max(1, round(LIE_RADIUS_M / terrain.cell_east_m))
    size = 2 * radius + 1
    share = ndimage.uniform_filter(known.astype(np.float64), size, mode="constant")
    total = ndimage.uniform_filter(np.where(known, heights, 0.0), size, mode="constant")
    return np.where(known & (share > 0), heights - total / np.maximum(share, 1e-9), 0.0)


def _stream_levels(height_m: NDArray[np.float32], cell_m: float) -> NDArray[np.uint8]:
    km2 = drained_cells(height_m) * (cell_m / 1000.0) ** 2
    return _connected(np.digitize(km2, STREAM_KM2).astype(np.uint8))


def _given_levels(streams: NDArray[np.bool_]) -> NDArray[np.uint8]:
    return _connected(np.where(streams, SURE_STREAM, 0).astype(np.uint8))


def _connected(level: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Close the corners of lines that step diagonally: a path must not slip through between two cells."""
    closed = level.copy()
    for step in (1, -1):
        diagonal = np.minimum(level[:-1, ::step][:, :-1], level[1:, ::step][:, 1:])
        corner = closed[:-1, ::step][:, 1:]
        np.maximum(corner, diagonal, out=corner)
    return closed


def _near(level: NDArray[np.uint8]) -> NDArray[np.intp]:
    from scipy import ndimage

    beside = ndimage.maximum_filter(level, size=3, mode="nearest")
    return np.asarray(_NEAR_OF_LEVEL[beside].astype(np.intp))
