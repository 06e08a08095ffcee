"""Stations, legs, bearings and regions as GeoJSON, against RFC 7946."""

from __future__ import annotations

import json
from itertools import pairwise

from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame
from pacewright.core.way.reckoning import reckon
from pacewright.core.way.regions import named_regions
from pacewright.files.geojson import write_local_geojson
from pacewright.files.log_csv import read_log

LOG = read_log(
    b"# title: T\n# azimuth: magnetic degrees\n# declination: 10 E\n# start: Gate\n"
    b"azimuth,count,notes\n350,100,[at Oak] wet\n346,,[see Tower]\n80,50,\n"
)
WALKER = Walker(per_100_m=50.0)


def collection(frame=None) -> dict:
    reckoning = reckon(LOG, WALKER, frame)
    return json.loads(write_local_geojson(LOG, reckoning, named_regions(reckoning, 0.95)))


def of(what: str, frame=None) -> list[dict]:
    return [f for f in collection(frame)["features"] if f["properties"]["what"] == what]


def test_it_is_a_feature_collection_that_says_its_coordinates_are_no_longitudes():
    # RFC 7946, sections 3.3 and 4.
    found = collection()
    assert found["type"] == "FeatureCollection"
    assert found["coordinates_are"] == "east and north from the start in paces, not longitude and latitude"
    assert (found["frame"], found["azimuth_reference"], found["title"]) == ("walker", "magnetic", "T")
    assert {f["type"] for f in found["features"]} == {"Feature"}
    assert all({"geometry", "properties"} <= set(f) for f in found["features"])


def test_stations_are_points_and_legs_join_them():
    places = [f["geometry"]["coordinates"] for f in of("station")]
    assert [f["geometry"]["coordinates"] for f in of("leg")] == [list(pair) for pair in pairwise(places)]
    assert [f["properties"]["name"] for f in of("station")] == ["Gate", "Oak", None]
    assert of("leg")[0]["properties"]["notes"] == "[at Oak] wet"


def test_a_bearing_stands_at_its_station_with_its_azimuth():
    (seen,) = of("bearing")
    assert seen["geometry"]["coordinates"] == of("station")[1]["geometry"]["coordinates"]
    assert (seen["properties"]["azimuth_deg"], seen["properties"]["name"]) == (346, "Tower")


def test_in_the_map_frame_azimuths_are_true_and_coordinates_metres():
    frame = map_frame(LOG.heading, WALKER)
    assert collection(frame)["azimuth_reference"] == "true"
    assert of("station", frame)[1]["geometry"]["coordinates"] == [0, 200]
    assert of("bearing", frame)[0]["properties"]["azimuth_deg"] == 356


def test_a_region_is_a_closed_ring_that_runs_counterclockwise():
    # RFC 7946, section 3.1.6.
    regions = of("region")
    assert regions
    for region in regions:
        (ring,) = region["geometry"]["coordinates"]
        assert len(ring) >= 4 and ring[0] == ring[-1]
        assert sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring)) > 0
