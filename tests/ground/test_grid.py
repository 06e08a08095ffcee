"""UTM and polar grids against GeographicLib's GeoConvert: stored output, and the program itself."""

from __future__ import annotations

import math
import shutil
import subprocess

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid import (
    GridPoint,
    GridZone,
    band_of,
    from_grid,
    grid_turn,
    project,
    signed_longitude,
    to_grid,
    unproject,
    zone_of,
)
from pacewright.ground.mgrs_squares import format_mgrs
from support.authorities import close_to_printed, printed, read_authority

PLACES = read_authority("geoconvert_places.csv")


def short(zone):
    return f"{zone.number:02d}{zone.hemisphere.lower()}" if zone.number else zone.hemisphere.lower()


def check(latitude, longitude, zone, east, north, convergence, scale):
    point = to_grid(latitude, longitude)
    assert short(point.zone) == zone
    assert close_to_printed(point.east_m, east)
    assert close_to_printed(point.north_m, north)
    turn = grid_turn(latitude, longitude)
    assert math.remainder(turn.convergence_deg - printed(convergence), 360) == pytest.approx(0, abs=2e-9)
    assert turn.scale == pytest.approx(printed(scale), abs=1e-9)
    back = from_grid(GridPoint(point.zone, printed(east), printed(north)))
    assert back[0] == pytest.approx(latitude, abs=2e-8)
    around = math.remainder(back[1] - longitude, 360) * math.cos(math.radians(latitude))
    assert around == pytest.approx(0, abs=2e-8)


@pytest.mark.parametrize("row", PLACES, ids=lambda row: f"{row['latitude_deg']} {row['longitude_deg']}")
def test_a_place_lies_where_geoconvert_puts_it(row):
    latitude, longitude = float(row["latitude_deg"]), float(row["longitude_deg"])
    check(
        latitude, longitude, row["zone"], row["east_m"], row["north_m"], row["convergence_deg"], row["scale"]
    )


@pytest.mark.skipif(shutil.which("GeoConvert") is None, reason="GeoConvert is not installed")
def test_places_at_random_lie_where_geoconvert_puts_them_today():
    """The stored places above are the same check where the program is missing."""
    chance = np.random.default_rng(8358)
    latitude = np.append(chance.uniform(-90, 90, 300), chance.uniform(55, 90, 200))
    longitude = np.append(chance.uniform(-180, 180, 300), chance.uniform(-2, 45, 200))
    places = [f"{a:.7f} {b:.7f}" for a, b in zip(latitude, longitude, strict=True)]
    answers = []
    for options in (["-u", "-p", "3"], ["-m", "-p", "0"], ["-c", "-p", "4"]):
        done = subprocess.run(
            ["GeoConvert", *options], input="\n".join(places), capture_output=True, text=True, check=True
        )
        answers.append(done.stdout.splitlines())
    for place, utm, mgrs, turn in zip(places, *answers, strict=True):
        here = tuple(float(part) for part in place.split())
        check(*here, *utm.split(), *turn.split())
        assert format_mgrs(*here) == mgrs


def test_convergence_follows_the_rule_of_the_spherical_earth():
    """tan(convergence) = tan(longitude from the middle) x sin(latitude): common practice."""
    rule = math.degrees(math.atan(math.tan(math.radians(-0.6)) * math.sin(math.radians(33.3))))
    assert grid_turn(33.3, 44.4).convergence_deg == pytest.approx(rule, abs=1e-6)


def test_a_grid_can_be_carried_on_into_the_next_zone():
    own, carried = to_grid(47, 5.99), to_grid(47, 5.99, GridZone(32, "N"))
    assert (own.zone.number, carried.zone.number) == (31, 32)
    assert from_grid(carried) == pytest.approx((47, 5.99), abs=1e-9)
    assert grid_turn(47, 5.99, GridZone(32, "N")).convergence_deg < 0 < grid_turn(47, 5.99).convergence_deg


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_every_place_comes_back_from_its_grid(latitude, longitude):
    found = from_grid(to_grid(latitude, longitude))
    assert found[0] == pytest.approx(latitude, abs=1e-8)
    around = math.remainder(found[1] - longitude, 360) * math.cos(math.radians(latitude))
    assert around == pytest.approx(0, abs=1e-8)


@given(st.floats(-720, 720))
def test_a_longitude_keeps_its_meridian(longitude):
    signed = signed_longitude(longitude)
    assert -180 <= signed < 180
    assert math.remainder(signed - longitude, 360) == pytest.approx(0, abs=1e-9)


def test_many_places_go_to_one_grid_at_once():
    zone = GridZone(38, "N")
    east, north = project(zone, [33.3, 33.4], [44.4, 45.0])
    point = to_grid(33.3, 44.4)
    assert (east[0], north[0]) == pytest.approx((point.east_m, point.north_m))
    latitude, longitude = unproject(zone, east, north)
    assert latitude == pytest.approx([33.3, 33.4])
    assert longitude == pytest.approx([44.4, 45.0])


def test_bands_begin_on_their_southern_edge():
    assert [band_of(at) for at in (-80, -72, -0.1, 0, 7.9, 8, 72, 83.9)] == list("CDMNNPXX")


@pytest.mark.parametrize(
    ("zone", "east", "north", "says"),
    [
        (GridZone(38, "N"), 3684706, 444140, "3684706 is not a number east"),
        (GridZone(38, "N"), 99_999, 3684706, "99999 is not a number east"),
        (GridZone(38, "N"), 444140, 10_000_001, "10000001 is not a number north"),
        (GridZone(38, "N"), 500_000, 9_500_000, "lies outside the UTM zone 38 north"),
        (GridZone(38, "S"), 500_000, 900_000, "lies outside the UTM zone 38 south"),
        (GridZone(0, "N"), 500_000, 2_000_000, "500000 is not a number east on a polar grid"),
        (GridZone(38, "N"), math.nan, 1, "nan is not a number east"),
    ],
)
def test_numbers_off_a_grid_are_refused(zone, east, north, says):
    with pytest.raises(ValueComplaint, match=says):
        from_grid(GridPoint(zone, east, north))


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ((90.1, 0), "90.1 is not a latitude"),
        ((math.nan, 0), "nan is not a latitude"),
        ((0, 400), "400 is not a longitude"),
        ((0, math.nan), "nan is not a longitude"),
    ],
)
def test_what_is_no_place_has_no_zone(place, says):
    with pytest.raises(ValueComplaint, match=says):
        zone_of(*place)


def test_a_grid_from_the_other_side_of_the_earth_is_refused():
    with pytest.raises(ValueComplaint, match="too far outside the UTM zone 8 north"):
        to_grid(33.3, 44.4, GridZone(8, "N"))
    with pytest.raises(ValueComplaint, match="61 is not a UTM zone"):
        GridZone(61, "N")
