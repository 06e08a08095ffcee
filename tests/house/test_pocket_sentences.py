"""What the pocket page says stands nowhere twice, so whoever changes a sentence is told at once."""

from __future__ import annotations

import re
from pathlib import Path

from pacewright.core.pace.walker import Walker
from pacewright.pocket.carried import carry
from pacewright.pocket.page_text import LARGEST_PAGE_BYTES, engine_text, page_text

ENGINE = Path(__file__).parents[2] / "src" / "pacewright" / "pocket" / "page" / "engine"
CALL = re.compile(r'complain\("(\w+)", (\d+)(?:, \{([^}]*)\})?\)')
TEXTS = re.compile(r"^(\w+): ?\[\n((?:\(of\) ?=> ?.*\n)+)\],$", re.MULTILINE)


def test_every_sentence_of_the_pocket_page_can_be_written_from_those_of_the_tool() -> None:
    """Where this fails, the complaint names the line: plainer Python there, or teach sentence_means.py."""
    assert "function say_way(" in engine_text()


def test_a_complaint_of_the_pocket_page_is_told_what_its_text_names() -> None:
    """Where this fails, a local of the named function was renamed: rename it in the engine's call too."""
    texts = {name: lines.splitlines() for name, lines in TEXTS.findall(engine_text())}
    calls = [call for file in ENGINE.glob("*.js") for call in CALL.findall(file.read_text(encoding="utf-8"))]
    assert len(calls) > 40
    for name, number, told in calls:
        wanted = set(re.findall(r"\bof\.(\w+)", texts[name][int(number)]))
        given = {one.partition(":")[0].strip() for one in told.split(",")}
        assert wanted <= given, (name, number)


def test_the_pocket_page_with_nothing_inside_leaves_room_for_a_log() -> None:
    assert len(page_text(carry(Walker())).encode("utf-8")) < LARGEST_PAGE_BYTES - 5_000
