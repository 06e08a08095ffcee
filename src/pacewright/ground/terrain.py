"""The shape of the land as an array of heights: height at a point, slope, aspect, level areas."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.exceptions import MissingComplaint, ValueComplaint

Floats = NDArray[np.float64]
Bounds = tuple[float, float, float, float]
"""West, south, east and north of a piece of land, in metres."""

LEVEL_WITHIN_M: Final = 0.1
"""How far heights may part and still be called level. Surveyed water is written flat to the digit."""

LEAST_LEVEL_M2: Final = 20_000.0
"""Two hectares: a smaller level patch in a height grid is as often chance as a pond."""


@dataclass(frozen=True, slots=True, eq=False)
class Terrain:
    """Heights of the land on a grid whose north is up.

    Parameters
    ----------
    elevation_m
        (rows, columns); the first row is the northernmost, the first column the westernmost. A hole,
        where the height is not known, is NaN.
    west_m, north_m
        Upper left corner of the upper left cell, in metres east and north.
    cell_east_m, cell_north_m
        Width and height of a cell.
    crs
        The coordinate system, such as `EPSG:32611`.
    remarks
        What was done to the heights before they came here, in sentences for the reader.

    Raises
    ------
    ValueComplaint
        The heights are no grid of at least 2 by 2, one is infinite, or a size or place is not finite.
    MissingComplaint
        There is no height at all.
    """

    elevation_m: NDArray[np.float32]
    west_m: float
    north_m: float
    cell_east_m: float
    cell_north_m: float
    crs: str
    remarks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        heights = np.array(self.elevation_m, dtype=np.float32)
        if heights.ndim != 2 or min(heights.shape) < 2:
            raise ValueComplaint(
                "the heights are not a grid of at least 2 by 2 cells", "Give more of the land"
            )
        if np.isinf(heights).any():
            raise ValueComplaint("a height of the terrain is infinite", "Mark what is not known as no-data")
        if np.isnan(heights).all():
            raise MissingComplaint("the terrain holds no height at all", "Give land whose heights are known")
        cells = (self.cell_east_m, self.cell_north_m)
        if not (np.isfinite([self.west_m, self.north_m, *cells]).all() and min(cells) > 0):
            raise ValueComplaint(
                "the place or the cell size of the terrain is not a finite number",
                "Give west and north in metres, and cells wider than 0 m",
            )
        heights.setflags(write=False)
        object.__setattr__(self, "elevation_m", heights)

    @property
    def bounds(self) -> Bounds:
        """West, south, east and north of the outermost cells' outer sides, in metres."""
        rows, columns = self.elevation_m.shape
        return (
            self.west_m,
            self.north_m - rows * self.cell_north_m,
            self.west_m + columns * self.cell_east_m,
            self.north_m,
        )

    @property
    def centres_east_m(self) -> Floats:
        """The middles of the columns, from west to east, in metres."""
        return _middles(self.west_m, self.cell_east_m, self.elevation_m.shape[1])

    @property
    def centres_north_m(self) -> Floats:
        """The middles of the rows, from north to south, in metres."""
        return _middles(self.north_m, -self.cell_north_m, self.elevation_m.shape[0])


