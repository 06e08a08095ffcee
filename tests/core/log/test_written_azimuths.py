"""Readings written anew: as finely as they were, in their own style, the same direction when read again."""

from __future__ import annotations

import pytest

from pacewright.core.compass import parse_azimuth, turn_deg
from pacewright.core.log.written_azimuths import Fineness, fineness_of, finest_of, say_turn, write_like

STYLES = {
    "105": ("degrees", 1.0),
    "052": ("degrees", 1.0),
    "105.5": ("degrees", 0.1),
    "182°15'": ("degrees", 1 / 60),
    "226°54'23\"": ("degrees", 1 / 3600),
    "S40W": ("degrees", 1.0),
    "N 12.5 E": ("degrees", 0.1),
    "S68°05'35\"W": ("degrees", 1 / 3600),
    "1600": ("mils", 0.05625),
    "100": ("gon", 0.9),
    "100.25": ("gon", 0.009),
}


@pytest.mark.parametrize("text", STYLES)
@pytest.mark.parametrize("azimuth_deg", [0.0, 0.004, 44.4, 89.996, 90.2, 179.99, 211.37, 270.0, 359.999])
def test_what_is_written_is_read_as_the_same_direction_to_its_fineness(text, azimuth_deg):
    unit, step_deg = STYLES[text]
    written = write_like(text, azimuth_deg, unit)
    assert abs(turn_deg(parse_azimuth(written, unit), azimuth_deg)) <= step_deg / 2 + 1e-9
    assert fineness_of(written, unit).step_deg == pytest.approx(step_deg)
    assert fineness_of(text, unit).step_deg == pytest.approx(step_deg)


@pytest.mark.parametrize("text", [text for text in STYLES if text != "N 12.5 E"])
def test_a_reading_that_is_not_turned_stays_to_the_letter(text):
    unit = STYLES[text][0]
    assert write_like(text, parse_azimuth(text, unit), unit) == text


def test_a_point_of_the_compass_that_is_turned_is_written_as_a_number():
    assert write_like("NE", 47.3, "degrees") == "47"
    assert write_like("NE", 47.3, "mils") == "841"


def test_corrections_are_said_as_finely_as_the_finest_reading():
    assert say_turn(2.25, finest_of(["90", "182°15'"], "degrees")) == "2 deg 15'"
    assert say_turn(-2.25, finest_of(["90", "182.5"], "degrees")) == "2.2 deg"
    assert say_turn(2.25, finest_of([], "gon")) == "2 gon"
    assert say_turn(0.999999, Fineness("degrees", 3)) == "1 deg 00' 00\""
