"""Distances by eye and ear against published rules, speeds, and a Monte Carlo."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.core.ranging.ranging_standing import (
    range_by_mils,
    range_by_sound,
    range_by_thumb,
    speed_of_sound_mps,
)
from pacewright.exceptions import ValueComplaint
from support.authorities import close_to_printed, printed, read_authority

RUNS = 200_000
MIL_RULE = read_authority("mil_rule.csv")
FOOT_M = 0.3048


@pytest.mark.parametrize("row", [row for row in MIL_RULE if row["quantity"] == "range"])
def test_the_thousand_rule_and_the_exact_range_are_the_published_ones(row):
    found = range_by_mils(float(row["size_m"]), float(row["angle_mil"]))
    assert close_to_printed(found.rule_of_thumb, row["rule"])
    assert close_to_printed(found.distance, row["exact"])
    assert found.rule_off_pct == pytest.approx(
        100 * (printed(row["rule"]) / printed(row["exact"]) - 1), abs=0.01
    )


@pytest.mark.parametrize("row", [row for row in MIL_RULE if row["quantity"] == "size"])
def test_the_published_size_stands_at_the_published_range(row):
    found = range_by_mils(printed(row["exact"]), float(row["angle_mil"]))
    assert found.distance == pytest.approx(float(row["range_m"]), rel=0.05 / printed(row["exact"]))


@pytest.mark.parametrize("row", read_authority("speed_of_sound.csv"), ids=lambda row: row["source"])
def test_sound_runs_as_fast_as_published(row):
    temp, speed = printed(row["air_temp"]), printed(row["speed"])
    temp_c = (temp - 32) / 1.8 if row["scale"] == "F" else temp
    speed_mps = speed * FOOT_M if row["unit"] == "ft/s" else speed
    assert speed_of_sound_mps(temp_c) == pytest.approx(speed_mps, rel=float(row["allowed_pct"]) / 100)


def test_a_mile_is_about_five_seconds_of_sound():
    # Kephart, Camping and Woodcraft (1917): about five seconds to the mile.
    assert range_by_sound(5, 10).distance == pytest.approx(1609.344, rel=0.06)


def test_ten_times_the_jump_unless_the_walkers_own_ratio_is_known():
    common, own = range_by_thumb(50), range_by_thumb(50, 9.4)
    assert (common.distance, common.rule_off_pct) == (500, 0)
    assert own.distance == pytest.approx(470)
    assert own.rule_off_pct == pytest.approx(100 * (10 / 9.4 - 1))
    assert own.distance_sd / own.distance < common.distance_sd / common.distance


@pytest.mark.parametrize("angle_mil", [3, 10, 100])
def test_scatter_of_the_mils_matches_a_monte_carlo(angle_mil):
    rng = np.random.default_rng(81)
    angle = angle_mil + math.hypot(1, 1 / math.sqrt(12)) * rng.standard_normal(RUNS)
    drawn = (10 + 0.5 * rng.standard_normal(RUNS)) / np.tan(angle * 2 * np.pi / 6400)
    drawn[angle <= 0] = np.inf
    found = range_by_mils(10, angle_mil)
    assert np.mean(drawn < found.low) == pytest.approx(0.025, abs=0.003)
    assert np.mean(drawn > found.high) == pytest.approx(0.025, abs=0.003)
    if angle_mil >= 10:
        assert found.distance_sd == pytest.approx(drawn.std(), rel=0.03)


def test_scatter_of_the_thumb_matches_a_monte_carlo():
    rng = np.random.default_rng(82)
    drawn = (50 + 10 * rng.standard_normal(RUNS)) * (10 + 0.8 * rng.standard_normal(RUNS))
    found = range_by_thumb(50)
    assert found.distance_sd == pytest.approx(drawn.std(), rel=0.02)
    assert np.mean((drawn > found.low) & (drawn < found.high)) == pytest.approx(0.95, abs=0.004)


def test_scatter_of_the_sound_matches_a_monte_carlo():
    rng = np.random.default_rng(83)
    delay = 2.4 + 0.2 * rng.standard_normal(RUNS)
    kelvin = 273.15 + 15 + 5 * rng.standard_normal(RUNS)
    drawn = delay * (331.3 * np.sqrt(kelvin / 273.15) + 3 * rng.standard_normal(RUNS))
    found = range_by_sound(2.4, 15)
    assert found.distance_sd == pytest.approx(drawn.std(), rel=0.02)
    assert np.mean((drawn > found.low) & (drawn < found.high)) == pytest.approx(0.95, abs=0.004)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: range_by_mils(0, 10), "the size cannot be 0"),
        (lambda: range_by_mils(10, 0), "an angle of 0 mils"),
        (lambda: range_by_mils(10, 1600), "an angle of 1600 mils"),
        (lambda: range_by_mils(10, math.nan), "the angle is nan"),
        (lambda: range_by_mils(10, 1), "cannot be pinned down"),
        (lambda: range_by_mils(10, 10, angle_sd_mil=-1), "scatter of the angle cannot be -1"),
        (lambda: range_by_mils(10, 10, azimuth_deg=400), "400 is not an azimuth"),
        (lambda: range_by_thumb(-5), "the jump of the thumb cannot be -5"),
        (lambda: range_by_thumb(50, 75), "75 is not the ratio"),
        (lambda: range_by_thumb(50, math.inf), "the ratio of arm to eyes is inf"),
        (lambda: range_by_thumb(50, jump_sd=60), "as large as the distance itself"),
        (lambda: range_by_sound(0, 10), "after 0 seconds"),
        (lambda: range_by_sound(-1, 10), "after -1 seconds"),
        (lambda: range_by_sound(0.1, 10), "as large as the distance itself"),
        (lambda: range_by_sound(2, -300), "-300 degrees Celsius is no temperature"),
        (lambda: range_by_sound(2, 75), "from Fahrenheit take off 32"),
        (lambda: range_by_sound(2, math.nan), "the air temperature is nan"),
    ],
)
def test_what_gives_no_distance_is_refused_in_words(wrong, says):
    with pytest.raises(ValueComplaint, match=says):
        wrong()


def test_below_absolute_zero_there_is_no_sound():
    assert math.isnan(speed_of_sound_mps(-273.16))