def height_at(terrain: Terrain, east: ArrayLike, north: ArrayLike) -> Floats:
    """The height at points, bilinear between the middles of the cells.

    Parameters
    ----------
    east, north
        Points in metres, of any matching shape.

    Returns
    -------
    ndarray
        Heights in metres. NaN outside the terrain and wherever a cell that counts is a hole; in the
        outer half of an outermost cell, its own height carries on.

    Examples
    --------
    >>> land = Terrain(np.array([[10, 20], [30, 40]]), 0, 100, 50, 50, "EPSG:32611")
    >>> height_at(land, [50, 25, 200], [50, 75, 50]).tolist()
    [25.0, 10.0, nan]
    """
    easts, norths = np.broadcast_arrays(np.asarray(east, dtype=float), np.asarray(north, dtype=float))
    rows, columns = terrain.elevation_m.shape
    west, south, east_end, north_end = terrain.bounds
    inside = (easts >= west) & (easts <= east_end) & (norths >= south) & (norths <= north_end)
    column = np.clip((np.where(inside, easts, west) - west) / terrain.cell_east_m - 0.5, 0, columns - 1)
    row = np.clip((north_end - np.where(inside, norths, south)) / terrain.cell_north_m - 0.5, 0, rows - 1)
    left = np.minimum(column.astype(np.intp), columns - 2)
    top = np.minimum(row.astype(np.intp), rows - 2)
    right_share, low_share = column - left, row - top
    height = np.zeros(easts.shape)
    for down, share_down in ((0, 1 - low_share), (1, low_share)):
        for across, share_across in ((0, 1 - right_share), (1, right_share)):
            share = share_down * share_across
            corner = terrain.elevation_m[top + down, left + across]
            # A hole with no share in the height does not make it unknown.
            height += np.where(share > 0, share * corner, 0.0)
    return np.where(inside, height, np.nan)


def gradient(terrain: Terrain) -> tuple[Floats, Floats]:
    """The rise to the east and to the north in every cell, as metres a metre.

    By the eight neighbours, the four nearest counted twice. Beyond the edge the land carries on as it
    came. NaN in a hole and beside one.

    References
    ----------
    B. K. P. Horn, Hill shading and the reflectance map, Proceedings of the IEEE 69 (1981), 14 to 47:
    the weighted third-order finite difference. From memory.
    """
    z = np.pad(terrain.elevation_m.astype(float), 1, mode="reflect", reflect_type="odd")
    across = z[:, 2:] - z[:, :-2]
    down = z[:-2, :] - z[2:, :]
    to_east = (across[:-2] + 2 * across[1:-1] + across[2:]) / (8 * terrain.cell_east_m)
    to_north = (down[:, :-2] + 2 * down[:, 1:-1] + down[:, 2:]) / (8 * terrain.cell_north_m)
    hole = np.isnan(terrain.elevation_m)
    return np.where(hole, np.nan, to_east), np.where(hole, np.nan, to_north)


def slope_deg(terrain: Terrain) -> Floats:
    """How steep every cell is, in degrees from level."""
    to_east, to_north = gradient(terrain)
    return np.degrees(np.arctan(np.hypot(to_east, to_north)))


def aspect_deg(terrain: Terrain) -> Floats:
    """The azimuth to which every cell falls, from the north of the grid; NaN where it is level."""
    to_east, to_north = gradient(terrain)
    azimuth = np.degrees(np.arctan2(-to_east, -to_north)) % 360.0
    return np.where((to_east == 0) & (to_north == 0), np.nan, azimuth)


def window(terrain: Terrain, bounds: Bounds, beyond_cells: int = 0) -> Terrain:
    """Cut out the cells that a piece of land touches.

    Parameters
    ----------
    bounds
        West, south, east and north in metres.
    beyond_cells
        How many more cells to keep on every side, as far as there are any.

    Raises
    ------
    MissingComplaint
        The terrain does not reach there.
    """
    west, south, east, north = bounds
    rows, columns = terrain.elevation_m.shape
    cell_east_m, cell_north_m = terrain.cell_east_m, terrain.cell_north_m
    spans = (
        (west - terrain.west_m) / cell_east_m,
        (east - terrain.west_m) / cell_east_m,
        (terrain.north_m - north) / cell_north_m,
        (terrain.north_m - south) / cell_north_m,
    )
    if not (np.isfinite(spans).all() and spans[0] < spans[1] and spans[2] < spans[3]):
        raise ValueComplaint(
            "west, south, east and north do not bound a piece of land",
            "Give west below east, south below north",
        )
    left, right = _whole_cells(spans[0], spans[1], columns, beyond_cells)
    top, bottom = _whole_cells(spans[2], spans[3], rows, beyond_cells)
    is_beside = spans[1] <= 0 or spans[0] >= columns or spans[3] <= 0 or spans[2] >= rows
    if is_beside or right - left < 2 or bottom - top < 2:
        raise MissingComplaint(
            f"the terrain does not reach {west:.0f} to {east:.0f} m east, {south:.0f} to {north:.0f} m north",
            f"Give a place inside {say_bounds(terrain)}, or other terrain",
        )
    return replace(
        terrain,
        elevation_m=terrain.elevation_m[top:bottom, left:right],
        west_m=terrain.west_m + left * cell_east_m,
        north_m=terrain.north_m - top * cell_north_m,
    )


