"""The belief of a search on the cells of the terrain file itself: a GeoTIFF of two bands."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import FormatComplaint, MissingComplaint, Where, how_to_install
from pacewright.ground.terrain import Terrain

Grid = NDArray[np.float32]


def write_posterior(terrain_file: str, land: Terrain, start: Grid, now: Grid) -> bytes:
    """Write start (band 1) and present place (band 2) as probabilities of the file's own cells.

    Each band has the sum 1.

    Parameters
    ----------
    terrain_file
        The raster that was searched.
    land
        The cells that were searched.
    start, now
        Belief on them.

    Raises
    ------
    FormatComplaint
        The raster cannot be read any more.
    """
    try:
        from rasterio.errors import RasterioError
        from rasterio.io import DatasetReader, DatasetWriter, MemoryFile
    except ImportError:
        raise MissingComplaint(
            "writing a raster needs rasterio, which is not installed",
            how_to_install("terrain"),
        ) from None
    try:
        with DatasetReader(terrain_file) as dataset:
            profile = {
                "driver": "GTiff", "width": dataset.width, "height": dataset.height, "count": 2,
                "dtype": "float32", "crs": dataset.crs, "transform": dataset.transform, "compress": "deflate",
                "predictor": 3, "tiled": True, "blockxsize": 256, "blockysize": 256,
            }  # fmt: skip
            cells = [_on_own_cells(one, land, dataset) for one in (start, now)]
    except RasterioError:
        raise FormatComplaint(
            "the terrain cannot be read again", "Check the file", Where(terrain_file)
        ) from None
    with MemoryFile() as memory:
        with DatasetWriter(memory.name, "w", **profile) as made:
            for band, (values, name) in enumerate(zip(cells, ("start", "now"), strict=True), 1):
                made.write(values, band)
                made.set_band_description(band, name)
        data: bytes = memory.read()
    return data


def _on_own_cells(belief: Grid, land: Terrain, dataset: object) -> Grid:
    """Part every searched cell evenly over the file's cells in it, or add it to the one it is part of."""
    from rasterio.warp import transform

    rows, columns = np.nonzero(belief)
    weight = belief[rows, columns].astype(np.float64)
    height, width = dataset.height, dataset.width  # type: ignore[attr-defined]
    inverse = ~dataset.transform  # type: ignore[attr-defined]
    own = np.zeros(height * width, dtype=np.float64)
    parts = _parts(land, dataset)
    moves = (np.arange(parts) + 0.5) / parts
    kept = dataset.crs.to_string() == land.crs  # type: ignore[attr-defined]
    for down in moves:
        for across in moves:
            east = land.west_m + (columns + across) * land.cell_east_m
            north = land.north_m - (rows + down) * land.cell_north_m
            if not kept:
                moved = transform(land.crs, dataset.crs, east, north)  # type: ignore[attr-defined]
                east, north = np.asarray(moved[0]), np.asarray(moved[1])
            c = np.floor(inverse.a * east + inverse.b * north + inverse.c).astype(np.int64)
            r = np.floor(inverse.d * east + inverse.e * north + inverse.f).astype(np.int64)
            inside = (r >= 0) & (r < height) & (c >= 0) & (c < width)
            np.add.at(own, r[inside] * width + c[inside], weight[inside] / parts**2)
    total = own.sum()
    made = (own / total if total > 0 else own).astype(np.float32)
    return np.asarray(made.reshape(height, width))


def _parts(land: Terrain, dataset: object) -> int:
    """Into how many parts each way a searched cell must be cut to reach every file cell in it."""
    from rasterio.warp import transform_bounds

    west, _, east, _ = land.bounds
    sides = transform_bounds(land.crs, dataset.crs, *land.bounds)  # type: ignore[attr-defined]
    own = (sides[2] - sides[0]) / (east - west) * land.cell_east_m / abs(dataset.transform.a)  # type: ignore[attr-defined]
    return max(1, round(float(own))) if own > 1.2 else (1 if own > 0.8 else 2)
