"""--force writes over a file that is there, and never over one that the command read, whichever it is."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from support.command import run

DATA = resources.files("pacewright").joinpath("data")


INPUTS = {"log": "cinder_fen.csv", "walker": "ines_rowe.toml", "trials": "pace_trials.csv"}
COMMANDS = {
    "the log, by a drawing": "draw log.svg --out log.svg",
    "the walker, by a drawing": "draw log.csv --walker walker.svg --out walker.svg",
    "the walker, by an export": "export log.csv --walker walker.csv --out walker.csv",
    "the walker that learns": "adjust log.csv --walker walker.toml --learn --out walker.toml",
    "the trials": "calibrate trials.csv --out trials.csv",
    "the log, by a sheet": "sheet debrief log.pdf --out log.pdf",
    "the walker, by a sheet": "sheet debrief log.csv --walker walker.pdf --out walker.pdf",
}


@pytest.mark.parametrize("line", COMMANDS.values(), ids=COMMANDS)
def test_an_input_stays_whatever_is_forced(tmp_path: Path, line: str) -> None:
    for word in line.split():
        name, _, suffix = word.partition(".")
        if suffix:
            (tmp_path / word).write_bytes(DATA.joinpath(INPUTS[name]).read_bytes())
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    said = run(*(str(tmp_path / word) if word in before else word for word in line.split()), "--force")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
    assert said.code == 2 and "an input is never written over" in said.err
