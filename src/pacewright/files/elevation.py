"""GeoTIFF and a few grids of heights like it, to terrain in metres on a grid that can be walked by.

What a file leaves open is refused; what was changed on the way in is said in the terrain's remarks.
"""

from __future__ import annotations

import importlib.util
import warnings
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, ValueComplaint, how_to_install
from pacewright.files import elevation_grid as grid
from pacewright.files.disk import note_input, reason_of
from pacewright.ground.terrain import Bounds, Terrain, mean_of_blocks, window

if TYPE_CHECKING:
    from rasterio.io import DatasetReader

DEMO_GROUND: Final = "demo_ground.tif"

MOST_CELLS: Final = 25_000_000
"""Cells held in memory (100 MB); a larger piece of land is read in coarser cells, and that is said."""

MOST_FILE_CELLS: Final = 1_000_000_000
"""Cells read from a file; beyond it the reading takes minutes, and a smaller piece must be named."""

DRIVERS: Final = ("GTiff", "AAIGrid", "SRTMHGT", "DTED", "USGSDEM")
"""GDAL's names of the formats that are opened: each holds heights in the one file and names no other. What
is a list of other files, a query or an address is left to nobody's reading of the text."""

_MOST_BLOCK_BYTES: Final = 256 * 2**20
_CACHE_MB: Final = 64
_STRIP_CELLS: Final = 4_000_000
_LOWEST_M: Final = -500.0
_HIGHEST_M: Final = 9000.0
_PICTURE: Final = {"red", "green", "blue", "palette", "cyan"}
_NOTHING_FROM_ELSEWHERE: Final = {
    "CPL_VSIL_CURL_ALLOWED_EXTENSIONS": "none",
    "GDAL_HTTP_MAX_RETRY": "0",
    "GDAL_HTTP_TIMEOUT": "1",
    "CPL_CURL_ENABLE_VSIMEM": "NO",
}
_DAMAGED: Final = (
    "the heights in this file cannot be read: it is damaged or cut short",
    "Fetch or copy the file again",
)


def read_terrain(path: str, bounds: Bounds | None = None, most_cells: int = MOST_CELLS) -> Terrain:
    """Read the heights of a piece of land.

    Parameters
    ----------
    path
        A raster file of one band of heights.
    bounds
        West, south, east and north of the land wanted, in metres of the coordinate system that the
        terrain comes in; without it, all that the file holds.
    most_cells
        Larger land is read in coarser cells, each the mean of those it covers.

    Returns
    -------
    Terrain
        In the file's own coordinate system if that measures true metres, or else in the UTM zone of its
        middle; heights in metres; no-data as NaN. Its remarks say what was changed.

    Raises
    ------
    MissingComplaint
        The reader of rasters is not installed, the file says not where on earth it lies, it holds
        no height, or it does not reach the land wanted.
    FormatComplaint
        There is no such file, it is no raster of heights, or it is damaged or cut short.
    ValueComplaint
        It is too large, or in a unit that is not known.
    """
    try:
        return _read(path, bounds, most_cells)
    except Complaint as complaint:
        raise complaint.at(file=path) from None


def demo_ground() -> Terrain:
    """Read the land of the demo, which ships with the tool."""
    with resources.as_file(resources.files("pacewright").joinpath("data", DEMO_GROUND)) as path:
        return read_terrain(str(path))


def can_read_terrain() -> bool:
    """Whether the library that reads rasters is installed."""
    return importlib.util.find_spec("rasterio") is not None


def _read(path: str, bounds: Bounds | None, most_cells: int) -> Terrain:
    try:
        import rasterio
        from rasterio._err import CPLE_BaseError
        from rasterio.errors import NotGeoreferencedWarning, RasterioError
        from rasterio.io import DatasetReader
    except ImportError:
        raise MissingComplaint(
            "reading terrain needs rasterio, which is not installed",
            how_to_install("terrain"),
        ) from None
    whole_path = _check_file(path)
    # What the library finds wrong, it says in two families of its own and in Python's.
    refused = (RasterioError, CPLE_BaseError, OSError, MemoryError, ValueError, ArithmeticError)
    with (
        rasterio.Env(GDAL_CACHEMAX=_CACHE_MB, **_NOTHING_FROM_ELSEWHERE),
        warnings.catch_warnings(),
    ):
        # A raster without a place is refused below, in our own words.
        warnings.simplefilter("ignore", NotGeoreferencedWarning)
        try:
            dataset = DatasetReader(whole_path, driver=list(DRIVERS))
        except refused:
            raise FormatComplaint(
                "this file is no raster that can be read, or it is cut short",
                "Give heights as GeoTIFF, or fetch the file again",
            ) from None
        with dataset:
            try:
                return _terrain(dataset, bounds, most_cells)
            except refused:
                raise FormatComplaint(*_DAMAGED) from None


def _check_file(path: str) -> str:
    """The whole name of a plain file of this machine; no address, and no file inside another."""
    note_input(path)
    try:
        whole = Path(path).resolve()
        with whole.open("rb"):
            pass
        if not whole.is_file() or whole.as_posix().startswith("/vsi"):
            raise OSError("not a plain file")
    except (OSError, ValueError) as refused:
        reason = reason_of(refused)
        raise FormatComplaint(
            f"this file cannot be read ({reason})", "Check the name and that you may read it"
        ) from None
    return str(whole)


