"""Log pages: three columns, numbered rows, and a log to the letter."""

from __future__ import annotations

import itertools
import re

import pytest

from pacewright.core.log.remarks import KNOWN_REMARKS
from pacewright.sheets.log_page import BLANK_ROWS, blank_log, filled_log
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.typesetting import typeset
from support.logs import log_of
from support.pdf_pages import opened, strokes_mm, words


def printed(made, name="a4"):
    return typeset([made], PAPERS[name])


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_blank_rows_are_numbered_and_run_on_from_page_to_page(name):
    made = printed(blank_log(PAPERS[name], pages=2), name)
    numbers = [int(word) for word in words(made).split() if word.isdecimal()]
    rows = iter(numbers)
    assert all(number in rows for number in range(1, 2 * BLANK_ROWS[name] + 1))


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
def test_a_blank_page_is_one_page_with_room_for_the_pencil(name):
    made = printed(blank_log(PAPERS[name]), name)
    assert opened(made).page_count == 1
    width = PAPERS[name].room_mm[0]
    rules = sorted(
        {round(s[1], 1) for s in strokes_mm(made) if abs(abs(s[0] - s[2]) - width) < 1.0 and s[1] == s[3]}
    )
    gaps = [low - high for high, low in itertools.pairwise(rules)]
    assert sum(gap >= 6.5 for gap in gaps) >= BLANK_ROWS[name]


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_key_names_every_remark_a_log_knows(name):
    told = words(printed(blank_log(PAPERS[name]), name))
    for remark in re.findall(r"\[(\w+)", KNOWN_REMARKS):
        assert f"[{remark}" in told


def test_a_filled_log_stands_there_to_the_letter():
    log = log_of(
        (305, 240, "dry; #panic(1) $x$"),
        ("S40W", 185.5, "[at Split oak] [was 52]"),
        (346, "", "[see Fire tower]"),
        more=[
            "title: Cinder Fen",
            "walker: Ines Rowe",
            "date: 2026-05-14",
            "declination: 5.5 E",
            "known: Gate = local 0 0 +-5 m",
        ],
    )
    told = words(printed(filled_log(log, PAPERS["a4"])))
    for text in (
        "1 305 240 dry; #panic(1) $x$",
        "2 S40W 185.5 [at Split oak] [was 52]",
        "346 [see Fire tower]",
        "Cinder Fen",
        "Ines Rowe",
        "2026-05-14",
        "5.5 E",
        "Gate = local 0 0 +-5 m",
        "magnetic deg",
    ):
        assert text in told


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_three_hundred_legs_are_all_there_in_order(name):
    log = log_of(*((i % 360, 100 + i, f"leg {i}") for i in range(300)))
    made = printed(filled_log(log, PAPERS[name]), name)
    told = words(made)
    places = [told.index(f"{i + 1} {i % 360} {100 + i} leg {i}") for i in range(300)]
    assert places == sorted(places)
    assert opened(made).page_count >= 4


def test_names_in_other_scripts_are_printed():
    log = log_of((10, 20, "[at שער הצפון] e\u0301te\u0301 Ωμέγα"))
    told = words(printed(filled_log(log, PAPERS["a4"])))
    assert "Ωμέγα" in told and "שער" in told
