"""Walking time by Naismith, Langmuir and Tobler, against what is printed of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.exceptions import ValueComplaint
from pacewright.route.travel_cost import RULES, even_pieces, find_rule, walking_time_h
from support.authorities import close_to_printed, read_authority

NAISMITH = {row["form"]: row for row in read_authority("walking_naismith.csv")}


def naismith_h(row):
    return float(walking_time_h(float(row["length_m"]), float(row["climb_m"]), rule="naismith"))


def test_twenty_kilometres_and_1600_metres_up_take_six_hours_forty_by_naismith():
    row = NAISMITH["5 km and 600 m"]
    assert close_to_printed(naismith_h(row), row["hours"])


def test_naismiths_own_walk_comes_out_in_his_time_but_for_the_metric_rounding():
    row = NAISMITH["miles and feet"]
    assert naismith_h(row) == pytest.approx(float(row["hours"]), rel=0.014)


def test_the_form_that_counts_eight_metres_of_way_for_one_up_comes_out_as_printed():
    row = NAISMITH["eight to one"]
    hours = walking_time_h(float(row["length_m"]), float(row["climb_m"]), rule="eight-to-one")
    assert close_to_printed(float(hours), row["hours"])
    assert naismith_h(row) == pytest.approx(float(row["hours"]), rel=0.04)


@pytest.mark.parametrize("row", read_authority("walking_tobler.csv"), ids=lambda row: str(row))
def test_toblers_speeds_are_those_printed(row):
    slope = float(row["slope"])
    hours = float(walking_time_h(1000, 1000 * slope, rule="tobler", off_path=row["off_path"] == "yes"))
    assert close_to_printed(1 / hours, row["speed_kmh"])


@pytest.mark.parametrize("row", read_authority("walking_langmuir.csv"), ids=lambda row: row["slope_deg"])
def test_langmuirs_corrections_are_those_printed(row):
    descent_m = float(row["descent_m"])
    length_m = descent_m / math.tan(math.radians(float(row["slope_deg"])))
    langmuir_h = walking_time_h(length_m, -descent_m, rule="langmuir")
    level_h = walking_time_h(length_m, rule="naismith")
    assert close_to_printed(60 * float(langmuir_h - level_h), row["correction_min"])


def test_uphill_langmuir_is_naismith_and_downhill_naismith_is_level():
    assert walking_time_h(2000, 300, rule="langmuir") == walking_time_h(2000, 300, rule="naismith")
    assert walking_time_h(2000, -300, rule="naismith") == walking_time_h(2000, rule="naismith")


def test_off_a_path_every_rule_takes_longer():
    for name in RULES:
        assert walking_time_h(1000, 20, rule=name, off_path=True) > walking_time_h(1000, 20, rule=name)


def test_a_walk_cut_in_pieces_takes_the_same_time():
    lengths, rises = np.full(10, 300.0), np.full(10, -24.0)
    for name in RULES:
        pieces = walking_time_h(lengths, rises, rule=name)
        assert pieces.shape == (10,)
        assert pieces.sum() == pytest.approx(float(walking_time_h(3000, -240, rule=name)))


def test_no_walk_takes_no_time():
    for name in RULES:
        assert float(walking_time_h(0, rule=name)) == 0


def test_every_rule_says_its_source():
    for rule in RULES.values():
        assert find_rule(rule.name) is rule
        assert any(year in rule.source for year in ("1892", "1984", "1993", "2007"))


def test_totals_are_laid_out_equally_steep_up_and_down():
    lengths, rises = even_pieces(5000, climb_m=100, descent_m=300)
    assert lengths.sum() == 5000
    assert (rises / lengths).tolist() == pytest.approx([0.08, -0.08])


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: walking_time_h(-1), "cannot be"),
        (lambda: walking_time_h(math.nan), "cannot be"),
        (lambda: walking_time_h(100, math.inf), "cannot be"),
        (lambda: walking_time_h(0, 5), "over no length"),
        (lambda: walking_time_h(1, rule="hurry"), "no walking rule called hurry"),
        (lambda: even_pieces(100, climb_m=-3), "a climb of -3 m"),
        (lambda: even_pieces(math.nan), "a length of nan m"),
        (lambda: even_pieces(20_200_000), "a length of 2.02e\\+07 m"),
        (lambda: even_pieces(0, descent_m=5), "over no length"),
    ],
)
def test_a_walk_that_cannot_be_is_refused(call, what):
    with pytest.raises(ValueComplaint, match=what):
        call()


def test_the_longest_way_on_the_earth_is_one():
    """Half of the equator of WGS 84, whose radius is 6378137 m (NIMA TR8350.2, 3rd edition, table 3.1)."""
    assert even_pieces(math.pi * 6_378_137)[0].sum() == pytest.approx(20_037_508, abs=1)
