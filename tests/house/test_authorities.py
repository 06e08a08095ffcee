"""Every published value says where it was read, and its file can be read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from support.authorities import (
    AUTHORITIES,
    HEADING_KEYS,
    close_to_printed,
    printed,
    read_authority,
    read_heading,
    tolerance,
)

NAMES = sorted(path.name for path in AUTHORITIES.glob("*.csv"))


def test_there_are_authorities():
    assert NAMES


@pytest.mark.parametrize("name", NAMES)
def test_an_authority_says_where_it_was_read(name):
    heading = read_heading(name)
    for key in HEADING_KEYS:
        assert heading.get(key), f"{name} has no '# {key}:' line"


@pytest.mark.parametrize("name", NAMES)
def test_an_authority_says_how_sure_it_is(name):
    sure = read_heading(name)["sure"]
    assert any(word in sure for word in ("source", "secondary page", "recomputed", "from memory")), sure


@pytest.mark.parametrize("name", NAMES)
def test_the_rows_of_an_authority_match_its_header(name):
    assert read_authority(name)


def test_half_a_unit_of_the_last_digit_is_the_tolerance():
    assert tolerance("0.30") == pytest.approx(0.005)
    assert tolerance("10,716") == pytest.approx(0.5)
    assert printed("−0.311") == -0.311
    assert close_to_printed(0.2951, "0.30")
    assert not close_to_printed(0.2949, "0.30")


VAGUE = re.compile(
    r"class and guide pages|magazine for hikers|runner's own test|physics texts|encyclopedia text"
    r"|articles on walking|club note|survival|\((?:class )?slides\)|(?:class|team) slides|answer site"
    r"|a (?:web ?page|guide|textbook|class page)\)|\(encyclopedia\)|hiking-speed",
    re.IGNORECASE,
)


def test_no_source_is_named_so_vaguely_that_it_cannot_be_found_again() -> None:
    house = Path(__file__).parents[2]
    files = [
        *(house / "authorities").glob("*.csv"),
        *(house / "docs").glob("*.md"),
        *(house / "src").rglob("*.py"),
        house / "README.md",
    ]
    found = {
        f"{file.relative_to(house).as_posix()}: {match[0]}"
        for file in files
        for match in VAGUE.finditer(file.read_text(encoding="utf-8"))
    }
    assert found == set()
