"""Rules of the house about files: their names, their length, and what a pure room may touch."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[2]
SOURCE = HOUSE / "src" / "pacewright"
LONGEST = 400
NAMES_THAT_SAY_NOTHING = {"utils", "util", "helpers", "helper", "common", "misc"}
PURE_ROOMS = ["core", "ground", "route", "course", "wording"]

OUTSIDE_MODULES = {
    *("fileinput", "glob", "http", "importlib", "io", "logging", "os", "pathlib", "random"),
    *("secrets", "shutil", "socket", "sqlite3", "subprocess", "tempfile", "time", "urllib", "uuid"),
}
OUTSIDE_CALLS = {"open", "input", "print", "breakpoint"}
CLOCK_CALLS = {"now", "today", "utcnow"}
NUMPY_FILE_CALLS = {
    "fromfile",
    "genfromtxt",
    "load",
    "loadtxt",
    "memmap",
    "save",
    "savetxt",
    "savez",
    "tofile",
}
TEXT_CALLS = {"open", "read_text", "write_text", "TextIOWrapper"}


def python_files(*folders: Path) -> list[Path]:
    return sorted(file for folder in folders for file in folder.rglob("*.py"))


def last_name(called: ast.expr) -> str:
    """The name a call ends in: `now` of `datetime.datetime.now`."""
    if isinstance(called, ast.Attribute):
        return called.attr
    return called.id if isinstance(called, ast.Name) else ""


def touches_outside(tree: ast.AST) -> list[str]:
    """What in a file reaches for a file, the clock or chance, with its line."""
    found: list[str] = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.stmt | ast.expr):
            continue
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names if alias.name.split(".")[0] in OUTSIDE_MODULES]
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names = [node.module] if node.module.split(".")[0] in OUTSIDE_MODULES else []
        elif isinstance(node, ast.Call):
            called = ast.unparse(node.func)
            outside = (
                called in OUTSIDE_CALLS
                or (last_name(node.func) in CLOCK_CALLS | NUMPY_FILE_CALLS and "." in called)
                or ".random." in called
                or last_name(node.func) == "default_rng"
            )
            names = [called] if outside else []
        found += [f"line {node.lineno}: {name}" for name in names]
    return found


def calls_without_encoding(tree: ast.AST) -> list[int]:
    """The lines that open a text in whatever encoding the machine happens to have."""
    return [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Call)
        and last_name(node.func) in TEXT_CALLS
        and ast.unparse(node.func) != "os.open"
        and not any(keyword.arg == "encoding" for keyword in node.keywords)
        and not any(
            isinstance(given, ast.Constant) and isinstance(given.value, str) and "b" in given.value
            for given in [*node.args, *(keyword.value for keyword in node.keywords)]
        )
    ]


@pytest.mark.parametrize(
    "text",
    [
        "import os",
        "import os.path",
        "from pathlib import Path",
        "import datetime\ndatetime.datetime.now()",
        "from datetime import date\ndate.today()",
        "import numpy as np\nnp.random.default_rng(1)",
        "from numpy.random import default_rng\ndefault_rng()",
        "import numpy as np\nnp.load('terrain.npz')",
        "open('log.csv')",
    ],
)
def test_the_search_for_outside_touches_finds_one(text: str) -> None:
    assert len(touches_outside(ast.parse(text))) == 1


def test_from_core_to_wording_nothing_touches_a_file_the_clock_or_chance() -> None:
    found = {
        f"{file.relative_to(SOURCE).as_posix()} {touch}"
        for file in python_files(*(SOURCE / room for room in PURE_ROOMS))
        for touch in touches_outside(ast.parse(file.read_text(encoding="utf-8")))
    }
    assert found == set()


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("path.read_text()", [1]),
        ("path.write_text('a')", [1]),
        ("path.open('w', newline='')", [1]),
        ("path.open(mode='rb')", []),
        ("path.read_text(encoding='utf-8')", []),
    ],
)
def test_the_search_for_unstated_encodings_finds_them(text: str, lines: list[int]) -> None:
    assert calls_without_encoding(ast.parse(text)) == lines


def test_every_text_is_opened_with_its_encoding() -> None:
    found = {
        f"{file.relative_to(SOURCE).as_posix()} line {line}"
        for file in python_files(SOURCE)
        for line in calls_without_encoding(ast.parse(file.read_text(encoding="utf-8")))
    }
    assert found == set()


def test_every_file_name_says_what_is_in_the_file() -> None:
    named = {
        file.relative_to(HOUSE).as_posix()
        for file in python_files(SOURCE, HOUSE / "tests", HOUSE / "bench")
        if NAMES_THAT_SAY_NOTHING.intersection((file.stem, file.parent.name))
    }
    assert named == set()


def test_no_file_is_longer_than_four_hundred_lines() -> None:
    lengths = {
        file.relative_to(HOUSE).as_posix(): len(file.read_text(encoding="utf-8").splitlines())
        for file in python_files(SOURCE, HOUSE / "tests", HOUSE / "bench")
    }
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST} == {}
