"""MGRS against GeographicLib's GeoConvert and the US National Grid standard."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid import (
    GridPoint,
    GridZone,
    band_latitudes,
    from_grid,
    project,
    zone_longitudes,
    zone_of,
)
from pacewright.ground.mgrs_squares import format_mgrs, parse_mgrs
from support.authorities import close_to_printed, read_authority

PLACES = read_authority("geoconvert_places.csv")
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


@pytest.mark.parametrize("row", PLACES, ids=lambda row: row["mgrs"])
def test_a_place_has_the_square_and_digits_that_geoconvert_gives(row):
    assert format_mgrs(float(row["latitude_deg"]), float(row["longitude_deg"])) == row["mgrs"]


@pytest.mark.parametrize("row", PLACES, ids=lambda row: row["mgrs"])
def test_a_square_is_read_back_within_its_own_metre(row):
    point, side_m, latitude, longitude = parse_mgrs(row["mgrs"])
    assert side_m == 1
    assert abs(point.east_m - float(row["east_m"])) <= 0.5005
    assert abs(point.north_m - float(row["north_m"])) <= 0.5005
    # On the edge of a zone or band the middle of the square may lie across it.
    if zone_of(latitude, longitude) == point.zone and abs(math.remainder(latitude, 8)) > 1e-5:
        assert format_mgrs(latitude, longitude) == row["mgrs"]


def test_the_middle_of_a_square_is_its_place():
    """GeographicLib, GeoConvert manual page: 38SMB4488 is 33.33424 44.40363."""
    _, side_m, latitude, longitude = parse_mgrs("38SMB4488")
    assert side_m == 1000
    assert close_to_printed(latitude, "33.33424")
    assert close_to_printed(longitude, "44.40363")


def test_digits_are_cut_and_never_rounded():
    rows = read_authority("mgrs_precisions.csv")
    _, _, latitude, longitude = parse_mgrs(rows[-1]["mgrs"])
    for row in rows:
        digits = (len(row["mgrs"]) - 5) // 2
        assert format_mgrs(latitude, longitude, digits) == row["mgrs"]
        assert parse_mgrs(row["mgrs"])[1] == float(row["side_m"])


@given(st.integers(166_021, 833_978), st.integers(0, 9_300_000), st.sampled_from("NS"))
def test_whole_metres_stay_whole_on_their_way_through_degrees(east, north, hemisphere):
    north = north if hemisphere == "N" else north + 700_000
    try:
        latitude, longitude = from_grid(GridPoint(GridZone(38, hemisphere), east, north))
    except ValueComplaint:
        return
    written = format_mgrs(latitude, longitude)
    assume(written.startswith("38"))
    assert written[5:] == f"{east % 100_000:05d}{north % 100_000:05d}"


@given(st.floats(-90, 90), st.floats(-180, 180), st.integers(0, 5))
@example(-4.5e-14, 0.0, 0)
@example(-4.5e-14, 0.0, 5)
@example(-3.9e-65, 0.0, 0)
def test_every_place_lies_in_the_square_it_is_written_as(latitude, longitude, digits):
    written = format_mgrs(latitude, longitude, digits)
    point, side_m, *_ = parse_mgrs(written)
    assert side_m == 10 ** (5 - digits)
    east, north = project(point.zone, latitude, longitude)
    assert abs(float(east) - point.east_m) <= side_m / 2 + 1e-5
    assert abs(float(north) - point.north_m) <= side_m / 2 + 1e-5


@pytest.mark.parametrize("name", ["38S", "31V", "32V", "31X", "33X", "37X", "01C", "60N", "60M", "18T"])
def test_exactly_the_squares_with_ground_in_their_zone_are_accepted(name):
    """Squares met on a walk over zone and band in steps of 1/50 degree; corners smaller than that apart."""
    number, band = int(name[:2]), name[2]
    (south, north), (west, east) = band_latitudes(band), zone_longitudes(number, band)
    zone = GridZone(number, "N" if band >= "N" else "S")
    latitude, longitude = np.meshgrid(
        np.arange(south, north - 1e-6, 0.02), np.arange(west, east - 1e-6, 0.02)
    )
    east_m, north_m = project(zone, latitude, longitude)
    met = set(zip((east_m // 1e5).astype(int).ravel(), (north_m // 1e5).astype(int).ravel(), strict=True))
    accepted = set()
    for column in LETTERS:
        for row in LETTERS:
            try:
                point, *_ = parse_mgrs(name + column + row)
            except ValueComplaint:
                continue
            accepted.add((int(point.east_m // 1e5), int(point.north_m // 1e5)))
    assert met <= accepted
    assert len(accepted - met) <= 2


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("38SAB0000000000", "zone 38 has the columns J to R, not A"),
        ("38TMB4484", "the square MB does not touch 38T"),
        ("31UAA00", "the square AA does not touch 31U"),
        ("32XMH00", "zone 32 does not reach band X"),
        ("38SMW00", "W is not the letter of a row"),
        ("38IMB00", "I is not a latitude band"),
        ("38ZMB00", "Z is not a latitude band"),
        ("61SMB00", "zones run from 1 to 60"),
        ("00SMB00", "zones run from 1 to 60"),
        ("SMB4484", "begins with the number of its zone"),
        ("ZDA00", "the polar grid has no square DA in Z"),
        ("ZAZ00", "the polar grid has no square AZ in Z"),
        ("AJA00", "lies outside the polar grid"),
        ("38SMB448", "has 3 digits"),
        ("38SMB448844884488", "more digits than MGRS knows"),
        ("38S MB 4488 44", "not two equal halves"),
        ("38S MB 44 88 44", "not two equal halves"),
        ("38SM4488", "is not MGRS"),
    ],
)
def test_an_impossible_square_is_refused_with_its_reason(text, says):
    with pytest.raises(ValueComplaint, match=says) as refused:
        parse_mgrs(text)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize("digits", [-1, 6])
def test_digits_that_mgrs_does_not_have_are_refused(digits):
    with pytest.raises(ValueComplaint, match="number of digits"):
        format_mgrs(33.3, 44.4, digits)


def test_a_place_off_the_earth_has_no_square():
    with pytest.raises(ValueComplaint, match="not a latitude"):
        format_mgrs(math.nan, 0)
