"""pacewright leg: a leg by map, a leg card, metres to paces and back."""

from __future__ import annotations

import math

import pytest
from pyproj import Geod

from support.authorities import close_to_printed, read_authority
from support.command import run

HERE, THERE = (37.4521, -119.2984), (37.4550, -119.2900)
PLACES = [" ".join(map(str, place)) for place in (HERE, THERE)]
KEYS = {"azimuth_deg", "back_azimuth_deg", "metres", "count", "tally", "minutes"}


@pytest.fixture
def walker(tmp_path):
    path = tmp_path / "walker.toml"
    path.write_text(
        "[pace]\nper_100_m = 62.5\n[pace.ground.bog]\nper_100_m = 80.0\nruns = 4\n", encoding="utf-8"
    )
    return ("--walker", path)


def test_a_leg_between_local_places_is_the_printed_one():
    """The points of intersection_mahun.csv, with the printed distance and azimuth (117 22 40) from L to P."""
    book = {row["point"]: row for row in read_authority("intersection_mahun.csv")}
    ends = [f"local {book[k]['east']} {book[k]['north']}" for k in "LP"]
    told = run("leg", *ends, "--json").json
    assert told["azimuth_reference"] == "local"
    assert close_to_printed(told["metres"], book["L"]["distance_to_p"])
    assert told["azimuth_deg"] == pytest.approx(117 + 22 / 60 + 40 / 3600, abs=0.5 / 3600)


def test_the_promised_keys_are_there_and_the_answer_is_the_first_line(walker):
    told = run("leg", "local 0 0", "local 300 400", *walker, "--json").json
    assert set(told) >= KEYS
    assert (told["metres"], told["count"]) == (pytest.approx(500), 313)
    assert told["azimuth_deg"] == pytest.approx(math.degrees(math.atan2(3, 4)))
    assert told["back_azimuth_deg"] == pytest.approx(told["azimuth_deg"] + 180)
    first, *more = run("leg", "local 0 0", "local 300 400", *walker).out.splitlines()
    assert first == "37 deg  313 paces  3 lower beads + 13"
    assert more[-1].startswith("Caution: ")


def test_an_azimuth_on_the_earth_is_by_the_north_asked_for():
    azimuth_deg, _, metres = Geod(ellps="WGS84").inv(*HERE[::-1], *THERE[::-1])
    true = run("leg", *PLACES, "--north", "true", "--json").json
    assert true["azimuth_deg"] == pytest.approx(azimuth_deg, abs=1e-6)
    assert true["metres"] == pytest.approx(metres, abs=1e-3)
    stated = run("leg", *PLACES, "--declination", "12 E", "--json").json
    assert stated["azimuth_reference"] == "magnetic"
    assert stated["azimuth_deg"] == pytest.approx(azimuth_deg - 12, abs=1e-6)
    norths = run("north", *map(str, HERE), "--date", "2026-05-14", "--json").json
    by_model = run("leg", *PLACES, "--date", "2026-05-14", "--json").json
    assert by_model["azimuth_deg"] == pytest.approx(azimuth_deg - norths["declination_deg"], abs=1e-6)
    grid = run("leg", *PLACES, "--north", "grid", "--json").json
    assert grid["azimuth_deg"] == pytest.approx(azimuth_deg - norths["convergence_deg"], abs=1e-6)


def test_several_places_make_a_leg_card_and_names_are_found_whatever_their_capitals(tmp_path):
    table = tmp_path / "places.csv"
    table.write_text(
        "name,place\nGate,local 0 0\nOld hut,local 300 400\nFord,local 300 0\n", encoding="utf-8"
    )
    told = run("leg", "gate", "old HUT", "Ford", "--places", table, "--json").json
    assert [leg["metres"] for leg in told["legs"]] == [pytest.approx(500), pytest.approx(400)]
    said = run("leg", "gate", "old HUT", "Ford", "--places", table, columns=80).out.splitlines()
    assert said[0] == "2 legs, 900 metres, azimuths local."
    assert max(map(len, said)) <= 80


def test_metres_become_paces_on_a_ground_and_paces_metres(walker):
    bog = run("leg", "--metres", "350", "--ground", "bog", *walker, "--json").json
    assert (bog["count"], bog["tally"]) == (280, {"thousands": 0, "hundreds": 2, "paces": 80})
    back = run("leg", "--paces", "280", "--ground", "bog", *walker, "--json").json
    assert back["metres"] == pytest.approx(350)
    beads = run("leg", "--metres", "350", "--bead-of-metres", *walker, "--json").json["tally"]
    assert (beads["hundreds"], beads["paces"]) == (3, pytest.approx(31.5))


def test_without_a_pace_count_the_leg_is_in_metres_and_says_so():
    said = run("leg", "local 0 0", "local 300 400")
    assert said.out.startswith("37 deg  500 metres\n")
    assert "Your pace count is not known" in said.out
    assert run("leg", "local 0 0", "local 300 400", "--json").json["count"] is None


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["local 0 0"], 'Where to? Give a second place behind "local 0 0".'),
        (["local 0 0", PLACES[0]], "some of these places are local and some on the Earth"),
        (["local 1 2", "local 1 2"], "a leg from a place to itself has no azimuth"),
        (["--metres", "-5"], "-5 metres is no length to walk"),
        (["--metres", "1e20"], "1e+20 metres is no length to walk. Give 0 to 20100000."),
        (["--metres", "nan"], "nan metres is no length to walk"),
        (["local 0 0", "local 300 400", "--climb-m", "1e20"], "a climb of 1e+20 m cannot be"),
        (["local 0 0", "local 300 400", "--descent-m", "nan"], "a descent of nan m cannot be"),
        ([], "Give two or more places, or --metres N, or --paces N."),
        (["local 0 0", "Nowhere"], "Nowhere is not a place"),
    ],
)
def test_what_is_no_leg_is_one_sentence(arguments, says):
    said = run("leg", *arguments)
    assert (said.code, said.out) == (2, "")
    assert says in said.err