def _terrain(dataset: DatasetReader, bounds: Bounds | None, most_cells: int) -> Terrain:
    _check_kind(dataset)
    plan = grid.plan_grid(dataset.crs, dataset.transform, dataset.width, dataset.height)
    unit, unit_m = grid.height_unit(dataset.units[0], dataset.crs.to_wkt(version="WKT2_2019"))
    land = _window_in_file(dataset, None if bounds is None else plan.to_file(bounds))
    heights, step, impossible = _heights(dataset, land, most_cells, unit_m)
    remarks = [*plan.remarks]
    if unit_m != 1.0:
        remarks.append(f"Heights were in {unit} and are now in metres.")
    if step > 1:
        remarks.append(
            f"The file is too large to hold whole: each height is a mean over {step} by {step} of its cells."
        )
    if impossible:
        where = f"below {_LOWEST_M:.0f} m or above {_HIGHEST_M:.0f} m"
        cells = "1 height" if impossible == 1 else f"{impossible} heights"
        remarks.append(f"{cells} {where} cannot be land and were taken as holes.")
    if not np.isfinite(heights).any():
        raise MissingComplaint(
            "no height is known in this piece of land", "Give terrain that is not all no-data there"
        )
    transform = grid.of_window(dataset.transform, land.col_off, land.row_off, step)
    made = replace(plan.place(heights, transform), remarks=tuple(remarks))
    return made if bounds is None else window(made, bounds)


def _check_kind(dataset: DatasetReader) -> None:
    if dataset.count < 1:
        raise FormatComplaint("this file holds no band of heights", "Give a raster with one band of heights")
    if dataset.count > 1 or _PICTURE & {kind.name for kind in dataset.colorinterp}:
        raise FormatComplaint(
            f"this raster is a picture or holds {dataset.count} bands, not one band of heights",
            "Give an elevation model with a single band",
        )
    if "complex" in dataset.dtypes[0]:
        raise FormatComplaint("these heights are complex numbers", "Give heights as whole or decimal numbers")
    high, wide = dataset.block_shapes[0]
    if high * wide * np.dtype(dataset.dtypes[0]).itemsize > _MOST_BLOCK_BYTES:
        raise ValueComplaint(
            "this file is stored in pieces too large to read one by one",
            "Save it again in tiles of 256 by 256 cells",
        )


def _window_in_file(dataset: DatasetReader, bounds: Bounds | None) -> Any:
    """The window of cells to read, with a margin for a later change of grid."""
    from rasterio.windows import Window

    left, top, right, bottom = 0, 0, dataset.width, dataset.height
    if bounds is not None:
        west, south, east, north = bounds
        inverse = ~dataset.transform
        corners = [grid.at(inverse, e, n) for e in (west, east) for n in (south, north)]
        columns, rows = [c for c, _ in corners], [r for _, r in corners]
        left, right = grid.whole_span(min(columns), max(columns), dataset.width)
        top, bottom = grid.whole_span(min(rows), max(rows), dataset.height)
    if right - left < 2 or bottom - top < 2:
        raise MissingComplaint("this file does not reach the land wanted", "Give terrain that covers it")
    if (right - left) * (bottom - top) > MOST_FILE_CELLS:
        raise ValueComplaint(
            f"{right - left} by {bottom - top} heights are more than can be read in one go",
            "Name a smaller piece of land, or cut the file first",
        )
    return Window(left, top, right - left, bottom - top)


def _heights(
    dataset: DatasetReader, land: Any, most_cells: int, unit_m: float
) -> tuple[NDArray[np.float32], int, int]:
    """The heights of a window in metres, over how many cells each way, and how many were impossible.

    Read strip by strip, so that only the result and one strip are in memory.
    """
    step = 1
    while -(-land.width // step) * -(-land.height // step) > most_cells:
        step += 1
    strip = step * max(1, _STRIP_CELLS // (land.width * step))
    parts: list[NDArray[np.float32]] = []
    impossible = 0
    for top in range(0, land.height, strip):
        heights = _strip(dataset, land, top, min(strip, land.height - top)) * unit_m
        # Before the mean: one cell of -9999 that the file does not call no-data would spoil a block.
        odd = (heights < _LOWEST_M) | (heights > _HIGHEST_M)
        impossible += int(np.count_nonzero(odd))
        heights[odd] = np.nan
        parts.append(mean_of_blocks(heights.astype(np.float32), step, step))
    return np.concatenate(parts), step, impossible


def _strip(dataset: DatasetReader, land: Any, top: int, rows: int) -> NDArray[np.float64]:
    from rasterio.windows import Window

    here = Window(land.col_off, land.row_off + top, land.width, rows)
    read = dataset.read(1, window=here, masked=True)
    heights = read.astype(np.float64).filled(np.nan)
    return np.asarray(heights * dataset.scales[0] + dataset.offsets[0], dtype=np.float64)
