"""The grid of a raster file: whether it can be walked by as it is, or else the UTM grid it is put on."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.ground.terrain import Bounds, Terrain

if TYPE_CHECKING:
    from affine import Affine
    from rasterio.crs import CRS

SCALE_WITHIN: Final = 0.01
"""A grid whose metre is off by more than this is not walked by. UTM is within 0.001 in its zone."""

WIDEST_DEG: Final = 12.0
"""Two zones: land wider than this has no one zone of its middle."""

_MARGIN_CELLS: Final = 3
_WARP_MB: Final = 64
_FOOT_M: Final = 0.3048
_SURVEY_FOOT_M: Final = 1200 / 3937
_UNITS_M: Final = {
    **dict.fromkeys(("", "m", "metre", "meter", "metres", "meters"), 1.0),
    **dict.fromkeys(("ft", "foot", "feet", "international foot"), _FOOT_M),
    **dict.fromkeys(
        ("us-ft", "ftus", "us survey foot", "us survey feet", "foot_us", "us_survey_foot"), _SURVEY_FOOT_M
    ),
    **dict.fromkeys(("cm", "centimetre", "centimeter"), 0.01),
    **dict.fromkeys(("dm", "decimetre", "decimeter"), 0.1),
    **dict.fromkeys(("mm", "millimetre", "millimeter"), 0.001),
}
# WGS 84 (NGA.STND.0036, 2014): semi-major axis and first eccentricity squared.
_AXIS_M: Final = 6_378_137.0
_ECCENTRICITY2: Final = 0.006_694_379_990_14


@dataclass(frozen=True, slots=True)
class GridPlan:
    """On which grid the heights of a file will lie.

    Parameters
    ----------
    file_crs, crs
        Coordinate system of the file, and of the terrain.
    is_kept
        Whether the cells stay as they are.
    unit_m
        What a unit of the file's grid is on the ground, in its middle; the geometric mean of both ways.
    remarks
        What has to be done, in sentences for the reader.
    """

    file_crs: CRS
    crs: CRS
    is_kept: bool
    unit_m: float = 1.0
    remarks: tuple[str, ...] = ()

    def to_file(self, bounds: Bounds) -> Bounds:
        """What bounds on the terrain's grid bound in the file's coordinates."""
        from rasterio.warp import transform_bounds

        return bounds if self.is_kept else transform_bounds(self.crs, self.file_crs, *bounds)

    def place(self, heights: NDArray[np.float32], transform: Affine) -> Terrain:
        """Put heights on the terrain's grid."""
        if not self.is_kept:
            heights, transform = self._warped(heights, transform)
        return Terrain(heights, transform.c, transform.f, transform.a, -transform.e, crs_text(self.crs))

    def _warped(self, heights: NDArray[np.float32], transform: Affine) -> tuple[NDArray[np.float32], Affine]:
        from rasterio.transform import array_bounds
        from rasterio.warp import Resampling, calculate_default_transform, reproject

        rows, columns = heights.shape
        box = array_bounds(rows, columns, transform)
        sides = (min(box[0], box[2]), min(box[1], box[3]), max(box[0], box[2]), max(box[1], box[3]))
        cell_m = math.sqrt(abs(transform.determinant)) * self.unit_m
        new, wide, high = calculate_default_transform(
            self.file_crs, self.crs, columns, rows, *sides, resolution=cell_m
        )
        made = np.full((high, wide), np.nan, dtype=np.float32)
        reproject(
            heights,
            made,
            src_transform=transform,
            src_crs=self.file_crs,
            src_nodata=np.nan,
            dst_transform=new,
            dst_crs=self.crs,
            dst_nodata=np.nan,
            resampling=Resampling.bilinear,
            warp_mem_limit=_WARP_MB,
        )
        return made, new


def plan_grid(crs: CRS | None, transform: Affine, width: int, height: int) -> GridPlan:
    """Say on which grid the heights of a file will lie.

    A grid is kept if north is up and its metre is a true metre; a file in degrees, in feet, turned, or in
    a projection that stretches is put on the UTM zone of its middle.

    Raises
    ------
    MissingComplaint
        The file does not say where on earth it lies.
    ValueComplaint
        It has to be put on a zone and is too wide for one, or too near a pole.
    """
    if not crs or not (crs.is_geographic or crs.is_projected):
        raise MissingComplaint(
            "this raster does not say where on earth it lies: it has no coordinate reference system",
            "Save it again with its coordinate system, such as EPSG:32611",
        )
    if transform.is_identity:
        raise MissingComplaint(
            "this raster does not say where on earth it lies: its cells have no place",
            "Save it again as a GeoTIFF with its place and cell size",
        )
    across, along = _true_metres(crs, *at(transform, width / 2, height / 2))
    why = _why_not_kept(crs, transform, across, along)
    if not why:
        return GridPlan(crs, crs, True)
    target = _utm_of_middle(crs, transform, width, height)
    remark = f"{why}; it was put on the UTM grid {crs_text(target)} of its middle."
    return GridPlan(crs, target, False, math.sqrt(across * along), (remark,))


def crs_text(crs: CRS) -> str:
    """Write a coordinate system: its EPSG code, or else its name."""
    code = crs.to_epsg()
    if code:
        return f"EPSG:{code}"
    name = re.search(r'"([^"]+)"', crs.to_wkt())
    return name[1] if name else "a coordinate system without a name"


