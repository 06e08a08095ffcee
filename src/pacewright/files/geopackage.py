"""A placed log to an OGC GeoPackage: layers of stations, legs, bearings and regions.

Written through the SQLite that comes with Python: four tables of shapes and the three that describe
them are all that a GeoPackage must hold.
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Sequence
from typing import Final

from pacewright.answers.placing import PlacedLog
from pacewright.core.log.travel_log import TravelLog
from pacewright.files.placed_shapes import Line, Shape, Value, placed_shapes

_APPLICATION_ID: Final = 0x47504B47
_VERSION: Final = 10300
_WGS84: Final = 4326
_WGS84_TEXT: Final = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],'
    'AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],'
    'UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4326"]]'
)
_LAYERS: Final = {
    "station": ("stations", "POINT"),
    "leg": ("legs", "MULTILINESTRING"),
    "bearing": ("bearings", "POINT"),
    "region": ("regions", "MULTIPOLYGON"),
}
_TYPES: Final = {int: "INTEGER", float: "REAL", str: "TEXT"}

_DESCRIBING: Final = """
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '', last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
"""


def write_geopackage(
    log: TravelLog, placed: PlacedLog, probability: float, doubts: Sequence[str] = ()
) -> bytes:
    """Write stations, legs, bearings and regions as the layers of a GeoPackage, on WGS 84.

    What may be wrong with the log, in sentences, stands in the description of every layer.

    References
    ----------
    OGC GeoPackage Encoding Standard 1.3.1, OGC 12-128r18 (2021), clauses 1.1 and 2.1 (from memory; what is
    written is read back with GDAL in the tests).
    """
    shapes = list(placed_shapes(log, placed, probability))
    connection = sqlite3.connect(":memory:")
    try:
        connection.executescript(
            f"PRAGMA application_id = {_APPLICATION_ID}; PRAGMA user_version = {_VERSION}; {_DESCRIBING}"
        )
        connection.executemany(
            "INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, NULL)",
            [
                ("Undefined cartesian SRS", -1, "NONE", -1, "undefined"),
                ("Undefined geographic SRS", 0, "NONE", 0, "undefined"),
                ("WGS 84 geodetic", _WGS84, "EPSG", _WGS84, _WGS84_TEXT),
            ],
        )
        for what in _LAYERS:
            of_layer = [shape for shape in shapes if shape.what == what]
            if of_layer:
                _write_layer(connection, what, of_layer, " ".join((log.heading.title, *doubts)).strip())
        connection.commit()
        return bytes(connection.serialize())
    finally:
        connection.close()


def _write_layer(connection: sqlite3.Connection, what: str, shapes: Sequence[Shape], described: str) -> None:
    table, geometry = _LAYERS[what]
    columns = {key: _type(shapes, key) for key in shapes[0].properties}
    declared = "".join(f', "{key}" {kind}' for key, kind in columns.items())
    connection.execute(
        f'CREATE TABLE "{table}" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom {geometry}{declared})'
    )
    bounds = _bounds([part for shape in shapes for part in shape.parts])
    connection.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, "
        "min_x, min_y, max_x, max_y, srs_id) VALUES (?, 'features', ?, ?, ?, ?, ?, ?, ?)",
        (table, table, described, *bounds, _WGS84),
    )
    connection.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, ?, 0, 0)", (table, geometry, _WGS84)
    )
    holes = ", ".join("?" * (1 + len(columns)))
    names = ", ".join(["geom", *(f'"{key}"' for key in columns)])
    connection.executemany(
        f'INSERT INTO "{table}" ({names}) VALUES ({holes})',
        [(_blob(shape), *(shape.properties[key] for key in columns)) for shape in shapes],
    )


def _type(shapes: Sequence[Shape], key: str) -> str:
    first: Value = next((s.properties[key] for s in shapes if s.properties[key] is not None), "")
    return _TYPES[type(first)]


def _bounds(parts: Sequence[Line]) -> tuple[float, float, float, float]:
    easts = [east for part in parts for east, _ in part]
    norths = [north for part in parts for _, north in part]
    return min(easts), min(norths), max(easts), max(norths)


def _blob(shape: Shape) -> bytes:
    """A geometry as the standard keeps it: a head with its bounds, then well-known binary."""
    west, south, east, north = _bounds(shape.parts)
    head = struct.pack("<2sBBi4d", b"GP", 0, 0b11, _WGS84, west, east, south, north)
    if shape.what in ("station", "bearing"):
        return head + struct.pack("<BI2d", 1, 1, *shape.parts[0][0])
    is_area = shape.what == "region"
    body = struct.pack("<BII", 1, 6 if is_area else 5, len(shape.parts))
    for part in shape.parts:
        body += struct.pack("<BI", 1, 3 if is_area else 2) + (struct.pack("<I", 1) if is_area else b"")
        body += struct.pack("<I", len(part)) + b"".join(struct.pack("<2d", *place) for place in part)
    return head + body
