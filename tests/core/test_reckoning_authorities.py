"""Reckoning against printed traverses, a printed error ellipse and a printed detour.

The traverses are in feet or metres; the tool is told metres, which changes no number of a figure.
"""

from __future__ import annotations

import math

import pytest

from pacewright.core.compass import direction_deg, parse_azimuth
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, compose_log, parse_row
from pacewright.core.way.reckoning import leg_covariance, reckon
from support.authorities import close_to_printed, printed, read_authority

TOTALS = {
    "traverse_purdue.csv": "traverse_purdue_totals.csv",
    "traverse_compass_rule_lesson.csv": "traverse_compass_rule_lesson_totals.csv",
    "traverse_mahun_adjustment.csv": "traverse_mahun_adjustment_totals.csv",
    "traverse_mahun_bearing.csv": "traverse_mahun_bearing_totals.csv",
}


def reckoned(rows):
    """The reckoning of rows of azimuth, length and notes, in the length's own unit."""
    heading = Heading(azimuth_reference="true", count_unit="metres", start="A")
    return reckon(compose_log(heading, [parse_row(Cells(*row), heading) for row in rows]))


def traverse(name):
    rows = read_authority(name)
    return rows, reckoned([(row["azimuth"], row["length"], "") for row in rows])


def totals(name):
    return {row["quantity"]: row for row in read_authority(TOTALS[name])}


@pytest.mark.parametrize("name", TOTALS)
def test_latitudes_and_departures_are_the_printed_ones(name):
    rows, reckoning = traverse(name)
    steps = reckoning.place[1:] - reckoning.place[:-1]
    for row, (east, north) in zip(rows, steps, strict=True):
        assert close_to_printed(north, row["latitude"]), row["leg"]
        assert close_to_printed(east, row["departure"]), row["leg"]


@pytest.mark.parametrize("name", TOTALS)
def test_a_loop_misses_its_start_by_the_printed_sums(name):
    rows, reckoning = traverse(name)
    sums = totals(name)
    for value, quantity in zip(reckoning.place[-1], ("departure_sum", "latitude_sum"), strict=True):
        # Every source sums parts that were already rounded: half a unit a leg.
        assert close_to_printed(value, sums[quantity]["printed"], units=len(rows) / 2)
        assert close_to_printed(value, sums[quantity]["recomputed"])


@pytest.mark.parametrize("name", TOTALS)
def test_misclosure_and_ratio_are_the_unrounded_ones(name):
    _, reckoning = traverse(name)
    sums = totals(name)
    gap = math.hypot(*reckoning.place[-1])
    perimeter = float(reckoning.length.sum())
    assert close_to_printed(gap, sums["misclosure"]["recomputed"])
    assert close_to_printed(perimeter / gap, sums["ratio"]["recomputed"])
    if "perimeter" in sums:
        assert close_to_printed(perimeter, sums["perimeter"]["printed"])
    if sums["ratio"]["printed"]:
        # Printed from a misclosure already rounded (1:2771) or as a round figure (1:15,200).
        assert perimeter / gap == pytest.approx(printed(sums["ratio"]["printed"]), rel=0.01)


def test_preliminary_coordinates_are_the_printed_ones():
    rows, reckoning = traverse("traverse_mahun_bearing.csv")
    sums = totals("traverse_mahun_bearing.csv")
    east, north = reckoning.place[-1]
    units = len(rows) / 2
    start_north, start_east = printed(sums["start_north"]["printed"]), printed(sums["start_east"]["printed"])
    assert close_to_printed(start_north + north, sums["end_north"]["printed"], units)
    assert close_to_printed(start_east + east, sums["end_east"]["printed"], units)


def test_a_traverse_table_agrees_but_for_its_rounding():
    rows = {row["quantity"]: row for row in read_authority("traverse_navy.csv")}
    reckoning = reckoned([(rows["table_azimuth"]["printed"], rows["table_length"]["printed"], "")])
    north = reckoning.place[-1, 1]
    assert close_to_printed(north, rows["table_latitude"]["recomputed"])
    # The table is entered twice, for 700 and for 25, and its own digits cost 0.04.
    assert abs(north - printed(rows["table_latitude"]["printed"])) < 0.05


