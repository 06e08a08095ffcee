"""Places from bearings against printed examples, scipy's least squares and simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from pacewright.core.bearings.intersection import intersect
from pacewright.core.compass import direction_deg, parse_azimuth
from pacewright.core.way.regions import Region
from pacewright.exceptions import MissingComplaint, ValueComplaint
from support.authorities import close_to_printed, printed, read_authority


def towards(stations, place):
    return np.array([direction_deg(*(place - station)) for station in stations])


def test_mahuns_intersection_comes_out_as_printed():
    rows = {row["point"]: row for row in read_authority("intersection_mahun.csv")}
    stations = [[printed(rows[k]["east"]), printed(rows[k]["north"])] for k in "LM"]
    found = intersect(stations, [parse_azimuth(rows[k]["azimuth"]) for k in "LM"], 0.01)
    assert close_to_printed(found.place[0], rows["P"]["east"])
    assert close_to_printed(found.place[1], rows["P"]["north"])
    assert close_to_printed(np.hypot(*(found.place - stations[0])), rows["L"]["distance_to_p"])


def test_a_river_is_as_wide_as_printed():
    """Two bearings from a base line along the bank (survey class pages, river_widths.csv)."""
    rows = {
        row["quantity"]: row for row in read_authority("river_widths.csv") if row["method"] == "base_line"
    }
    base = printed(rows["a"]["base"])
    assert rows["a"]["base_azimuth"] == "90"
    tree = intersect(
        [[0, 0], [base, 0]], [printed(rows["a"][k]) for k in ("first_azimuth", "second_azimuth")], 1.0
    )
    assert close_to_printed(np.hypot(*tree.place), rows["a"]["result"])
    assert close_to_printed(tree.place[1], rows["width"]["result"])
    assert tree.crossing_deg == pytest.approx(60)


@pytest.mark.parametrize(
    "row", [row for row in read_authority("river_widths.csv") if row["method"] == "right_angle"], ids=str
)
def test_a_base_square_to_the_crossing_line_gives_the_printed_width(row):
    base, along = printed(row["base"]), np.deg2rad(parse_azimuth(row["base_azimuth"]))
    far_end = base * np.array([np.sin(along), np.cos(along)])
    azimuths = [parse_azimuth(row[k]) for k in ("first_azimuth", "second_azimuth")]
    mark = intersect([[0, 0], far_end], azimuths, 1.0)
    assert close_to_printed(np.hypot(*mark.place), row["result"])


@pytest.mark.parametrize("seed", range(20))
def test_three_and_more_bearings_agree_with_scipy(seed):
    chance = np.random.default_rng(seed)
    n = int(chance.integers(3, 7))
    stations, mark = chance.uniform(-300, 300, (n, 2)), np.array([0.0, 900.0])
    sd_deg = chance.uniform(0.5, 3, n)
    read = towards(stations, mark) + chance.normal(0, sd_deg)

    def remains(place):
        turn = np.deg2rad(towards(stations, place) - read)
        return ((turn + np.pi) % (2 * np.pi) - np.pi) / np.deg2rad(sd_deg)

    theirs = least_squares(remains, mark, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    ours = intersect(stations, read, sd_deg)
    assert ours.place == pytest.approx(theirs.x, abs=0.01)
    assert ours.covariance == pytest.approx(np.linalg.inv(theirs.jac.T @ theirs.jac), rel=1e-3)


@pytest.mark.statistical
def test_the_region_holds_the_stated_share():
    """1000 fixes from stations that scatter, move together and share a compass bias (our own simulation)."""
    chance = np.random.default_rng(5)
    stations, mark = np.array([[0.0, 0.0], [400.0, 100.0], [150.0, 500.0]]), np.array([500.0, 600.0])
    own, common, sd_deg, bias_sd_deg = 8.0, 6.0, 2.0, 1.5
    covariance = own**2 * np.eye(6) + common**2 * np.tile(np.eye(2), (3, 3))
    inside, runs = 0, 1000
    for _ in range(runs):
        true = stations + chance.normal(0, own, (3, 2)) + chance.normal(0, common, 2)
        read = towards(true, mark) + chance.normal(0, sd_deg, 3) - chance.normal(0, bias_sd_deg)
        fix = intersect(stations, read, sd_deg, station_covariance=covariance, bias_sd_deg=bias_sd_deg)
        inside += bool(fix.region.contains(mark)[0])
    assert 0.93 < inside / runs < 0.97


def test_a_bias_that_also_moved_the_stations_turns_landmark_and_walk_together():
    """When one bias explains walk and bearings alike, a landmark on the line through the start keeps its
    distance: all of the figure turns about the start."""
    stations = np.array([[0.0, 0.0], [0.0, 400.0]])
    lever = np.stack([stations[:, 1], -stations[:, 0]], axis=1)
    bias = np.deg2rad(3.0)
    covariance = bias**2 * np.outer(lever.ravel(), lever.ravel())
    fix = intersect(
        stations, [45, 90], 1e-4, station_covariance=covariance, bias_sd_deg=3.0, bias_lever=lever
    )
    turned = np.array([fix.place[1], -fix.place[0]])
    assert fix.covariance == pytest.approx(bias**2 * np.outer(turned, turned), abs=0.01)


def test_worse_crossings_are_worth_less():
    worths = [
        intersect([[-100, 0], [100, 0]], towards([[-100, 0], [100, 0]], np.array([0, away])), 1.0).worth
        for away in (100, 300, 600)
    ]
    assert worths == ["good", "fair", "poor"]


def test_lines_nearly_parallel_leave_the_region_open():
    fix = intersect([[0, 0], [10, 0]], [0, 356], 2.0)
    assert fix.is_open
    assert not intersect([[0, 0], [100, 0]], [30, 330], 2.0).is_open


@pytest.mark.parametrize(
    ("azimuths", "what"),
    [
        ([10, 10], "the bearings are parallel as nearly as a compass can tell"),
        ([10, 190], "the bearings are parallel as nearly as a compass can tell"),
        ([358, 2], "the bearings are parallel as nearly as a compass can tell"),
        ([340, 40], "the bearings cross at 60 degrees, but behind a station"),
        ([38, 158], "the bearings cross at 60 degrees, but behind a station"),
    ],
)
def test_bearings_that_meet_nowhere_ahead_are_refused(azimuths, what):
    with pytest.raises(ValueComplaint) as refused:
        intersect([[0, 0], [75, 0]], azimuths, 2.0)
    assert what in refused.value.what


@pytest.mark.parametrize(("stations", "azimuths"), [([[3, 4]], [10]), ([[3, 4], [3, 4]], [10, 70])])
def test_bearings_from_one_place_are_a_line(stations, azimuths):
    with pytest.raises(MissingComplaint, match="give a line and no place on it"):
        intersect(stations, azimuths, 2.0)


def test_one_wrong_bearing_among_five_is_named_and_the_rest_still_fix():
    stations = np.array([[0, 0], [300, 0], [300, 300], [0, 300], [150, -200]], dtype=float)
    mark = np.array([120.0, 700.0])
    read = towards(stations, mark)
    read[2] += 20
    fix = intersect(stations, read, 1.0)
    assert fix.contradicts
    assert fix.odd_one == 2
    assert fix.without_odd_one.place == pytest.approx(mark)


def test_three_bearings_that_contradict_each_other_blame_none():
    stations = np.array([[0, 0], [300, 0], [150, 300]], dtype=float)
    read = towards(stations, np.array([120.0, 700.0]))
    read[0] += 25
    fix = intersect(stations, read, 1.0)
    assert fix.contradicts
    assert fix.odd_one is None


def test_two_bearings_have_nothing_to_contradict():
    fix = intersect([[0, 0], [75, 0]], [38, 338], 1.0)
    assert fix.p_value is None
    assert not fix.contradicts
    assert isinstance(fix.region, Region)


@pytest.mark.parametrize(
    ("stations", "azimuths", "sd", "what"),
    [
        ([[0, 0], [1, 1]], [1], 1.0, "there are 2 places and 1 bearings"),
        ([[0, 0], [1, float("nan")]], [1, 2], 1.0, "a place or a bearing is not a number"),
        ([[0, 0], [1, 1]], [1, 2], 0.0, "a bearing has no scatter"),
    ],
)
def test_what_is_no_bearing_is_refused_with_a_sentence(stations, azimuths, sd, what):
    with pytest.raises(ValueComplaint) as refused:
        intersect(stations, azimuths, sd)
    assert what in refused.value.what
