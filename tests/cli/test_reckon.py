"""pacewright reckon: its keys, its frames, several files."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.way.reckoning import reckon
from pacewright.files.log_csv import read_log
from support.command import run

HEAD = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n"
SQUARE = HEAD + "azimuth,count,notes\n0,100,[at Oak]\n90,100,\n180,100,\n270,100,[at Gate]\n"


@pytest.fixture
def square(tmp_path):
    path = tmp_path / "square.csv"
    path.write_text(SQUARE, encoding="utf-8")
    return path


@pytest.fixture
def walker(tmp_path):
    path = tmp_path / "ines.toml"
    path.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 50.0\n', encoding="utf-8")
    return path


def test_the_keys_are_those_promised(square):
    said = run("reckon", square, "--json")
    assert (said.code, said.err) == (0, "")
    answer = said.json
    assert {"file", "frame", "unit", "azimuth_reference", "stations"} <= set(answer)
    assert (answer["file"], answer["frame"], answer["unit"]) == (str(square), "walker", "pace")
    assert list(answer["stations"][0]) == ["index", "name", "leg", "east", "north", "covariance"]
    assert [s["index"] for s in answer["stations"]] == [0, 1, 2, 3, 4]
    assert [s["name"] for s in answer["stations"]] == ["Gate", "Oak", None, None, "Gate"]
    assert [s["leg"] for s in answer["stations"]] == [None, 1, 2, 3, 4]


def test_a_square_walk_closes(square):
    places = [(s["east"], s["north"]) for s in run("reckon", square, "--json").json["stations"]]
    assert places == [(0, 0), (0, 100), (100, 100), (100, 0), (0, 0)]


def test_covariances_are_those_of_the_reckoning_east_before_north(square):
    told = np.array(
        [s["covariance"] for s in run("reckon", square, "--as-walked", "--json").json["stations"]]
    )
    np.testing.assert_allclose(told, reckon(read_log(SQUARE.encode())).covariances())
    # The first leg runs north: its count scatters north (5 % of 100), its azimuth east (2.5 deg).
    assert told[1][0][0] < told[1][1][1]
    assert np.linalg.eigvalsh(told[1:]).min() > 0


def test_the_map_frame_is_metres_by_the_walkers_pace_count(square, walker):
    answer = run("reckon", square, "--json", "--frame", "map", "--walker", walker).json
    assert (answer["frame"], answer["unit"]) == ("map", "metre")
    assert [(s["east"], s["north"]) for s in answer["stations"]][2] == (200, 200)


def test_the_map_frame_without_a_pace_count_is_refused(square):
    said = run("reckon", square, "--frame", "map")
    assert (said.code, said.out) == (2, "")
    assert said.err == (
        f"{square}: there is no pace count to turn paces into metres. "
        "Give a walker file with per_100_m (see pacewright calibrate), or keep to paces.\n"
    )


def test_paces_come_first_whatever_is_known_and_metres_stand_beside(tmp_path, square, walker):
    known = tmp_path / "known.csv"
    known.write_text(SQUARE.replace(HEAD, HEAD + "# known: Oak = local 0 200 +-5 m\n"), encoding="utf-8")
    for path in (square, known):
        for options in ((), ("--walker", walker)):
            assert run("reckon", path, "--json", *options).json["frame"] == "walker"
    assert "In metres: " not in run("reckon", square).out
    # At the start again there is nothing to say in metres.
    assert "In metres: " not in run("reckon", known, "--walker", walker).out
    known.write_text(known.read_text(encoding="utf-8") + "0,50,\n", encoding="utf-8")
    said = " ".join(run("reckon", known, "--walker", walker).out.split())
    assert said.split("In metres: ")[1].split(". ")[0].endswith(" across (95 in 100)")


def test_several_files_are_an_object_a_line_in_order_and_a_bad_one_stops_none(tmp_path, square):
    bad = tmp_path / "bad.csv"
    bad.write_text("azimuth,count,notes\n361,2,\n", encoding="utf-8")
    said = run("reckon", square, bad, tmp_path / "none.csv", square, "--json")
    assert (said.code, said.err) == (2, "")
    first, second, third, fourth = said.objects
    assert first == fourth and "stations" in first
    assert list(second) == ["file", "complaint", "what", "do", "line", "column", "complaints"]
    assert (second["file"], second["line"], second["column"]) == (str(bad), 2, "azimuth")
    assert second["complaint"].startswith(f"{bad}, line 2, column azimuth: 361 is not an azimuth")
    assert third["file"] == str(tmp_path / "none.csv") and "cannot be read" in third["complaint"]


def test_in_sentences_too_a_bad_file_stops_none(tmp_path, square):
    said = run("reckon", tmp_path / "none.csv", square)
    assert said.code == 2
    assert len(said.err.splitlines()) == 1
    assert "4 legs, 400 paces walked" in said.out


def test_what_the_heading_leaves_out_is_said(tmp_path):
    path = tmp_path / "bare.csv"
    path.write_text("azimuth,count,notes\n1,2,\n", encoding="utf-8")
    assert run("reckon", path, "--json").json["assumed"] == ["azimuth: magnetic degrees", "count: paces"]
    assert "'azimuth: magnetic degrees' and 'count: paces' are assumed" in run("reckon", path).out


def test_the_usual_caution_is_said(square):
    assert "Local rules and qualified instruction come first" in run("reckon", square).out


def test_a_file_name_that_is_no_text_is_told_as_it_is(tmp_path):
    path = str(tmp_path) + b"/\xff.csv".decode("utf-8", "surrogateescape")
    said = run("reckon", path, "--json")
    assert (said.code, said.json["file"]) == (2, path)
