"""Shapes with what is told of them, from GeoJSON and GeoPackage, in degrees.

References
----------
RFC 7946, The GeoJSON Format (2016). OGC 12-128r18, GeoPackage Encoding Standard 1.3.1 (2021), 1.1.1: a
GeoPackage is a SQLite database.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pacewright.exceptions import FormatComplaint, MissingComplaint, Where, how_to_install
from pacewright.files.disk import note_input, read_bytes, reason_of
from pacewright.files.plain_shapes import shape_of

SHAPES: Final = {"Polygon", "MultiPolygon", "LineString", "MultiLineString", "Point", "MultiPoint"}
_DATABASE: Final = b"SQLite format 3\0"


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape of a file.

    Attributes
    ----------
    geometry
        As GeoJSON has it: `type` and `coordinates`, longitude and latitude in degrees.
    told
        What the file says of it, by name.
    """

    geometry: dict[str, Any]
    told: dict[str, Any]


def shapes_of(path: str) -> list[Shape]:
    """Every point, line and area of a file, of all its layers, in order; other kinds are passed over.

    Raises
    ------
    FormatComplaint
        The file is neither GeoJSON nor GeoPackage, or a shape has no places.
    MissingComplaint
        What reads a GeoPackage is not installed.
    """
    # By content: what opens databases opens much else, and by what a text says other files and the network.
    if _is_database(path):
        found = _from_package(path)
    elif Path(path).suffix.lower() == ".gpkg":
        raise _no_shapes(path)
    else:
        found = _from_geojson(path)
    return [one for one in found if _is_laid(one, path)]


def _is_laid(shape: Shape, path: str) -> bool:
    if shape.geometry.get("type") not in SHAPES:
        return False
    held = shape.geometry.get("coordinates")
    if held and not _has_places(held):
        raise FormatComplaint("a shape has no places in degrees", "Save it again", Where(path))
    return bool(held)


def _has_places(held: Any, depth: int = 4) -> bool:
    if not isinstance(held, list | tuple) or not held or not depth:
        return False
    if any(isinstance(one, list | tuple) for one in held):
        return all(_has_places(one, depth - 1) for one in held)
    return len(held) >= 2 and all(isinstance(one, int | float) and math.isfinite(one) for one in held[:2])


def _from_geojson(path: str) -> Iterator[Shape]:
    try:
        held = json.loads(read_bytes(path))
    except (ValueError, RecursionError):
        raise _no_geojson(path) from None
    features = held.get("features", [held]) if isinstance(held, dict) else None
    if not isinstance(features, list):
        raise _no_geojson(path)
    for one in features:
        if not isinstance(one, dict):
            continue
        geometry = one.get("geometry") if one.get("type") == "Feature" else one
        told = one.get("properties")
        if isinstance(geometry, dict):
            yield Shape(geometry, told if isinstance(told, dict) else {})


def _no_geojson(path: str) -> FormatComplaint:
    return FormatComplaint("this is no GeoJSON", "Save it again as GeoJSON", Where(path))


def _from_package(path: str) -> Iterator[Shape]:
    try:
        import pyogrio
        from pyogrio.errors import DataSourceError
    except ImportError:
        raise MissingComplaint(
            "reading a GeoPackage needs pyogrio, which is not installed",
            f"{how_to_install('terrain')}, or give GeoJSON",
        ) from None
    from rasterio.warp import transform_geom

    try:
        for layer, _ in pyogrio.list_layers(path):
            meta, _, given, columns = pyogrio.raw.read(path, layer=layer)
            for k, one in enumerate(given):
                geometry = None if one is None else shape_of(bytes(one))
                if geometry is not None:
                    turned = transform_geom(meta["crs"] or "EPSG:4326", "EPSG:4326", geometry)
                    told = zip(meta["fields"], columns, strict=True)
                    yield Shape(turned, {str(name): column[k] for name, column in told})
    except (DataSourceError, OSError, ValueError):
        raise _no_shapes(path) from None


def _no_shapes(path: str) -> FormatComplaint:
    return FormatComplaint("this file cannot be read as shapes", "Give GeoJSON or GeoPackage", Where(path))


def _is_database(path: str) -> bool:
    note_input(path)
    try:
        with Path(path).open("rb") as file:
            return file.read(len(_DATABASE)) == _DATABASE
    except (OSError, ValueError) as refused:
        reason = reason_of(refused)
        raise FormatComplaint(
            f"this file cannot be read ({reason})", "Check the name and that you may read it", Where(path)
        ) from None
