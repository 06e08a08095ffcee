"""Logs put on the grid, against geodesics of GeographicLib and pyproj's ellipsoid."""

from __future__ import annotations

import datetime
import math
from dataclasses import replace

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from pygeomag import GeoMag
from pyproj import Geod

from pacewright.core.log.log_heading import parse_declination
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.files.field_model import bundled_field_model
from pacewright.files.log_csv import read_log
from pacewright.ground.declination import decimal_year, declination_at
from pacewright.ground.grid import grid_turn, to_grid, zone_of
from pacewright.ground.grid_text import format_place, parse_place
from pacewright.ground.map_frame import has_places
from support.logs import log_of, walker_like
from support.placed import placed_log
from support.simulator import Person, draw_routes, walk, write_log_text

PACES_50 = Walker(per_100_m=50.0)
WGS84 = Geodesic.WGS84
PLACES = {
    "in the middle of a zone": (46.5, 9.0),
    "near the edge of a zone": (46.5, 11.97),
    "south of the equator": (-33.8, 151.1),
    "far north": (69.6, 18.9),
    "at the equator": (0.02, -78.5),
    "in a polar grid": (85.5, 40.0),
}


def on_true_azimuth(azimuth_deg, place, metres=1000, **more):
    log = log_of((azimuth_deg, metres), azimuth="true degrees", count="metres", **more)
    return placed_log(log, start=parse_place(f"{place[0]:.7f}, {place[1]:.7f}"), start_sd_m=5.0)


def metres_apart(placed, station, end):
    """The geodesic distance between a station and an end that GeographicLib gave."""
    here = (placed.latitude_deg[station], placed.longitude_deg[station])
    return WGS84.Inverse(*here, end["lat2"], end["lon2"])["s12"]


@pytest.mark.parametrize("where", PLACES)
@pytest.mark.parametrize("azimuth_deg", [0, 37, 90, 180, 251])
def test_a_leg_of_1000_m_ends_where_the_geodesic_does(where, azimuth_deg):
    latitude, longitude = PLACES[where]
    placed = on_true_azimuth(azimuth_deg, (latitude, longitude))
    # GeographicLib, C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013).
    end = WGS84.Direct(latitude, longitude, azimuth_deg, 1000)
    # Scale and convergence are taken at the start: over 1 km they change by less than 2e-5 and 0.01 deg.
    assert metres_apart(placed, 1, end) < 0.3


def test_placed_at_the_start_it_is_there_and_as_sure_as_stated():
    placed = on_true_azimuth(45, (46.5, 9.0))
    assert (placed.latitude_deg[0], placed.longitude_deg[0]) == pytest.approx((46.5, 9.0), abs=1e-9)
    np.testing.assert_allclose(placed.covariance_m2[0], 25 * np.eye(2), rtol=1e-5)
    assert (placed.held_by, placed.only_hold, placed.chance) == (("Gate",), 0, 1.0)


def test_magnetic_azimuths_are_turned_by_the_model_for_the_date():
    latitude, longitude = 37.45, -119.3
    rows = ((40, 500),)
    magnetic = log_of(*rows, count="metres", more=["date: 2026-05-14"])
    start = parse_place(f"{latitude}00000 {longitude}00000")
    model = bundled_field_model()
    placed = placed_log(magnetic, start=start)
    found = declination_at(model, latitude, longitude, 2026 + (31 + 28 + 31 + 30 + 13) / 365)
    assert placed.on_grid.declination is not None
    assert placed.on_grid.declination.declination_deg == pytest.approx(found.declination_deg, abs=1e-3)
    azimuth, _, _ = Geod(ellps="WGS84").inv(
        placed.longitude_deg[0], placed.latitude_deg[0], placed.longitude_deg[1], placed.latitude_deg[1]
    )
    assert azimuth == pytest.approx(40 + found.declination_deg, abs=0.01)
    # What the model itself may be off is shared by all legs, beside the compass.
    assert placed.on_grid.reckoning.frame.bias_sd_deg == pytest.approx(
        math.hypot(1.5, found.declination_sd_deg)
    )


