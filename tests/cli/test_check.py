"""pacewright check: its keys, its exit codes, accepting, undoing, planning."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.slips.reading_slips import READING_KINDS
from pacewright.core.slips.slips import KIND_WEIGHT
from support.command import run
from support.made_logs import draw_log

PAGE = (
    "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
    "0,900,\n90,700,[at Oak]\n180,500,\n270,700,[at Gate]\n"
)
CLEAN = PAGE.replace("180,500", "180,900")
PROMISED = [
    "closures",
    "prior",
    "mistake_probability",
    "bayes_factor",
    "by_leg",
    "by_kind",
    "suspects",
    "unseen",
    "advice",
]


@pytest.fixture
def walk(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(PAGE, encoding="utf-8")
    return path


def test_the_keys_are_those_promised(walk):
    said = run("check", walk, "--json")
    assert (said.code, said.err) == (1, "")
    told = said.json
    assert set(PROMISED) | {"file"} <= set(told)
    (closure,) = told["closures"]
    assert set(closure) >= {"at", "legs", "east", "north", "length", "ratio", "mahalanobis2", "p_value"}
    assert (closure["at"], closure["legs"], round(closure["north"])) == ("Gate", [1, 4], 400)
    assert told["prior"] == 0.5
    for suspect in told["suspects"]:
        assert set(suspect) >= {"probability", "kind", "entry", "says"}
        assert ("leg" in suspect) != ("after_leg" in suspect)
        assert suspect["kind"] in {*KIND_WEIGHT, *READING_KINDS}
    assert set(told["suspects"][0]["entry"]) == {"azimuth", "count"}
    for advice in told["advice"]:
        assert set(advice) == {"observe", "station", "target", "bits"}
        assert advice["observe"] in ("sighting", "revisit", "direct_walk")
    assert {one["kind"] for one in told["by_kind"]} == {*KIND_WEIGHT, *READING_KINDS}
    assert {one["reading"] for one in told["by_reading"]} == {"marker"}


def test_suspects_and_no_mistake_sum_to_one(walk):
    told = run("check", walk, "--json").json
    total = sum(one["probability"] for one in told["suspects"])
    assert total + 1 - told["mistake_probability"] == pytest.approx(1)
    by_what = [*told["by_leg"], *told["by_reading"]]
    assert sum(one["probability"] for one in by_what) == pytest.approx(total)
    assert sum(one["probability"] for one in told["by_kind"]) == pytest.approx(total)
    odds = told["mistake_probability"] / (1 - told["mistake_probability"])
    assert odds == pytest.approx(told["bayes_factor"])


def test_a_clean_log_exits_0_and_one_with_a_mistake_1(tmp_path, walk):
    clean = tmp_path / "clean.csv"
    clean.write_text(CLEAN, encoding="utf-8")
    assert run("check", clean).code == 0
    assert run("check", walk).code == 1
    both = run("check", clean, walk, "--json")
    assert both.code == 1
    assert [one["verdict"] for one in both.objects] == ["none", "mistake"]


def test_a_log_that_checks_nothing_is_no_finding(tmp_path):
    open_log = tmp_path / "open.csv"
    open_log.write_text(PAGE.replace("[at Gate]", ""), encoding="utf-8")
    said = run("check", open_log)
    assert said.code == 0
    assert "A mistake in it would not show" in said.out


def test_one_bad_file_does_not_stop_the_rest(tmp_path, walk):
    bad = tmp_path / "bad.csv"
    bad.write_text("azimuth,count,notes\n361,5,\n", encoding="utf-8")
    said = run("check", bad, walk, "--json")
    assert said.code == 2
    assert "361 is not an azimuth" in said.objects[0]["complaint"]
    assert said.objects[1]["verdict"] == "mistake"


def test_the_sentences_say_where_to_look_what_hides_and_to_take_care(walk):
    said = run("check", walk).out
    for words in (
        "Back at Gate after legs 1 to 4",
        "A mistake is very likely (",
        "Look here first: leg ",
        "would not show in this log",
        "What would tell most about where it is",
        "Caution:",
        "1     ",
    ):
        assert words in said


def test_accepting_writes_a_new_file_and_undo_gives_the_old_one_back(tmp_path, walk):
    fixed, back = tmp_path / "fixed.csv", tmp_path / "back.csv"
    said = run("check", walk, "--accept", 1, "--out", fixed)
    assert said.code == 0, said
    assert "[was " in fixed.read_text(encoding="utf-8")
    assert walk.read_text(encoding="utf-8") == PAGE
    assert "No mistake shows" in said.out
    assert run("check", fixed, "--undo", "all", "--out", back).code == 0
    assert back.read_bytes() == walk.read_bytes()


def test_undo_takes_one_leg(tmp_path, walk):
    fixed, back = tmp_path / "fixed.csv", tmp_path / "back.csv"
    told = run("check", walk, "--accept", 1, "--out", fixed, "--json").json
    leg = run("check", walk, "--json").json["suspects"][0]["leg"]
    assert told["then"]["verdict"] == "none"
    assert run("check", fixed, "--undo", leg, "--out", back).code == 0
    assert back.read_bytes() == walk.read_bytes()


def test_nothing_is_written_over(tmp_path, walk):
    said = run("check", walk, "--accept", 1, "--out", walk)
    assert said.code == 2
    assert walk.read_text(encoding="utf-8") == PAGE


@pytest.mark.parametrize("change", [("--accept", 1), ("--undo", "all")])
def test_the_log_itself_is_not_written_over_even_by_force(walk, change):
    said = run("check", walk, *change, "--out", walk, "--force")
    assert said.code == 2
    assert "an input is never written over" in said.err
    assert walk.read_text(encoding="utf-8") == PAGE


def test_a_bearing_from_the_wrong_end_of_the_needle_is_a_finding_and_no_leg_is_blamed(tmp_path):
    page = CLEAN.replace("180,900,", "180,450,\n180,450,").replace("270,700,[", "180,,[see Oak]\n270,700,[")
    path = tmp_path / "bearing.csv"
    path.write_text(page, encoding="utf-8")
    said = run("check", path)
    assert (said.code, said.err) == (1, "")
    assert "The bearing to Oak from station 4 is wrong (over 99 %)." in said.out
    assert "Look here first" not in said.out
    told = run("check", path, "--json").json
    assert told["bearing_slips"][0]["name"] == "Oak"
    assert told["bearing_slips"][0]["probability"] > 0.9


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--accept", 1], "give one FILE and --out"),
        (["--out", "x.csv"], "add --accept or --undo"),
        (["--accept", 1, "--undo", "all", "--out", "x.csv"], "three different things"),
        (["--accept", 1, "--out", "-"], "--out must be a file here"),
        (["--prior", "1.5"], "is not a share of logs with a mistake"),
        (["--accept", 100000, "--out", "never.csv"], "there is no suspect 100000"),
        (["--undo", "2", "--out", "never.csv"], "leg 2 has no struck entry"),
        (["--undo", "two", "--out", "never.csv"], "two is neither a leg nor a name with a struck entry"),
        (["--frame", "map"], "there is no pace count"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(walk, arguments, words):
    said = run("check", walk, *arguments)
    assert said.code == 2
    assert words in said.err
    assert "Traceback" not in said.err


def test_a_plan_is_told_where_to_check_itself(tmp_path):
    plan = tmp_path / "plan.csv"
    plan.write_text(CLEAN, encoding="utf-8")
    said = run("check", plan, "--planned", "--json")
    assert said.code == 0
    best = said.json["plan"][0]
    assert set(best) == {"plan", "station", "target", "bits"}
    assert "Let a station be a place the map knows" in run("check", plan, "--planned").out


def test_a_known_point_on_the_map_is_used(tmp_path):
    """A metre-counted log of 1 km north, its end known by UTM 400 m further: four tallies too few."""
    page = (
        "# azimuth: true degrees\n# count: metres\n# start: Gate\n# known: Gate = 38N 444000 3684000 +-5 m\n"
        "# known: Hut = 38N 444000 3685400 +-5 m\nazimuth,count,notes\n0,500,\n0,500,[at Hut]\n"
    )
    path = tmp_path / "walk.csv"
    path.write_text(page, encoding="utf-8")
    told = run("check", path, "--json").json
    (closure,) = told["closures"]
    assert closure["north"] == pytest.approx(-400, abs=5)
    assert told["frame"] == "map"
    assert told["mistake_probability"] > 0.9


def test_a_walker_and_known_points_bring_in_the_map(tmp_path):
    made = draw_log(np.random.default_rng(1), "loop", 6, known=True, sightings=1)
    path, walker = tmp_path / "walk.csv", tmp_path / "walker.toml"
    path.write_text(made.text, encoding="utf-8")
    walker.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n', encoding="utf-8")
    told = run("check", path, "--walker", walker, "--two", "--route", "--json").json
    assert told["frame"] == "map"
    assert len(told["closures"]) == 2
    assert set(told["pairs"]) == {"two_probability", "log_ratio", "legs"}
    assert sum(one["probability"] for one in told["islands"]) > 0.8


def test_back_readings_name_the_stations_that_pull_the_compass(tmp_path):
    # Fore and back bearings of a published exercise with one pulled station (authorities/
    # back_bearings_quadrants.csv gives its like); here D reads 10 degrees low.
    page = tmp_path / "pull.csv"
    page.write_text(
        "# azimuth: magnetic degrees\n# count: paces\n# start: A\nazimuth,count,notes\n"
        "0,400,[at B] [back 180]\n90,400,[at C] [back 270]\n180,400,[at D] [back 350]\n"
        "260,400,[at A] [back 90]\n",
        encoding="utf-8",
    )
    told = run("check", page, "--json").json["local_attraction"]
    assert [one["station"] for one in told["stations"] if one["pulled"]] == ["D"]
    assert "The compass was pulled at D: it read 10 deg too low" in run("check", page).out


def test_a_picture_of_the_gap_and_the_suspects_is_left(tmp_path):
    page, picture = tmp_path / "walk.csv", tmp_path / "walk.svg"
    page.write_text(
        "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
        "0,900,\n90,700,\n180,500,\n270,700,[at Gate]\n",
        encoding="utf-8",
    )
    assert run("check", page, "--draw", picture).code == 1
    assert "misclosure" in picture.read_text(encoding="utf-8")
    assert run("check", page, "--draw", picture).code == 2


@pytest.mark.parametrize(("slipped", "code"), [(False, 0), (True, 1)])
def test_a_log_too_long_to_be_searched_is_still_told_how_it_closes(tmp_path, slipped, code):
    page = tmp_path / "long.csv"
    rows = [f"{90 * (k % 4)},300,{'[at Gate]' if k % 4 == 3 else ''}" for k in range(2004)]
    if slipped:
        rows[2] = "180,900,"
    head = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
    page.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")
    said = run("check", page)
    assert said.code == code
    assert "No search: a log of 2004 legs is too long to be searched slip by slip." in said.out
    told = run("check", page, "--json").json
    assert len(told["closures"]) == 501
    assert told["mistake_probability"] is None


def test_where_a_missing_leg_was_is_asked_for_and_never_guessed(tmp_path):
    page = tmp_path / "short.csv"
    page.write_text(
        "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
        "0,437,\n90,611,\n180,389,[at Gate]\n",
        encoding="utf-8",
    )
    told = run("check", page, "--json").json
    number = next(k for k, one in enumerate(told["suspects"], start=1) if one["kind"] == "leg_missing")
    first, last = told["suspects"][number - 1]["after_legs"]
    assert first < last
    said = run("check", page, "--accept", number, "--out", tmp_path / "out.csv")
    assert said.code == 2
    assert f"the missing leg may have been after any of legs {first} to {last}" in said.err
    assert not (tmp_path / "out.csv").exists()
    run("check", page, "--accept", number, "--after", last, "--out", tmp_path / "out.csv")
    assert "[est 25%]" in (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()[4 + last]


def test_a_declination_that_could_not_show_is_no_row_to_check_first(walk):
    said = run("check", walk).out
    assert "would not show in this log" in said
    assert "the declination of the whole log" not in said
