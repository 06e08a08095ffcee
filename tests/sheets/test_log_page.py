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


@pytest.mark.parametrize("name", ["a4", "letter", "a5"])
def test_a_heavy_rule_stands_below_every_fifth_number_on_every_page(name):
    rows, seen = BLANK_ROWS[name], []
    for number, page in enumerate(opened(printed(blank_log(PAPERS[name], pages=3), name))):
        spans = [word for word in page.get_text("words") if word[4].isdecimal() and word[0] < 75.0]
        found = {int(word[4]): word for word in spans if rows * number < int(word[4]) <= rows * (number + 1)}
        rules = [
            (item[1].y, drawing["width"])
            for drawing in page.get_drawings()
            for item in drawing["items"]
            if drawing["width"]
            and item[0] == "l"
            and abs(item[1].y - item[2].y) < 0.01 < abs(item[1].x - item[2].x) - 20.0
        ]
        thin = min(width for _, width in rules)
        for row in range(rows * number + 1, rows * (number + 1)):
            _, width = min(rule for rule in rules if rule[0] > found[row][3])
            assert (width > 1.5 * thin) == (row % 5 == 0), row
            seen.append(row)
    assert len(seen) == 3 * (rows - 1)


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
