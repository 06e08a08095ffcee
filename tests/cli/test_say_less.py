"""The answer stands first and alone; how much is said with it, and how wide, is for the reader to choose."""

from __future__ import annotations

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
