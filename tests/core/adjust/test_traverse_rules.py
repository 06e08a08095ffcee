"""The compass and transit rules against printed traverses, to the digits that were printed."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.adjust.traverse_rules import (
    adjust_parts,
    adjust_traverse,
    closing_side,
    departures_latitudes,
)
from pacewright.core.compass import format_quadrant, parse_azimuth
from pacewright.exceptions import ValueComplaint
from support.authorities import close_to_printed, printed, read_authority


def totals(name):
    return {row["quantity"]: row for row in read_authority(f"{name}_totals.csv")}


def column(rows, key):
    return [printed(row[key]) for row in rows]


def adjusted_by_compass_rule(name, **options):
    rows = read_authority(f"{name}.csv")
    azimuth_deg = [parse_azimuth(row["azimuth"]) for row in rows]
    return rows, adjust_traverse(azimuth_deg, column(rows, "length"), **options)


def says(values, rows, key, units=0.5):
    """Claim that the values would be printed as the column has them."""
    for value, row in zip(values, rows, strict=True):
        assert close_to_printed(value, row[key], units), (row["leg"], key, value)


def test_the_purdue_loop_comes_out_as_worked_in_class():
    rows, traverse = adjusted_by_compass_rule("traverse_purdue", start=(10000.0, 10000.0))
    sums = totals("traverse_purdue")
    says(traverse.latitude, rows, "latitude")
    says(traverse.departure, rows, "departure")
    # The class rounded parts to 0.01 and nudged corrections: a whole unit of the last digit.
    says(traverse.latitude_correction, rows, "correction_latitude", units=1)
    says(traverse.departure_correction, rows, "correction_departure", units=1)
    says(traverse.north[1:], rows, "north", units=1)
    says(traverse.east[1:], rows, "east", units=1)
    assert close_to_printed(traverse.perimeter, sums["perimeter"]["printed"])
    assert close_to_printed(traverse.misclosure, sums["misclosure"]["recomputed"])
    assert close_to_printed(traverse.ratio, sums["ratio"]["recomputed"])
    assert traverse.ratio == pytest.approx(printed(sums["ratio"]["printed"]), rel=0.01)


def test_the_class_slides_loop_comes_out_as_printed():
    rows, traverse = adjusted_by_compass_rule("traverse_compass_rule_lesson")
    sums = totals("traverse_compass_rule_lesson")
    says(traverse.latitude, rows, "latitude")
    says(traverse.departure, rows, "departure")
    # The slides worked corrections from parts rounded to 0.001, and print one digit more.
    for key, values in (
        ("correction_latitude", traverse.latitude_correction),
        ("correction_departure", traverse.departure_correction),
        ("adjusted_latitude", traverse.adjusted_latitude),
        ("adjusted_departure", traverse.adjusted_departure),
    ):
        for value, row in zip(values, rows, strict=True):
            assert value == pytest.approx(printed(row[key]), abs=0.0006), (row["leg"], key)
    assert close_to_printed(traverse.misclosure_north, sums["latitude_sum"]["recomputed"])
    assert close_to_printed(traverse.misclosure_east, sums["departure_sum"]["recomputed"])
    assert close_to_printed(traverse.perimeter, sums["perimeter"]["printed"])
    assert close_to_printed(traverse.misclosure, sums["misclosure"]["recomputed"])
    assert close_to_printed(traverse.ratio, sums["ratio"]["recomputed"])


def test_mahuns_loop_gives_the_printed_adjusted_lengths_and_directions():
    rows, traverse = adjusted_by_compass_rule("traverse_mahun_adjustment")
    sums = totals("traverse_mahun_adjustment")
    says(traverse.latitude, rows, "latitude")
    says(traverse.departure, rows, "departure")
    # The source adds corrections already rounded to 0.001.
    says(traverse.adjusted_latitude, rows, "adjusted_latitude", units=1)
    says(traverse.adjusted_departure, rows, "adjusted_departure", units=1)
    says(traverse.adjusted_length, rows, "adjusted_length", units=1)
    for azimuth_deg, row in zip(traverse.adjusted_azimuth_deg, rows, strict=True):
        # A thousandth of a foot over 400 ft is half a second.
        turned = (azimuth_deg - parse_azimuth(row["adjusted_azimuth"]) + 180) % 360 - 180
        assert abs(turned) * 3600 < 0.6, row["leg"]
    assert close_to_printed(traverse.misclosure, sums["misclosure"]["recomputed"])
    assert close_to_printed(traverse.ratio, sums["ratio"]["recomputed"])
    assert traverse.ratio == pytest.approx(printed(sums["ratio"]["printed"]), rel=0.01)


def test_mahuns_bearing_loop_misses_its_start_as_printed():
    rows, traverse = adjusted_by_compass_rule("traverse_mahun_bearing", start=(2000.0, 500.0))
    sums = totals("traverse_mahun_bearing")
    says(traverse.latitude, rows, "latitude")
    says(traverse.departure, rows, "departure")
    assert close_to_printed(traverse.misclosure_north, sums["latitude_sum"]["printed"])
    assert close_to_printed(traverse.misclosure_east, sums["departure_sum"]["recomputed"])
    assert close_to_printed(2000 + traverse.misclosure_east, sums["end_east"]["recomputed"])
    assert close_to_printed(500 + traverse.misclosure_north, sums["end_north"]["printed"])
    assert close_to_printed(traverse.misclosure, sums["misclosure"]["recomputed"])
    assert close_to_printed(traverse.ratio, sums["ratio"]["recomputed"])


def test_the_transit_rule_example_comes_out_as_printed():
    rows = read_authority("traverse_transit_rule.csv")
    traverse = adjust_parts(column(rows, "departure"), column(rows, "latitude"), rule="transit")
    assert traverse.misclosure_north == pytest.approx(3.8)
    assert traverse.misclosure_east == pytest.approx(-1.6)
    # The page rounds each correction to its last digit before adding it.
    says(traverse.adjusted_latitude, rows, "adjusted_latitude", units=1)
    says(traverse.adjusted_departure, rows, "adjusted_departure", units=1)


def test_the_exam_traverse_given_by_parts_comes_out_as_printed():
    rows = read_authority("traverse_model_exam.csv")
    sums = totals("traverse_model_exam")
    traverse = adjust_parts(
        column(rows, "departure"), column(rows, "latitude"), length=column(rows, "length")
    )
    says(traverse.adjusted_latitude, rows, "adjusted_latitude")
    says(traverse.adjusted_departure, rows, "adjusted_departure")
    assert close_to_printed(traverse.misclosure, sums["misclosure"]["printed"])
    assert close_to_printed(traverse.perimeter, sums["perimeter"]["printed"])
    assert close_to_printed(traverse.ratio, sums["ratio"]["printed"])


def test_the_navy_ratio_of_closure():
    values = {row["quantity"]: row for row in read_authority("traverse_navy.csv")}
    east, north = printed(values["error_departure"]["printed"]), printed(values["error_latitude"]["printed"])
    perimeter = printed(values["perimeter"]["printed"])
    traverse = adjust_parts([east, 0], [north, 0], length=[perimeter / 2, perimeter / 2])
    assert close_to_printed(traverse.misclosure, values["misclosure"]["printed"])
    assert close_to_printed(traverse.ratio, values["ratio"]["recomputed"])


def test_the_missing_side_of_a_loop_is_the_printed_one():
    values = {row["quantity"]: row for row in read_authority("traverse_missing_side.csv")}
    azimuth_deg, length = closing_side(
        printed(values["known_departure_sum"]["printed"]), printed(values["known_latitude_sum"]["printed"])
    )
    # The page prints minutes to 0.01, from parts to 0.01 in 220: 0.16 minutes.
    assert azimuth_deg == pytest.approx(parse_azimuth(values["missing_azimuth"]["printed"]), abs=0.16 / 60)
    assert format_quadrant(azimuth_deg) == "S36E"
    assert close_to_printed(length, values["missing_length"]["recomputed"])


@pytest.mark.parametrize("rule", ["compass", "transit"])
def test_an_adjusted_traverse_ends_on_the_point_it_closes_on(rule):
    traverse = adjust_traverse(
        [10, 80, 200], [100, 250, 75], rule=rule, start=(5.0, 7.0), close_on=(251.0, 77.0)
    )
    assert (traverse.east[-1], traverse.north[-1]) == pytest.approx((251.0, 77.0), abs=1e-9)
    assert traverse.departure_correction.sum() == pytest.approx(-traverse.misclosure_east)
    assert traverse.latitude_correction.sum() == pytest.approx(-traverse.misclosure_north)


def test_the_compass_rule_does_not_care_which_way_north_is():
    """Turning the whole figure turns the adjusted figure (the transit rule lacks this)."""
    azimuth_deg, length = np.array([30.0, 140.0, 260.0]), np.array([100.0, 120.0, 115.0])
    here, there = (adjust_traverse(azimuth_deg + turned, length) for turned in (0.0, 77.0))
    assert there.adjusted_length == pytest.approx(here.adjusted_length)
    assert (there.adjusted_azimuth_deg - here.adjusted_azimuth_deg) % 360 == pytest.approx([77.0] * 3)


def test_a_square_walk_closes_with_no_ratio():
    traverse = adjust_traverse([0, 90, 180, 270], [100, 100, 100, 100])
    assert traverse.misclosure == 0
    assert traverse.ratio is None
    assert not traverse.departure_correction.any()


def test_a_leg_of_no_length_gets_no_correction_and_keeps_its_azimuth():
    traverse = adjust_traverse([0, 33, 180], [100, 0, 90])
    assert traverse.latitude_correction[1] == 0
    assert traverse.adjusted_azimuth_deg[1] == 33


def test_a_closed_square_of_the_transit_rule_with_legs_due_north_stays_as_it_is():
    traverse = adjust_traverse([0, 180], [100, 90], rule="transit")
    assert traverse.adjusted_length == pytest.approx([95 - 5 / 19, 95 - 5 / 19])
    assert not traverse.departure_correction.any()


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: adjust_traverse([], []), "there are no azimuths"),
        (lambda: adjust_traverse([1, 2], [3]), "there are 2 legs and 1 lengths"),
        (lambda: adjust_traverse([1, float("nan")], [3, 4]), "one of the azimuths is not a number"),
        (lambda: adjust_traverse([1], [float("inf")]), "one of the lengths is not a number"),
        (lambda: adjust_traverse([1], [-1]), "a length is less than nothing"),
        (lambda: adjust_traverse([1], [0], close_on=(5, 5)), "no leg has a length"),
        (
            lambda: adjust_traverse([0, 180], [5, 5], rule="transit", close_on=(1, 0)),
            "no leg has a departure, so the transit rule cannot share the misclosure out",
        ),
        (lambda: adjust_parts([1, 2], [1]), "there are 2 departures and 1 latitudes"),
        (lambda: adjust_traverse([1], [1], close_on=(float("nan"), 0)), "the point closed on has no place"),
    ],
)
def test_what_is_no_traverse_is_refused_with_a_sentence(call, what):
    with pytest.raises(ValueComplaint) as refused:
        call()
    assert what in refused.value.what
    assert refused.value.do


def test_a_latitude_is_exactly_nothing_on_a_leg_due_east():
    departure, latitude = departures_latitudes([90, 270], [10, 10])
    assert departure.tolist() == [10, -10]
    assert latitude.tolist() == [0, 0]
