"""What a reader sees is plain English: no jargon, nothing odd; a docstring begins with its result."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "pacewright"
ROOMS = ("wording", "sheets", "drawing", "cli", "answers", "desk")
ODD = {
    r"\blikelier\b": "more likely; a chance is said as so many in 100",
    r"\btimes likelier\b": "so many in 100",
    r"\d bits?\b|\bbits of\b": "what an observation tells is said by what it leaves",
    r"\bheld by (?!compass)": "what a figure rests on",
    r"\bleans? on\b": "is drawn toward",
    r"\blong half\b": "longer than half",
    r"\bpinned to\b": "known to",
    r"\b1 in \d+\.\d": "closure 1:9",
}


def texts_of(tree: ast.AST) -> list[str]:
    """Every text in a file that is no docstring."""
    told = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        for one in body if isinstance(body, list) else []:
            if isinstance(one, ast.Expr) and isinstance(one.value, ast.Constant):
                told.add(id(one.value))
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told
    ]


def shown_texts() -> dict[str, list[str]]:
    """By file what it may show a reader."""
    shown = {
        str(file.relative_to(SOURCE)): texts_of(ast.parse(file.read_text(encoding="utf-8")))
        for room in ROOMS
        for file in (SOURCE / room).rglob("*.py")
    }
    pages = SOURCE.rglob("*.html")
    return shown | {str(page.relative_to(SOURCE)): [page.read_text(encoding="utf-8")] for page in pages}


SHOWN = shown_texts()


@pytest.mark.parametrize("odd", ODD)
def test_no_text_is_odd(odd):
    assert [
        (file, text[:80]) for file, texts in SHOWN.items() for text in texts if re.search(odd, text)
    ] == [], f"say it so: {ODD[odd]}"


def test_an_odd_text_would_be_found():
    tree = ast.parse('"""It leans on nothing."""\ndef say(k):\n    return f"This leans on {k}"\n')
    assert texts_of(tree) == ["This leans on "]


def test_a_docstring_begins_with_the_result():
    wrong = []
    for file in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
                told = ast.get_docstring(node) or ""
                if re.match(r"(?:Gives?|Returns?)\b", told):
                    wrong.append((str(file.relative_to(SOURCE)), told[:60]))
    assert wrong == []
