"""What the documents tell a reader to type is there, and what is there is told."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

HOUSE = Path(__file__).parents[2]
FENCED = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)
INLINE = re.compile(r"`[^`\n]+`")


def read(name: str) -> str:
    return (HOUSE / name).read_text(encoding="utf-8")


def code_in(text: str) -> str:
    """The parts of a Markdown text that are set as code."""
    fenced = FENCED.findall(text)
    return "\n".join(fenced + INLINE.findall(FENCED.sub("", text)))


def commands_in_help() -> set[str]:
    done = subprocess.run(
        [sys.executable, "-m", "pacewright", "--help"],
        env={**os.environ, "PYTHONPATH": str(HOUSE / "src"), "COLUMNS": "100"},
        capture_output=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    return set(re.findall(r"^  ([a-z][a-z-]*)(?:  +\S|$)", done.stdout, re.MULTILINE))


def test_the_readme_names_the_commands_that_there_are() -> None:
    told = set(re.findall(r"\bpacewright +([a-z][a-z-]*)\b", code_in(read("README.md"))))
    assert told == commands_in_help()


def test_the_readme_says_what_every_extra_is_for() -> None:
    extras = tomllib.loads(read("pyproject.toml"))["project"]["optional-dependencies"]
    told = re.findall(r"^\| `([a-z]+)` \| ", read("README.md").partition("| extra |")[2], re.MULTILINE)
    assert sorted(told) == sorted(extras)


def test_every_make_target_that_a_document_names_is_in_the_makefile() -> None:
    targets = set(re.findall(r"^([a-z-]+):", read("Makefile"), re.MULTILINE))
    told = {
        target
        for name in ["README.md", "CONTRIBUTING.md"]
        for target in re.findall(r"\bmake +([a-z-]+)", code_in(read(name)))
    }
    assert told - targets == set()
    assert {"demo", "test"} <= told


def test_the_checks_run_the_test_command_of_the_readme() -> None:
    assert re.search(r"^make test\b", read(".ci/run"), re.MULTILINE)
    assert "make test" in code_in(read("README.md"))


def test_the_changelog_has_an_entry_for_the_version() -> None:
    version = re.search(r'^__version__ = "(.+)"', read("src/pacewright/__init__.py"), re.MULTILINE)
    assert version is not None
    assert re.search(rf"^## \[(Unreleased|{re.escape(version[1])})\]", read("CHANGELOG.md"), re.MULTILINE)


def test_the_example_of_the_readme_runs_from_an_empty_folder_and_says_what_is_printed(tmp_path: Path) -> None:
    text = read("README.md")
    assert text.index("## Install") < text.index("## A page goes in")
    command = re.search(
        r"^    (pacewright back .*)$\n+<!-- output of the line above -->\n```\n(.*?)```", text, re.M | re.S
    )
    assert command is not None and "pacewright demo --into ." in text
    environment = {**os.environ, "PYTHONPATH": str(HOUSE / "src"), "COLUMNS": "80"}
    said = [
        subprocess.run(
            [sys.executable, "-m", *words.split()],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            encoding="utf-8",
            check=True,
        ).stdout
        for words in ("pacewright demo --into .", command[1])
    ]
    assert said[1] == command[2]
    assert "pacewright-demo" not in said[0]
