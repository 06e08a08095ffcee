"""The declination card says what the command says, and every row of its table turns back."""

from __future__ import annotations

import itertools
import math
import re

import pytest

from pacewright.drawing.north_diagram import _lifts
from pacewright.files.field_model import open_norths
from pacewright.sheets.north_card import north_card
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import MM_PER_PT, opened, smallest_type_mm, tags, words


def found(latitude_deg=37.5, longitude_deg=-119.0):
    return open_norths(f"{latitude_deg} {longitude_deg}", "2026-05-14")


def printed(norths, name="a4", unit="degrees"):
    return typeset([north_card(norths, PAPERS[name], unit)], PAPERS[name])


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_words_numbers_and_drawing_are_on_every_paper(name):
    norths = found()
    made = printed(norths, name)
    told = words(made)
    assert f"{abs(norths.relation.declination_deg):.1f} deg east of true north" in told
    assert f"{abs(norths.relation.grid_magnetic_deg):.1f} deg east of grid north" in told
    assert tags(made)["Figure"] == 1
    assert "Local rules and qualified instruction come first" in told


@pytest.mark.parametrize("where", [(37.5, -119.0), (60.2, 25.0), (-33.9, 18.4), (47.0, -68.0)])
def test_every_row_takes_the_dial_to_the_map_and_the_map_to_the_dial(where):
    norths = found(*where)
    told = words(printed(norths, "pocket")).partition("Azimuth by azimuth")[2]
    rows = re.findall(r"(?<![\d.])(\d+) (\d+\.\d) (\d+\.\d)(?![\d.])", told)
    assert [int(row[0]) for row in rows] == list(range(0, 360, 10))
    for read, on_map, on_dial in rows:
        for shown, added in (
            (on_map, norths.relation.grid_magnetic_deg),
            (on_dial, -norths.relation.grid_magnetic_deg),
        ):
            off = (float(shown) - float(read) - added + 180) % 360 - 180
            assert abs(off) <= 0.05 + 1e-9


def test_the_dial_is_turned_the_way_the_rule_says():
    """Magnetic north east of grid north: grid to magnetic takes away (FM 3-25.26, from memory)."""
    east = words(printed(found(37.5, -119.0)))
    assert re.search(r"From the map to the dial: take 1\d\.\d deg away", east)
    assert "needle points" in east and "to the right" in east
    west = words(printed(found(47.0, -68.0)))
    assert re.search(r"From the map to the dial: add 1\d\.\d deg", west)
    assert "to the left" in west


def test_mils_are_mils_throughout():
    told = words(printed(found(), unit="mils"))
    assert re.search(r"take 2\d\d\.\d mils away", told) and "6200" in told
    assert not re.search(r"\bdeg\b", told)


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_model_is_named_once_and_the_place_does_not_run_into_the_drawings_title(name):
    told = words(printed(found(), name))
    assert told.count("By the World Magnetic Model 2025") == 1
    assert told.count("37.50000 N 119.00000 W (11SLB2321052220)") == 1


def test_rules_are_large_enough_to_read_on_narrow_paper():
    """7 points on a card, 8 on paper: common practice for what is read on the way."""
    for name in ("a5", "pocket", "pocket-letter"):
        assert smallest_type_mm(printed(found(), name)) >= PAPERS[name].least_pt * MM_PER_PT - 0.01


@pytest.mark.parametrize(("declination_deg", "convergence_deg"), [(13.4, 0.2), (0.2, 0.0), (5.0, 4.8)])
def test_the_signs_of_norths_that_nearly_agree_stand_clear_of_one_another(declination_deg, convergence_deg):
    lifts = _lifts({"true": 0.0, "magnetic": declination_deg, "grid": convergence_deg})
    for one, other in itertools.combinations(lifts, 2):
        apart = {"true": 0.0, "magnetic": declination_deg, "grid": convergence_deg}
        aside_mm = math.radians(abs(apart[one] - apart[other])) * 80.0
        assert aside_mm >= 5.0 or abs(lifts[one] - lifts[other]) >= 10.0


@pytest.mark.parametrize("name", ["a4", "letter"])
@pytest.mark.parametrize("unit", ["degrees", "mils", "gon"])
@pytest.mark.parametrize("where", [(37.5, -119.0), (60.2, 25.0), (-33.9, 18.4)])
def test_the_card_of_a_flat_sheet_is_one_page(name, unit, where):
    assert opened(printed(found(*where), name, unit)).page_count == 1
