"""The answer stands first and alone; how much is said with it, and how wide, is for the reader to choose."""

from __future__ import annotations

import json

import pytest

from pacewright.files.bundled import DEMO_LOG, DEMO_WALKER, bundled
from support.command import run

BAD = (
    "# azimuth: magnetic degrees\n# count: paces\n# start: Gate\nazimuth,count,notes\n20,300,[at Oak]\n"
    "0,900,\n90,700,\n180,500,\n270,700,[at Oak]\n60,200,[at The old charcoal burners' hut]\n"
)


@pytest.fixture
def demo(tmp_path):
    for name in (DEMO_LOG, DEMO_WALKER):
        (tmp_path / name).write_bytes(bundled(name))
    return (tmp_path / DEMO_LOG, "--walker", tmp_path / DEMO_WALKER)


@pytest.fixture
def bad(tmp_path):
    (tmp_path / "bad.csv").write_text(BAD, encoding="utf-8")
    return (tmp_path / "bad.csv",)


def test_the_way_back_is_the_first_line_and_nothing_else_is_in_it(demo):
    first, second, *_ = run("back", *demo).out.splitlines()
    assert (first, second) == (
        "234 deg  392 paces  3 lower beads + 92",
        "From Heron post to Gate (magnetic).",
    )
    assert run("reckon", *demo).out.splitlines()[0] == (
        "You are 392 paces from Gate, on azimuth 54 deg (magnetic)."
    )


@pytest.mark.parametrize("command", ["reckon", "back", "check", "adjust"])
@pytest.mark.parametrize("columns", [60, 80])
def test_in_brief_there_are_three_lines_at_most_and_the_caution_is_one(demo, bad, command, columns):
    for page in (demo, bad):
        lines = run(command, *page, "--brief", columns=columns).out.splitlines()
        assert 1 <= len(lines) <= 3, lines
        assert sum(line.startswith("Caution: ") for line in lines) == 1, lines
        assert lines[-1].endswith("come first."), lines


def test_in_brief_a_way_over_a_bad_log_is_still_warned_of(bad):
    first, second, last = run("back", *bad, "--brief", columns=80).out.splitlines()
    assert "paces" in first
    assert second.startswith("Look from ") and "Take care: " in second
    assert last.startswith("Caution: ")


def test_in_brief_a_check_says_whether_there_is_a_mistake_and_where_to_look(demo, bad):
    verdict, where, caution = run("check", *bad, "--brief", columns=80).out.splitlines()
    assert verdict.startswith("A mistake is very likely (")
    assert where.startswith("Look here first: leg ")
    assert caution.startswith("Caution: ")
    assert run("check", *bad).out.splitlines()[0].startswith("Back at Oak after legs 2 to 5")


def test_in_brief_an_adjustment_says_how_well_it_fits(tmp_path):
    (tmp_path / "loop.csv").write_text(
        "# start: Gate\nazimuth,count,notes\n0,100,\n90,100,\n180,102,\n270,99,[at Gate]\n",
        encoding="utf-8",
    )
    said = run("adjust", tmp_path / "loop.csv", "--brief", columns=80).out
    assert said.startswith("It fits as well as scatter lets it (")
    by_rule = run("adjust", tmp_path / "loop.csv", "--rule", "compass", "--brief", columns=80).out
    assert by_rule.startswith("Legs 1 to 4, to Gate: the legs miss by ")


def test_in_brief_the_demo_says_the_way_back(tmp_path):
    said = run("demo", "--into", tmp_path, "--brief", columns=80).out.splitlines()
    assert said[0] == "234 deg  392 paces  3 lower beads + 92"
    assert said[2].startswith("Caution: ") and said[3] == ""


def test_in_brief_a_distance_keeps_its_caution():
    told = run(
        "range", "sound", "--delay-s", "3", "--air-temp-c", "15", "--brief", columns=80
    ).out.splitlines()
    assert told[0].startswith("Distance about 1021 metres") and told[-1].startswith("Caution: ")


def test_in_brief_no_sentence_is_broken_off(tmp_path):
    (tmp_path / "trials.csv").write_bytes(bundled("pace_trials.csv"))
    *said, caution = run("calibrate", tmp_path / "trials.csv", "--brief", columns=80).out.splitlines()
    assert caution.startswith("Caution: ")
    assert " ".join(said).endswith(" runs.") and "61.2 paces to 100 m" in " ".join(said)


def test_the_caution_stands_last_under_a_log_too_long_to_be_shown_whole(tmp_path):
    rows = "".join(f"{k % 360},10,\n" for k in range(420))
    (tmp_path / "long.csv").write_text(f"azimuth,count,notes\n{rows}", encoding="utf-8")
    sentences = json.loads(run("adjust", tmp_path / "long.csv", "--json").out)["sentences"]
    assert sentences[-1].startswith("Caution: ")
    assert any(sentence.startswith("The table shows the named stations") for sentence in sentences)


@pytest.mark.parametrize("command", ["reckon", "back"])
def test_frames_are_explained_only_where_it_is_asked_for(demo, command):
    assert "frame" not in run(command, *demo).out
    said = run(command, *demo, "--explain").out
    assert "(the walker's frame)" in said
    assert said.splitlines()[0] == run(command, *demo).out.splitlines()[0]


def test_brief_and_explain_are_not_both_to_be_had(demo):
    said = run("back", *demo, "--brief", "--explain")
    assert (said.code, said.out) == (2, "")
    assert "--brief and --explain are opposites: give one." in said.err


@pytest.mark.parametrize("columns", [40, 80, 100])
@pytest.mark.parametrize(
    "arguments",
    [("reckon",), ("back", "--retrace"), ("check",), ("adjust",), ("adjust", "--rule", "compass")],
)
def test_nothing_is_wider_than_the_terminal(demo, bad, arguments, columns):
    command, *options = arguments
    for page in (demo, bad):
        lines = run(command, *page, *options, "--explain", columns=columns).out.splitlines()
        assert max(map(len, lines)) <= columns, max(lines, key=len)


def test_a_column_left_out_for_want_of_room_is_named(bad):
    said = run("adjust", *bad, "--rule", "compass", columns=40).out
    assert "(Not shown for want of room: " in said


def test_a_pipe_gets_no_colour_and_no_sign_that_is_not_ascii(demo):
    said = run("back", *demo, "--explain").out
    assert said.isascii() and "\x1b" not in said


def test_only_the_command_names_its_option_for_the_pencils_own_sum(tmp_path):
    """The desk and the sheets say the same sentence, and have no options."""
    page = tmp_path / "loop.csv"
    page.write_text(
        "# start: Gate\nazimuth,count,notes\n0,100,\n90,100,\n180,110,\n270,99,[at Gate]\n50,90,\n",
        encoding="utf-8",
    )
    said = " ".join(run("reckon", page).out.split())
    assert "The legs as written end " in said and "--" not in said.split("station name")[0]
    assert "--as-walked gives the legs as written" in run("reckon", page, "--explain").out
