"""The card of sun and daylight says what `sun` says of every day, on every paper."""

from __future__ import annotations

import re

import pytest

from pacewright.sheets.paper import PAPER_NAMES
from pacewright.wording.sheets import PAPER_CAUTION
from support.command import run
from support.pdf_pages import words

PLACE = ("47.05", "8.3")
ZONE = ("--zone", "+02:00")


@pytest.fixture
def printed(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def make(*options, place=PLACE, zone=ZONE):
        said = run("sheet", "sun", *place, "--date", "2026-05-14", *zone, "--force", *options)
        assert (said.code, said.err) == (0, "")
        return words((tmp_path / "sun.pdf").read_bytes())

    return make


@pytest.mark.parametrize("paper", PAPER_NAMES)
def test_rise_and_set_of_every_day_are_those_of_sun(printed, paper):
    told = printed("--paper", paper)
    for day in range(14, 21):
        said = run("sun", *PLACE, "--date", f"2026-05-{day}", *ZONE).out
        rise, fall = re.search(r"rises at (\d\d:\d\d)", said)[1], re.search(r"sets at (\d\d:\d\d)", said)[1]
        lamp = re.search(r"lamp from here on\) begins (\d\d:\d\d)\s+and ends (\d\d:\d\d)", said)
        row = re.search(
            rf"(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) {day} (.*?)(?:(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) |Rise)", told
        )
        cells = row[1].split()
        assert [one for one in cells if ":" in one and len(one) == 5][:2] == [lamp[1], rise]
        assert fall in cells and lamp[2] in cells
    assert PAPER_CAUTION in told and "Turn back so early" in told


def test_the_height_at_noon_is_that_of_the_solstice(printed):
    """On 21 June the sun stands over 23.4 N: at 47.05 N it is 90 - 47.05 + 23.4 deg high at noon."""
    told = printed("--date", "2026-06-21", "--days", "1")
    assert re.search(r"Sun 21 \d\d:\d\d \d\d:\d\d \d+ \d\d:\d\d 66 ", told)


def test_the_hours_are_those_of_sun_on_the_middle_day(printed):
    told = printed("--paper", "a5")
    for line in run("sun", *PLACE, "--date", "2026-05-17", *ZONE).out.splitlines():
        if re.match(r"\d\d:\d\d ", line):
            assert " ".join(line.split()) in told


def test_the_azimuths_of_other_days_lie_within_what_is_said(printed):
    within = int(re.search(r"within (\d+) deg of it", printed())[1])
    tables = []
    for day in (14, 17, 20):
        said = run("sun", *PLACE, "--date", f"2026-05-{day}", *ZONE).out
        tables.append(
            {line.split()[0]: int(line.split()[2]) for line in said.splitlines() if line[2:3] == ":"}
        )
    for hour in set(tables[0]) & set(tables[1]) & set(tables[2]):
        for other in (0, 2):
            assert abs(tables[other][hour] - tables[1][hour]) <= within + 1


def test_where_the_sun_does_not_set_the_card_says_so(printed):
    told = printed(place=("70.05", "18.3"))
    assert "24 h" in told and "+1: on the next day" in told


def test_without_the_clock_of_a_watch_there_is_no_card(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = run("sheet", "sun", *PLACE, "--date", "2026-05-14")
    assert said.code == 2 and "Add --zone" in said.err and not (tmp_path / "sun.pdf").exists()


def test_a_stated_declination_turns_the_azimuths(printed):
    assert "Declination 5.5 W as stated" in printed("--declination", "5.5 W")