def test_the_declination_of_the_heading_goes_before_the_model():
    log = log_of((90, 500), count="metres", more=["date: 2026-05-14", "declination: 12 W"])
    placed = placed_log(log, start=parse_place("46.500000 9.000000"))
    assert placed.on_grid.declination is None
    assert placed.on_grid.norths.declination_deg == -12
    azimuth = Geodesic.WGS84.Inverse(46.5, 9.0, placed.latitude_deg[1], placed.longitude_deg[1])["azi1"]
    assert azimuth == pytest.approx(78, abs=0.01)


def test_grid_azimuths_are_walked_along_the_grid():
    log = log_of((90, 500), azimuth="grid degrees", count="metres")
    placed = placed_log(log, start=parse_place("38N 444140 3684706"))
    step = placed.place_m[1] - placed.place_m[0]
    assert step[1] == pytest.approx(0, abs=1e-9)
    assert step[0] == pytest.approx(500 * grid_turn(33.3, 44.4).scale, abs=1e-4)


@pytest.mark.parametrize("form", ["utm", "mgrs", "degrees", "minutes"])
def test_a_start_may_be_given_in_any_form(form):
    place = parse_place("33.30000 44.40000")
    placed = placed_log(
        log_of((0, 100), azimuth="true degrees", count="metres"), start=parse_place(format_place(place, form))
    )
    assert placed.place_m[0] == pytest.approx(
        to_grid(33.3, 44.4).east_m * np.array([1, 0]) + [0, 3684706.4], abs=1.5
    )


def test_a_start_on_the_neighbouring_grid_stays_on_it():
    own = zone_of(46.5, 12.02)
    beyond = to_grid(46.5, 12.02, replace(own, number=own.number - 1))
    text = f"{own.number - 1}N {beyond.east_m:.1f} {beyond.north_m:.1f}"
    placed = placed_log(log_of((90, 500), azimuth="true degrees", count="metres"), start=parse_place(text))
    assert placed.on_grid.zone.number == own.number - 1
    end = WGS84.Direct(46.5, 12.02, 90, 500)
    assert (placed.latitude_deg[1], placed.longitude_deg[1]) == pytest.approx(
        (end["lat2"], end["lon2"]), abs=2e-6
    )
    assert any("carried on beyond its edge" in remark for remark in placed.remarks)


def two_known(second, sd=5, paces=(500, 500)):
    start = WGS84.Direct(46.5, 9.0, 90, 0)
    more = [
        f"known: Gate = {start['lat2']:.7f} {start['lon2']:.7f} +-{sd} m",
        f"known: Oak = {second['lat2']:.7f} {second['lon2']:.7f} +-{sd} m",
    ]
    return log_of((90, paces[0]), (90, paces[1], "[at Oak]"), azimuth="true degrees", more=more)


def test_two_known_points_pull_the_figure_between_them():
    # Reckoned 2000 m; the known points lie 2040 m apart, 1 degree aside.
    log = two_known(WGS84.Direct(46.5, 9.0, 91, 2040))
    placed = placed_log(log, PACES_50)
    middle = WGS84.Direct(46.5, 9.0, 91, 1020)
    off = WGS84.Inverse(placed.latitude_deg[1], placed.longitude_deg[1], middle["lat2"], middle["lon2"])[
        "s12"
    ]
    assert off < 2.0
    assert (placed.held_by, placed.only_hold) == (("Gate", "Oak"), None)
    assert placed.chance > 0.1
    alone = placed_log(replace(log, heading=replace(log.heading, known=log.heading.known[:1])), PACES_50)
    assert np.trace(placed.covariance_m2[1]) < np.trace(alone.covariance_m2[1]) / 2


def test_known_points_that_the_log_cannot_meet_have_next_to_no_chance():
    assert placed_log(two_known(WGS84.Direct(46.5, 9.0, 60, 2600)), PACES_50).chance < 1e-4


