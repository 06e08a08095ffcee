"""The public names: what they say is what the commands say, and the page about them runs."""

from __future__ import annotations

import doctest
import json
from pathlib import Path

import pandas as pd
import pytest

from pacewright import api
from pacewright.api import Complaint, Standing, read_log, read_walker
from pacewright.files.bundled import bundled
from pacewright.files.result_json import encode
from support.command import run

PAGE = Path(__file__).parents[1] / "docs" / "python.md"


@pytest.fixture
def demo(tmp_path, monkeypatch):
    for name in ("cinder_fen.csv", "ines_rowe.toml"):
        (tmp_path / name).write_bytes(bundled(name))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_standing_says_what_the_command_says_and_gives_rows_for_pandas(demo) -> None:
    path, walker = demo / "cinder_fen.csv", demo / "ines_rowe.toml"
    assert read_log(path) == read_log(str(path)) == read_log(path.read_bytes())
    standing = Standing(path, read_walker(walker))
    assert standing.say() == run("back", path, "--walker", walker).out.splitlines()
    table = pd.DataFrame(standing.to_rows())
    assert list(table["name"])[-1] == "Heron post" and len(table) == 6
    assert standing._repr_svg_().startswith("<svg") and len(repr(standing)) < 100


@pytest.mark.parametrize(
    ("method", "command"), [("stations", "reckon"), ("check", "check"), ("adjust", "adjust")]
)
def test_an_answer_is_the_commands_with_its_keys_and_shows_itself_in_a_notebook(
    demo, method, command
) -> None:
    answer = getattr(Standing("cinder_fen.csv", read_walker("ines_rowe.toml")), method)()
    told = run(command, "cinder_fen.csv", "--walker", "ines_rowe.toml", "--json").json
    assert list(answer.sentences) == told["sentences"]
    assert {key: told[key] for key in answer.keys} == json.loads(encode(answer.keys))
    assert answer._repr_svg_().startswith("<svg") and "<strong>" in answer._repr_html_()
    assert len(repr(answer)) < 80


def test_a_name_in_a_log_is_no_markup_in_a_notebook() -> None:
    log = b"# start: <b>A\nazimuth,count,notes\n0,100,[at <i>B]\n"
    assert "&lt;b&gt;A" in (html := Standing(log)._repr_html_()) and "<b>" not in html


def test_a_sheet_that_there_is_not_is_complained_of() -> None:
    with pytest.raises(Complaint, match="there is no sheet called wall"):
        Standing(bundled("cinder_fen.csv")).sheet("wall")


def test_the_examples_of_the_page_run(demo) -> None:
    done = doctest.testfile(str(PAGE), module_relative=False, optionflags=doctest.ELLIPSIS)
    assert done.failed == 0 and done.attempted > 15


def test_the_page_names_every_question_and_no_other() -> None:
    text = PAGE.read_text(encoding="utf-8")
    questions = {
        "calibrated",
        "graded",
        "legs_by_map",
        "norths",
        "own_place",
        "planned",
        "ranged",
        "seen_place",
        "sun",
    }
    methods = {name for name in vars(Standing) if not name.startswith("_")} - {"estimate", "say", "to_rows"}
    assert questions <= set(api.__all__)
    assert {name for name in questions | methods if f"`{name}(" not in text} == set()
