"""What the pencil may have meant, in the style in which it was written."""

from __future__ import annotations

import pytest

from pacewright.core.compass import FULL_CIRCLE, parse_azimuth
from pacewright.core.slips.slip_entries import (
    Reading,
    misread,
    other_quadrants,
    swapped,
    swapped_count,
    turned,
)
from support.made_mistakes import entries_after


def reading(text, unit="degrees"):
    return Reading(text, parse_azimuth(text, unit))


@pytest.mark.parametrize("azimuth", range(360))
def test_every_slip_of_an_azimuth_can_be_traced_back(azimuth):
    """Against the made-up mistakes: whatever a slip made of an azimuth, the azimuth is among the causes."""
    for kind, causes in (
        ("digit_misread", lambda r: misread(r, "degrees")),
        ("azimuth_reversed", lambda r: [turned(r, 180, "degrees")]),
        ("quadrant_wrong", lambda r: other_quadrants(r, "degrees")),
    ):
        for made, _ in entries_after(kind, azimuth, 7):
            found = [one.azimuth_deg for one in causes(reading(str(made)))]
            assert azimuth in found, (kind, made)
    for made, count in entries_after("digits_swapped", azimuth, 7):
        assert count == 7
        assert azimuth in [one.azimuth_deg for one in swapped(reading(str(made)), "degrees")]


@pytest.mark.parametrize("count", [12, 120, 204, 1305, 77, 100])
def test_every_swap_of_a_count_can_be_traced_back(count):
    for azimuth, made in entries_after("digits_swapped", 7, count):
        assert azimuth == 7
        assert str(count) in swapped_count(str(made))


@pytest.mark.parametrize(
    ("text", "unit"),
    [("052", "degrees"), ("52.5", "degrees"), ("800", "mils"), ("350", "gon"), ("S40W", "degrees")],
)
def test_an_entry_written_anew_reads_as_the_azimuth_it_stands_for(text, unit):
    given = reading(text, unit)
    for one in [
        *misread(given, unit),
        *swapped(given, unit),
        turned(given, 180, unit),
        turned(given, 14, unit),
    ]:
        assert parse_azimuth(one.text, unit) == pytest.approx(one.azimuth_deg, abs=1e-3)
        assert 0 <= one.azimuth_deg < 360


def test_a_padded_azimuth_stays_padded():
    assert [one.text for one in misread(reading("052"), "degrees")] == ["042", "062", "152"]
    assert turned(reading("352"), 90, "degrees").text == "82"
    assert turned(reading("052"), -44, "degrees").text == "008"


def test_a_point_of_the_compass_turns_to_a_point():
    assert turned(reading("NE"), 180, "degrees").text == "SW"
    assert [one.text for one in other_quadrants(reading("N"), "degrees")] == ["E", "W"]
    assert turned(reading("NE"), 14, "degrees").text == "59"


def test_a_turn_by_half_a_circle_is_exact_in_every_unit():
    for unit, full in FULL_CIRCLE.items():
        assert turned(reading("100", unit), 180, unit).text == str(100 + full // 2)