def test_local_places_are_turned_with_the_logs_own_north():
    more = ["known: Gate = 46.5000000 9.0000000 +-1 m", "known: Oak = local 0 800 +-1 m", "declination: 20 E"]
    log = log_of((0, 700, "[at Oak]"), count="metres", more=more)
    placed = placed_log(log)
    oak = WGS84.Direct(46.5, 9.0, 20, 800)
    assert metres_apart(placed, 1, oak) < 2.0
    assert has_places(log)


def test_local_places_count_from_where_the_start_is_said_to_be():
    more = ["known: Gate = local 100 0 +-1 m", "known: Oak = local 100 800 +-1 m"]
    log = log_of((0, 700, "[at Oak]"), azimuth="true degrees", count="metres", more=more)
    placed = placed_log(log, start=parse_place("46.5000000 9.0000000"), start_sd_m=1.0)
    assert placed.longitude_deg[1] == pytest.approx(9.0, abs=1e-4)
    assert WGS84.Inverse(46.5, 9, placed.latitude_deg[1], 9)["s12"] == pytest.approx(800, abs=2)


def test_a_known_point_neither_reached_nor_seen_is_told():
    more = ["known: Tower = 46.6 9.1 +-5 m", "known: Gate = 46.5 9.0 +-5 m"]
    log = log_of((0, 100), azimuth="true degrees", count="metres", more=more)
    assert placed_log(log).not_reached == ("Tower",)
    only_seen = replace(log, heading=replace(log.heading, known=log.heading.known[:1]))
    assert not has_places(only_seen)
    with pytest.raises(MissingComplaint, match="no station of the log is at a known place on the map"):
        placed_log(only_seen)


def test_a_place_written_to_few_digits_is_no_surer_than_they_are():
    more = ["known: Gate = 32TNS00 +-10 m"]
    placed = placed_log(log_of((0, 100), azimuth="true degrees", count="metres", more=more))
    # A square of 10 km, its middle: the variance of an even spread is the side squared over 12.
    assert placed.covariance_m2[0][0][0] == pytest.approx(10_000**2 / 12 + 100)
    assert "Gate is written to 10000 m only" in placed.remarks[0]


BAD = {
    "swapped": ("known: Gate = 119.3 37.45", ValueComplaint, "swapped"),
    "off the grid": ("known: Gate = 32N 9444140 3684706", ValueComplaint, "is not a number east"),
    "off the Earth": ("known: Gate = 97.1 200", ValueComplaint, "is not a latitude"),
    "no such square": ("known: Gate = 38SMB441408470600", ValueComplaint, "more digits than MGRS knows"),
}


@pytest.mark.parametrize("what", BAD)
def test_a_place_that_cannot_be_is_told_with_its_name(what):
    line, kind, says = BAD[what]
    log = log_of((0, 100), azimuth="true degrees", count="metres", more=[line])
    with pytest.raises(kind, match=says) as refused:
        placed_log(log)
    assert refused.value.where.column == "heading known: Gate"


def test_points_too_far_apart_for_one_grid_are_refused():
    more = ["known: Gate = 46.5 9.0", "known: Oak = 9.0 46.5"]
    log = log_of((0, 100, "[at Oak]"), azimuth="true degrees", count="metres", more=more)
    with pytest.raises(ValueComplaint, match="Oak lies too far from the other known points"):
        placed_log(log)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ([], r"magnetic and the declination is not known\. Add '# declination: 5\.5 E'"),
        (["date: 1999-01-01"], r"not known \(the date 1999 lies outside the years of the magnetic model"),
    ],
)
def test_magnetic_azimuths_need_a_declination(more, says):
    with pytest.raises(MissingComplaint, match=says):
        placed_log(
            log_of((0, 100), count="metres", more=more),
            start=parse_place("46 9"),
        )


def test_paces_need_a_pace_count():
    with pytest.raises(MissingComplaint, match="no pace count"):
        placed_log(log_of((0, 100), azimuth="true degrees"), start=parse_place("46 9"))


