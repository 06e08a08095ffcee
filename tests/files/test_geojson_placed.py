"""A placed log as GeoJSON, against RFC 7946 and GDAL's reader."""

from __future__ import annotations

import json
from itertools import pairwise

import numpy as np
import pyogrio
import pytest

from pacewright.exceptions import NoAnswerComplaint
from pacewright.files.geojson_placed import write_placed_geojson
from pacewright.files.placed_shapes import cut_line, cut_ring
from support.placed import small_walk


def collection(start="46.5000000 9.0000000"):
    return json.loads(write_placed_geojson(*small_walk(start), 0.95))


def of(what, found):
    return [f for f in found["features"] if f["properties"]["what"] == what]


def signed_area(ring):
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring)) / 2


def test_places_are_longitude_before_latitude_to_seven_decimals():
    # RFC 7946, sections 3.1.1 and 4, and 11.2 on precision.
    log, placed = small_walk()
    points = [f["geometry"]["coordinates"] for f in of("station", collection())]
    np.testing.assert_allclose(points, np.stack([placed.longitude_deg, placed.latitude_deg], 1), atol=5.1e-8)
    assert points == [[round(part, 7) for part in point] for point in points]
    assert len(log.legs) == len(points) - 1


def test_it_carries_no_member_that_says_otherwise_than_wgs_84():
    # RFC 7946, section 4: no crs member.
    assert set(collection()) == {"type", "title", "doubts", "grid", "features"}


def test_legs_join_the_stations_and_bearings_stand_at_theirs():
    found = collection()
    points = [f["geometry"]["coordinates"] for f in of("station", found)]
    legs = of("leg", found)
    assert [leg["geometry"]["coordinates"] for leg in legs] == [list(pair) for pair in pairwise(points)]
    assert legs[0]["properties"]["length_m"] == pytest.approx(480)
    assert legs[0]["properties"]["notes"] == "[at Split oak] wet"
    (seen,) = of("bearing", found)
    assert seen["geometry"]["coordinates"] == points[1]
    assert seen["properties"]["name"] == "Fire tower"


@pytest.mark.parametrize(
    "start", ["46.5000000 9.0000000", "-33.8000000 151.1000000", "16.8000000 179.9999000"]
)
def test_every_ring_is_closed_and_runs_counterclockwise(start):
    # RFC 7946, section 3.1.6.
    regions = of("region", collection(start))
    assert len(regions) == 4
    for region in regions:
        parts = region["geometry"]["coordinates"]
        for polygon in parts if region["geometry"]["type"] == "MultiPolygon" else [parts]:
            (ring,) = polygon
            assert len(ring) >= 4 and ring[0] == ring[-1]
            assert signed_area(ring) > 0


def test_what_crosses_180_degrees_is_cut_there():
    # RFC 7946, section 3.1.9.
    found = collection("-16.8000000 179.9999000")
    for feature in found["features"]:
        parts = feature["geometry"]["coordinates"]
        kind = feature["geometry"]["type"]
        lines = {"Point": [[parts]], "LineString": [parts], "MultiLineString": parts}.get(kind)
        if lines is None:
            lines = [polygon[0] for polygon in ([parts] if kind == "Polygon" else parts)]
        for line in lines:
            assert all(-180 <= longitude <= 180 for longitude, _ in line)
            assert max(p[0] for p in line) - min(p[0] for p in line) < 1
    kinds = {f["geometry"]["type"] for f in found["features"]}
    assert {"MultiLineString", "MultiPolygon"} <= kinds


def test_a_cut_ring_keeps_its_area():
    ring = [(179.5, 0.0), (-179.5, 0.0), (-179.5, 1.0), (179.5, 1.0), (179.5, 0.0)]
    parts = cut_ring(ring)
    assert len(parts) == 2
    assert sum(signed_area(part) for part in parts) == pytest.approx(1.0)
    assert cut_line([(-179.0, 1.0), (179.0, 1.0)]) == [
        [(-179.0, 1.0), (-180.0, 1.0)],
        [(180.0, 1.0), (179.0, 1.0)],
    ]


def test_a_region_about_the_pole_is_refused():
    ring = [(longitude, 89.9) for longitude in (0.0, 90.0, 180.0, -90.0, 0.0)]
    with pytest.raises(NoAnswerComplaint, match="a region holds a pole"):
        cut_ring(ring)


def test_gdal_reads_every_feature(tmp_path):
    path = tmp_path / "walk.geojson"
    path.write_bytes(write_placed_geojson(*small_walk(), 0.95))
    info = pyogrio.read_info(path)
    assert (info["features"], info["crs"]) == (4 + 3 + 1 + 4, "EPSG:4326")
