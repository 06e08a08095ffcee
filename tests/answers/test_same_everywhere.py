"""One log, one answer: every command, sheet and export says the same numbers."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path

import pytest

import pacewright
from support.command import run
from support.pdf_pages import words

GROUND = Path(pacewright.__file__).parent / "data/demo_ground.tif"
HEAD = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n"
WALKER = 'name = ""\n[pace]\nper_100_m = 62.5\n'
LOGS = {
    "a loop, a known place and a back reading copied forward": (
        "# known: Mill = local 480 640 +-5 m\nazimuth,count,notes\n"
        "37,500,[at Mill] [back 217]\n120,310,[back 300]\n205,405,[back 205]\n280,340,[at Gate]\n"
        "60,200,\n150,120,\n"
    ),
    "a bad loop on the way": (
        "azimuth,count,notes\n20,300,[at Oak]\n0,900,\n90,700,\n180,500,\n270,700,[at Oak]\n60,200,[at End]\n"
    ),
    "a start that bearings alone tell": (
        "# declination: 4 E\n# known: Fire tower = 37.4650 -119.2980 +-5 m\n"
        "# known: Grey crag = 37.4500 -119.2800 +-5 m\n# known: Mast = 37.4420 -119.3080 +-5 m\n"
        "azimuth,count,notes\n358,,[see Fire tower]\n94,,[see Grey crag]\n213,,[see Mast]\n"
        "45,300,[at Oak]\n120,240,\n"
    ),
    "open legs": "azimuth,count,notes\n305,240,\n38,185,[at Split oak]\n52,330,[box right 40]\n",
}


def say_place(place):
    return place if isinstance(place, str) else f"station {place}"


@pytest.fixture(params=LOGS, ids=lambda name: name.replace(" ", "_"))
def page(request, tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(HEAD + LOGS[request.param], encoding="utf-8")
    (tmp_path / "walker.toml").write_text(WALKER, encoding="utf-8")
    return path


def test_commands_sheets_and_exports_say_the_same_of_one_log(page):
    walker = ("--walker", page.with_name("walker.toml"))
    back = run("back", page, *walker, "--json").json
    stations = run("reckon", page, *walker, "--json").json["stations"]
    step = [stations[back["to_index"]][key] - stations[back["from_index"]][key] for key in ("east", "north")]
    assert back["count"] == math.floor(math.hypot(*step) + 0.5)
    assert back["azimuth_deg"] == pytest.approx(math.degrees(math.atan2(*step)) % 360, abs=1e-6)

    line, *more = run("back", page, *walker).out.splitlines()
    assert line.startswith(f"{back['azimuth_deg']:.0f} deg  {back['count']} paces")
    assert f"From {say_place(back['from'])} to {say_place(back['to'])} (magnetic)." in more
    order = f"azimuth {back['azimuth_deg']:.0f} deg (magnetic), {back['count']} paces"
    for kind in ("way-back", "leg-card", "debrief"):
        out = page.with_name(f"{kind}.pdf")
        assert run("sheet", kind, page, *walker, "--out", out).code == 0
        assert order in words(out.read_bytes()), kind
    stands = run("reckon", page, *walker).out.split("You are ")[1].splitlines()[0]
    assert f"You are {stands}" in words(page.with_name("debrief.pdf").read_bytes())

    picture = page.with_name("walk.svg")
    assert run("draw", page, *walker, "--frame", "walker", "--out", picture).code == 0
    assert f"back {back['azimuth_deg']:.0f}°, {back['count']} paces" in picture.read_text(encoding="utf-8")

    adjusted = run("adjust", page, *walker, "--frame", "map", "--json").json["stations"]
    for one, other in zip(
        adjusted, run("reckon", page, *walker, "--frame", "map", "--json").json["stations"], strict=True
    ):
        assert (one["east"], one["north"]) == pytest.approx((other["east"], other["north"]), abs=0.01)

    table = page.with_name("stations.csv")
    assert run("export", page, *walker, "--frame", "walker", "--out", table).code == 0
    last = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))[-1]
    east = next(float(value) for key, value in last.items() if key.startswith("east"))
    assert east == pytest.approx(stations[-1]["east"], abs=0.01)


def test_a_start_told_by_bearings_is_one_place_in_every_answer(tmp_path):
    page, walker = tmp_path / "walk.csv", tmp_path / "walker.toml"
    page.write_text(HEAD + LOGS["a start that bearings alone tell"], encoding="utf-8")
    walker.write_text(WALKER, encoding="utf-8")
    said = run("reckon", page, "--walker", walker, "--json").json["placed"]
    last = said["stations"][-1]["position"]
    exported = tmp_path / "walk.geojson"
    assert run("export", page, "--walker", walker, "--out", exported).code == 0
    points = [
        one["geometry"]["coordinates"]
        for one in json.loads(exported.read_text(encoding="utf-8"))["features"]
        if one["geometry"]["type"] == "Point"
    ]
    assert [last["longitude_deg"], last["latitude_deg"]] in [
        pytest.approx(point[:2], abs=2e-6) for point in points
    ]
    for kind in ("emergency", "map"):
        out = tmp_path / f"{kind}.pdf"
        more = ("--terrain", GROUND) if kind == "map" else ()
        assert run("sheet", kind, page, "--walker", walker, *more, "--out", out).code == 0
        assert "Fire tower" in words(out.read_bytes()), kind
    assert f"{last['latitude_deg']:.3f} N" in words((tmp_path / "emergency.pdf").read_bytes())


def test_every_output_that_sends_somebody_warns_of_a_bad_log(tmp_path):
    page = tmp_path / "bad.csv"
    page.write_text(HEAD + LOGS["a bad loop on the way"], encoding="utf-8")
    # The answer stands alone in the first line, and the warning right under it.
    assert run("reckon", page).out.splitlines()[1].startswith("Take care")
    assert run("back", page).out.splitlines()[1].startswith("Take care")
    for command in ("reckon", "back"):
        assert "Take care" in run(command, page, "--brief").out, command
    assert run("adjust", page).out.startswith("Take care")
    assert "not adjusted" in run("adjust", page).out
    assert "Take care" in run("export", page, "--out", tmp_path / "s.csv").out
    for kind in ("way-back", "leg-card", "debrief", "traverse-table", "route", "emergency"):
        out = tmp_path / f"{kind}.pdf"
        run("sheet", kind, page, "--out", out)
        assert "Take care" in words(out.read_bytes()), kind
    assert "The stations, as written" in words((tmp_path / "debrief.pdf").read_bytes())
    for name in ("adjusted.svg", "adjusted-robust.svg"):
        run("adjust", page, "--draw", tmp_path / name, *(["--robust"] if "robust" in name else []))
        assert "Take care" in (tmp_path / name).read_text(encoding="utf-8"), name
    run("draw", page, "--out", tmp_path / "walk.svg")
    assert "Take care" in (tmp_path / "walk.svg").read_text(encoding="utf-8")
    sun = ("sun", "46", "8", "--date", "2026-05-14", "--time", "17:00", "--zone", "+02:00")
    (tmp_path / "walker.toml").write_text(WALKER, encoding="utf-8")
    said = run(*sun, "--back", page, "--walker", tmp_path / "walker.toml")
    assert "Take care" in said.out
    told = json.loads(run(*sun, "--back", page, "--walker", tmp_path / "walker.toml", "--json").out)
    assert told["back"]["mistake_probability"] is not None


def test_every_output_on_the_map_warns_of_a_bad_log(tmp_path):
    page, walker = tmp_path / "bad.csv", tmp_path / "walker.toml"
    placed = (
        HEAD
        + "# declination: 4 E\n# known: Gate = 37.4521 -119.2984 +-10 m\n"
        + LOGS["a bad loop on the way"]
    )
    page.write_text(placed, encoding="utf-8")
    walker.write_text(WALKER, encoding="utf-8")
    for ending in ("gpx", "gpkg", "geojson", "csv"):
        out = tmp_path / f"walk.{ending}"
        assert "Take care" in run("export", page, "--walker", walker, "--out", out).out, ending
        # Who opens the file in another program reads it there.
        assert b"Take care: this log" in out.read_bytes(), ending
    assert "Take care" in run("adjust", page, "--walker", walker).out
    on_ground = (page, "--walker", walker, "--terrain", GROUND)
    assert run("sheet", "map", *on_ground, "--out", tmp_path / "map.pdf").code == 0
    assert "Take care" in words((tmp_path / "map.pdf").read_bytes())
    assert run("draw", *on_ground, "--out", tmp_path / "map.svg").code == 0
    assert "Take care" in (tmp_path / "map.svg").read_text(encoding="utf-8")


def test_no_time_to_set_out_while_the_legs_of_the_way_may_hold_the_mistake(tmp_path):
    """The square closes but for a known end that a lost hundred would explain."""
    page = tmp_path / "open.csv"
    page.write_text(
        HEAD + "# known: Barn = local 640 960 +-2 m\nazimuth,count,notes\n0,300,\n90,400,[at Barn]\n0,10,\n",
        encoding="utf-8",
    )
    (tmp_path / "walker.toml").write_text(WALKER, encoding="utf-8")
    sun = ("sun", "46", "8", "--date", "2026-05-14", "--time", "17:00", "--zone", "+02:00", "--back", page)
    said = run(*sun, "--walker", tmp_path / "walker.toml")
    assert "Set out by" not in said.out
    assert "No time to set out is given" in said.out
    assert said.code == 1


def test_places_that_tell_the_pace_tell_it_in_every_answer(tmp_path):
    """Neither the start nor a pace count is known: two places on a map, 977 metres apart, tell both."""
    page = tmp_path / "walk.csv"
    page.write_text(
        HEAD + "# declination: 12.5 E\n# known: Oak = 37.4521 -119.2984 +-5 m\n"
        "# known: Mill = 37.4609 -119.2984 +-5 m\nazimuth,count,notes\n"
        "70,210,[at Oak]\n346,330,\n349,300,[at Mill]\n230,200,\n",
        encoding="utf-8",
    )
    for command in ("reckon", "back", "check", "adjust"):
        said = run(command, page)
        assert said.code == 0
        assert command == "back" or "You gave no pace count" in said.out, command
    told = run("reckon", page, "--json").json
    placed = [station["position"] for station in told["placed"]["stations"]]
    metres = run("reckon", page, "--frame", "map", "--json").json["stations"]
    adjusted = run("adjust", page, "--json").json["stations"]
    for one, other, there in zip(metres, adjusted, placed, strict=True):
        step = (one["east"], one["north"])
        assert step == pytest.approx((other["east"], other["north"]), abs=1e-6)
        on_grid = (there["east_m"] - placed[0]["east_m"], there["north_m"] - placed[0]["north_m"])
        assert on_grid == pytest.approx(step, abs=1e-6)
    # The two places lie where the map has them, within what they are unsure by.
    apart = math.hypot(*(placed[3][key] - placed[1][key] for key in ("east_m", "north_m")))
    assert apart == pytest.approx(976.7, abs=3)
    back = run("back", page, "--json").json
    assert back["map"]["length_m"] == pytest.approx(math.hypot(metres[4]["east"], metres[4]["north"]))


def test_a_mistake_that_may_be_a_leg_or_a_marker_is_warned_of_in_every_answer(tmp_path):
    """Neither a leg nor a reading is likelier than not by itself; that there is a mistake, is."""
    page = tmp_path / "walk.csv"
    page.write_text(
        "# azimuth: magnetic mils\n# count: steps\n# start: Spring\n# known: Ford = local 300 420 +-4 m\n"
        "azimuth,count,notes\n600,420,[at Elm]\n800,310,[back 4000] [at Ford]\n3400,500,\n"
        "4900,430,[at Spring]\n1000,200,\n",
        encoding="utf-8",
    )
    told = run("check", page, "--json").json
    assert told["mistake_probability"] > 0.7
    assert max(one["probability"] for one in (*told["by_reading"], *told["by_leg"])) < 0.5
    for command in ("reckon", "back", "adjust"):
        lines = run(command, page).out.splitlines()
        assert any(line.startswith("Take care") for line in lines[:2]), command
