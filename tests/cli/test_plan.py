"""pacewright plan: the answer first, honest chances, files, and one clear sentence for bad input."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from pacewright.cli.plan import _Progress
from support.command import run

TRACK = "track: local -3000 1500; local 3000 1500"
BARE = ("plan", "local 0 0", "local 0 1500", "--no-map", "--known-line", TRACK)


def walker(folder: Path) -> str:
    file = folder / "walker.toml"
    file.write_text('name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n', encoding="utf-8")
    return str(file)


def test_the_chance_stands_in_the_first_sentence_and_the_legs_follow(tmp_path: Path) -> None:
    ran = run(*BARE, "--walker", walker(tmp_path))
    assert ran.code == 0
    lines = " ".join(ran.out.split())
    assert lines.startswith(("2 legs, 1.6 km,", "2 legs, 1.7 km,"))
    assert "The chance of missing is 4 in 100" in lines or "The chance of missing is 3 in 100" in lines
    assert "look for a track: the first one ends the leg. It aims off by" in lines
    assert "Caution: a plan is an aid, no promise." in lines


def test_json_holds_what_was_walked_and_what_was_reckoned(tmp_path: Path) -> None:
    ran = run(*BARE, "--walker", walker(tmp_path), "--json")
    told = json.loads(ran.out)
    assert told["holds"] and 0 < told["miss"] <= 0.05 and told["walkers"] == 4000
    assert told["miss_said"] == pytest.approx(told["miss"], abs=0.02)
    first, second = told["legs"]
    assert first["ends"] == "line" and first["line"] == "track" and first["azimuth_deg"] % 1 == 0
    assert first["back_azimuth_deg"] == (first["azimuth_deg"] + 180) % 360
    assert first["too_far_count"] > first["count"] and first["bail_out"]["to"] == "track"
    # Back over the track, from the farthest of where 95 in 100 stand (2.448 sd; a length is sure to 5.83 %).
    scatter_m = math.hypot(15.0, 0.0583 * first["too_far_m"])
    farthest_m = first["too_far_m"] - first["metres"] + 2.448 * scatter_m
    assert first["bail_out"]["within_m"] == pytest.approx(farthest_m, rel=0.03)
    assert second["follows"] == "track" and second["sight"] == "goal"
    assert told["straight"]["miss"] > 0.8


def test_a_plan_is_written_as_a_log_that_check_reads(tmp_path: Path) -> None:
    out, who = tmp_path / "plan.csv", walker(tmp_path)
    assert run(*BARE, "--walker", who, "--out", str(out), "--date", "2026-05-14").code == 0
    assert run("check", "--planned", str(out), "--walker", who).code in (0, 1)
    # A walk that went as planned is held against its plan and found to be as planned.
    ran = run("check", "--plan", str(out), str(out), "--walker", who, "--json")
    told = json.loads(ran.out)
    assert ran.code in (0, 1) and "complaint" not in told
    assert not any(leg["differs"] for leg in told["against_plan"]["legs"])
    # A hundred lost on the first leg is named, in the answer and on the debrief sheet.
    first = json.loads(run(*BARE, "--walker", who, "--json").out)["legs"][0]["count"]
    walked = tmp_path / "walked.csv"
    text = out.read_text(encoding="utf-8")
    walked.write_text(text.replace(f",{first},", f",{first - 200},", 1), encoding="utf-8")
    said = " ".join(run("check", "--plan", str(out), str(walked), "--walker", who).out.split())
    assert "Leg 1 was counted 200 less than planned." in said
    sheet = tmp_path / "debrief.pdf"
    ran = run("sheet", "debrief", str(walked), "--plan", str(out), "--walker", who, "--out", str(sheet))
    assert ran.code == 0 and sheet.read_bytes().startswith(b"%PDF")


def test_legs_planned_by_hand_are_proved(tmp_path: Path) -> None:
    hand = tmp_path / "hand.csv"
    hand.write_text("# count: metres\nazimuth,count,notes\n4,1504,[at track]\n270,105,\n", encoding="utf-8")
    ran = run(*BARE, "--prove", str(hand), "--json")
    told = json.loads(ran.out)
    assert [leg["ends"] for leg in told["legs"]] == ["line", "sight"]
    assert ran.code == 1 and told["miss"] > 0.3


def test_a_plan_that_cannot_hold_is_a_finding() -> None:
    ran = run("plan", "local 0 0", "local 0 2100", "--no-map", "--known-line", TRACK)
    assert ran.code == 1
    lines = " ".join(ran.out.split())
    assert lines.startswith("No plan keeps the chance of missing to 5 in 100: the best there is misses ")
    assert "Your pace count is not known" in lines


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("plan", "local 0 0", "local 0 900"), "Give --terrain FILE, or --no-map"),
        (("plan", "local 0 0", "--no-map"), "Give FROM and TO"),
        (("plan", "local 0 0", "local 0 0", "--no-map"), "a plan from a place to itself has no legs"),
        (("plan", "local 0", "local 0 900", "--no-map"), "is not two lengths in metres"),
        (
            ("plan", "local 0 0", "local 0 900", "--no-map", "--known-line", "track"),
            "Write KIND: PLACE; PLACE",
        ),
        (("plan", "37.4 -119.2", "37.5 -119.2", "--terrain", "none.tif"), "none.tif"),
        ((*BARE, "--leave", "08:00", "--zone", "+02:00"), "--leave needs a place on the earth"),
    ],
)
def test_bad_input_is_one_sentence(arguments: tuple[str, ...], says: str) -> None:
    ran = run(*arguments)
    assert ran.code == 2
    assert says in " ".join(ran.err.split()) and "Traceback" not in ran.err


def test_how_far_planning_is_shows_after_a_second_and_is_cleared(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    now = [10.0]
    monkeypatch.setattr("time.monotonic", lambda: now[0])
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    told = _Progress()
    told(0.1)
    assert capsys.readouterr().err == ""
    now[0] += 1.5
    told(0.4)
    assert "40 %" in capsys.readouterr().err
    told.end()
    assert capsys.readouterr().err.strip() == ""
