"""A log whose start nobody knows, held on the map by bearings to known things alone.

The truth is laid out on the ellipsoid by pyproj's geodesics, away from the tool's own grid; how a compass is
read is drawn here: a bias for the day, a scatter for each reading, whole degrees.
"""

from __future__ import annotations

import numpy as np
import pytest
from pyproj import Geod

from pacewright.answers.placing import place_log
from pacewright.core.pace.walker import Walker
from pacewright.files.known_places import open_estimate
from pacewright.files.log_csv import read_log
from support.command import run

ELLIPSOID = Geod(ellps="WGS84")
WALKER = Walker("Ines Rowe", 62.5)
GATE = (16.0000, 48.0000)
DECLINATION = 5.0
THINGS = {
    "Fire tower": (10.0, 1400.0),
    "Church": (85.0, 1900.0),
    "Mast": (215.0, 1600.0),
    "Grey crag": (310.0, 2200.0),
}
"""Azimuth and metres from the gate."""


@pytest.fixture
def walker_file(tmp_path):
    path = tmp_path / "ines.toml"
    path.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n', encoding="utf-8")
    return path


def page(seen, legs="45,300,\n90,200,\n", things=THINGS):
    """The page of a walk that begins with bearings at the gate, by name and azimuth as read."""
    known = ""
    for name in seen:
        east, north, _ = ELLIPSOID.fwd(*GATE, *things[name])
        known += f"# known: {name} = {north:.6f} {east:.6f} +-5 m\n"
    rows = "".join(f"{azimuth},,[see {name}]\n" for name, azimuth in seen.items())
    heading = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n# declination: 5 E\n"
    return heading + known + "azimuth,count,notes\n" + rows + legs


def read(rng, name, bias):
    true = THINGS[name][0] - DECLINATION + bias + rng.normal(0.0, WALKER.compass.sighting_sd_deg)
    return round(true) % 360


def off_m(placed, station, truth):
    azimuth, _, metres = ELLIPSOID.inv(*truth, placed.longitude_deg[station], placed.latitude_deg[station])
    return metres * np.array([np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))])


@pytest.mark.statistical
@pytest.mark.parametrize("names", [("Fire tower", "Church"), ("Fire tower", "Church", "Mast"), tuple(THINGS)])
def test_the_start_lies_in_its_region_as_often_as_it_says(names):
    rng = np.random.default_rng(11)
    logs, held = 250, 0
    for _ in range(logs):
        bias = rng.normal(0.0, WALKER.compass.bias_sd_deg / np.sqrt(2.0))
        log = read_log(page({name: read(rng, name, bias) for name in names}).encode())
        placed = place_log(open_estimate(log, WALKER))
        off = off_m(placed, 0, GATE)
        held += off @ np.linalg.solve(placed.covariance_m2[0], off) <= -2.0 * np.log(0.05)
    # 95 in 100, and what 250 logs leave open: 3 standard deviations, sqrt(0.95 * 0.05 / 250) each.
    assert 0.95 - 3 * 0.0138 <= held / logs <= 1.0


def test_bearings_read_without_error_say_where_the_start_is():
    log = read_log(page({name: f"{THINGS[name][0] - DECLINATION:.1f}" for name in THINGS}).encode())
    placed = place_log(open_estimate(log, WALKER))
    assert np.hypot(*off_m(placed, 0, GATE)) < 3.0
    assert placed.held_by == tuple(THINGS)


def test_one_station_may_see_one_thing_and_the_next_another():
    # 45 deg magnetic and 300 paces of 1.6 m: 480 m on 50 deg true.
    there = ELLIPSOID.fwd(*GATE, 50.0, 480.0)[:2]
    church = ELLIPSOID.fwd(*GATE, *THINGS["Church"])[:2]
    later = round(ELLIPSOID.inv(*there, *church)[0] - DECLINATION)
    legs = f"45,300,\n{later},,[see Church]\n90,200,\n"
    text = page({"Fire tower": 5}, legs).replace(
        "azimuth,count", f"# known: Church = {church[1]:.6f} {church[0]:.6f}\nazimuth,count"
    )
    placed = place_log(open_estimate(read_log(text.encode()), WALKER))
    assert np.hypot(*off_m(placed, 0, GATE)) < 60.0


def test_lines_that_hardly_cross_say_nothing_and_that_is_said(tmp_path, walker_file):
    file = tmp_path / "flat.csv"
    things = {"Fire tower": (10.0, 1400.0), "Church": (14.0, 1900.0)}
    file.write_text(page({"Fire tower": 5, "Church": 9}, things=things))
    said = run("reckon", file, "--walker", walker_file)
    assert said.code == 0 and "cross" in said.out and "On the map" not in said.out


def test_a_bearing_that_was_not_turned_round_is_the_first_suspect(tmp_path, walker_file):
    file = tmp_path / "turned.csv"
    seen = {name: round(THINGS[name][0] - DECLINATION) % 360 for name in THINGS} | {"Church": 260}
    file.write_text(page(seen))
    found = run("check", file, "--walker", walker_file, "--json").json
    assert found["suspects"][0]["kind"] == "bearing_misread"
    assert found["by_reading"][0]["name"] == "Church"
    # The rest still says where the log lies, and the wrong one is said to be left out.
    placed = run("reckon", file, "--walker", walker_file, "--json").json["placed"]
    at = placed["stations"][0]["position"]
    assert ELLIPSOID.inv(*GATE, at["longitude_deg"], at["latitude_deg"])[2] < 100.0


def test_the_way_to_a_thing_that_was_only_seen_is_given(tmp_path, walker_file):
    file = tmp_path / "seen.csv"
    file.write_text(page({name: round(THINGS[name][0] - DECLINATION) % 360 for name in THINGS}))
    back = run("back", file, "--walker", walker_file, "--to", "Church", "--json").json
    first = ELLIPSOID.fwd(*GATE, 50.0, 480.0)[:2]
    here = ELLIPSOID.fwd(*first, 95.0, 320.0)[:2]
    azimuth, _, metres = ELLIPSOID.inv(*here, *ELLIPSOID.fwd(*GATE, *THINGS["Church"])[:2])
    assert back["azimuth_deg"] == pytest.approx(azimuth - DECLINATION, abs=2.0)
    assert back["count"] == pytest.approx(metres / 1.6, rel=0.05)
