"""The published examples of closures, local attraction and cuts, typed as a user would and asked as one.

The same files are held against the functions inside elsewhere; here only what the commands print counts.
Feet of the books are counted as metres, which changes no number of a figure.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import lsq_linear

from support.authorities import close_to_printed, printed, read_authority
from support.command import run

HEAD = "# azimuth: true degrees\n# count: metres\n# start: A\nazimuth,count,notes\n"
LOOPS = [
    "traverse_purdue",
    "traverse_compass_rule_lesson",
    "traverse_mahun_adjustment",
    "traverse_mahun_bearing",
]
ATTRACTION = ["back_bearings_open", "back_bearings_quadrants", "back_bearings_loop"]
SURVEYOR = """\
[compass]
azimuth_sd_deg = 0.02
bias_sd_deg = 0.02
sighting_sd_deg = 0.02
reading_interval_deg = 0.01
"""
"""Who reads a compass of the books, to the minute."""


@pytest.fixture
def write(tmp_path):
    def writer(rows, name="log.csv"):
        path = tmp_path / name
        # Seconds of a book's azimuth are a quotation mark.
        lines = [",".join(_cell(cell) for cell in row) for row in rows]
        path.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
        return path

    return writer


@pytest.fixture
def surveyor(tmp_path):
    path = tmp_path / "surveyor.toml"
    path.write_text(SURVEYOR, encoding="utf-8")
    return path


def _cell(text):
    return '"' + text.replace('"', '""') + '"' if '"' in text else text


def totals(name):
    return {row["quantity"]: row for row in read_authority(f"{name}_totals.csv")}


def loop(name):
    """A printed loop as rows, its last leg back at A."""
    rows = read_authority(f"{name}.csv")
    ends = [""] * (len(rows) - 1) + ["[at A]"]
    return rows, [(row["azimuth"], row["length"], end) for row, end in zip(rows, ends, strict=True)]


def parts(stations):
    """Latitude and departure of every leg between stations as printed by a command."""
    places = np.array([(one["north"], one["east"]) for one in stations])
    return np.diff(places, axis=0).tolist()


def angle_deg(text):
    """Degrees and minutes, with or without a sign, in degrees."""
    sign = -1 if text.startswith("-") else 1
    degrees, _, minutes = text.strip("+-'").partition("°")
    return sign * (float(degrees) + float(minutes or 0) / 60)


# Closures.


@pytest.mark.parametrize("name", LOOPS)
def test_check_says_what_a_printed_loop_misses_by(write, name):
    _, rows = loop(name)
    sums = totals(name)
    (closure,) = run("check", write(rows), "--json").json["closures"]
    assert (closure["at"], closure["legs"]) == ("A", [1, len(rows)])
    assert close_to_printed(closure["north"], sums["latitude_sum"]["recomputed"])
    assert close_to_printed(closure["east"], sums["departure_sum"]["recomputed"])
    assert close_to_printed(closure["length"], sums["misclosure"]["recomputed"])
    assert close_to_printed(closure["ratio"], sums["ratio"]["recomputed"])


@pytest.mark.parametrize("name", LOOPS)
def test_reckon_gives_the_printed_latitudes_and_departures(write, name):
    printed_legs, rows = loop(name)
    open_rows = [(azimuth, length, "") for azimuth, length, _ in rows]
    stations = run("reckon", write(open_rows), "--json").json["stations"]
    for leg, (latitude, departure) in zip(printed_legs, parts(stations), strict=True):
        assert close_to_printed(latitude, leg["latitude"]), leg["leg"]
        assert close_to_printed(departure, leg["departure"]), leg["leg"]


def test_the_printed_form_is_as_fine_as_the_book_and_fits_the_screen(write):
    """Purdue University, ASM 215, Traverse calculations: minutes of arc, hundredths of a foot."""
    rows, legs = loop("traverse_purdue")
    said = run("adjust", write(legs), "--rule", "compass", columns=80).out
    assert max(map(len, said.splitlines())) <= 80 and "Not shown" not in said
    for row in rows:
        assert any(row["azimuth"] in line and row["length"] in line for line in said.splitlines())
    keys = run("adjust", write(legs), "--rule", "compass", "--json").json["traverses"][0]
    assert [leg["length"] for leg in keys["legs"]] == [float(row["length"]) for row in rows]
    assert sum(leg["latitude_correction"] for leg in keys["legs"]) == pytest.approx(-keys["misclosure_north"])


def test_the_area_of_a_square_its_slopes_and_its_back_readings(write):
    """Plane geometry: 100 m taped up 60 degrees is 50 m level; fore 10 and back 194 are 12 together."""
    legs = [("0", "100", "[slope 60 deg]"), ("90", "50", ""), ("180", "100", "[slope 60 deg]")]
    square = write([*legs, ("270", "50", "[at A]")])
    assert run("adjust", square, "--rule", "compass", "--level-lengths", "--json").json["traverses"][0][
        "area"
    ] == pytest.approx(2500)
    both = write([("10", "100", "[back 194]"), ("192", "100", "[at A]")], "both.csv")
    keys = run("adjust", both, "--rule", "compass", "--mean-back", "--json").json["traverses"][0]
    assert keys["legs"][0]["azimuth_deg"] == pytest.approx(12) and keys["misclosure"] == pytest.approx(0)
    assert "Write [slope 12 deg]" in run("adjust", both, "--level-lengths").err


@pytest.mark.parametrize("name", ["traverse_compass_rule_lesson", "traverse_mahun_adjustment"])
def test_adjust_by_the_compass_rule_gives_the_printed_parts(write, name):
    printed_legs, rows = loop(name)
    stations = run("adjust", write(rows), "--rule", "compass", "--json").json["stations"]
    for leg, (latitude, departure) in zip(printed_legs, parts(stations), strict=True):
        # The sources add corrections worked from parts already rounded to 0.001.
        assert latitude == pytest.approx(printed(leg["adjusted_latitude"]), abs=0.0011), leg["leg"]
        assert departure == pytest.approx(printed(leg["adjusted_departure"]), abs=0.0011), leg["leg"]


@pytest.mark.parametrize(
    ("name", "rule"), [("traverse_transit_rule", "transit"), ("traverse_model_exam", "compass")]
)
def test_adjust_gives_the_printed_parts_of_a_traverse_given_by_its_parts(write, name, rule):
    printed_legs = read_authority(f"{name}.csv")
    rows = [_row_of_parts(printed(leg["latitude"]), printed(leg["departure"])) for leg in printed_legs]
    rows[-1] = (*rows[-1][:2], "[at A]")
    stations = run("adjust", write(rows), "--rule", rule, "--json").json["stations"]
    for leg, (latitude, departure) in zip(printed_legs, parts(stations), strict=True):
        # The sources round each correction to its last digit before they add it.
        assert close_to_printed(latitude, leg["adjusted_latitude"], units=1), leg["leg"]
        assert close_to_printed(departure, leg["adjusted_departure"], units=1), leg["leg"]


def _row_of_parts(latitude, departure):
    azimuth = math.degrees(math.atan2(departure, latitude)) % 360
    return f"{azimuth:.6f}", f"{math.hypot(latitude, departure):.6f}", ""


def test_check_says_the_ratio_of_the_navy_manual(write):
    book = {row["quantity"]: row for row in read_authority("traverse_navy.csv")}
    north, east = printed(book["error_latitude"]["printed"]), printed(book["error_departure"]["printed"])
    # Any loop of that length that misses by as much: two ways out, two back.
    side = (printed(book["perimeter"]["printed"]) - north - east) / 4
    out = [("N", side + north), ("E", side + east), ("S", side), ("W", side)]
    rows = [(azimuth, f"{length:.4f}", "[at A]" if azimuth == "W" else "") for azimuth, length in out]
    (closure,) = run("check", write(rows), "--json").json["closures"]
    assert close_to_printed(closure["length"], book["misclosure"]["printed"])
    assert close_to_printed(closure["ratio"], book["ratio"]["recomputed"])
    assert closure["ratio"] == pytest.approx(printed(book["ratio"]["printed"]), rel=0.01)


def test_back_walks_the_missing_side_of_a_loop(write):
    book = {row["quantity"]: row["recomputed"] for row in read_authority("traverse_missing_side.csv")}
    rows = [("N", book["known_latitude_sum"], ""), ("W", book["known_departure_sum"].lstrip("-"), "")]
    answer = run("back", write(rows), "--json").json
    side = book["missing_azimuth"]
    # Printed as S35°56.06'E, from parts printed to a hundredth of a metre.
    assert answer["azimuth_deg"] == pytest.approx(180 - angle_deg(side[1:-1]), abs=0.006 / 60)
    assert answer["count"] == round(printed(book["missing_length"]))


# Local attraction.


@pytest.mark.parametrize("name", ATTRACTION)
def test_check_gives_the_printed_corrections_station_by_station(write, surveyor, name):
    book = read_authority(f"{name}.csv")
    log = write(_read_both_ways(book))
    found = run("check", log, "--walker", surveyor, "--json").json["local_attraction"]
    correction = {one["station"]: one["correction_deg"] for one in found["stations"]}
    assert found["unreached"] == []
    assert found["assumed_clean"] is False
    for leg in book:
        first, last = leg["leg"]
        assert correction[first] == pytest.approx(angle_deg(leg["correction_at_start"]), abs=1e-6)
        assert correction[last] == pytest.approx(angle_deg(leg["correction_at_end"]), abs=1e-6)


@pytest.mark.parametrize("name", ATTRACTION)
def test_check_holds_as_clean_what_the_source_holds_as_clean(write, surveyor, name):
    book = read_authority(f"{name}.csv")
    found = run("check", write(_read_both_ways(book)), "--walker", surveyor, "--json").json[
        "local_attraction"
    ]
    printed_pulled = {leg["leg"][0] for leg in book if angle_deg(leg["correction_at_start"])}
    printed_pulled |= {leg["leg"][1] for leg in book if angle_deg(leg["correction_at_end"])}
    assert {one["station"] for one in found["stations"] if one["pulled"]} == printed_pulled


def _read_both_ways(book):
    """Fore and back bearings as a log; the sources tell no lengths: such as close the loop."""
    corrected = np.radians([angle_deg(leg["corrected_fore"]) for leg in book])
    length = np.full(len(book), 200.0)
    if book[-1]["leg"][1] == book[0]["leg"][0]:
        steps = np.stack([np.sin(corrected), np.cos(corrected)])
        length = lsq_linear(steps, np.zeros(2), (50.0, 500.0)).x
        assert np.abs(steps @ length).max() < 1e-3
    return [
        (leg["fore"], f"{one:.2f}", f"[at {leg['leg'][1]}] [back {leg['back']}]")
        for leg, one in zip(book, length, strict=True)
    ]


def test_check_adds_up_the_included_angles_as_printed(write, surveyor):
    """The five-sided loop of included_angles.csv: 540°30' in place of 540°, 6' off each angle."""
    book = read_authority("included_angles.csv")
    rows = [
        (leg["fore"], "200", f"[at {leg['leg'][1]}] [back {leg['back']}]" if leg["back"] else "")
        for leg in book
    ]
    total = sum(angle_deg(leg["angle"]) for leg in book)
    assert total == pytest.approx(540.5)
    said = run("check", write(rows), "--walker", surveyor).out
    assert f"angles of the loop add up to {total:g} deg" in said


# Intersection and resection.


def test_fix_gives_the_printed_intersection_and_finds_itself_from_there():
    book = {row["point"]: row for row in read_authority("intersection_mahun.csv")}
    sights = [arg for k in "LM" for arg in ("--from", f"{_place(book[k])}={book[k]['azimuth']}")]
    seen = run("fix", *sights, "--json").json
    assert seen["kind"] == "intersection"
    assert close_to_printed(seen["east"], book["P"]["east"])
    assert close_to_printed(seen["north"], book["P"]["north"])
    off = math.hypot(seen["east"] - printed(book["L"]["east"]), seen["north"] - printed(book["L"]["north"]))
    assert close_to_printed(off, book["L"]["distance_to_p"])
    # The same lines read at their other end: a resection at P.
    turned = {k: _turned(book[k]["azimuth"]) for k in "LM"}
    bearings = [arg for k in "LM" for arg in ("--bearing", f"{k}={_place(book[k])}={turned[k]}")]
    own = run("fix", *bearings, "--json").json
    assert own["kind"] == "resection"
    assert close_to_printed(own["east"], book["P"]["east"])
    assert close_to_printed(own["north"], book["P"]["north"])


def _place(row):
    return f"local {row['east']} {row['north']}"


def _turned(azimuth):
    degrees, _, rest = azimuth.partition("°")
    return f"{(int(degrees) + 180) % 360}°{rest}"


def test_fix_puts_the_tree_of_a_log_where_the_class_page_puts_it(write):
    """A walk of 75 m along the bank, the tree sighted from both ends (river_widths.csv)."""
    book = [row for row in read_authority("river_widths.csv") if row["method"] == "base_line"]
    base = next(row for row in book if row["base_azimuth"])
    width = next(row["result"] for row in book if row["result"] == "63.27")
    rows = [
        ("38", "", "[see Far oak]"),
        (base["base_azimuth"], base["base"], "[at B]"),
        ("338", "", "[see Far oak]"),
    ]
    answer = run("fix", write(rows), "--landmark", "Far oak", "--json").json
    assert close_to_printed(answer["north"], width)