def say_bounds(terrain: Terrain) -> str:
    """Write how far the terrain reaches."""
    west, south, east, north = terrain.bounds
    return f"{west:.0f} to {east:.0f} m east and {south:.0f} to {north:.0f} m north ({terrain.crs})"


def _middles(first_m: float, cell_m: float, count: int) -> Floats:
    return np.asarray(first_m + cell_m * (np.arange(count) + 0.5), dtype=np.float64)


def _whole_cells(low: float, high: float, count: int, beyond: int) -> tuple[int, int]:
    # The clip first: a place a thousand worlds away would overflow a whole number.
    first = int(np.floor(np.clip(low, -1, count + 1)))
    last = int(np.ceil(np.clip(high, -1, count + 1)))
    return max(first - beyond, 0), min(last + beyond, count)


@dataclass(frozen=True, slots=True)
class LevelArea:
    """A connected area of one height: its number in the grid of numbers, its height and its size."""

    number: int
    height_m: float
    area_m2: float


def level_areas(
    terrain: Terrain, least_m2: float = LEAST_LEVEL_M2, within_m: float = LEVEL_WITHIN_M
) -> tuple[NDArray[np.int32], tuple[LevelArea, ...]]:
    """Find the level areas of the land: water as a rule, though heights alone cannot tell it from a flat.

    Parameters
    ----------
    least_m2
        Smaller areas are left out.
    within_m
        How far the heights of one area may lie from its middle height.

    Returns
    -------
    (ndarray, tuple of LevelArea)
        (rows, columns) the number of the area that each cell belongs to, 0 for none; and the areas.
        A strip narrower than three cells is not found: a level path across a slope is no pond.
    """
    from scipy import ndimage

    heights = np.where(np.isnan(terrain.elevation_m), np.inf, terrain.elevation_m)
    square = np.ones((3, 3), dtype=bool)
    highest, lowest = (
        f(heights, size=3, mode="nearest") for f in (ndimage.maximum_filter, ndimage.minimum_filter)
    )
    with np.errstate(invalid="ignore"):
        level = highest - lowest <= within_m
    known = np.isfinite(heights)
    touched, count = ndimage.label(ndimage.binary_dilation(level, square) & known, square)
    middles = np.zeros(count + 1)
    middles[1:] = ndimage.median(heights, touched, np.arange(1, count + 1)) if count else []
    near = (touched > 0) & (np.abs(heights - middles[touched]) <= within_m)
    cell_m2 = terrain.cell_east_m * terrain.cell_north_m
    pieces, count = ndimage.label(near, square)
    sizes = np.bincount(pieces.ravel(), minlength=count + 1) * cell_m2
    numbers = np.zeros(count + 1, dtype=np.int32)
    kept = [k for k in range(1, count + 1) if sizes[k] >= least_m2]
    numbers[kept] = np.arange(1, len(kept) + 1)
    levels = ndimage.median(heights, pieces, kept) if kept else []
    areas = tuple(
        LevelArea(n, float(height), float(sizes[k]))
        for n, (k, height) in enumerate(zip(kept, levels, strict=True), 1)
    )
    return numbers[pieces], areas


