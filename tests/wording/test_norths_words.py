"""Declination and the three norths, in sentences."""

from __future__ import annotations

import pytest

from pacewright.answers.stated_norths import NorthsAsked, stated_norths
from pacewright.core.compass import turn_deg
from pacewright.files.field_model import bundled_field_model
from pacewright.ground.declination import declination_at
from pacewright.ground.grid import grid_turn, zone_of
from pacewright.ground.north import NORTHS, NorthRelation, convert_azimuth
from pacewright.wording.norths import (
    rule_table,
    say_azimuth_change,
    say_brought,
    say_compass_zone,
    say_declination,
    say_grid,
    say_model,
    say_pole,
    say_rule,
    say_stated_beside,
    say_step,
)

MODEL = bundled_field_model()


def at(latitude, longitude, year=2026.0):
    return declination_at(MODEL, latitude, longitude, year)


def test_the_declination_has_its_side_its_doubt_and_its_change():
    said = say_declination(at(33.3, -115.2), "2026-01-01")
    north, doubt = said.split(": that is the declination. ")
    assert north == "Magnetic north lies 10.6 deg east of true north on 2026-01-01"
    assert doubt == "Its standard deviation is 0.3 deg; it moves 0.08 deg west a year."


def test_the_model_says_until_when_it_answers():
    assert say_model(at(33.3, 44.4)) == "By the World Magnetic Model 2025, which answers until 2030-01-01."


@pytest.mark.parametrize(
    ("place", "begins"),
    [((33.3, 44.4), None), ((80.0, -70.0), "Caution zone"), ((86.5, 165.0), "Blackout zone")],
)
def test_a_weak_horizontal_field_is_warned_of(place, begins):
    said = say_compass_zone(at(*place))
    assert (said[0].split(":")[0] if said else None) == begins


def test_the_grid_is_said_with_its_zone():
    turn = grid_turn(33.3, 44.4)
    said = say_grid(turn, zone_of(33.3, 44.4), NorthRelation(5.5, turn.convergence_deg))
    assert (
        said[0] == "Grid north lies 0.3 deg west of true north (UTM zone 38 north): that is the convergence."
    )
    assert said[1].startswith(
        "Magnetic north lies 5.8 deg east of grid north: that is the grid-magnetic angle"
    )


def test_a_grid_that_agrees_with_true_north_is_said_to_agree():
    said = say_grid(grid_turn(47, 3), zone_of(47, 3), NorthRelation(2.0))
    assert said[0].startswith("Grid north is true north to within a tenth of a degree")


def test_only_near_a_pole_is_the_meridian_mentioned():
    assert say_pole(80.0) == []
    assert "meridian" in say_pole(-89.9)[0]


@pytest.mark.parametrize("from_north", NORTHS)
@pytest.mark.parametrize("to_north", NORTHS)
def test_the_rule_in_words_gives_the_number_beside_it(from_north, to_north):
    """Each printed rule is worked out by its own words."""
    relation = NorthRelation(-6.5, 1.25)
    rule = say_rule(from_north, to_north)
    if from_north == to_north:
        assert rule == "the same north: nothing is added"
        return
    left, right = rule.split(" = ")
    first, sign, angle = right.split(" ", 2)
    assert (left, first) == (to_north, from_north)
    named = {
        "declination": relation.declination_deg,
        "convergence": relation.convergence_deg,
        "grid-magnetic angle": relation.grid_magnetic_deg,
    }
    added = named[angle] if sign == "+" else -named[angle]
    assert turn_deg(0, added) == pytest.approx(relation.added_deg(from_north, to_north))


def test_the_table_holds_every_pair_of_norths_once():
    _, rows = rule_table(NorthRelation(9.0, 2.0))
    assert {(row[0], row[1]) for row in rows} == {(a, b) for a in NORTHS for b in NORTHS if a != b}
    assert ("magnetic", "grid", "add 7.0 deg", "grid = magnetic + grid-magnetic angle") in rows


def test_an_azimuth_in_mils_is_told_in_mils():
    change = convert_azimuth(180.0, "grid", "magnetic", NorthRelation(-9.0))
    assert say_azimuth_change(change, "mils") == (
        "Azimuth 3200.0 mils grid is 3360.0 mils magnetic: add 160.0 mils "
        "(magnetic = grid - grid-magnetic angle; west is minus)."
    )


def test_nothing_to_add_is_said_so():
    assert say_step(0.04) == "leave it as it is"


def test_an_old_map_is_told_with_its_age_and_against_the_model():
    found = at(33.3, -115.2)
    old = stated_norths(NorthsAsked("3.5 E", printed_on="1990", annual="0.1° E"), 2026)
    said = " ".join([*say_brought(old.brought), *say_stated_beside(old, found)])
    assert "has become 7.10 deg east" in said
    assert "stretched over more than 20 years" in said
    assert "differs from the model's by 3.5 deg" in said
    young = stated_norths(NorthsAsked("11.15 E", printed_on="2020", annual="0.08° W"), 2026)
    assert say_stated_beside(young, found)[-1].endswith("it agrees with the model's to 0.1 deg.")
    assert len(say_brought(young.brought)) == 1
