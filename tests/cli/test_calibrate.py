"""pacewright calibrate."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

from pacewright.files.walker_toml import read_walker

HOUSE = Path(__file__).parents[2]
DEMO = files("pacewright").joinpath("data", "pace_trials.csv")


def calibrate(*arguments, cwd):
    return subprocess.run(
        [sys.executable, "-m", "pacewright", "calibrate", *map(str, arguments)],
        env={**os.environ, "PYTHONPATH": str(HOUSE / "src")},
        capture_output=True,
        encoding="utf-8",
        cwd=cwd,
    )


@pytest.fixture
def trials(tmp_path):
    file = tmp_path / "trials.csv"
    file.write_bytes(DEMO.read_bytes())
    return file


def test_trials_become_sentences_a_table_and_a_walker_file(trials, tmp_path):
    done = calibrate(
        trials, "--name", "Ines Rowe", "--out", "w.toml", "--draw", "t.svg", "--pin", "2", cwd=tmp_path
    )
    assert (done.returncode, done.stderr) == (0, "")
    said = " ".join(done.stdout.split())
    assert said.startswith(
        "Without line 10 (--without 10) heath, level, 8 kg is 62.5 paces to 100 m, with it 61.2: 52 paces "
        "over 100 m"
    )
    assert "heath, level, 8 kg counts as ordinary: 61.2 paces to 100 m" in said
    assert "would pin the count to 2 %" in said
    assert "more runs for 2 %" in done.stdout
    assert said.index("w.toml: the pace count is taken") < said.index("Caution: tired")
    walker = read_walker((tmp_path / "w.toml").read_bytes())
    assert (walker.name, walker.per_100_m) == ("Ines Rowe", 61.19)
    assert walker.pace_class("brush", "up").borrowed
    assert "Ines Rowe" in (tmp_path / "t.svg").read_text(encoding="utf-8")


def test_the_json_has_the_table_and_the_run_pointed_at(trials, tmp_path):
    done = calibrate(trials, "--json", "--pin", "2", cwd=tmp_path)
    answer = json.loads(done.stdout)
    assert answer["file"] == str(trials)
    assert answer["ordinary"] == "heath, level, 8 kg"
    assert [c["class"] for c in answer["classes"] if c["borrowed"]] == [
        "brush, up, 8 kg",
        "heath, level, 18 kg",
    ]
    (one,) = answer["outlying"]
    assert (one["line"], one["slip"]) == (10, "ten_missed")
    assert answer["pin_pct"] == 2
    assert all(c["interval"][0] < c["per_100_m"] < c["interval"][1] for c in answer["classes"])


def test_a_run_is_left_out_only_when_the_walker_says_so(trials, tmp_path):
    done = calibrate(trials, "--without", "10", cwd=tmp_path)
    assert done.stdout.startswith("Left out as you asked: line 10 (heath, level, 8 kg), 52 paces over 100 m.")
    assert "62.5 paces to 100 m" in " ".join(done.stdout.split())
    refused = calibrate(trials, "--without", "2", cwd=tmp_path)
    assert refused.returncode == 2
    assert "line 2 holds no run to leave out" in refused.stderr


def test_another_class_may_be_the_ordinary_one(trials, tmp_path):
    done = calibrate(trials, "--ordinary", "brush level", cwd=tmp_path)
    assert "brush, level, 8 kg counts as ordinary: 72.0" in " ".join(done.stdout.split())
    refused = calibrate(trials, "--ordinary", "heath", cwd=tmp_path)
    assert refused.returncode == 2
    assert "'heath' fits several classes" in refused.stderr


def test_a_file_that_is_there_is_not_written_over_unless_forced(trials, tmp_path):
    (tmp_path / "w.toml").write_text("mine", encoding="utf-8")
    refused = calibrate(trials, "--out", "w.toml", cwd=tmp_path)
    assert refused.returncode == 2
    assert "already there" in refused.stderr
    assert (tmp_path / "w.toml").read_text(encoding="utf-8") == "mine"
    assert calibrate(trials, "--out", "w.toml", "--force", cwd=tmp_path).returncode == 0


def test_a_walker_file_on_standard_output_can_be_read(trials, tmp_path):
    done = calibrate(trials, "--out", "-", cwd=tmp_path)
    assert read_walker(done.stdout.encode()).per_100_m == 61.19
    both = calibrate(trials, "--out", "-", "--json", cwd=tmp_path)
    assert both.returncode == 2
    assert both.stdout == ""


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"", "this file is empty"),
        (
            b"ground,slope,load_kg,distance_m,count\nheath,level,8,100,x\n",
            "line 2, column count: x is not a number",
        ),
    ],
)
def test_bad_trials_are_refused_in_one_sentence(text, says, tmp_path):
    (tmp_path / "bad.csv").write_bytes(text)
    done = calibrate("bad.csv", cwd=tmp_path)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("bad.csv") and says in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_per_cent_that_cannot_be_pinned_is_refused(trials, tmp_path):
    done = calibrate(trials, "--pin", "0", cwd=tmp_path)
    assert done.returncode == 2
    assert "0 % is nothing to pin a count to" in done.stderr