def height_unit(written: str | None, crs_wkt: str) -> tuple[str, float]:
    """The unit of heights and how many metres it is, as the band or the coordinate system says it.

    Raises
    ------
    ValueComplaint
        The unit is not one of length that is known here.

    Examples
    --------
    >>> height_unit("ft", ""), height_unit(None, "")
    (('ft', 0.3048), ('metres', 1.0))
    """
    vertical = re.search(r'VERTCRS\[.*?LENGTHUNIT\["([^"]+)",\s*([0-9.eE+-]+)', crs_wkt, re.DOTALL)
    if not written and vertical:
        return vertical[1], float(vertical[2])
    unit_m = _UNITS_M.get((written or "").strip().casefold())
    if unit_m is None:
        raise ValueComplaint(
            f"the heights are in {(written or '')[:40]!r}, which is no unit of length known here",
            "Save the heights in metres",
        )
    return written or "metres", unit_m


def at(transform: Affine, column: float, row: float) -> tuple[float, float]:
    """The place of a corner of a cell by a file's transform."""
    # Written out, since the sign for it differs between releases of the library of transforms.
    return (
        transform.a * column + transform.b * row + transform.c,
        transform.d * column + transform.e * row + transform.f,
    )


def of_window(transform: Affine, left: int, top: int, step: int) -> Affine:
    """The transform of a piece of a file that begins at a cell and takes `step` cells as one."""
    east, north = at(transform, left, top)
    parts = (transform.a, transform.b, transform.d, transform.e)
    a, b, d, e = (part * step for part in parts)
    return type(transform)(a, b, east, d, e, north)


def whole_span(low: float, high: float, count: int) -> tuple[int, int]:
    """The first cell and the end of those that a stretch touches, with a margin, in a row of `count`.

    >>> whole_span(10.2, 11.0, 100), whole_span(-50.0, 2.5, 4), whole_span(-50.0, -40.0, 4)
    ((7, 14), (0, 4), (0, 0))
    """
    first = math.floor(min(max(low, -10.0), count + 10.0)) - _MARGIN_CELLS
    last = math.ceil(min(max(high, -10.0), count + 10.0)) + _MARGIN_CELLS
    return min(max(first, 0), count), min(max(last, 0), count)


def _why_not_kept(crs: CRS, transform: Affine, across: float, along: float) -> str:
    """Say why a file's cells cannot stay as they are; nothing if they can."""
    if crs.is_geographic:
        return f"This raster was in degrees ({crs_text(crs)})"
    if transform.b or transform.d or transform.a <= 0 or transform.e >= 0:
        return f"The rows of this raster do not run east ({crs_text(crs)})"
    if max(abs(across - 1), abs(along - 1)) > SCALE_WITHIN:
        return f"A unit on the grid of this raster is {across:.2f} m on the ground ({crs_text(crs)})"
    return ""


def _true_metres(crs: CRS, east: float, north: float) -> tuple[float, float]:
    """How many true metres one unit to the east and one to the north are, at a place on a grid."""
    reach = 0.005 if crs.is_geographic else 500.0
    places = [(east, north), (east + reach, north), (east, north + reach)]
    longitudes, latitudes = _degrees(crs, places)
    latitude_rad = math.radians(latitudes[0])
    root = math.sqrt(1 - _ECCENTRICITY2 * math.sin(latitude_rad) ** 2)
    # The radii of curvature along a parallel and along a meridian.
    metres = [
        math.hypot(
            math.radians(longitudes[k] - longitudes[0]) * _AXIS_M / root * math.cos(latitude_rad),
            math.radians(latitudes[k] - latitudes[0]) * _AXIS_M * (1 - _ECCENTRICITY2) / root**3,
        )
        for k in (1, 2)
    ]
    return metres[0] / reach, metres[1] / reach


def _utm_of_middle(crs: CRS, transform: Affine, width: int, height: int) -> CRS:
    from rasterio.crs import CRS as Crs  # noqa: N811

    corners = [at(transform, c, r) for c in (0, width / 2, width) for r in (0, height / 2, height)]
    longitudes, latitudes = _degrees(crs, corners)
    longitude, latitude = longitudes[4], latitudes[4]
    if not (np.isfinite([*longitudes, *latitudes]).all() and -80 <= latitude <= 84):
        raise ValueComplaint(
            "this raster does not lie between 80 degrees south and 84 north, where there are UTM zones",
            "Save it on a grid in metres, such as a polar one",
        )
    if max(longitudes) - min(longitudes) > WIDEST_DEG:
        raise ValueComplaint(
            f"this raster is {max(longitudes) - min(longitudes):.0f} degrees wide, too wide for one UTM zone",
            "Cut out the land you need first",
        )
    zone = int((longitude + 180) % 360 // 6) + 1
    return Crs.from_epsg((32600 if latitude >= 0 else 32700) + zone)


def _degrees(crs: CRS, places: list[tuple[float, float]]) -> tuple[list[float], list[float]]:
    from rasterio.crs import CRS as Crs  # noqa: N811
    from rasterio.warp import transform

    easts, norths = [p[0] for p in places], [p[1] for p in places]
    moved: Any = transform(crs, Crs.from_epsg(4326), easts, norths)
    return list(moved[0]), list(moved[1])