def test_a_log_that_walks_farther_than_a_grid_is_refused():
    log = log_of(*[(0, 900_000)] * 12, azimuth="true degrees", count="metres")
    with pytest.raises(ValueComplaint, match="walks farther than one grid reaches"):
        placed_log(log, start=parse_place("46 9"))


@pytest.mark.parametrize("person", [Person(), Person(bias_sd_deg=8.0)], ids=["usual", "biased"])
def test_regions_of_a_log_held_at_its_start_hold_95_walks_in_100(person):
    """Fixed seeds, 4 routes of 1,500 walks: 95 % is known to 0.3 % (one sd). The biased need the bend."""
    rng = np.random.default_rng(11)
    inside = []
    for route in draw_routes(rng, "straight", 8, 4):
        walked = walk(rng, route, 1_500, person)
        text = write_log_text(walked.notes(0)).replace("magnetic degrees", "grid degrees")
        placed = placed_log(
            read_log(text.encode()),
            walker_like(person),
            start=parse_place("32N 500000 5000000"),
            start_sd_m=15.0,
        )
        start = np.array([500_000, 5_000_000]) + 15 * rng.standard_normal((1_500, 2))
        scale = placed.on_grid.scale
        for station in (0, 4, 8):
            # The stated start scatters about the true one.
            true = start + scale * walked.places_m[:, station]
            inside.append(placed.region(station).contains(true).mean())
    assert np.mean(np.reshape(inside, (4, 3)), axis=0) == pytest.approx(0.95, abs=0.015)


@pytest.mark.parametrize(
    ("written", "told"), [("12.2 E", False), ("12 E", False), ("5.5 E", True), ("12.2 W", True)]
)
def test_a_declination_that_contradicts_the_model_is_taken_and_told(written, told):
    # 12.2 E by the World Magnetic Model 2025, evaluated by the general-purpose library pygeomag.
    day = decimal_year(datetime.date(2026, 5, 14))
    modelled = GeoMag(coefficients_file="wmm/WMM_2025.COF").calculate(37.45, -119.28, 0, day).d
    assert modelled == pytest.approx(12.2, abs=0.1)
    more = ("date: 2026-05-14", f"declination: {written}", "known: Gate = 37.45 -119.28")
    placed = placed_log(log_of((0, 500), start="Gate", more=more), PACES_50)
    assert any("check its number, its side and the date" in remark for remark in placed.remarks) == told
    assert placed.on_grid.norths.declination_deg == pytest.approx(parse_declination(written))


def unknown_start(more=()):
    """Oak and Rock are known on the map, the start is not; 40 of 1,000 m are missed between them.

    By 62.5 paces to 100 m, which is 1.6 m a pace.
    """
    oak, rock = WGS84.Direct(46.5, 9.0, 90, 0), WGS84.Direct(46.5, 9.0, 0, 1040)
    known = [
        f"known: Oak = {oak['lat2']:.7f} {oak['lon2']:.7f} +-5 m",
        f"known: Rock = {rock['lat2']:.7f} {rock['lon2']:.7f} +-5 m",
    ]
    rows = ((90, 325, "[at Oak]"), (0, 625, "[at Rock]"), (270, 100), *more)
    return log_of(*rows, azimuth="true degrees", more=known)


def test_two_known_stations_set_the_scale_where_the_start_is_not_known():
    placed = placed_log(unknown_start(), Walker(per_100_m=62.5))
    assert placed.held_by == ("Oak", "Rock")
    assert metres_apart(placed, 1, WGS84.Direct(46.5, 9.0, 90, 0)) < 6
    assert metres_apart(placed, 2, WGS84.Direct(46.5, 9.0, 0, 1040)) < 6
    # 520 m west of Oak by the pace counted, and longer as the pace is found to be.
    start = WGS84.Inverse(46.5, 9.0, placed.latitude_deg[0], placed.longitude_deg[0])
    assert 525 < start["s12"] < 541


