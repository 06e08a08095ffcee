"""The declination card says what the command says, and every row of its table turns back."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from pacewright.files.field_model import bundled_field_model
from pacewright.ground.declination import declination_at
from pacewright.ground.grid import grid_turn, zone_of
from pacewright.sheets.north_card import NorthFound, north_card
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import opened, smallest_type_mm, tags, words


def found(latitude_deg=37.5, longitude_deg=-119.0):
    zone = zone_of(latitude_deg, longitude_deg)
    return NorthFound(
        place=f"{latitude_deg} {longitude_deg}",
        when="2026-05-14",
        declination=declination_at(bundled_field_model(), latitude_deg, longitude_deg, 2026.37),
        turn=grid_turn(latitude_deg, longitude_deg, zone),
        zone=zone,
    )


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
    assert "local rules and what qualified instruction taught you come first" in told


@pytest.mark.parametrize("where", [(37.5, -119.0), (60.2, 25.0), (-33.9, 18.4), (47.0, -68.0)])
def test_every_row_takes_magnetic_to_grid_and_true(where):
    norths = found(*where)
    told = words(printed(norths, "pocket")).partition("Azimuth by azimuth")[2]
    rows = re.findall(r"(?<![\d.])(\d+) (\d+\.\d) (\d+\.\d)(?![\d.])", told)
    assert [int(row[0]) for row in rows] == list(range(0, 360, 10))
    for magnetic, grid, true in rows:
        for shown, added in (
            (grid, norths.relation.grid_magnetic_deg),
            (true, norths.relation.declination_deg),
        ):
            off = (float(shown) - float(magnetic) - added + 180) % 360 - 180
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
    assert not re.search(r"(add|take) [\d.]+ deg", told)


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_model_is_named_once_and_the_place_does_not_run_into_the_drawings_title(name):
    long_place = replace(found(), place="37.50000 N 119.00000 W (11SLB2320652238)")
    told = words(printed(long_place, name))
    assert told.count("By the World Magnetic Model 2025") == 1
    assert told.count(long_place.place) == 1


def test_rules_are_large_enough_to_read_on_narrow_paper():
    """Type of 2 mm and more, common practice for what is read on the way."""
    for name in ("a5", "pocket", "pocket-letter"):
        assert smallest_type_mm(printed(found(), name)) >= 1.995


@pytest.mark.parametrize("name", ["a4", "letter"])
@pytest.mark.parametrize("unit", ["degrees", "mils", "gon"])
@pytest.mark.parametrize("where", [(37.5, -119.0), (60.2, 25.0), (-33.9, 18.4)])
def test_the_card_of_a_flat_sheet_is_one_page(name, unit, where):
    assert opened(printed(found(*where), name, unit)).page_count == 1
