"""Latitude and longitude as people type them. GeographicLib's manual page of GeoConvert names most forms."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.exceptions import Complaint, FormatComplaint, ValueComplaint
from pacewright.ground.lat_lon_text import format_lat_lon, parse_lat_lon

NORTH_EAST = [
    "33.3 44.4",
    "33.3, 44.4",
    "33.3;44.4",
    "+33.3 +44.4",
    "33.3N 44.4E",
    "N33.3 E44.4",
    "N33.3,E044.4",
    "E44.4 N33.3",
    "44.4E 33.3N",
    "33.3° N, 44.4° E",
    "33.3 north 44.4 east",
    "33,3 44,4",
    "33,3N 44,4E",
    "33°18'N 44°24'E",
    "33°18'N44°24'E",
    "33º18′00″N 44º24′00″E",
    "33d18'N 44d24'E",
    "33:18 44:24",
    "33:18:00 +44:24:00",
    "33 18 44 24",
    "33 18 00, 44 24 00",
    "33 18.0 N 44 24.0 E",
    "N 33 18 00 E 44 24 00",
    "33° 18' 44° 24'",
    "33deg 18min N 44deg 24min 0sec E",
    "331800N 0442400E",
    "3318.0N 04424.0E",
    "lat 33.3 lon 44.4",
    "Latitude: 33.3, Longitude: 44.4",
]


@pytest.mark.parametrize("text", NORTH_EAST)
def test_every_common_form_is_the_same_place(text):
    found = parse_lat_lon(text)
    assert (found.latitude_deg, found.longitude_deg) == pytest.approx((33.3, 44.4), abs=1e-12)


@pytest.mark.parametrize(
    "text", ["-33.3 -44.4", "−33.3, −44.4", "33.3S 44.4W", "-33 18 0 -44 24 0", "S33°18' W44°24'"]
)
def test_south_and_west_are_minus(text):
    found = parse_lat_lon(text)
    assert (found.latitude_deg, found.longitude_deg) == pytest.approx((-33.3, -44.4), abs=1e-12)


def test_south_of_the_equator_within_the_first_degree_keeps_its_sign():
    assert parse_lat_lon("-0 30 0 -0 15 0").latitude_deg == -0.5
    assert parse_lat_lon("0°30'S 0°15'W").longitude_deg == -0.25


def test_the_last_digit_says_how_coarse_a_place_is():
    coarse = [
        parse_lat_lon(t).precision_m
        for t in ("33 44", "33.300 44.400", "33°18'N 44°24'E", "33:18:00 44:24:00")
    ]
    assert coarse == pytest.approx([111_320, 111.32, 1855.3, 30.92], rel=1e-3)
    assert parse_lat_lon("33.3 44.40000").precision_m == pytest.approx(11_132)


def test_decimal_commas_are_read_and_said():
    assert parse_lat_lon("33,3 44,4").remarks == ("the commas were read as decimal points",)
    assert parse_lat_lon("33, 44").remarks == ()


@pytest.mark.parametrize("text", ["-121.5 38.2", "121.5, 38.2", "179 -45"])
def test_latitude_and_longitude_swapped_are_named_as_such(text):
    first, second = text.replace(",", "").split()
    with pytest.raises(ValueComplaint, match=f"swapped.*Write latitude first: {second} {first}"):
        parse_lat_lon(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("33.3N 44.4", "a letter for one of latitude and longitude only"),
        ("N 33.3 44.4", "a letter for one of latitude and longitude only"),
        ("-33.3S 44.4E", "both a minus and the letter S"),
        ("33.3N 40N", "does not hold one latitude and one longitude"),
        ("33.3E 40W", "does not hold one latitude and one longitude"),
        ("33°61'N 44°24'E", "60 minutes or seconds or more"),
        ("33 18 60 44 24 00", "60 minutes or seconds or more"),
        ("33.5 18 N 44 24 E", "decimal point before its last part"),
        ("95 200", "95 is not a latitude"),
        ("95N 40E", "95 is not a latitude"),
        ("45N 181E", "181 is not a longitude"),
        ("45 361", "361 is not a longitude"),
        ("45 -181", "-181 is not a longitude"),
        ("33.3", "is not a latitude and a longitude"),
        ("33.3 44.4 5", "is not a latitude and a longitude"),
        ("33.3 44.4 N E", "is not a latitude and a longitude"),
        ("nan nan", "is not a latitude and a longitude"),
        ("", "an empty text is not"),
    ],
)
def test_what_is_no_place_is_refused_with_its_reason(text, says):
    with pytest.raises((FormatComplaint, ValueComplaint), match=says) as refused:
        parse_lat_lon(text)
    assert "\n" not in str(refused.value)


def read_or_complain(text):
    try:
        found = parse_lat_lon(text)
    except Complaint:
        return
    assert abs(found.latitude_deg) <= 90
    assert -180 <= found.longitude_deg <= 360


@given(st.text(max_size=40))
def test_no_text_does_worse_than_a_complaint(text):
    read_or_complain(text)


@given(st.text(alphabet="0123456789.,-+ NSEW°'\":;dms", max_size=30))
def test_no_jumble_of_its_own_letters_does_worse_than_a_complaint(text):
    read_or_complain(text)


@given(
    st.floats(-90, 90),
    st.floats(-180, 180, exclude_max=True),
    st.sampled_from([("degrees", 6, 1e-6), ("minutes", 4, 1e-4 / 60), ("seconds", 2, 1e-2 / 3600)]),
)
def test_what_is_written_is_read_back(latitude, longitude, form):
    name, decimals, step = form
    found = parse_lat_lon(format_lat_lon(latitude, longitude, name, decimals))
    assert found.form == name
    assert found.latitude_deg == pytest.approx(latitude, abs=0.51 * step)
    assert found.longitude_deg == pytest.approx(longitude, abs=0.51 * step)


def test_sixty_is_never_written():
    assert format_lat_lon(59.99999, -0.99999, "minutes", 1) == "60°00.0'N 1°00.0'W"
    assert format_lat_lon(10.99999, 20 + 59.9999 / 60, "seconds", 0) == "11°00'00\"N 21°00'00\"E"
