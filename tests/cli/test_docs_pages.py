"""The pages say what the tool does: every command in them prints what stands there, every link leads on."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import pytest
from build import DOCS, HOUSE, NAV, page_names, source_of
from console import Asked, run_page
from options_page import every_option
from pictures import picture_names

RUN_PAGES = [name for name in page_names() if "```console" in source_of(name).read_text(encoding="utf-8")]
ALL_PAGES = {**{name: source_of(name) for name in page_names()}, "README": HOUSE / "README.md"}
FENCED = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)


@pytest.mark.parametrize("name", RUN_PAGES)
def test_what_a_page_says_that_a_command_prints_is_what_it_prints(name: str) -> None:
    for asked in run_page(source_of(name).read_text(encoding="utf-8")):
        assert asked.agrees, (
            f"{asked.line}\n" + "\n".join(asked.said) + "\n`make docs-outputs` writes it anew"
        )


def test_dots_stand_for_lines_left_out_and_for_nothing_else() -> None:
    assert Asked("x", ("a", "...", "d"), ("a", "b", "c", "d")).agrees
    assert not Asked("x", ("a", "...", "d"), ("a", "b", "c")).agrees
    assert not Asked("x", ("a", "b"), ("a", "b", "c")).agrees


def commands_of(text: str) -> list[list[str]]:
    """Every command that a page sets as code: in a block a line, in a sentence between marks."""
    lines = [line.removeprefix("$ ").strip() for block in FENCED.findall(text) for line in block.splitlines()]
    lines += [line.strip() for line in text.splitlines() if line.startswith("    pacewright ")]
    lines += re.findall(r"`(pacewright [^`\n]+)`", FENCED.sub("", text))
    return [
        shlex.split(line.partition("  ")[0], comments=True)
        for line in lines
        if line.startswith("pacewright ")
    ]


@pytest.mark.parametrize("name", ALL_PAGES)
def test_every_option_that_a_page_types_is_one_of_its_command(name: str) -> None:
    known = defaultdict(set)
    for command, option in every_option():
        known[command] |= {*option.opts, *option.secondary_opts}
    for words in commands_of(ALL_PAGES[name].read_text(encoding="utf-8")):
        command = max(
            (one for one in known if words[1:][: len(one.split())] == one.split()), key=len, default=""
        )
        typed = {word.partition("=")[0] for word in words if word.startswith("--")}
        assert typed <= known[command] | {"--help", "--version"}, words


def test_every_page_is_in_the_list_once_and_every_document_is_a_page() -> None:
    names = [name for group in NAV.values() for name, _ in group]
    assert sorted(names) == sorted(set(names))
    assert {file.stem for file in DOCS.glob("*.md")} <= set(names)


@pytest.mark.parametrize("name", page_names())
def test_every_link_and_picture_of_a_page_is_there(name: str) -> None:
    text = source_of(name).read_text(encoding="utf-8")
    links = re.findall(r"(?<!!)\[[^\]]*\]\(([^)#]+)(?:#[^)]*)?\)", FENCED.sub("", text))
    assert {link for link in links if link.endswith(".md") and Path(link).stem not in page_names()} == set()
    assert set(re.findall(r"!\[[^\]]+\]\(pictures/([^)]+)\)", text)) <= picture_names()
    assert "![](" not in text, "a picture says what it shows"


@pytest.mark.slow
def test_the_site_is_built_with_its_pictures_and_asks_nobody_else_for_anything(tmp_path: Path) -> None:
    # In a process of its own: this one may have a browser open.
    done = subprocess.run(
        [sys.executable, str(DOCS / "site" / "build.py"), str(tmp_path / "site")],
        capture_output=True,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    for name in page_names():
        html = (tmp_path / "site" / f"{name}.html").read_text(encoding="utf-8")
        wanted = re.findall(r'(?:src|href)="([^"#]+)', html)
        assert [one for one in wanted if not (tmp_path / "site" / one).is_file()] == []
