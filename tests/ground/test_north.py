"""Azimuths from one north to another, against handbooks; the declination of old maps."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.core.compass import parse_azimuth
from pacewright.core.log.log_heading import parse_declination
from pacewright.exceptions import ValueComplaint
from pacewright.ground.north import (
    NORTHS,
    NorthRelation,
    bring_declination,
    convert_azimuth,
    parse_annual_change,
)
from support.authorities import read_authority

angles = st.floats(-180, 180)


def same_direction(one, other):
    return abs(math.remainder(one - other, 360)) < 1e-9


@pytest.mark.parametrize("row", read_authority("azimuth_conversions.csv"), ids=lambda row: row["source"])
def test_the_handbooks_azimuths_come_out(row):
    # A handbook's grid-magnetic angle is the declination where grid north is true north.
    relation = NorthRelation(parse_declination(row["angle"]))
    change = convert_azimuth(parse_azimuth(row["azimuth"]), row["from_north"], row["to_north"], relation)
    assert same_direction(change.to_deg, parse_azimuth(row["result"]))


@pytest.mark.parametrize("row", read_authority("azimuth_conversions.csv"), ids=lambda row: row["source"])
def test_the_handbooks_azimuths_come_back(row):
    relation = NorthRelation(parse_declination(row["angle"]))
    change = convert_azimuth(parse_azimuth(row["result"]), row["to_north"], row["from_north"], relation)
    assert same_direction(change.to_deg, parse_azimuth(row["azimuth"]))


def test_grid_is_magnetic_plus_declination_less_convergence():
    relation = NorthRelation(declination_deg=-6.5, convergence_deg=1.25)
    assert relation.grid_magnetic_deg == -7.75
    assert relation.added_deg("magnetic", "grid") == -7.75
    assert relation.added_deg("grid", "magnetic") == 7.75
    assert relation.added_deg("true", "grid") == -1.25


def test_the_grid_magnetic_angle_goes_the_short_way_round():
    assert NorthRelation(170.0, -170.0).grid_magnetic_deg == -20.0


@given(angles, angles, st.floats(0, 360), st.sampled_from(NORTHS), st.sampled_from(NORTHS))
def test_there_and_back_is_the_same_azimuth(declination, convergence, azimuth, one, other):
    relation = NorthRelation(declination, convergence)
    there = convert_azimuth(azimuth, one, other, relation)
    back = convert_azimuth(there.to_deg, other, one, relation)
    assert same_direction(back.to_deg, azimuth)
    assert 0 <= there.to_deg < 360


@given(angles, angles, st.floats(0, 360))
def test_the_way_through_true_north_is_the_way_straight_to_the_grid(declination, convergence, azimuth):
    relation = NorthRelation(declination, convergence)
    through = convert_azimuth(
        convert_azimuth(azimuth, "magnetic", "true", relation).to_deg, "true", "grid", relation
    )
    assert same_direction(through.to_deg, convert_azimuth(azimuth, "magnetic", "grid", relation).to_deg)


def test_an_old_bearing_is_laid_off_today_through_true_north():
    """Mahun, Meridian conversion: magnetic N32°45'E under 8°12'W is magnetic N22°03'E under 2°30'E."""
    true = convert_azimuth(parse_azimuth("N32°45'E"), "magnetic", "true", NorthRelation(-8.2))
    now = convert_azimuth(true.to_deg, "true", "magnetic", NorthRelation(2.5))
    assert same_direction(now.to_deg, parse_azimuth("N22°03'E"))


@pytest.mark.parametrize("row", read_authority("annual_change_navy.csv"))
def test_an_old_declination_is_brought_to_a_later_year_as_the_navy_does(row):
    printed_deg = parse_declination(row["printed"])
    annual_deg = parse_annual_change(row["annual_change"], printed_deg)
    brought = bring_declination(printed_deg, float(row["printed_year"]), annual_deg, float(row["year"]))
    assert brought.brought_deg == pytest.approx(parse_declination(row["result"]), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "printed_deg", "change_deg"),
    [
        ("7' E", 3.0, 7 / 60),
        ("7' W", 3.0, -7 / 60),
        ("0.1° W", -3.0, -0.1),
        ("0°06' E", -3.0, 0.1),
        ("6min E", -3.0, 0.1),
        ("increase 6'", 3.0, 0.1),
        ("increasing 6'", -3.0, -0.1),
        ("decrease 6′", 3.0, -0.1),
        ("Decreasing 6'", -3.0, 0.1),
        ("0' E", 3.0, 0.0),
    ],
)
def test_an_annual_change_has_a_side_or_speaks_of_the_size(text, printed_deg, change_deg):
    assert parse_annual_change(text, printed_deg) == pytest.approx(change_deg)


@pytest.mark.parametrize("text", ["", "7", "7 E", "7'", "-7' E", "increase 7' E", "E", "nan' E", "increase"])
def test_what_is_no_annual_change_is_refused(text):
    with pytest.raises(ValueComplaint, match="is not an annual change"):
        parse_annual_change(text, 3.0)


def test_no_declination_can_neither_increase_nor_decrease():
    with pytest.raises(ValueComplaint, match="Write the side"):
        parse_annual_change("increase 7'", 0.0)


def test_a_map_of_more_than_twenty_years_is_old():
    """TC 3-25.26 (2013), paragraph 6-2: declination diagrams over 20 years old are not reliable."""
    assert not bring_declination(23.0, 1993, -0.25, 2013).is_old
    assert bring_declination(23.0, 1993, -0.25, 2013.1).is_old


@pytest.mark.parametrize(
    "printed", [(math.nan, 1990, 0.1), (3.0, 1990, math.inf), (3.0, 1990, 20.0), (200.0, 2020, 0)]
)
def test_a_map_that_leads_to_no_declination_is_refused(printed):
    with pytest.raises(ValueComplaint, match="lead to no declination"):
        bring_declination(*printed, 2026.0)


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ((math.nan,), "declination of nan"),
        ((181.0,), "declination of 181"),
        ((0.0, -200.0), "convergence of -200"),
        ((0.0, 0.0, -1.0), "standard deviation of -1"),
        ((0.0, 0.0, math.nan), "standard deviation of nan"),
    ],
)
def test_what_is_no_relation_of_norths_is_refused(parts, says):
    with pytest.raises(ValueComplaint, match=says):
        NorthRelation(*parts)


def test_what_is_no_azimuth_or_no_north_is_refused():
    with pytest.raises(ValueComplaint, match="not an azimuth"):
        convert_azimuth(math.nan, "magnetic", "true", NorthRelation(0.0))
    with pytest.raises(ValueComplaint, match="map is not a north"):
        convert_azimuth(1.0, "magnetic", "map", NorthRelation(0.0))  # type: ignore[arg-type]
