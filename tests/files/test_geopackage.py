"""A placed log as a GeoPackage, read back with GDAL."""

from __future__ import annotations

import sqlite3
import struct

import numpy as np
import pyogrio
import pytest
from pyogrio.raw import read

from pacewright.files.geopackage import write_geopackage
from support.placed import small_walk


@pytest.fixture(params=["46.5000000 9.0000000", "-16.8000000 179.9990000"])
def walk(request, tmp_path):
    log, placed = small_walk(request.param)
    path = tmp_path / "walk.gpkg"
    path.write_bytes(write_geopackage(log, placed, 0.95))
    return path, placed


def test_gdal_finds_the_layers_on_wgs_84(walk):
    path, _ = walk
    layers = dict(pyogrio.list_layers(path).tolist())
    assert layers == {
        "stations": "Point",
        "legs": "MultiLineString",
        "bearings": "Point",
        "regions": "MultiPolygon",
    }
    for layer, features in (("stations", 4), ("legs", 3), ("bearings", 1), ("regions", 4)):
        info = pyogrio.read_info(path, layer=layer)
        assert (info["features"], info["crs"], info["fid_column"]) == (features, "EPSG:4326", "fid")


def test_gdal_reads_stations_where_they_are_with_what_is_known_of_them(walk):
    path, placed = walk
    meta, _, geometry, fields = read(path, layer="stations")
    table = dict(zip(meta["fields"], fields, strict=True))
    assert table["name"].tolist() == list(placed.names)
    np.testing.assert_allclose(table["east_m"], placed.place_m[:, 0], atol=0.006)
    np.testing.assert_allclose(table["var_north_m2"], placed.covariance_m2[:, 1, 1], atol=1e-4)
    places = [struct.unpack("<BI2d", blob)[2:] for blob in geometry]
    np.testing.assert_allclose(places, np.stack([placed.longitude_deg, placed.latitude_deg], 1))


def test_gdal_finds_stations_by_a_box(walk):
    path, placed = walk
    east, north = placed.longitude_deg[1], placed.latitude_deg[1]
    box = (east - 1e-6, north - 1e-6, east + 1e-6, north + 1e-6)
    _, _, geometry, _ = read(path, layer="stations", bbox=box)
    assert len(geometry) == 1


def test_the_file_says_what_it_is_and_is_sound(walk):
    # OGC 12-128r18, requirements 1 to 13 (from memory): application id, version, the three tables.
    path, _ = walk
    with sqlite3.connect(path) as connection:
        ask = lambda text: connection.execute(text).fetchall()  # noqa: E731
        assert ask("PRAGMA application_id") == [(0x47504B47,)]
        assert ask("PRAGMA user_version") == [(10300,)]
        assert ask("PRAGMA integrity_check") == [("ok",)]
        assert ask("PRAGMA foreign_key_check") == []
        assert {row[0] for row in ask("SELECT srs_id FROM gpkg_spatial_ref_sys")} == {-1, 0, 4326}
        assert ask("SELECT DISTINCT data_type, srs_id FROM gpkg_contents") == [("features", 4326)]
    connection.close()


def test_a_log_without_bearings_has_no_such_layer(tmp_path):
    from dataclasses import replace

    log, placed = small_walk()
    path = tmp_path / "walk.gpkg"
    path.write_bytes(write_geopackage(replace(log, rows=log.legs), placed, 0.95))
    assert "bearings" not in dict(pyogrio.list_layers(path).tolist())
