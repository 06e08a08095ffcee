"""The user's own lines, points and barred areas for a plan: GeoJSON, GeoPackage or GPX.

A property `kind` says what a walker calls it (track, stream, wall), `name` what it is called. Every area is
kept off. In GPX tracks and routes are lines of the kind `track`, waypoints are points.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

from pacewright.answers.plan_question import Named
from pacewright.exceptions import FormatComplaint, MissingComplaint, Where
from pacewright.files.disk import read_bytes
from pacewright.route.planning.lines import Line

USUAL_KIND: Final = "track"
_LONGEST_WORD: Final = 40


@dataclass(frozen=True, slots=True, eq=False)
class Features:
    """What a file holds, on a grid: lines, points, and areas to keep off."""

    lines: tuple[Line, ...]
    points: tuple[Named, ...]
    barred: tuple[tuple[str, NDArray[np.float64]], ...]


@dataclass(frozen=True, slots=True)
class _Shape:
    kind: str
    name: str
    what: str
    parts: list[Any]


def read_features(path: str, crs: str) -> Features:
    """Read lines, points and areas, and lay them on a grid.

    Parameters
    ----------
    path
        A file of GeoJSON, GeoPackage or GPX.
    crs
        The grid.

    Raises
    ------
    FormatComplaint
        The file cannot be read as shapes, or holds none.
    """
    from pyproj import Transformer

    suffix = Path(path).suffix.lower()
    read = _from_gpx if suffix == ".gpx" else _from_package if suffix == ".gpkg" else _from_geojson
    shapes = read(path)
    turned = Transformer.from_crs("EPSG:4326", crs, always_xy=True)

    def laid(places: Any) -> NDArray[np.float64]:
        points = np.array([place[:2] for place in places], dtype=np.float64)
        return np.stack(turned.transform(points[:, 0], points[:, 1]), axis=1)

    lines: list[Line] = []
    points: list[Named] = []
    barred: list[tuple[str, NDArray[np.float64]]] = []
    for shape in shapes:
        for part in shape.parts:
            try:
                places = laid([part] if shape.what == "point" else part)
            except (ValueError, TypeError, IndexError):
                raise FormatComplaint(
                    "a shape has no places in degrees", "Save it again", Where(path)
                ) from None
            if not np.isfinite(places).all():
                raise FormatComplaint(
                    "a shape lies off the terrain's grid", "Save it in degrees", Where(path)
                )
            if shape.what == "point":
                points.append(
                    Named(shape.name or shape.kind or "point", (float(places[0, 0]), float(places[0, 1])))
                )
            elif shape.what == "area":
                barred.append((shape.name or shape.kind or "barred area", places))
            elif len(places) > 1:
                lines.append(
                    Line(shape.kind or USUAL_KIND, places, shape.name, has_bends=shape.kind != "stream")
                )
    if not (lines or points or barred):
        raise FormatComplaint(
            "this file holds no lines, points or areas", "Give GeoJSON, GeoPackage or GPX", Where(path)
        )
    return Features(tuple(lines), tuple(points), tuple(barred))


def _shape_of(geometry: dict[str, Any], kind: object, name: object) -> _Shape | None:
    words = [str(one)[:_LONGEST_WORD].strip() if isinstance(one, str) else "" for one in (kind, name)]
    held, type_ = geometry.get("coordinates"), str(geometry.get("type"))
    if not held:
        return None
    what = (
        "point" if "Point" in type_ else "line" if "Line" in type_ else "area" if "Polygon" in type_ else ""
    )
    if not what:
        return None
    parts = list(held) if type_.startswith("Multi") else [held]
    if what == "area":
        # Only what bounds it: an island in a lake is kept off as well.
        parts = [rings[0] for rings in parts]
    return _Shape(words[0].casefold(), words[1], what, parts)


def _from_geojson(path: str) -> list[_Shape]:
    try:
        held = json.loads(read_bytes(path))
    except ValueError:
        raise FormatComplaint("this is no GeoJSON", "Give GeoJSON, GeoPackage or GPX", Where(path)) from None
    features = held.get("features", [held]) if isinstance(held, dict) else []
    shapes = []
    for one in features:
        if not isinstance(one, dict):
            continue
        geometry = one.get("geometry") if one.get("type") == "Feature" else one
        told = one.get("properties") or {}
        if isinstance(geometry, dict) and isinstance(told, dict):
            shapes.append(_shape_of(geometry, told.get("kind"), told.get("name")))
    return [shape for shape in shapes if shape is not None]


def _from_package(path: str) -> list[_Shape]:
    try:
        import pyogrio
        from pyogrio.errors import DataSourceError
    except ImportError:
        raise MissingComplaint(
            "reading a GeoPackage needs pyogrio, which is not installed",
            'Install it with: pip install "pacewright[terrain]", or give GeoJSON',
        ) from None
    from rasterio.warp import transform_geom

    from pacewright.files.plain_shapes import shape_of

    shapes: list[_Shape] = []
    try:
        for layer, _ in pyogrio.list_layers(path):
            meta, _, given, columns = pyogrio.raw.read(path, layer=layer)
            told = {str(name): column for name, column in zip(meta["fields"], columns, strict=True)}
            for k, one in enumerate(given):
                geometry = None if one is None else shape_of(bytes(one))
                if geometry is None:
                    continue
                turned = transform_geom(meta["crs"] or "EPSG:4326", "EPSG:4326", geometry)
                kind, name = (told[key][k] if key in told else None for key in ("kind", "name"))
                made = _shape_of(turned, kind, name)
                shapes += [] if made is None else [made]
    except (DataSourceError, OSError, ValueError):
        raise FormatComplaint(
            "this file cannot be read as shapes", "Give GeoJSON, GeoPackage or GPX", Where(path)
        ) from None
    return shapes


def _from_gpx(path: str) -> list[_Shape]:
    data = read_bytes(path)
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise FormatComplaint(
            "this GPX file declares a document type", "Save it again as plain GPX", Where(path)
        )
    try:
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError:
        raise FormatComplaint("this is no GPX", "Save it again as GPX", Where(path)) from None

    def bare(element: ElementTree.Element) -> str:
        return element.tag.rpartition("}")[2]

    def text(element: ElementTree.Element, of: str) -> str:
        return next((child.text or "" for child in element if bare(child) == of), "")

    def place(element: ElementTree.Element) -> list[float]:
        try:
            return [float(element.get("lon", "")), float(element.get("lat", ""))]
        except ValueError:
            raise FormatComplaint("a point has no place", "Save it again as GPX", Where(path)) from None

    shapes = []
    for element in root.iter():
        if bare(element) == "wpt":
            shapes.append(_Shape("", text(element, "name")[:_LONGEST_WORD], "point", [place(element)]))
        elif bare(element) in ("trkseg", "rte"):
            points = [place(child) for child in element if bare(child) in ("trkpt", "rtept")]
            if len(points) > 1:
                shapes.append(_Shape(USUAL_KIND, "", "line", [points]))
    return shapes
