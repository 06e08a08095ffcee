"""What a log and a walker file make one ask reaches the reader of every command that uses them."""

from __future__ import annotations

import pytest

from support.command import run

PAGE = """\
# walker: Ines Rowe
# azimuth: magnetic degrees
# count: paces
# start: Gate
# known: Gate = local 0 0
# known: Hut = local 100 300
# known: Mast = local -200 300
azimuth,count,notes
20,240,[back 20]
20,,[see Hut]
310,,[see Mast]
105,60,[at Oak]
200,240,
285,60,[at Gate]
"""
BACK = "was [back 20] read backward? It is about the azimuth of the leg itself (20)"
WHOSE = (
    "Whose log is this? The heading names Ines Rowe as the walker, and the figures are those of Bo Lind. "
    "Take the walker's own figures, or correct the name."
)
STEPS = "Were steps counted? pace.per_100_m = 144 looks like steps. A pace is two steps: if so, write 72."

SENTENCES = [
    ("reckon",),
    ("back", "--to", "Oak"),
    ("check",),
    ("adjust",),
    ("adjust", "--rule", "compass"),
    ("fix",),
    ("sun", "51.5", "-0.1", "--date", "2026-06-14", "--time", "12:00", "--zone", "UTC", "--back"),
]
KEYED = [one for one in SENTENCES if one[0] not in ("check", "sun")]
FILES = [
    ("draw", "walk.svg"),
    ("export", "walk.geojson"),
    ("sheet leg-card", "walk.pdf"),
    ("sheet way-back --to Oak", "walk.pdf"),
    ("sheet debrief", "walk.pdf"),
]


@pytest.fixture
def walk(tmp_path):
    path = tmp_path / "walk.csv"
    path.write_text(PAGE, encoding="utf-8")
    return path


@pytest.fixture
def walker(tmp_path):
    path = tmp_path / "bo.toml"
    path.write_text('name = "Bo Lind"\n[pace]\nper_100_m = 144\n', encoding="utf-8")
    return path


@pytest.mark.parametrize("command", SENTENCES, ids=" ".join)
def test_a_command_that_answers_in_sentences_asks_in_them(walk, walker, command):
    said = run(*command, walk, "--walker", walker)
    assert f"Leg 1 (line 9): {BACK}" in said.out
    assert WHOSE in said.out.splitlines()
    assert said.err == f"{walker}: {STEPS}\n"


@pytest.mark.parametrize("command", KEYED, ids=" ".join)
def test_with_json_the_questions_are_a_key(walk, walker, command):
    questions = run(*command, walk, "--walker", walker, "--json").json["questions"]
    assert BACK in questions[0]
    assert questions[1:] == [WHOSE, STEPS]


@pytest.mark.parametrize(("command", "out"), FILES)
def test_a_command_that_writes_a_file_asks_beside_it(tmp_path, walk, walker, command, out):
    said = run(*command.split(), walk, "--walker", walker, "--out", tmp_path / out)
    assert (tmp_path / out).exists()
    asked = said.err.splitlines()
    assert asked[0] == f"{walker}: {STEPS}"
    assert asked[1].startswith(f"{walk}: Leg 1 (line 9): {BACK}")
    assert asked[2] == f"{walk}: {WHOSE}"
    assert len(asked) == 3


def test_of_several_logs_the_walker_file_is_asked_about_once(walk, walker):
    assert run("reckon", walk, walk, "--walker", walker).err.count(STEPS) == 1


def test_the_walkers_own_log_with_own_figures_asks_nothing(tmp_path, walk):
    walk.write_text(PAGE.replace("[back 20]", "[back 200]"), encoding="utf-8")
    own = tmp_path / "ines.toml"
    own.write_text('name = "ines  rowe"\n[pace]\nper_100_m = 62.5\n', encoding="utf-8")
    told = run("reckon", walk, "--walker", own, "--json")
    assert (told.err, told.json["questions"]) == ("", [])
