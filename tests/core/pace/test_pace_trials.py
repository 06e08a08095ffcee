"""Runs of a pace trial, and paces, steps and metres from one to another."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.core.pace.pace_trials import (
    PaceRun,
    leave_out,
    mean_pace_m,
    metres_from_paces,
    paces_from_metres,
    paces_from_steps,
    slope_direction,
    slope_label,
    steps_from_paces,
)
from pacewright.exceptions import MissingComplaint, ValueComplaint
from support.authorities import close_to_printed, read_authority

FOOT_M = 0.3048
PUBLISHED = read_authority("pace_tables.csv")


def run_of(row: dict[str, str]) -> PaceRun:
    """A published run, in metres and paces."""
    distance = float(row["distance"]) * (FOOT_M if row["distance_unit"] == "ft" else 1)
    count = float(row["count"])
    return PaceRun(
        "", "level", None, distance, paces_from_steps(count) if row["count_unit"] == "steps" else count
    )


# NWCG Unit 4.6 and Univ. of Kentucky FOR-47 (whose table cuts some digits off and rounds others, so a whole
# unit of the last one is allowed).
@pytest.mark.parametrize("row", [row for row in PUBLISHED if row["quantity"] == "pace_ft"])
def test_a_published_course_gives_the_published_pace(row):
    assert close_to_printed(run_of(row).pace_m / FOOT_M, row["printed"], units=1.0)


# NWCG Unit 4.6: 12 paces to the chain of 66 ft.
def test_three_chains_in_36_paces_are_12_paces_a_chain():
    row = next(row for row in PUBLISHED if row["quantity"] == "per_66_ft")
    assert paces_from_metres(66 * FOOT_M, run_of(row).per_100_m) == pytest.approx(float(row["printed"]))


# Moss, Manual of Military Training (1917), par. 1887: step lengths in inches.
@pytest.mark.parametrize("row", read_authority("slope_steps.csv"), ids=lambda row: row["slope_deg"])
@pytest.mark.parametrize("way", ["up", "down"])
def test_moss_steps_on_slopes_give_the_steps_to_a_hundred_metres(row, way):
    inches = float(row["ascending_in" if way == "up" else "descending_in"])
    steps = steps_from_paces(paces_from_metres(100, 100 / (2 * inches * 0.0254)))
    assert close_to_printed(steps, row[f"{way}_steps_per_100_m"])


def test_steps_and_paces_convert_both_ways():
    assert steps_from_paces(paces_from_steps(121)) == 121
    assert paces_from_steps(2) == 1


def test_each_mean_is_right_on_the_average_in_its_own_direction_only():
    rng = np.random.default_rng(7)
    pace_m = 1.6 * np.exp(0.08 * rng.standard_normal(200_000))
    per_100_m = float(np.mean(100 / pace_m))
    mean_pace = float(np.mean(pace_m))
    walked = 400 * pace_m
    assert metres_from_paces(400, mean_pace) == pytest.approx(walked.mean(), rel=1e-9)
    assert paces_from_metres(640, per_100_m) == pytest.approx((640 / pace_m).mean(), rel=1e-9)
    # The other mean is off by the square of the scatter, 0.64 %.
    assert 400 * 100 / per_100_m / walked.mean() == pytest.approx(1 - 0.08**2, abs=3e-4)
    assert mean_pace_m(per_100_m, 8) == pytest.approx(mean_pace, rel=5e-4)


@pytest.mark.parametrize(
    ("slope", "direction", "label"),
    [
        ("up", "up", "up"),
        (3, "level", "level"),
        (-3, "level", "level"),
        (3.5, "up", "up 3.5%"),
        (-12, "down", "down 12%"),
        (0, "level", "level"),
    ],
)
def test_a_slope_in_per_cent_keeps_its_figure_and_has_a_direction(slope, direction, label):
    assert slope_direction(slope) == direction
    assert slope_label(slope) == label


@pytest.mark.parametrize(
    ("values", "column", "what"),
    [
        (("", "level", None, 0, 62), "distance_m", "0 is not the length of a course in metres"),
        (("", "level", None, math.nan, 62), "distance_m", "nan is not the length of a course in metres"),
        (("", "level", None, 100, -62), "count", "-62 is not a count"),
        (("", "level", None, 100, math.inf), "count", "inf is not a count"),
        (("", "level", -8, 100, 62), "load_kg", "-8 is not a load in kilograms"),
        (("", "steep", None, 100, 62), "slope", "steep is not a slope"),
        (("", math.nan, None, 100, 62), "slope", "nan is not a slope"),
        (("", "level", None, 100, 6250), "count", "6250 paces over 100 m make a pace of 0.016 m"),
    ],
)
def test_a_run_that_cannot_be_is_refused(values, column, what):
    with pytest.raises(ValueComplaint) as refused:
        PaceRun(*values)
    assert (refused.value.what, refused.value.where.column) == (what, column)


def test_a_run_is_left_out_only_by_its_line():
    runs = [PaceRun("", "level", None, 100, count, line=line) for line, count in ((2, 62), (3, 52))]
    assert leave_out(runs, [3]) == (runs[0],)
    with pytest.raises(MissingComplaint, match="line 9 holds no run"):
        leave_out(runs, [9])
    with pytest.raises(MissingComplaint, match="no run is left"):
        leave_out(runs, [2, 3])