def resample(terrain: Terrain, bounds: Bounds, shape: tuple[int, int]) -> Terrain:
    """The heights of a piece of land on cells of another size.

    Finer cells lie on a smooth surface through the given heights, a spline of the third degree; coarser
    ones are means. What is outside the terrain or a hole stays a hole.

    Parameters
    ----------
    bounds
        West, south, east and north of the new cells together, in metres.
    shape
        How many rows and columns the new cells make.
    """
    from scipy import ndimage

    west, south, east, north = bounds
    rows, columns = shape
    cell_east_m, cell_north_m = (east - west) / columns, (north - south) / rows
    cell_m = min(cell_east_m, cell_north_m)
    # Far enough beyond the edge that the spline's own edge is not felt.
    beyond = 8 * max(1, math.ceil(cell_m / min(terrain.cell_east_m, terrain.cell_north_m)))
    piece = coarsen(window(terrain, bounds, beyond), cell_m)
    heights = piece.elevation_m.astype(float)
    hole = np.isnan(heights)
    if hole.all():
        raise MissingComplaint("the terrain holds no height in this piece of land", "Choose another piece")
    if hole.any():
        # The spline needs a height everywhere: a hole takes its nearest, and is cut out again below.
        nearest = ndimage.distance_transform_edt(hole, return_distances=False, return_indices=True)
        heights = heights[tuple(nearest)]
    easts, norths = _middles(west, cell_east_m, columns), _middles(north, -cell_north_m, rows)
    at = np.meshgrid(
        (piece.north_m - norths) / piece.cell_north_m - 0.5,
        (easts - piece.west_m) / piece.cell_east_m - 0.5,
        indexing="ij",
    )
    smooth = ndimage.map_coordinates(heights, at, order=3, mode="nearest")
    # A spline swings below a lake at the foot of a slope; no height may leave those of the cells about it.
    lowest, highest = (
        ndimage.map_coordinates(extreme(heights, size=3, mode="nearest"), at, order=0, mode="nearest")
        for extreme in (ndimage.minimum_filter, ndimage.maximum_filter)
    )
    smooth = np.clip(smooth, lowest, highest)
    unknown = np.isnan(height_at(piece, easts[None, :], norths[:, None]))
    return Terrain(
        np.where(unknown, np.nan, smooth),
        west,
        north,
        cell_east_m,
        cell_north_m,
        terrain.crs,
        terrain.remarks,
    )


def coarsen(terrain: Terrain, cell_m: float) -> Terrain:
    """Means over as many whole cells as go into `cell_m`."""
    down = max(1, min(int(cell_m / terrain.cell_north_m), terrain.elevation_m.shape[0] // 2))
    across = max(1, min(int(cell_m / terrain.cell_east_m), terrain.elevation_m.shape[1] // 2))
    if down == across == 1:
        return terrain
    return replace(
        terrain,
        elevation_m=mean_of_blocks(terrain.elevation_m, down, across),
        cell_east_m=terrain.cell_east_m * across,
        cell_north_m=terrain.cell_north_m * down,
    )


def mean_of_blocks(heights: NDArray[np.float32], down: int, across: int) -> NDArray[np.float32]:
    """The mean height of every block of cells; a block more than half unknown is a hole.

    The last blocks reach beyond the grid where it is no multiple of a block.
    """
    rows, columns = heights.shape
    padded = np.pad(
        heights, ((0, -rows % down), (0, -columns % across)), constant_values=np.float32(np.nan)
    ).reshape(-(-rows // down), down, -(-columns // across), across)
    known = np.isfinite(padded)
    count = known.sum(axis=(1, 3))
    total = np.where(known, padded, 0.0).sum(axis=(1, 3), dtype=np.float64)
    return np.where(2 * count >= down * across, total / np.maximum(count, 1), np.nan).astype(np.float32)
