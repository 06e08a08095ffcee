"""Completion on the tab key, and options that were renamed."""

from __future__ import annotations

import re

import pytest
from click.shell_completion import ShellComplete

from pacewright.cli import main as front
from pacewright.cli.renamed import RENAMED
from support.command import run


def offered(arguments: list[str], begun: str) -> list[str]:
    found = ShellComplete(front.group, {}, "pacewright", "_PACEWRIGHT_COMPLETE")
    return [one.value for one in found.get_completions(arguments, begun)]


def test_stations_of_the_log_on_the_line_and_walker_files_are_offered(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "walk.csv").write_text("# start: Gate\nazimuth,count,notes\n9,1,[at Grey crag]\n")
    (tmp_path / "ines.toml").write_text("")
    assert offered(["back", "walk.csv", "--to"], "g") == ["Gate", "Grey crag"]
    assert offered(["back", "walk.csv", "--walker"], "") == ["ines.toml"]
    assert "reckon" in offered([], "re")


SUBCOMMANDS = {"course": ("grade",), "range": ("mils",), "sheet": ("plotting",)}


@pytest.mark.parametrize(("command", "old"), RENAMED)
def test_an_old_name_still_works_is_noted_and_no_longer_shown(command: str, old: str) -> None:
    below = ("set", "posts") if (command, old) == ("course", "--start") else SUBCOMMANDS.get(command, ())
    said, help_text = run(command, *below, old), run(command, *below, "--help").out
    assert said.err.startswith(f"Note: {old} is now {RENAMED[command, old]};")
    assert "No such option" not in said.err
    assert RENAMED[command, old] in help_text and re.search(rf"{old}(?![\w-])", help_text) is None
