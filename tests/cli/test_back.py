"""pacewright back: its keys, from and to, and the log it writes."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.answers.way import way_back
from pacewright.files.log_csv import read_log
from support.command import run

PAGE = (
    "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
    "N,1200,[at Oak] by the wall\nE,900,[box right 40] pond\nS,1200,[at Ford]\n"
)
PROMISED = ["to", "from", "azimuth_deg", "count", "tally", "covariance", "probability", "along", "across"]


@pytest.fixture
def walk(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(PAGE, encoding="utf-8")
    return path


def answer(*arguments) -> dict:
    said = run("back", *arguments, "--json")
    assert (said.code, said.err) == (0, ""), said
    return said.json


def test_the_keys_are_those_promised(walk):
    told = answer(walk)
    assert set(PROMISED) | {"file"} <= set(told)
    assert (told["from"], told["to"], told["frame"], told["unit"]) == ("Ford", "Gate", "walker", "pace")
    assert (told["azimuth_deg"], told["count"], told["probability"]) == (270, 900, 0.95)
    assert told["tally"] == {"thousands": 0, "hundreds": 9, "paces": 0}
    way = way_back(read_log(PAGE.encode()))
    np.testing.assert_allclose(told["covariance"], way.covariance)
    assert (told["along"], told["across"]) == (pytest.approx(way.along), pytest.approx(way.across))


@pytest.mark.parametrize(
    ("options", "ends", "azimuth_deg", "count"),
    [
        (["--to", "Oak"], ("Ford", "Oak"), 323.130102, 1500),
        (["--to", "1"], ("Ford", "Oak"), 323.130102, 1500),
        (["--to", "0", "--from", "2"], (2, "Gate"), 216.869898, 1500),
        (["--from", "Oak"], ("Oak", "Gate"), 180, 1200),
        (["--from", "Gate", "--to", "Ford"], ("Gate", "Ford"), 90, 900),
    ],
)
def test_from_and_to_take_a_name_or_a_number(walk, options, ends, azimuth_deg, count):
    # The figure is made of triangles of sides 3, 4 and 5.
    told = answer(walk, *options)
    assert (told["from"], told["to"]) == ends
    assert told["azimuth_deg"] == pytest.approx(azimuth_deg, abs=1e-6)
    assert told["count"] == count


def test_a_station_without_a_name_is_told_by_its_number(walk):
    assert answer(walk, "--from", "2")["from"] == 2


def test_a_wider_share_gives_a_wider_region(walk):
    assert answer(walk, "--probability", "0.5")["along"] < answer(walk, "--probability", "0.99")["along"]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (
            ["--to", "Oka"],
            "the log has no station called Oka. "
            "Give one of its names (Gate, Oak, Ford) or a number from 0 (the start) to 3.",
        ),
        (
            ["--from", "4"],
            "the log has no station called 4. "
            "Give one of its names (Gate, Oak, Ford) or a number from 0 (the start) to 3.",
        ),
        (
            ["--to", ""],
            "the log has no station called nothing. "
            "Give one of its names (Gate, Oak, Ford) or a number from 0 (the start) to 3.",
        ),
        (
            ["--to", "Ford"],
            "station 3 is both the start and the goal of the way. Give two stations that differ.",
        ),
        (
            ["--line", "up"],
            "--line: up is not an azimuth in degrees. "
            "Write a number from 0 to 360, a point such as NE, or a bearing such as S40W.",
        ),
        (
            ["--line", "N", "--toward", ""],
            "--toward: an empty text is not an azimuth in degrees. "
            "Write a number from 0 to 360, a point such as NE, or a bearing such as S40W.",
        ),
        (
            ["--line", "N", "--wrong-side", "nan"],
            "nan in 100 is not a chance of the wrong side. "
            "Give more than 0 and less than 50 in 100, such as 2.",
        ),
    ],
)
def test_what_cannot_be_answered_is_one_sentence(walk, options, says):
    said = run("back", walk, *options)
    assert (said.code, said.out, said.err) == (2, "", f"{walk}: {says}\n")
    assert run("back", walk, *options, "--json").json["complaint"] == f"{walk}: {says}"


@pytest.mark.parametrize("distance", ["nan", "0", "-5", "inf"])
def test_a_sighting_distance_that_cannot_be_is_one_sentence(walk, distance):
    said = run("back", walk, "--sighting-distance", distance)
    assert (said.code, said.out, len(said.err.splitlines())) == (2, "", 1)
    assert "sighting distance" in said.err


@pytest.mark.parametrize(
    ("options", "key"), [(["--line", "233"], "aiming_off"), (["--sighting-distance", "0.1"], "search")]
)
def test_a_part_that_has_no_answer_does_not_take_the_way_back_with_it(walk, options, key):
    way = run("back", walk, "--json").json
    options = ["--line", str(round(way["azimuth_deg"]))] if key == "aiming_off" else options
    said = run("back", walk, *options)
    assert said.code == 1
    assert said.out.splitlines()[0] == "270 deg  900 paces  9 lower beads"
    assert f"No {key.replace('_', ' ')}: " in said.out
    told = run("back", walk, *options, "--json").json
    assert told["count"] == way["count"]
    assert set(told[key]) == {"complaint", "what", "do", "line", "column", "complaints"}


def test_the_retraced_log_reads_back_and_is_not_written_over(walk, tmp_path):
    out = tmp_path / "back.csv"
    assert run("back", walk, "--retrace", "--out", out).code == 0
    written = out.read_bytes()
    log = read_log(written)
    assert [(leg.azimuth_deg, leg.count) for leg in log.legs] == [(0, 1200), (270, 900), (180, 1200)]
    assert (log.heading.start, log.legs[-1].at_name) == ("Ford", "Gate")
    assert log.legs[1].boxes[0].side == "left"
    said = run("back", walk, "--retrace", "--out", out)
    assert (said.code, out.read_bytes()) == (2, written)
    assert "already there" in said.err
    assert run("back", walk, "--retrace", "--out", out, "--force").code == 0


def test_a_quoted_note_with_line_breaks_survives_the_turning_round(tmp_path):
    path, out = tmp_path / "walk.csv", tmp_path / "back.csv"
    path.write_bytes(
        PAGE.replace("by the wall", "x").replace("[at Oak] x", '"[at Oak] ""x""\rand y"').encode()
    )
    assert run("back", path, "--retrace", "--out", out).code == 0
    assert len(read_log(out.read_bytes()).legs) == 3


def test_aiming_off_and_the_search_and_the_retraced_log_add_their_keys(walk):
    told = answer(walk, "--line", "N", "--sighting-distance", "60", "--retrace")
    assert {"aiming_off", "search", "retrace"} <= set(told)
    assert list(told["retrace"]["rows"][0]) == ["azimuth", "count", "notes"]


def test_a_walk_that_ended_where_it_began_has_no_way_left(tmp_path):
    path = tmp_path / "loop.csv"
    path.write_text(PAGE.replace("[at Ford]", "") + "W,900,\n", encoding="utf-8")
    told = answer(path)
    assert (told["from"], told["count"]) == (4, 0)
    assert told["tally"] == {"thousands": 0, "hundreds": 0, "paces": 0}


def test_the_usual_caution_is_said(walk):
    assert "Local rules and qualified instruction come first" in run("back", walk).out


def test_a_way_back_over_legs_that_may_hold_a_mistake_is_given_with_a_warning(tmp_path):
    page = tmp_path / "slipped.csv"
    page.write_text(
        "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
        "0,900,\n90,700,[at Oak]\n180,500,\n270,700,[at Gate]\n0,100,\n",
        encoding="utf-8",
    )
    said = run("back", page, "--from", "2")
    assert said.code == 0
    assert said.out.splitlines()[1].startswith("Take care: this may rest on a mistake (")
    assert run("back", page, "--from", "2", "--json").json["mistake_probability"] > 0.1
    # From beyond the marker that was met again only sound legs lead back to it.
    sound = run("back", page).out
    assert sound.splitlines()[0] == "180 deg  100 paces  1 lower bead"
    assert "though hardly in what this rests on" in sound.splitlines()[1]


def test_the_retraced_log_is_not_written_over_the_one_walked(walk):
    said = run("back", walk, "--retrace", "--out", walk, "--force")
    assert said.code == 2
    assert walk.read_text(encoding="utf-8") == PAGE


def long_log(path, legs, slipped=False):
    """A square walked over and over, a marker at every fourth corner; a slip in the third leg if asked."""
    rows = [f"{90 * (k % 4)},{300 if k % 4 < 3 else '300,[at Gate]'}" for k in range(legs)]
    rows = [row if row.endswith("]") else row + "," for row in rows]
    if slipped:
        rows[2] = "180,900,"
    head = "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n"
    path.write_text(head + "\n".join(rows) + "\n90,100,\n", encoding="utf-8")
    return path


def test_the_way_back_of_a_long_log_is_not_held_up_by_a_search(tmp_path, monkeypatch):
    # 3000 legs with markers asked for 37 GB once, and there was no way back at all.
    monkeypatch.setattr(
        "pacewright.core.slips.mistakes.search_slips", lambda *_, **__: pytest.fail("searched")
    )
    told = run("back", long_log(tmp_path / "long.csv", 3000), "--json")
    assert told.code == 0
    assert (told.json["mistake_probability"], told.json["doubts"]) == (None, [])


def test_a_long_log_that_does_not_close_is_warned_of_without_a_search(tmp_path):
    said = run("back", long_log(tmp_path / "long.csv", 400, slipped=True))
    assert said.code == 0
    assert "\nTake care: at Gate this log misses by more than scatter explains" in said.out


def test_a_log_with_nothing_beside_its_legs_is_not_searched(tmp_path, monkeypatch):
    monkeypatch.setattr(
        "pacewright.core.slips.mistakes.search_slips", lambda *_, **__: pytest.fail("searched")
    )
    path = tmp_path / "plain.csv"
    path.write_text("azimuth,count,notes\n0,300,\n90,400,\n", encoding="utf-8")
    assert run("back", path, "--json").json["mistake_probability"] is None


def test_with_a_line_there_is_one_order_to_walk(walk):
    """The way aimed off comes first, with its own cord and counts; the direct one is a note at the end."""
    said = run("back", walk, "--line", "N", "--sighting-distance", "20").out.splitlines()
    told = answer(walk, "--line", "N", "--sighting-distance", "20")
    order, aim = told["walk"], told["aiming_off"]
    assert order["leads_to"] == "line"
    assert (order["azimuth_deg"], order["count"], order["tally"]) == (
        aim["azimuth_deg"],
        aim["count"],
        aim["tally"],
    )
    assert said[0].startswith(f"{order['azimuth_deg']:.0f} deg  {order['count']} paces  9 lower beads + ")
    assert said[0].endswith("  to the line")
    assert said[1] == "From Ford to Gate, aiming off (magnetic)."
    assert said[2].startswith(f"Look for the line from {order['look_from']} on. Stop at {order['stop_at']} ")
    assert said.index("(The direct way, not to be walked: 270 deg, 900 paces.)") > 3
    assert told["search"]["starts_at"] == "line"
    assert sum("900" in line for line in said) == 1


def test_without_a_line_the_order_to_walk_is_the_direct_way(walk):
    told = answer(walk, "--sighting-distance", "60")
    assert (told["walk"]["leads_to"], told["walk"]["count"]) == ("goal", told["count"])
    assert told["search"]["starts_at"] == "goal"
    assert 0 < told["search"]["seen_at_once"] < told["search"]["legs"][0]["seen_share"]


KNOWN = (
    "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\n# known: Mill = local 400 640 +-5 m\n"
    "# known: Barn = 47.5 13.5 +-10 m\nazimuth,count,notes\n"
)


def test_the_way_back_says_what_it_does_not_rest_on(tmp_path):
    page = tmp_path / "seen.csv"
    page.write_text(KNOWN + "0,300,\n90,,[see Tower]\n90,400,[at Oak]\n", encoding="utf-8")
    said, told = run("back", page), answer(page)
    why = "The bearings to Tower are not used: where it lies is not known, and it was seen from one place"
    assert why in said.out
    assert any(one.startswith(why) for one in told["unused"])
    assert any(one.startswith("The known place of Barn is not used") for one in told["unused"])
    assert [one for one in run("reckon", page, "--json").json["says"] if "not used" in one] == [
        one for one in told["unused"] if "not used" in one
    ]


@pytest.mark.parametrize(
    ("to", "says"),
    [
        (
            "Nowhere",
            "the log has no station called Nowhere. Give one of its names (Gate, Oak) or a number from 0 "
            "(the start) to 2, or a place that is known or fixed by bearings (Mill).",
        ),
        (
            "Barn",
            "Barn cannot be a goal. The known place of Barn is not used: only a map can tell where it is.",
        ),
    ],
)
def test_a_goal_that_is_none_is_told_what_can_be_one(tmp_path, to, says):
    page = tmp_path / "walk.csv"
    page.write_text(KNOWN + "0,300,\n90,400,[at Oak]\n", encoding="utf-8")
    said = run("back", page, "--to", to)
    assert (said.code, said.err) == (2, f"{page}: {says}\n")


def test_a_known_goal_is_found_from_a_bad_log_without_spreading_its_mistake(tmp_path):
    """Beyond the bad loop the walker stands 276 east, 382 north; Mill, at 1.6 m a pace, 250 and 400."""
    page, walker = tmp_path / "bad.csv", tmp_path / "walker.toml"
    rows = "20,300,[at Oak]\n0,900,\n90,700,\n180,500,\n270,700,[at Oak]\n60,200,[at End]\n"
    page.write_text(KNOWN.replace("# known: Barn = 47.5 13.5 +-10 m\n", "") + rows, encoding="utf-8")
    walker.write_text("[pace]\nper_100_m = 62.5\n", encoding="utf-8")
    said = run("back", page, "--to", "Mill", "--walker", walker)
    assert said.out.splitlines()[1].startswith("Take care")
    told = answer(page, "--to", "Mill", "--walker", walker)
    assert told["azimuth_deg"] == pytest.approx(
        np.degrees(np.arctan2(250 - 275.8, 400 - 381.9)) % 360, abs=0.5
    )
    assert told["count"] == pytest.approx(np.hypot(250 - 275.8, 400 - 381.9), abs=0.6)


def test_a_name_is_found_whatever_its_capitals(walk):
    assert answer(walk, "--to", "oak")["to"] == "Oak"
    assert answer(walk, "--from", "OAK", "--to", "gate")["from"] == "Oak"


def test_a_goal_whose_known_place_is_probably_wrong_is_refused_for_that_reason(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(
        "# count: metres\n# start: Camp\n# known: Fell = local 600 250 +-8 m\nazimuth,count,notes\n"
        '0,300,[at Oak]\n65,"",[see Fell]\n90,400,\n300,"",[see Fell]\n180,300,\n270,400,[at Camp]\n',
        encoding="utf-8",
    )
    said = run("back", path, "--from", "2", "--to", "Fell")
    assert run("check", path, "--json").json["by_reading"][0]["name"] == "Fell"
    assert said.code == 2
    assert "Fell cannot be a goal. Its known place is probably wrong" in said.err
