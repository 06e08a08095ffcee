"""pacewright adjust: its keys, its rules, learning, and what it refuses."""

from __future__ import annotations

import re
import tomllib

import numpy as np
import pytest

from support.authorities import close_to_printed, read_authority
from support.command import run

HEAD = "# title: Cinder Fen\n# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n"
LOOP = "azimuth,count,notes\n20,280,[at Split oak]\n100,200,\n190,270,\n275,215,[at Gate]\n50,100,\n"
KNOWN = "# known: Split oak = local 150 420 +-5 m\n"


@pytest.fixture
def walker(tmp_path):
    path = tmp_path / "ines.toml"
    path.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n', encoding="utf-8")
    return path


@pytest.fixture
def write(tmp_path):
    def writer(text, name="log.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return writer


def test_the_keys_are_those_promised(write, walker):
    said = run("adjust", write(HEAD + KNOWN + LOOP), "--walker", walker, "--json")
    assert (said.code, said.err) == (0, "")
    answer = said.json
    assert {"file", "frame", "unit", "azimuth_reference", "stations"} <= set(answer)
    assert {"parameters", "residuals", "redundancy"} <= set(answer)
    assert list(answer["stations"][0]) == ["index", "name", "leg", "east", "north", "covariance"]
    assert set(answer["parameters"]) >= {
        "compass_bias_deg",
        "compass_bias_sd_deg",
        "pace_scale",
        "pace_scale_sd",
        "observable",
    }
    assert [one["leg"] for one in answer["residuals"]] == [1, 2, 3, 4, 5]
    assert answer["redundancy"] == 4
    assert (answer["frame"], answer["unit"]) == ("map", "metre")


def test_the_known_point_draws_its_station(write, walker):
    stations = run("adjust", write(HEAD + KNOWN + LOOP), "--walker", walker, "--json").json["stations"]
    assert np.hypot(stations[1]["east"] - 150, stations[1]["north"] - 420) < 10
    assert np.hypot(stations[4]["east"], stations[4]["north"]) < 2
    assert np.trace(stations[4]["covariance"]) < np.trace(stations[3]["covariance"])


def test_a_loop_prints_neither_bias_nor_scale(write, walker):
    log = write(HEAD + LOOP)
    answer = run("adjust", log, "--walker", walker, "--frame", "map", "--json").json
    assert answer["parameters"]["compass_bias_deg"] is None
    assert answer["parameters"]["pace_scale"] is None
    assert answer["parameters"]["compass_bias_sd_deg"] == pytest.approx(1.5)
    assert answer["parameters"]["observable"] == []
    said = run("adjust", log, "--walker", walker, "--frame", "map").out
    assert "does not tell compass bias" in said
    assert "azimuths read" not in said
    assert "the way was" not in said


def test_a_known_point_prints_bias_and_scale_with_what_was_believed(write, walker):
    said = run("adjust", write(HEAD + KNOWN + LOOP), "--walker", walker)
    assert said.code == 0
    assert "Compass bias: azimuths read" in said.out
    assert "believed beforehand: 1.5 deg either way" in said.out
    assert "Pace scale: the way was" in said.out
    assert "Caution" in said.out


def test_a_log_that_nothing_checks_stands_as_reckoned(write):
    log = write(HEAD + "azimuth,count,notes\n20,280,\n100,200,\n")
    adjusted, reckoned = run("adjust", log, "--json").json, run("reckon", log, "--json").json
    for one, other in zip(adjusted["stations"], reckoned["stations"], strict=True):
        assert (one["east"], one["north"]) == pytest.approx((other["east"], other["north"]))
        np.testing.assert_allclose(one["covariance"], other["covariance"], rtol=1e-12)
    assert adjusted["redundancy"] == 0
    assert "Nothing in this log checks it" in run("adjust", log).out


def test_a_log_with_a_gross_misfit_is_a_finding_and_nothing_is_spread(write):
    log = write(HEAD + LOOP.replace("190,270", "10,270"))
    said = run("adjust", log)
    assert said.code == 1
    assert said.out.startswith("Take care: this log does not close as it should and may hold a mistake (")
    assert "not adjusted: that would spread the mistake over legs that hold none" in said.out
    told, reckoned = run("adjust", log, "--json").json, run("reckon", log, "--json").json
    assert (told["adjusted"], told["doubts"]) == (False, reckoned["doubts"])
    for one, other in zip(told["stations"], reckoned["stations"], strict=True):
        assert (one["east"], one["north"]) == pytest.approx((other["east"], other["north"]))
        np.testing.assert_allclose(one["covariance"], other["covariance"])


@pytest.mark.parametrize("how", [("--robust",), ("--rule", "compass")])
def test_a_mistake_that_is_spread_all_the_same_is_said_to_be(write, how):
    log = write(HEAD + LOOP.replace("190,270", "10,270"))
    said = run("adjust", log, *how)
    assert "What follows spreads it over legs that hold none." in said.out.splitlines()[0]
    assert "adjusted by" in said.out.splitlines()[1]


def test_a_reading_that_is_wrong_is_left_out_of_the_adjustment(write):
    """The same loop with one back reading written as the azimuth of its leg, and without that reading."""
    right = "azimuth,count,notes\n37,500,[back 217]\n120,310,[back 300]\n205,405,\n287,350,[at Gate]\n"
    bare = write(HEAD + right, "right.csv")
    slipped = write(HEAD + right.replace("205,405,", "205,405,[back 205]"), "slipped.csv")
    told = run("adjust", slipped, "--json")
    assert "back reading of leg 3" in told.json["doubts"][0]
    assert told.code == 1
    for one, other in zip(told.json["stations"], run("adjust", bare, "--json").json["stations"], strict=True):
        assert (one["east"], one["north"]) == pytest.approx((other["east"], other["north"]))


def test_the_compass_rule_gives_the_figures_of_the_class_notes(write):
    # Class notes of Purdue University; their coordinates hold to 0.01 (see the heading of that file).
    legs = read_authority("traverse_purdue.csv")
    head = "# azimuth: true degrees\n# count: metres\n# start: A\nazimuth,count,notes\n"
    rows = [f"{leg['azimuth']},{leg['length']},[at {leg['leg'][1]}]\n" for leg in legs]
    stations = run("adjust", write(head + "".join(rows)), "--rule", "compass", "--json").json["stations"]
    for station, leg in zip(stations[1:], legs, strict=True):
        assert station["north"] + 10000 == pytest.approx(float(leg["north"]), abs=0.011)
        assert station["east"] + 10000 == pytest.approx(float(leg["east"]), abs=0.011)


@pytest.mark.parametrize("rule", ["compass", "transit"])
def test_a_textbook_rule_closes_the_loop_and_says_what_it_cannot(write, rule):
    log = write(HEAD + "azimuth,count,notes\n0,100,\n90,100,\n180,104,\n270,100,[at Gate]\n0,,[see Gate]\n")
    said = run("adjust", log, "--rule", rule, "--json")
    assert said.code == 0
    answer = said.json
    assert answer["rule"] == rule
    last = answer["stations"][4]
    assert (last["east"], last["north"]) == pytest.approx((0, 0), abs=1e-9)
    assert last["covariance"] is None
    assert answer["parameters"]["compass_bias_deg"] is None
    assert "does not say how sure a station is" in run("adjust", log, "--rule", rule).out


def test_the_compass_rule_spreads_by_length(write):
    # By hand: 4 paces south over 404 paces; a leg of 100 takes 100/404 of them.
    log = write(HEAD + "azimuth,count,notes\n0,100,\n90,100,\n180,104,\n270,100,[at Gate]\n")
    stations = run("adjust", log, "--rule", "compass", "--json").json["stations"]
    assert stations[1]["north"] == pytest.approx(100 + 4 * 100 / 404)
    assert stations[2]["north"] == pytest.approx(100 + 4 * 200 / 404)


def test_robust_shows_how_far_each_leg_is_trusted(write):
    said = run("adjust", write(HEAD + LOOP), "--robust")
    assert said.code == 0
    assert "trust" in said.out
    assert "trust" not in run("adjust", write(HEAD + LOOP)).out


def test_learning_shows_before_and_after_and_writes_the_walker(write, walker, tmp_path):
    out = tmp_path / "after.toml"
    said = run("adjust", write(HEAD + KNOWN + LOOP), "--walker", walker, "--learn", "--out", out)
    assert said.code == 0
    assert "Pace count: 62.5 give or take 1.9 before" in said.out
    table = tomllib.loads(out.read_text(encoding="utf-8"))
    assert table["pace"]["per_100_m"] != 62.5
    assert table["pace"]["scale_sd_pct"] < 3.0
    assert table["evidence"]["logs"] == 1.0
    assert "own logs" in table["origin"]["pace.per_100_m"]
    # The walker that comes out can be used at once.
    assert run("adjust", write(HEAD + KNOWN + LOOP), "--walker", out).code == 0


def test_learning_writes_over_the_walker_it_learns_from_in_no_case(write, walker):
    log, before = write(HEAD + KNOWN + LOOP), walker.read_bytes()
    for force in ((), ("--force",)):
        assert run("adjust", log, "--walker", walker, "--learn", "--out", walker, *force).code == 2
        assert walker.read_bytes() == before
    learnt = walker.with_name("learnt.toml")
    assert run("adjust", log, "--walker", walker, "--learn", "--out", learnt).code == 0
    assert run("adjust", log, "--walker", walker, "--learn", "--out", learnt).code == 2
    assert run("adjust", log, "--walker", walker, "--learn", "--out", learnt, "--force").code == 0


def test_learning_from_several_logs_is_one_more_object(write, walker):
    logs = [write(HEAD + KNOWN + LOOP, f"{k}.csv") for k in range(3)]
    said = run("adjust", *logs, "--walker", walker, "--learn", "--json")
    assert [one.get("file") for one in said.objects] == [*map(str, logs), None]
    names = [change["name"] for change in said.objects[-1]["learnt"]]
    assert "pace count" in names
    assert "compass bias" in names


SLIPPED = LOOP.replace("190,270,", "190,170,").replace("50,100,", "20,280,[at Split oak]")
"""A hundred was not tallied on leg 3; the way to the oak was walked once more."""


def test_a_log_that_check_condemns_is_left_out_of_learning_and_said_so(write, walker):
    good, bad = write(HEAD + KNOWN + LOOP, "good.csv"), write(HEAD + SLIPPED, "bad.csv")
    assert run("check", bad, "--walker", walker).code == 1
    said = run("adjust", good, bad, "--walker", walker, "--learn")
    assert said.code == 1
    told = said.out[said.out.index("Learning, for Ines Rowe:") :].splitlines()[1]
    assert told.startswith(f"{bad} is left out: by pacewright check it holds a mistake (")
    assert told.endswith(" % sure). Mend the log, and learn from it then.")
    alone = run("adjust", good, "--walker", walker, "--learn", "--json")
    both = run("adjust", good, bad, "--walker", walker, "--learn", "--json")
    assert both.objects[-1]["learnt"] == alone.objects[-1]["learnt"]


def test_a_log_of_another_walker_is_not_learnt_from_unless_forced(write, walker):
    other, own = write(HEAD + KNOWN + "# walker: Bo Lind\n" + LOOP, "bo.csv"), write(HEAD + KNOWN + LOOP)
    said = run("adjust", other, own, "--walker", walker, "--learn", "--json")
    assert said.code == 2
    assert said.objects[0]["complaint"] == (
        f"{other}, column heading walker: this log is not learnt from: the heading names Bo Lind as the "
        "walker, and the figures are those of Ines Rowe. Give the walker's own file, correct the name, or "
        "add --force."
    )
    learnt = said.objects[-1]["learnt"]
    assert learnt == run("adjust", own, "--walker", walker, "--learn", "--json").objects[-1]["learnt"]
    forced = run("adjust", other, "--walker", walker, "--learn", "--force", "--json")
    assert (forced.code, forced.objects[-1]["learnt"]) == (0, learnt)
    # To adjust it is another matter: that is said, and done.
    assert "Whose log is this?" in run("adjust", other, "--walker", walker).out


def test_one_bad_file_does_not_stop_the_rest(write, walker):
    good, bad = write(HEAD + LOOP, "good.csv"), write("no log at all\n", "bad.csv")
    said = run("adjust", bad, good, "--json")
    assert said.code == 2
    assert "complaint" in said.objects[0]
    assert said.objects[1]["redundancy"] == 2


def test_known_places_on_the_map_are_used_where_the_start_has_one(write, walker):
    # Half a minute of latitude is 926 m north of the start (60 nautical miles of 1852 m a degree).
    heading = (
        "# date: 2026-05-14\n# declination: 5 E\n# known: Gate = 48.0000 16.0000 +-5 m\n"
        "# known: Split oak = 48.00833 16.0000 +-5 m\n"
    )
    log = write(HEAD + heading + "azimuth,count,notes\n355,290,\n355,290,[at Split oak]\n")
    answer = run("adjust", log, "--walker", walker, "--json").json
    assert answer["azimuth_reference"] == "grid"
    assert answer["redundancy"] == 2
    last = answer["stations"][2]
    assert np.hypot(last["east"], last["north"]) == pytest.approx(926, rel=0.005)


def test_one_known_place_on_the_map_says_where_the_log_lies_and_checks_nothing(write, walker):
    heading = "# declination: 5 E\n# known: Split oak = 48.00833 16.0000 +-5 m\n"
    log = write(HEAD + heading + "azimuth,count,notes\n355,580,[at Split oak]\n")
    answer = run("adjust", log, "--walker", walker, "--json").json
    assert (answer["frame"], answer["redundancy"], answer["unused"]) == ("map", 0, [])
    said = run("reckon", log, "--walker", walker, "--json").json
    # Half a minute of latitude is 926 m (60 nautical miles of 1852 m a degree); 580 paces are 928 m.
    assert said["placed"]["stations"][0]["position"]["latitude_deg"] == pytest.approx(48.0, abs=0.0001)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--out", "x.toml"), "add --learn"),
        (("--rule", "compass", "--robust"), "go with least squares"),
        (("--rule", "transit", "--learn"), "go with least squares"),
        (("--learn", "--out", "-"), "file name"),
    ],
)
def test_options_that_do_not_go_together_are_refused(write, options, says):
    said = run("adjust", write(HEAD + LOOP), *options)
    assert said.code == 2
    assert says in said.err


def test_a_rule_shows_its_working_as_the_textbooks_do(tmp_path):
    # The closed traverse of the Purdue course notes (authorities/traverse_purdue.csv), in feet as metres.
    rows = read_authority("traverse_purdue.csv")
    page, picture = tmp_path / "purdue.csv", tmp_path / "purdue.svg"
    lines = [f"{row['azimuth']},{row['length']},{'[at A]' if row is rows[-1] else ''}" for row in rows]
    heading = "# azimuth: true degrees\n# count: metres\n# start: A\nazimuth,count,notes\n"
    page.write_text(heading + "\n".join(lines) + "\n", encoding="utf-8")
    said = run("adjust", page, "--rule", "compass", "--draw", picture)
    assert said.code == 0, said.err
    assert re.search(r"latitude +departure +corr. lat. +corr. dep.", said.out)
    for row in rows:
        shown = [float(number) for number in re.findall(r"-?\d+\.\d+", said.out)]
        assert any(close_to_printed(number, row["latitude"]) for number in shown)
    assert "as walked" in picture.read_text(encoding="utf-8")
