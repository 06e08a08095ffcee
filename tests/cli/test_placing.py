"""Logs on the map through the command line: reckon, export, and a recorded track as the truth."""

from __future__ import annotations

import json

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from support.command import run
from support.made_tracks import BEGAN_S, on_the_map, recorded, walk_once

PAGE = (
    "# title: Fen\n# date: 2026-05-14\n# azimuth: true degrees\n# count: paces\n# start: Gate\n"
    "# known: Gate = 46.5000000 9.0000000 +-10 m\nazimuth,count,notes\n90,250,[at Oak]\n0,250,\n"
)


@pytest.fixture
def walker(tmp_path):
    path = tmp_path / "ines.toml"
    path.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 50.0\n', encoding="utf-8")
    return path


@pytest.fixture
def write(tmp_path):
    def to(text, name="walk.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return to


def test_a_known_start_gives_every_station_a_place_on_the_map(write, walker):
    answer = run("reckon", write(PAGE), "--walker", walker, "--json").json
    assert {"frame", "unit", "azimuth_reference", "stations", "region"} <= set(answer)
    placed = answer["placed"]
    assert (placed["grid"], placed["held_by"], placed["chance"]) == ("UTM zone 32 north", ["Gate"], 1.0)
    assert [s["index"] for s in placed["stations"]] == [0, 1, 2]
    position = placed["stations"][1]["position"]
    assert {"latitude_deg", "longitude_deg", "mgrs", "utm", "covariance_m2"} <= set(position)
    # 250 paces of 2 m to the east: GeographicLib.
    east = Geodesic.WGS84.Direct(46.5, 9.0, 90, 500)
    assert position["latitude_deg"] == pytest.approx(east["lat2"], abs=2e-6)
    assert position["longitude_deg"] == pytest.approx(east["lon2"], abs=2e-6)
    assert np.linalg.eigvalsh(position["covariance_m2"]).min() > 99


def test_mgrs_is_cut_to_what_the_uncertainty_supports(write, walker):
    # 10 m each way reach 24 m 95 times in 100: squares of 10 m, 4 digits each way.
    for sd, digits in ((0.3, 5), (10, 4), (100, 3), (5000, 1)):
        page = PAGE.replace("+-10 m", f"+-{sd} m")
        placed = run("reckon", write(page), "--walker", walker, "--json").json["placed"]
        assert len(placed["stations"][0]["position"]["mgrs"]) == 5 + 2 * digits


def test_the_sentences_say_place_square_uncertainty_and_norths(write, walker):
    said = run("reckon", write(PAGE), "--walker", walker).out
    assert "On the map station 2 is at 46.5045 N 9.0065 E, MGRS 32T NS 0049 5010 (UTM zone 32 north)." in said
    assert "This rests on Gate." in said
    assert "From true to grid azimuths: leave it as it is (grid convergence 0.0 deg)." in said
    assert "Local rules and qualified instruction come first" in said


@pytest.mark.parametrize(
    ("heading", "says"),
    [
        ("# declination: 5.5 W\n", "declination 5.5 deg west from the log's heading"),
        ("# date: 2026-05-14\n", "by WMM-2025 for 2026-05-14, +-0."),
    ],
)
def test_it_is_said_where_the_declination_came_from(write, walker, heading, says):
    page = PAGE.replace("# date: 2026-05-14\n", heading).replace("true degrees", "magnetic degrees")
    said = run("reckon", write(page), "--walker", walker)
    assert says in said.out
    model = run("reckon", write(page), "--walker", walker, "--json").json["placed"]["declination_model"]
    assert model == ("WMM-2025" if "date" in heading else None)


def test_without_a_known_place_nothing_is_placed(write, walker):
    page = PAGE.replace("# known: Gate = 46.5000000 9.0000000 +-10 m\n", "")
    assert run("reckon", write(page), "--walker", walker, "--json").json["placed"] is None
    assert "On the map" not in run("reckon", write(page), "--walker", walker).out
    placed = run("reckon", write(page), "--walker", walker, "--start", "32TNS0000049894", "--json").json[
        "placed"
    ]
    assert placed["held_by"] == ["Gate"]


def test_what_only_lacks_something_leaves_the_reckoning(write):
    said = run("reckon", write(PAGE))
    assert said.code == 0
    assert "Not placed on the map: there is no pace count to turn paces into metres." in said.out
    assert "2 legs, 500 paces walked" in said.out
    assert "no pace count" in run("reckon", write(PAGE), "--json").json["placed"]["complaint"]


@pytest.mark.parametrize("command", [["reckon"], ["export", "--as", "gpx"], ["export"]])
@pytest.mark.parametrize(
    ("place", "says"),
    [
        ("119.3 37.45", "swapped"),
        ("32N 9444140 3684706", "9444140 is not a number east on a UTM grid"),
        ("91 200", "91 is not a latitude"),
    ],
)
def test_a_place_that_cannot_be_is_one_sentence(write, walker, tmp_path, command, place, says):
    path = write(PAGE.replace("46.5000000 9.0000000", place))
    said = run(*command, path, "--walker", walker)
    assert (said.code, said.out, len(said.err.splitlines())) == (2, "", 1)
    assert said.err.startswith(f"{path}, column heading known: Gate: ") and says in said.err
    assert {p.name for p in tmp_path.iterdir()} == {"walk.csv", "ines.toml"}
    start = run(*command, write(PAGE), "--walker", walker, "--start", place)
    assert (start.code, start.out) == (2, "") and start.err.startswith("--start: ") and says in start.err


def test_known_points_that_disagree_are_told(write, walker):
    page = PAGE.replace("# known", "# known: Oak = 46.5100000 9.0000000 +-10 m\n# known")
    for command in (["reckon"], ["export", "--as", "geojson"]):
        said = run(*command, write(page), "--walker", walker)
        assert (
            "does not agree with the log: scatter alone misses by so much less than once in 1,000" in said.out
        )


@pytest.mark.parametrize("kind", ["csv", "geojson", "gpx", "gpkg"])
def test_every_kind_is_written_on_the_map(write, walker, tmp_path, kind):
    out = tmp_path / f"out.{kind}"
    said = run("export", write(PAGE), "--walker", walker, "--out", out)
    assert said.code == 0
    assert said.out == f"Written: {out} (on the map, UTM zone 32 north, by Gate)\n"
    assert run("export", write(PAGE), "--walker", walker, "--out", out).code == 2
    data = out.read_bytes()
    marks = {"csv": b"station,name", "geojson": b"{", "gpx": b"<?xml", "gpkg": b"SQLite format 3\0"}
    assert data.startswith(marks[kind])


def test_placed_csv_has_degrees_metres_and_mgrs(write, walker):
    said = run("export", write(PAGE), "--walker", walker, "--as", "csv", "--out", "-")
    rows = [line.split(",") for line in said.out.splitlines()]
    table = dict(zip(rows[0], rows[2], strict=True))
    east = Geodesic.WGS84.Direct(46.5, 9.0, 90, 500)
    assert float(table["longitude_deg"]) == pytest.approx(east["lon2"], abs=2e-6)
    assert (table["length_m"], table["name"], table["mgrs"][:5]) == ("500.0000", "Oak", "32TNS")


def test_a_frame_or_a_missing_pace_count_leaves_places_from_the_start(write, walker, tmp_path):
    for options in (["--frame", "map", "--walker", walker], []):
        out = tmp_path / "out.geojson"
        said = run("export", write(PAGE), "--out", out, "--force", *options)
        assert said.code == 0
        assert "coordinates_are" in json.loads(out.read_bytes())
        assert "(east and north from the start)" in said.out
        assert ("Not placed on the map: there is no pace count" in said.out) == (not options)


@pytest.fixture
def walked(tmp_path, write):
    rng, walk, text = walk_once(12, "loop", 10)
    place, time_s = recorded(rng, walk.places_m[0], 5.0, 60.0)
    points = "".join(
        f'<trkpt lat="{lat:.7f}" lon="{lon:.7f}"/>' for lat, lon in np.stack(on_the_map(place), axis=1)
    )
    track = tmp_path / "walk.gpx"
    track.write_text(f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>", encoding="utf-8")
    assert time_s[0] + BEGAN_S > 0
    return write(text), track, walk


def test_a_track_as_the_truth_tells_each_leg_and_the_walker(walked, walker):
    log, track, walk = walked
    said = run("reckon", log, "--truth", track, "--walker", walker)
    assert said.code == 0
    assert "Beside the track (stations matched by shape): the walker went" in said.out
    assert "paces to 100 m (" in said.out
    assert len([line for line in said.out.splitlines() if " deg" in line and " %" in line]) == 10
    truth = run("reckon", log, "--truth", track, "--walker", walker, "--json").json["truth"]
    assert truth["fits"] and truth["matched_by"] == "shape"
    assert [leg["leg"] for leg in truth["legs"]] == list(range(1, 11))
    assert truth["per_100_m"]["low"] < 100 / (1.6 * walk.scale[0]) < truth["per_100_m"]["high"]
    assert truth["azimuth_off_deg"]["low"] < walk.bias_deg[0] < truth["azimuth_off_deg"]["high"]


def test_the_track_of_another_walk_is_told(write, walked):
    _, track, _ = walked
    _, _, text = walk_once(31, "wander", 12)
    said = run("reckon", write(text, "other.csv"), "--truth", track)
    assert "The track does not look like this log" in said.out


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b'<!DOCTYPE g [<!ENTITY a "b">]><gpx>&a;</gpx>', "declares a document type"),
        (b"<gpx><trk><trkseg><trkpt lat='1' lon='2'/>", "is not a whole XML file"),
        (b"<gpx><trkpt lat='119' lon='37'/></gpx>", "Latitude and longitude are swapped"),
    ],
)
def test_a_track_that_is_none_is_one_sentence_before_any_log_is_read(write, tmp_path, data, says):
    bad = tmp_path / "bad.gpx"
    bad.write_bytes(data)
    said = run("reckon", write(PAGE), "--truth", bad)
    assert (said.code, said.out, len(said.err.splitlines())) == (2, "", 1)
    assert said.err.startswith(str(bad)) and says in said.err
