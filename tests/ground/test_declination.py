"""The magnetic field against the official test values of the World Magnetic Model 2025."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.exceptions import ValueComplaint
from pacewright.files.field_model import bundled_field_model
from pacewright.ground.declination import (
    compass_zone,
    decimal_year,
    declination_at,
    declination_sd_deg,
    magnetic_field,
    parse_when,
)
from support.authorities import close_to_printed, read_authority

MODEL = bundled_field_model()
POLAR_RADIUS_M = 6_356_752.314245


def field_at(row):
    height_m = 1000 * float(row["height_km"])
    return magnetic_field(
        MODEL, float(row["latitude_deg"]), float(row["longitude_deg"]), float(row["year"]), height_m
    )


def dot(field, *parts):
    return sum(getattr(field, f"{part}_nt") * getattr(field, f"{part}_change_nt") for part in parts)


@pytest.mark.parametrize("row", read_authority("wmm2025_test_values.csv"))
def test_the_official_test_values_come_out_as_printed(row):
    field = field_at(row)
    for name in ("north_nt", "east_nt", "down_nt", "horizontal_nt", "total_nt"):
        assert close_to_printed(float(getattr(field, name)), row[name]), name
    for name in ("inclination_deg", "declination_deg", "annual_change_deg"):
        assert close_to_printed(float(getattr(field, name)), row[name]), name
    for name in ("north_change_nt", "east_change_nt", "down_change_nt"):
        assert close_to_printed(float(getattr(field, name)), row[name]), name
    horizontal = dot(field, "north", "east") / field.horizontal_nt
    total = dot(field, "north", "east", "down") / field.total_nt
    assert close_to_printed(float(horizontal), row["horizontal_change_nt"])
    assert close_to_printed(float(total), row["total_change_nt"])


def test_the_worked_example_of_the_report_comes_out_to_its_eighth_decimal():
    field = magnetic_field(MODEL, -80, 240, 2027.5, 100_000)
    value = {row["quantity"]: row["value"] for row in read_authority("wmm2025_worked_example.csv")}
    for name in ("north_nt", "east_nt", "down_nt", "horizontal_nt", "total_nt"):
        assert close_to_printed(float(getattr(field, name)), value[name]), name
    for name in ("declination", "inclination", "annual_change"):
        assert close_to_printed(math.radians(getattr(field, f"{name}_deg")), value[f"{name}_rad"]), name


@pytest.mark.parametrize("row", read_authority("wmm2025_test_points.csv"))
def test_places_all_over_the_earth_come_out_as_published(row):
    field = field_at(row)
    for name in ("declination_deg", "inclination_deg", "horizontal_nt"):
        # One value was rounded twice in print: 17159.83647, 17159.8365, 17159.837.
        assert close_to_printed(float(getattr(field, name)), row[name], units=0.54), name


@pytest.mark.parametrize("row", read_authority("wmm2025_poles.csv"))
def test_the_field_at_the_poles_is_the_one_in_the_report(row):
    field = magnetic_field(MODEL, float(row["latitude_deg"]), 0.0, 2025.0, 6_371_200 - POLAR_RADIUS_M)
    for name in ("north_nt", "east_nt", "down_nt"):
        assert close_to_printed(float(getattr(field, name)), row[name]), name


@pytest.mark.parametrize("pole_deg", [90.0, -90.0])
@pytest.mark.parametrize("longitude_deg", [0.0, 77.0, -133.0])
def test_the_field_runs_smoothly_into_a_pole(pole_deg, longitude_deg):
    at, near = (magnetic_field(MODEL, pole_deg * k, longitude_deg, 2026.0) for k in (1, 1 - 1e-9))
    for name in ("north_nt", "east_nt", "down_nt", "declination_deg"):
        assert float(getattr(at, name)) == pytest.approx(float(getattr(near, name)), abs=1e-3)


@pytest.mark.parametrize("row", read_authority("wmm2025_uncertainty.csv"))
def test_the_uncertainty_is_the_published_one(row):
    found = float(declination_sd_deg(float(row["horizontal_nt"])))
    assert close_to_printed(found, row["declination_sd_deg"])


def test_the_zones_are_those_of_the_horizontal_field():
    assert [compass_zone(h) for h in (1504.3, 1999.9, 2000, 2164, 5999.9, 6000)] == [
        "blackout",
        "blackout",
        "caution",
        "caution",
        "caution",
        "ordinary",
    ]
    assert declination_at(MODEL, 89, -121, 2025.0, 28_000).compass_zone == "blackout"


def test_many_points_and_dates_at_once_are_each_as_if_alone():
    chance = np.random.default_rng(2025)
    latitude, longitude = chance.uniform(-90, 90, (3, 3000)), chance.uniform(-180, 360, (3, 3000))
    year, height = chance.uniform(2025, 2030, 3000), chance.uniform(-500, 9000, (3, 1))
    together = magnetic_field(MODEL, latitude, longitude, year, height)
    assert together.declination_deg.shape == (3, 3000)
    for i, j in ((0, 0), (2, 2999), (1, 1234)):
        alone = magnetic_field(MODEL, latitude[i, j], longitude[i, j], year[j], height[i, 0])
        assert together.declination_deg[i, j] == pytest.approx(float(alone.declination_deg), abs=1e-12)
        assert together.annual_change_deg[i, j] == pytest.approx(float(alone.annual_change_deg), abs=1e-12)


@given(st.floats(-85, 85), st.floats(-180, 180), st.floats(2025.1, 2029.9))
def test_the_annual_change_is_the_slope_of_the_declination(latitude, longitude, year):
    step = 1e-4
    field = magnetic_field(MODEL, latitude, longitude, [year - step, year, year + step])
    turned = math.remainder(field.declination_deg[2] - field.declination_deg[0], 360)
    assert turned / (2 * step) == pytest.approx(field.annual_change_deg[1], abs=1e-4, rel=1e-4)


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_a_longitude_and_the_same_once_round_have_one_declination(latitude, longitude):
    field = magnetic_field(
        MODEL, latitude, [longitude, longitude + 360 if longitude <= 0 else longitude - 360], 2026
    )
    assert math.remainder(field.declination_deg[0] - field.declination_deg[1], 360) == pytest.approx(
        0, abs=1e-6
    )


@pytest.mark.parametrize("year", [2024.86, 2024 + 317 / 366, 2030.01, 1990.0, math.nan, math.inf])
def test_a_date_outside_the_model_is_refused_in_one_sentence(year):
    outside = not 2024 + 317 / 366 <= year <= 2030
    if not outside:
        assert declination_at(MODEL, 33, 44, year).model == "WMM-2025"
        return
    with pytest.raises(
        ValueComplaint, match=r"outside the years of the magnetic model WMM-2025, 2024-11-13 to"
    ):
        declination_at(MODEL, 33, 44, year)


def test_the_first_and_the_last_day_of_the_model_are_answered():
    for day in (datetime.date(2024, 11, 13), datetime.date(2030, 1, 1)):
        assert math.isfinite(declination_at(MODEL, 33, 44, decimal_year(day)).declination_deg)
    for day in (datetime.date(2024, 11, 12), datetime.date(2030, 1, 2)):
        with pytest.raises(ValueComplaint, match="outside the years"):
            declination_at(MODEL, 33, 44, decimal_year(day))


def test_one_bad_date_among_many_is_named():
    with pytest.raises(ValueComplaint, match=r"the date 2031\.25 lies outside"):
        magnetic_field(MODEL, 33, 44, [2026, 2031.25, 2040])


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ((91, 0, 0), "latitude of 91"),
        ((math.nan, 0, 0), "latitude of nan"),
        ((0, 361, 0), "longitude of 361"),
        ((0, math.inf, 0), "longitude of inf"),
        ((0, 0, 900_000), "height of 900000"),
        ((0, 0, -1001), "height of -1001"),
    ],
)
def test_a_place_off_the_earth_is_refused(place, says):
    latitude, longitude, height = place
    with pytest.raises(ValueComplaint, match=says):
        declination_at(MODEL, latitude, longitude, 2026.0, height)


@pytest.mark.parametrize("text", ["", "yesterday", "2026-13-01", "14.13.2026", "nan", "20260.5", "2026,4"])
def test_what_is_no_date_is_refused(text):
    with pytest.raises(ValueComplaint, match="is not a date"):
        parse_when(text)


def test_a_leap_year_is_counted_in_its_own_days():
    assert decimal_year(datetime.date(2028, 12, 31)) == pytest.approx(2028 + 365 / 366)
    assert parse_when(" 2025-07-02 ") == pytest.approx(2025 + 182 / 365)


def test_the_answer_says_whose_it_is_and_until_when():
    found = declination_at(MODEL, 33.3, 44.4, 2026.0)
    assert (found.model, found.valid_to) == ("WMM-2025", datetime.date(2030, 1, 1))
    assert found.declination_sd_deg == pytest.approx(math.hypot(0.26, 5417 / found.horizontal_nt))