def test_a_navy_misclosure_has_the_printed_length_and_ratio():
    rows = {row["quantity"]: row for row in read_authority("traverse_navy.csv")}
    # Two legs that end where the loop of the example did.
    reckoning = reckoned(
        [("N", rows["error_latitude"]["printed"], ""), ("E", rows["error_departure"]["printed"], "")]
    )
    gap = math.hypot(*reckoning.place[-1])
    assert close_to_printed(gap, rows["misclosure"]["printed"])
    ratio = printed(rows["perimeter"]["printed"]) / gap
    assert close_to_printed(ratio, rows["ratio"]["recomputed"])
    assert ratio == pytest.approx(printed(rows["ratio"]["printed"]), rel=0.01)


def test_the_missing_side_of_a_loop_is_the_printed_one():
    rows = {row["quantity"]: row["recomputed"] for row in read_authority("traverse_missing_side.csv")}
    reckoning = reckoned(
        [("N", rows["known_latitude_sum"], ""), ("W", rows["known_departure_sum"].lstrip("-"), "")]
    )
    east, north = reckoning.place[0] - reckoning.place[-1]
    assert close_to_printed(north, rows["missing_latitude"])
    assert close_to_printed(east, rows["missing_departure"])
    assert close_to_printed(math.hypot(east, north), rows["missing_length"])
    # Printed to a hundredth of a minute, from parts printed to a hundredth of a metre.
    assert direction_deg(east, north) == pytest.approx(parse_azimuth(rows["missing_azimuth"]), abs=0.006 / 60)


def test_the_covariance_of_a_leg_is_the_published_one():
    (row,) = read_authority("leg_covariance_ghilani.csv")
    azimuth_deg, length = parse_azimuth(row["azimuth"]), printed(row["length"])
    (east,), (north,) = zip(reckoned([(row["azimuth"], row["length"], "")]).place[-1], strict=True)
    covariance = leg_covariance(
        azimuth_deg, length, printed(row["azimuth_sd_arcsec"]) / 3600, printed(row["length_sd"])
    )
    assert close_to_printed(north, row["latitude"])
    assert close_to_printed(east, row["departure"])
    assert close_to_printed(math.sqrt(covariance[1, 1]), row["latitude_sd"])
    assert close_to_printed(math.sqrt(covariance[0, 0]), row["departure_sd"])
    assert close_to_printed(covariance[0, 1], row["covariance"])
    assert covariance[0, 1] == covariance[1, 0]


def test_an_azimuth_a_few_degrees_off_ends_aside_by_the_printed_offset():
    small = [row for row in read_authority("lateral_error.csv") if printed(row["off_deg"]) <= 3]
    assert small
    for row in small:
        covariance = leg_covariance(0.0, printed(row["length"]), printed(row["off_deg"]), 0.0)
        assert close_to_printed(math.sqrt(covariance[0, 0]), row["offset"])


def test_four_right_angles_bring_the_walker_back_on_line():
    rows = {row["step"]: row for row in read_authority("detour_field_manual.csv")}
    legs = [(rows[step]["azimuth"], rows[step]["length_m"], "") for step in ("out", "past", "back")]
    walked_out = reckoned(legs)
    forward = printed(rows["past"]["length_m"])
    assert walked_out.place[-1] == pytest.approx([forward, 0.0], abs=1e-9)
    boxed = reckoned([(*legs[1][:2], f"[box right {rows['out']['length_m']}]")])
    assert boxed.place[-1] == pytest.approx(walked_out.place[-1], abs=1e-9)
    # Written as three rows or as one, the detour is the same walk and as unsure.
    assert boxed.covariance(1) == pytest.approx(walked_out.covariance(3), rel=1e-6)


def test_a_detour_of_whole_azimuths_keeps_to_its_course():
    rows = read_authority("detour_tree.csv")
    legs = [
        (row["azimuth"], row["count"] or "40", "") for row in rows if row["step"] in ("out", "past", "back")
    ]
    east, north = reckoned(legs).place[-1]
    course = next(row["azimuth"] for row in rows if row["step"] == "course")
    assert direction_deg(east, north) == pytest.approx(printed(course), abs=1e-9)
    # The page walks past "until clear": 40 stands for it, and it alone counts forward.
    assert math.hypot(east, north) == pytest.approx(40)
