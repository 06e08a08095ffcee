"""Where a walk can have begun: drawn areas, circles, strips along lines, cell by cell of a land."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import FormatComplaint, ValueComplaint, Where
from pacewright.files.shape_files import shapes_of
from pacewright.ground.terrain import Bounds, Terrain


@dataclass(frozen=True, slots=True)
class AreaAsked:
    """What is known of where a walk began.

    Attributes
    ----------
    inside
        Files of areas in one of which it began.
    outside
        Files of areas in which it did not.
    near
        Places about which it began (latitude and longitude in degrees), and how near, in metres.
    along
        Files of lines, and how near to one it began, in metres.
    """

    inside: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()
    near: tuple[tuple[float, float, float], ...] = ()
    along: tuple[tuple[str, float], ...] = field(default=())

    @property
    def is_all(self) -> bool:
        """Whether nothing is known."""
        return not (self.inside or self.outside or self.near or self.along)


def starts_within(asked: AreaAsked, land: Terrain) -> NDArray[np.float32] | None:
    """1 where a walk can have begun and 0 where not, cell by cell; None where nothing is known.

    Raises
    ------
    FormatComplaint
        A file holds no shapes.
    """
    if asked.is_all:
        return None
    allowed = np.ones(land.elevation_m.shape, dtype=bool)
    areas = [_drawn(path, land) for path in asked.inside]
    if areas:
        allowed &= np.any(areas, axis=0)
    for path in asked.outside:
        allowed &= ~_drawn(path, land)
    circles = [_circle(one, land) for one in asked.near]
    if circles:
        allowed &= np.any(circles, axis=0)
    for path, within_m in asked.along:
        allowed &= _strip(path, within_m, land)
    return allowed.astype(np.float32)


def streams_on(path: str, land: Terrain) -> NDArray[np.bool_]:
    """The cells of a land through which the lines of a file run."""
    return _drawn(path, land)


def bounds_of(asked: AreaAsked, crs: str) -> Bounds | None:
    """What bounds the ground that is asked for, on a grid; None where that is all of it."""
    from pyproj import Transformer

    sides: list[Bounds] = []
    to_grid = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform
    for latitude, longitude, within_m in asked.near:
        east, north = to_grid(longitude, latitude)
        sides.append((east - within_m, north - within_m, east + within_m, north + within_m))
    for path in asked.inside:
        shapes = _shapes(path, crs)
        points = np.array([point for shape in shapes for point in _points(shape["coordinates"])])
        sides.append((*points.min(axis=0), *points.max(axis=0)))
    if not sides:
        return None
    every = np.array(sides)
    low, high = every[:, :2].min(axis=0), every[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _drawn(path: str, land: Terrain) -> NDArray[np.bool_]:
    from rasterio.features import rasterize

    shapes = _shapes(path, land.crs)
    made = rasterize(
        [(shape, 1) for shape in shapes],
        out_shape=land.elevation_m.shape,
        transform=_transform(land),
        all_touched=True,
        dtype="uint8",
    )
    return np.asarray(made, dtype=bool)


def _strip(path: str, within_m: float, land: Terrain) -> NDArray[np.bool_]:
    from scipy import ndimage

    lines = _drawn(path, land)
    if not lines.any():
        raise ValueComplaint("no line of this file crosses the terrain", "Check its place", Where(path))
    away = ndimage.distance_transform_edt(~lines, sampling=(land.cell_north_m, land.cell_east_m))
    return np.asarray(away <= within_m)


def _circle(near: tuple[float, float, float], land: Terrain) -> NDArray[np.bool_]:
    from pyproj import Transformer

    latitude, longitude, within_m = near
    east, north = Transformer.from_crs("EPSG:4326", land.crs, always_xy=True).transform(longitude, latitude)
    away = np.hypot(land.centres_east_m[None, :] - east, land.centres_north_m[:, None] - north)
    return np.asarray(away <= within_m)


def _transform(land: Terrain) -> Any:
    from rasterio.transform import from_origin

    return from_origin(land.west_m, land.north_m, land.cell_east_m, land.cell_north_m)


def _shapes(path: str, crs: str) -> list[dict[str, Any]]:
    """The shapes of a GeoJSON or GeoPackage file on a grid."""
    found = shapes_of(path)
    if not found:
        raise FormatComplaint("this file holds no lines or areas", "Give GeoJSON or GeoPackage", Where(path))
    from rasterio.warp import transform_geom

    return [transform_geom("EPSG:4326", crs, one.geometry) for one in found]


def _points(held: Any) -> list[tuple[float, float]]:
    if held and isinstance(held[0], int | float):
        return [(float(held[0]), float(held[1]))]
    return [point for one in held for point in _points(one)]
