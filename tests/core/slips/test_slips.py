"""Which slips are enumerated on a log, and what stood there before each."""

from __future__ import annotations

import math

import pytest

from pacewright.core.slips.slips import KIND_WEIGHT, find_slips, likely_kinds
from support.logs import log_of
from support.made_mistakes import KINDS


def test_slips_are_enumerated_in_the_units_of_the_log():
    mils = find_slips(log_of((1600, 350), (4800, 340, "[at Gate]"), azimuth="magnetic mils", count="metres"))
    entries = {(s.kind, s.entries[0].reading.text, s.entries[0].count_text) for s in mils if s.legs == (1,)}
    assert ("azimuth_reversed", "4800", "350") in entries
    assert ("quadrant_wrong", "3200", "350") in entries
    assert ("digit_misread", "600", "350") in entries
    assert ("tally_lost", "1600", "450") in entries
    quadrant = find_slips(log_of(("S40W", 300), ("N40E", 300, "[at Gate]")))
    texts = {(s.kind, s.entries[0].reading.text) for s in quadrant if s.legs == (1,)}
    assert {("azimuth_reversed", "N40E"), ("quadrant_wrong", "N40W"), ("quadrant_wrong", "S40E")} <= texts
    assert ("digit_misread", "S50W") in texts


def test_an_estimated_leg_was_never_tallied():
    slips = find_slips(log_of((90, 350, "[est]"), (270, 340, "[at Gate]")))
    assert {s.kind for s in slips if s.legs == (1,)} & {"tally_lost", "steps_for_paces"} == set()


def test_a_rectangle_is_no_detour_and_a_short_square_offset_is():
    rectangle = find_slips(log_of((0, 600), (90, 450), (180, 600), (270, 450, "[at Gate]")))
    assert not [s for s in rectangle if s.kind == "offset_mirrored"]
    boxed = find_slips(log_of((0, 600), (90, 40), (0, 300), (270, 40), (180, 900, "[at Gate]")))
    assert [s.legs for s in boxed if s.kind == "offset_mirrored"] == [(2, 4)]


def test_the_kinds_are_those_that_the_made_up_walkers_make():
    # Rows are exchanged only where a plan is known, and then by the cards.
    assert set(KIND_WEIGHT) == {*KINDS, "rows_exchanged"}


def test_the_chances_of_a_kind_are_shared_by_its_places_and_ways():
    """By hand: reversed strikes one of three legs in one way; a quarter circle off in two."""
    log = log_of((90, 300), (200, 300), (330, 300, "[at Gate]"))
    slips = find_slips(log)
    reversed_legs = [math.exp(s.place_weight) for s in slips if s.kind == "azimuth_reversed"]
    quarters = [math.exp(s.place_weight) for s in slips if s.kind == "quadrant_wrong"]
    assert reversed_legs == pytest.approx([1 / 3] * 3)
    assert quarters == pytest.approx([1 / 6] * 6)


def test_a_thousand_can_be_lost_only_where_one_was_walked():
    """Without the slip the one leg has a thousand in it; without any slip no leg has."""
    log = log_of((90, 300), (270, 300, "[at Gate]"))
    slips = find_slips(log)
    (first, second) = [s for s in slips if s.kind == "thousand_lost"]
    assert (first.entries[0].count, second.entries[0].count) == (1300, 1300)
    assert first.place_weight == second.place_weight == 0.0
    shares = dict(zip([(s.kind, s.legs) for s in slips], likely_kinds(log, slips), strict=False))
    # One more kind is possible in the log with a thousand, so each kind's share there is smaller.
    assert shares["thousand_lost", (1,)] < shares["azimuth_reversed", (1,)]