def test_two_known_stations_tell_a_pace_where_there_is_no_count():
    placed = placed_log(unknown_start(), Walker())
    assert metres_apart(placed, 2, WGS84.Direct(46.5, 9.0, 0, 1040)) < 3
    assert WGS84.Inverse(46.5, 9.0, placed.latitude_deg[0], placed.longitude_deg[0])["s12"] == pytest.approx(
        541, abs=6
    )


def test_a_log_that_holds_a_mistake_is_placed_as_written_by_what_holds_it_first():
    """Two hundred paces not tallied between two known places: neither is pulled to the other."""
    log = two_known(WGS84.Direct(46.5, 9.0, 90, 2000), paces=(300, 500))
    placed = placed_log(log, PACES_50)
    assert placed.held_by == ("Gate",)
    assert metres_apart(placed, 2, WGS84.Direct(46.5, 9.0, 90, 1600)) < 1


def test_a_known_thing_sighted_from_two_places_holds_a_log_on_the_map():
    """A tower a kilometre off, seen square to the way: its bearing tells where along the way one stands."""
    tower = WGS84.Direct(46.5, 9.0, 45, 1414.2)
    more = [
        "known: Gate = 46.5000000 9.0000000 +-1 m",
        f"known: Tower = {tower['lat2']:.7f} {tower['lon2']:.7f} +-1 m",
    ]
    rows = ((90, 540), (0, "", "[see Tower]"))
    placed = placed_log(log_of(*rows, azimuth="true degrees", more=more), PACES_50)
    assert placed.held_by == ("Gate", "Tower")
    alone = placed_log(log_of(rows[0], azimuth="true degrees", more=more[:1]), PACES_50)
    end = WGS84.Direct(46.5, 9.0, 90, 1000)
    assert metres_apart(placed, 1, end) < metres_apart(alone, 1, end) - 20


def test_the_one_known_station_on_the_way_is_as_sure_as_it_is_said_to_be():
    """A loop closes beside it: the estimate rests on more than legs, the map on this station alone."""
    rows = ((90, 300, "[at Oak]"), (0, 400, "[at Elm]"), (270, 310, "[at Fir]"), (180, 405, "[at Gate]"))
    log = log_of(
        *rows, azimuth="true degrees", count="metres", more=["known: Elm = 46.5000000 9.0000000 +-5 m"]
    )
    placed = placed_log(log)
    assert placed.held_by == ("Elm",)
    np.testing.assert_allclose(placed.covariance_m2[2], 25 * np.eye(2), atol=0.01)
    # As sure from there as the start is from Elm by the log, and no surer than Elm itself.
    assert np.linalg.eigvalsh(placed.covariance_m2[0]).min() > 25


def test_a_start_that_is_not_sure_is_no_surer_for_places_in_metres_from_it():
    more = ["known: Gate = local 100 0 +-1 m", "known: Oak = local 100 800 +-1 m"]
    log = log_of((0, 790, "[at Oak]"), azimuth="true degrees", count="metres", more=more)
    placed = placed_log(log, start=parse_place("46.5000000 9.0000000"), start_sd_m=30.0)
    np.testing.assert_allclose(placed.covariance_m2[0], 900 * np.eye(2), rtol=1e-4)
    assert np.diag(placed.covariance_m2[1]).min() > 900


def test_places_in_metres_from_the_start_count_beside_one_station_that_a_map_knows():
    more = ["known: Elm = 46.5000000 9.0000000 +-5 m", "known: Oak = local 0 800 +-1 m"]
    rows = ((0, 790, "[at Oak]"), (90, 300, "[at Elm]"))
    log = log_of(*rows, azimuth="true degrees", count="metres", more=more)
    placed = placed_log(log)
    assert placed.held_by == ("Elm", "Oak")
    # Oak stands 800 m north of the start, whatever was counted.
    assert placed.place_m[1, 1] - placed.place_m[0, 1] == pytest.approx(800, abs=2)
