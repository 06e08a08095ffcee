"""pacewright export: stations in four kinds of file, never over another file."""

from __future__ import annotations

import json

import pytest

from support.command import run

HEAD = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n"
PAGE = HEAD + "azimuth,count,notes\nN,100,[at Oak]\nE,100,\n"


@pytest.fixture
def walk(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(PAGE, encoding="utf-8")
    return path


def test_by_default_the_stations_stand_beside_the_log(walk):
    target = walk.with_suffix(".stations.csv")
    assert run("export", walk, "--json").keys == {
        "file": str(walk),
        "written": str(target),
        "on_the_map": False,
        "doubts": [],
    }
    assert len(target.read_text().splitlines()) == 1 + 3
    assert walk.read_text() == PAGE


@pytest.mark.parametrize("options", [["--as", "geojson"], ["--out", "OUT.geojson"], ["--out", "OUT.GeoJSON"]])
def test_the_kind_is_that_of_the_option_or_of_the_name(walk, tmp_path, options):
    options = [str(tmp_path / one) if one.startswith("OUT") else one for one in options]
    assert run("export", walk, *options).code == 0
    (written,) = [path for path in tmp_path.iterdir() if path != walk]
    assert json.loads(written.read_bytes())["type"] == "FeatureCollection"


def test_standard_output_takes_the_file_alone(walk):
    said = run("export", walk, "--as", "csv", "--out", "-")
    assert said.out.splitlines()[0].startswith("station,name,azimuth_magnetic_deg,length_pace")
    assert len(said.out.splitlines()) == 4


def test_a_file_that_is_there_stays_unless_forced(walk, tmp_path):
    out = tmp_path / "a.csv"
    out.write_text("mine")
    said = run("export", walk, "--out", out)
    assert (said.code, said.out, out.read_text()) == (2, "", "mine")
    assert said.err.startswith(f"{out}: a file of this name is already there.")
    assert run("export", walk, "--out", out, "--force").code == 0
    assert out.read_text() != "mine"


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--out", "a.kml"], "Say what to write"),
        (["--out", "a.csv", "--as", "kml"], "'kml' is not one of"),
        (["--as", "gpx"], "no station of the log is at a known place on the map"),
        (["--as", "gpkg"], "Add '# known: Gate = 37.4521 -119.2984 +-10 m' to the heading"),
        (["--as", "gpx", "--frame", "map"], "--frame gives places from the start, not on the map"),
        (["--as", "csv", "--start", "95 10"], "--start: "),
        (["--out", "-", "--json"], "both want standard output"),
    ],
)
def test_a_kind_that_is_not_written_is_refused_before_anything_is(walk, tmp_path, monkeypatch, options, says):
    monkeypatch.chdir(tmp_path)
    said = run("export", walk, *options)
    assert said.code == 2 and says in said.err
    assert [path.name for path in tmp_path.iterdir()] == ["walk.csv"]


@pytest.mark.parametrize("file", ["", ".", "/"])
def test_a_name_that_is_no_file_is_one_sentence(file):
    said = run("export", file)
    assert (said.code, said.out, len(said.err.splitlines())) == (2, "", 1)
    assert "cannot be read (Is a directory)" in said.err
