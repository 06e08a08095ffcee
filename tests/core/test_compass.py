"""Azimuths against printed bearings, scipy's circular statistics and the exact quarters."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import circmean, circstd

from pacewright.core.compass import (
    POINT_DEG,
    azimuth_scatter,
    back_azimuth,
    direction_deg,
    format_azimuth,
    format_quadrant,
    from_degrees,
    mean_azimuth,
    normal_azimuth,
    parse_azimuth,
    point_of,
    to_degrees,
    turn_deg,
    unit_vectors,
)
from pacewright.exceptions import ValueComplaint
from support.authorities import close_to_printed, read_authority

UNITS = ["degrees", "mils", "gon"]
moderate = settings(max_examples=100, deadline=None)
azimuths = st.floats(0, 360, exclude_max=True)


@pytest.mark.parametrize("row", read_authority("mils_a_degree.csv"))
def test_mils_and_degrees_stand_to_each_other_as_printed(row):
    assert close_to_printed(from_degrees(float(row["degrees"]), "mils"), row["mils"])


@pytest.mark.parametrize(("unit", "full"), [("degrees", 360), ("mils", 6400), ("gon", 400)])
def test_every_quarter_of_the_circle_is_exact_in_every_unit(unit, full):
    assert [parse_azimuth(str(full * k // 4), unit) for k in range(5)] == [0.0, 90.0, 180.0, 270.0, 0.0]
    assert [from_degrees(90.0 * k, unit) for k in range(5)] == [full * k / 4 for k in range(5)]


@pytest.mark.parametrize(
    ("name", "bearing", "latitude", "departure"),
    [
        (name, row["azimuth"], float(row["latitude"]), float(row["departure"]))
        for name in (
            "traverse_purdue.csv",
            "traverse_compass_rule_lesson.csv",
            "traverse_mahun_adjustment.csv",
            "traverse_mahun_bearing.csv",
        )
        for row in read_authority(name)
    ],
)
def test_a_printed_bearing_points_along_its_printed_latitude_and_departure(
    name, bearing, latitude, departure
):
    # Latitudes and departures are printed to 0.01 at worst, on courses of 46 ft and more.
    printed_deg = math.degrees(math.atan2(departure, latitude))
    assert abs(turn_deg(parse_azimuth(bearing), printed_deg)) < math.degrees(0.01 / 46), name


@pytest.mark.parametrize("row", read_authority("back_bearings_quadrants.csv"))
def test_a_quadrant_bearing_less_its_printed_correction_is_the_printed_azimuth(row):
    sign = -1 if row["correction_at_start"].startswith("-") else 1
    correction_deg = sign * parse_azimuth(row["correction_at_start"].lstrip("+-"))
    corrected_deg = normal_azimuth(parse_azimuth(row["fore"]) + correction_deg)
    assert abs(turn_deg(corrected_deg, parse_azimuth(row["corrected_fore"]))) < 1e-9


@pytest.mark.parametrize("name", ["back_bearings_open.csv", "back_bearings_quadrants.csv"])
def test_a_printed_corrected_back_bearing_is_the_back_azimuth_of_the_fore_bearing(name):
    for row in read_authority(name):
        back_deg = back_azimuth(parse_azimuth(row["corrected_fore"]))
        assert abs(turn_deg(back_deg, parse_azimuth(row["corrected_back"]))) < 1e-9


@moderate
@given(st.lists(azimuths, min_size=1, max_size=30))
def test_mean_and_scatter_are_those_of_scipy(azimuth_deg):
    ours = azimuth_scatter(azimuth_deg)
    theirs = circstd(azimuth_deg, high=360)
    resultant = abs(np.exp(1j * np.deg2rad(azimuth_deg)).mean())
    if resultant < 1e-3:
        return  # Without a direction to speak of both are rounding.
    assert abs(turn_deg(mean_azimuth(azimuth_deg), circmean(azimuth_deg, high=360))) < 1e-9
    # Near no scatter at all both take the root of a rounding.
    assert ours == pytest.approx(theirs, rel=1e-6, abs=2e-5)


def test_the_mean_across_north_is_north_and_not_south():
    assert mean_azimuth([350, 10]) == pytest.approx(0, abs=1e-9) or mean_azimuth([350, 10]) > 359.999999
    assert azimuth_scatter([350, 10]) == pytest.approx(azimuth_scatter([170, 190]))


def test_azimuths_that_cancel_have_no_mean_and_no_end_of_scatter():
    with pytest.raises(ValueComplaint, match="point every way and have no mean direction"):
        mean_azimuth([0, 180])
    assert azimuth_scatter([0, 180]) == math.inf


def test_no_azimuths_have_neither_mean_nor_scatter():
    for statistic in (mean_azimuth, azimuth_scatter):
        with pytest.raises(ValueComplaint, match="there are no azimuths to take a mean of"):
            statistic([])


@moderate
@given(st.floats(-1e6, 1e6))
def test_a_normal_azimuth_lies_from_0_below_360_and_points_the_same_way(azimuth_deg):
    azimuth = normal_azimuth(azimuth_deg)
    assert 0 <= azimuth < 360
    assert math.copysign(1, azimuth) == 1
    assert abs(math.remainder(azimuth - azimuth_deg, 360)) < 1e-9


@moderate
@given(azimuths)
def test_the_back_azimuth_of_the_back_azimuth_is_the_azimuth(azimuth_deg):
    assert abs(turn_deg(back_azimuth(back_azimuth(azimuth_deg)), azimuth_deg)) < 1e-12
    assert abs(turn_deg(azimuth_deg, back_azimuth(azimuth_deg))) == pytest.approx(180, abs=1e-9)


def test_back_azimuths_at_the_seam_are_exact():
    assert [back_azimuth(a) for a in (0, 180, 360, 359, 1, 179.5)] == [180, 0, 180, 179, 181, 359.5]


@moderate
@given(azimuths, azimuths)
def test_a_turn_takes_the_short_way_and_leads_there(from_deg, to_deg):
    turned = turn_deg(from_deg, to_deg)
    assert -180 < turned <= 180
    assert abs(math.remainder(from_deg + turned - to_deg, 360)) < 1e-9


def test_unit_vectors_are_exact_at_the_quarters():
    east, north = unit_vectors([0, 90, 180, 270, 360, -90, 720])
    assert east.tolist() == [0, 1, 0, -1, 0, -1, 0]
    assert north.tolist() == [1, 0, -1, 0, 1, 0, 1]
    assert not np.signbit(east[[0, 2, 4, 6]]).any() and not np.signbit(north[[1, 3, 5]]).any()


@moderate
@given(azimuths)
def test_the_direction_of_a_unit_vector_is_its_azimuth(azimuth_deg):
    east, north = unit_vectors(azimuth_deg)
    assert abs(turn_deg(azimuth_deg, direction_deg(float(east), float(north)))) < 1e-9


def test_the_sixteen_points_are_22_and_a_half_degrees_apart():
    assert [point_of(degrees, 16) for degrees in POINT_DEG.values()] == list(POINT_DEG)
    assert np.diff(list(POINT_DEG.values())).tolist() == [22.5] * 15
    assert [parse_azimuth(name.lower()) for name in POINT_DEG] == list(POINT_DEG.values())


def test_cardinal_and_intercardinal_points_change_half_way():
    assert [point_of(a, 4) for a in (44.9, 45, 314.9, 315)] == ["N", "E", "W", "N"]
    assert [point_of(a, 8) for a in (22.4, 22.5, 337.4, 337.5, 360)] == ["N", "NE", "NW", "N", "N"]


def test_points_and_quadrant_bearings_mean_the_same_in_mils_and_gon():
    assert {parse_azimuth("S40W", unit) for unit in UNITS} == {220.0}
    assert {parse_azimuth("sw", unit) for unit in UNITS} == {225.0}


@pytest.mark.parametrize(
    ("text", "azimuth_deg"),
    [
        ("S40W", 220),
        ("s 40 w", 220),
        ("N0E", 0),
        ("N0W", 0),
        ("N90W", 270),
        ("S90E", 90),
        ("S0E", 180),
        ("S68°05'35\"W", 180 + 68 + 5 / 60 + 35 / 3600),
        ("S 68° 05′ 35″ W", 180 + 68 + 5 / 60 + 35 / 3600),
        ("226°54'23''", 226 + 54 / 60 + 23 / 3600),
        ("0°00'00\"", 0),
        ("360°", 0),
        (" 305 ", 305),
        ("305.", 305),
        (".5", 0.5),
        ("007", 7),
        ("٣٠٥", 305),
    ],
)
def test_these_readings_are_azimuths(text, azimuth_deg):
    assert parse_azimuth(text) == pytest.approx(azimuth_deg, abs=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "361",
        "360.0001",
        "-1",
        "-0",
        "nan",
        "inf",
        "1e2",
        "+5",
        "3 5",
        "305°60'",
        "30.5°20'",
        "30°20.5'10\"",
        "NNNE",
        "nord",
        "0x10",
        "S40",
        "40W",
        "½",
        "²",
        "9" * 400,
        "359°59'60\"",
        "360°00'01\"",
    ],
)
def test_these_texts_are_no_azimuth_and_the_complaint_says_what_to_write(text):
    with pytest.raises(ValueComplaint) as raised:
        parse_azimuth(text)
    shown = text if len(text) <= 40 else text[:37] + "..."
    assert str(raised.value) == (
        f"{shown} is not an azimuth in degrees. "
        "Write a number from 0 to 360, a point such as NE, or a bearing such as S40W."
    )


def test_an_empty_azimuth_is_named_as_such():
    with pytest.raises(ValueComplaint, match=r"^an empty text is not an azimuth in gon"):
        parse_azimuth("  ", "gon")


@pytest.mark.parametrize("text", ["S91W", "N90°00'01\"E", "S40°61'W", "N1.2.3E", "N.E"])
def test_a_quadrant_bearing_past_a_right_angle_is_refused(text):
    with pytest.raises(ValueComplaint) as raised:
        parse_azimuth(text)
    assert str(raised.value) == (
        f"{text} is not a quadrant bearing. "
        "Write N or S, an angle from 0 to 90 degrees, then E or W, such as S40W."
    )


def test_minutes_are_no_part_of_a_reading_in_mils():
    with pytest.raises(
        ValueComplaint, match=r"30°20' is not an azimuth in mils. Write a number from 0 to 6400"
    ):
        parse_azimuth("30°20'", "mils")


@pytest.mark.parametrize("text", ["N1" + " " * 50_000 + "x", "1" * 50_000 + "x", "1" + " " * 50_000 + "x"])
def test_a_reading_of_fifty_thousand_letters_is_refused_at_once(text):
    with pytest.raises(ValueComplaint, match=r"\.\.\. is not an azimuth"):
        parse_azimuth(text)


@moderate
@given(azimuths, st.sampled_from(UNITS), st.integers(0, 6))
def test_a_written_azimuth_reads_back_to_half_a_unit_of_its_last_digit(azimuth_deg, unit, decimals):
    text = format_azimuth(azimuth_deg, unit, decimals)
    half = to_degrees(0.5 * 10.0**-decimals, unit)
    assert abs(turn_deg(parse_azimuth(text, unit), azimuth_deg)) <= half * (1 + 1e-6)


def test_a_half_goes_up_as_in_a_count():
    """Common practice of hand reckoning; and no two tables may write one reading as 20 and as 21."""
    assert [format_azimuth(half) for half in (20.5, 21.5, 359.5)] == ["21", "22", "0"]
    assert format_azimuth(to_degrees(800.5, "mils"), "mils") == "801"
    assert format_azimuth(12.25, decimals=1) == "12.3"


def test_what_would_round_to_the_full_circle_is_written_nought():
    assert [format_azimuth(359.999, unit) for unit in UNITS] == ["0", "0", "0"]
    assert format_azimuth(359.96, decimals=1) == "0.0"


@moderate
@given(azimuths)
def test_a_written_quadrant_bearing_points_the_same_way(azimuth_deg):
    assert abs(turn_deg(parse_azimuth(format_quadrant(azimuth_deg, 6)), azimuth_deg)) < 1e-6
