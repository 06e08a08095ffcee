"""The debrief sheet says what the commands say, number for number, whatever the log holds."""

from __future__ import annotations

import json
import re

import pytest

from pacewright.sheets.paper import PAPER_NAMES
from pacewright.wording.closure import say_ratio
from pacewright.wording.findings import say_percent
from support.command import run
from support.pdf_pages import opened, smallest_type_mm, tags, words

HEAD = (
    "# title: Round by the tower\n# walker: Ines Rowe\n# azimuth: magnetic degrees\n# count: paces\n"
    "# start: Gate\n"
)
LOST = (
    HEAD + "azimuth,count,notes\n40,420,[at Split oak] dry\n95,310,along the dyke\n150,380,[at Fire tower]\n"
    "215,260,brush\n262,290,[at Heron post]\n311,235,[at Gate]\n"
)
CLOSES = LOST.replace("311,235", "309,440")
OPEN = HEAD + "azimuth,count,notes\n40,420,[at Split oak]\n95,310,\n"
WALKER = 'name = "Ines Rowe"\n[pace]\nper_100_m = 62.5\n'


@pytest.fixture
def desk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name, page in (("lost", LOST), ("closes", CLOSES), ("open", OPEN)):
        (tmp_path / f"{name}.csv").write_text(page, encoding="utf-8")
    (tmp_path / "ines.toml").write_text(WALKER, encoding="utf-8")
    return tmp_path


def printed(desk, name, paper="a4"):
    said = run("sheet", "debrief", f"{name}.csv", "--walker", "ines.toml", "--paper", paper, "--force")
    assert (said.code, said.err) == (0, "")
    return (desk / "debrief.pdf").read_bytes()


def checked(name):
    return run("check", f"{name}.csv", "--walker", "ines.toml", "--json").json


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_every_number_of_the_sheet_is_that_of_check(desk, paper):
    told, found = words(printed(desk, "lost", paper)), checked("lost")
    assert found["mistake_probability"] > 0.5
    for closure in found["closures"]:
        assert f"misses it by {closure['length']:.0f} paces" in told
        assert say_ratio(closure["ratio"]) in told
    assert f"({say_percent(found['mistake_probability'])}, taking half of such logs to hold one)" in told
    shown = [one for one in found["suspects"][:8] if one["probability"] > 0.001]
    for number, suspect in enumerate(shown, start=1):
        assert f" {number} {say_percent(suspect['probability'])} " in told
        entry = suspect["entry"]
        if entry is not None and suspect["kind"] != "leg_missing":
            assert f"{entry['azimuth']:g},{entry['count']:g}" in told.replace(", ", ",")
    assert "bits" not in told


@pytest.mark.parametrize("paper", ["a4", "letter", "a5"])
def test_the_adjusted_stations_are_those_of_adjust(desk, paper):
    told = words(printed(desk, "closes", paper))
    made = run("adjust", "closes.csv", "--walker", "ines.toml", "--json").json
    table = told.partition("station name east north")[2] or told.partition("no. name east north")[2]
    for one in made["stations"]:
        east, north = (f"{one[name] + 0.0:.0f}".replace("-0", "0") for name in ("east", "north"))
        name = f"{one['name']} " if one["name"] else ""
        assert re.search(rf"(?<!\S){one['index']} {name}{east} {north} ", table), one


def test_the_way_back_is_that_of_back_and_carries_its_warning(desk):
    told = words(printed(desk, "lost"))
    back = run("back", "lost.csv", "--walker", "ines.toml", "--json").json
    assert back["count"] == 0
    assert "You are at Gate already: the log says so. There is no way to walk." in told
    assert "Take care: this log may hold a mistake" in told
    assert "Local rules and qualified instruction come first" in told


def test_the_sentences_are_those_of_check(desk):
    told = words(printed(desk, "lost"))
    lines = run("check", "lost.csv", "--walker", "ines.toml").out.split("\n\n")[0].splitlines()
    assert len(lines) >= 5
    for line in lines:
        assert " ".join(line.split()) in told


@pytest.mark.parametrize("paper", PAPER_NAMES)
@pytest.mark.parametrize("name", ["closes", "open"])
def test_a_log_with_nothing_to_put_right_has_a_sheet(desk, name, paper):
    made = printed(desk, name, paper)
    told = words(made)
    assert "may have been" not in told and tags(made)["Figure"] == 1
    if name == "open":
        assert "Nothing closes in this log" in told and "The stations stand as reckoned." in told
    else:
        assert "No mistake shows" in told
    assert smallest_type_mm(made) >= 1.995


def test_three_hundred_legs_flow_over_pages(desk):
    rows = "".join(f"{(i * 7) % 360},{100 + i % 90},[at marker {i}] wet\n" for i in range(299))
    (desk / "many.csv").write_text(f"{HEAD}azimuth,count,notes\n{rows}180,400,[at Gate]\n", encoding="utf-8")
    made = printed(desk, "many")
    told, found = words(made), checked("many")
    assert opened(made).page_count >= 6
    assert f"misses it by {found['closures'][0]['length']:.0f} paces" in told
    assert all(f"marker {i}" in told for i in range(299))


def test_a_log_too_long_to_be_searched_says_so(desk, monkeypatch):
    from pacewright.exceptions import NoAnswerComplaint
    from pacewright.sheets import debrief

    def refuse(*_, **__):
        raise NoAnswerComplaint("this log is too long to be searched", "Search a part of it")

    monkeypatch.setattr(debrief, "search_of", refuse)
    told = words(printed(desk, "lost"))
    assert "this log is too long to be searched" in told and "misses it by" in told


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_nothing_in_a_name_or_a_note_is_taken_for_a_command(desk, paper):
    odd = 'dry #panic("x") $x$ <a> \\u{41} _i_'
    page = LOST.replace("Round by the tower", "Round #panic(1) $y$").replace(
        "dry", '"' + odd.replace('"', '""') + '"'
    )
    page = page.replace('[at Split oak] "', '"[at Split $oak$ <b>] ').replace("Heron post", "שער e\u0301")
    (desk / "lost.csv").write_text(page, encoding="utf-8")
    told = words(printed(desk, "lost", paper))
    assert "Round #panic(1) $y$" in told and "Split $oak$ <b>" in told


def test_several_logs_are_one_document_and_an_object_each(desk):
    said = run("sheet", "debrief", "lost.csv", "open.csv", "missing.csv", "--json")
    told = [json.loads(line) for line in said.out.splitlines()]
    assert said.code == 2 and [one["file"] for one in told] == ["lost.csv", "open.csv", "missing.csv"]
    assert told[0]["title"] == "Debrief: Round by the tower" and "complaint" in told[2]


def test_the_same_log_gives_the_same_bytes(desk):
    assert printed(desk, "lost") == printed(desk, "lost")


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_a_long_title_does_not_cost_the_drawing(desk, paper):
    title = " ".join(["long"] * 40)
    (desk / "lost.csv").write_text(LOST.replace("Round by the tower", title), encoding="utf-8")
    made = printed(desk, "lost", paper)
    told = words(made)
    assert title in told and "misses it by" in told
    assert "No drawing: " not in told and tags(made)["Figure"] == 1
