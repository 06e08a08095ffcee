"""Distances that cannot be walked: published widths, and scatter against a Monte Carlo of the walk itself."""

from __future__ import annotations

import csv
import math

import numpy as np
import pytest

from pacewright.core.compass import parse_azimuth
from pacewright.core.log.remarks import Estimated, parse_remarks
from pacewright.core.pace.walker import Walker
from pacewright.core.ranging.range_result import Range, estimate_pct, range_row, spread
from pacewright.core.ranging.ranging import range_by_base_line, range_by_right_angle, range_by_stakes
from pacewright.exceptions import MissingComplaint, ValueComplaint
from support.authorities import close_to_printed, read_authority

RUNS = 200_000
SIGHT_SD = math.hypot(2.0, 1 / math.sqrt(12))
HELD_SD = math.sqrt(2.5**2 + 1 / 12 + 1.5**2 / 2)


def widths(method: str) -> list[dict[str, str]]:
    return [row for row in read_authority("river_widths.csv") if row["method"] == method]


def base_sd(base: float) -> float:
    return math.hypot(max(0.05 * base, 1.0), 1 / math.sqrt(12))


def crossing(base, base_azimuth, from_a, from_b):
    """From A to where two rays cross, by solving for the ray lengths in coordinates; inf if they do not."""
    out = np.radians(base_azimuth)
    bx, by = base * np.sin(out), base * np.cos(out)
    ax, ay = np.sin(np.radians(from_a)), np.cos(np.radians(from_a))
    cx, cy = np.sin(np.radians(from_b)), np.cos(np.radians(from_b))
    cross = ax * cy - ay * cx
    along_a, along_b = (bx * cy - by * cx) / cross, (bx * ay - by * ax) / cross
    return np.where((along_a > 0) & (along_b > 0), along_a, np.inf)


def assert_region_holds(found: Range, drawn, slack=0.003):
    assert np.mean(drawn < found.low) == pytest.approx(0.025, abs=slack)
    assert np.mean(drawn > found.high) == pytest.approx(0.025, abs=slack)


@pytest.mark.parametrize("row", widths("right_angle"))
def test_a_published_width_by_right_angle_comes_out(row):
    first, second = parse_azimuth(row["first_azimuth"]), parse_azimuth(row["second_azimuth"])
    found = range_by_right_angle(float(row["base"]), first, second)
    assert close_to_printed(found.distance, row["result"])


@pytest.mark.parametrize("row", widths("base_line"))
def test_a_published_distance_by_two_azimuths_comes_out(row):
    azimuths = (parse_azimuth(row[k]) for k in ("base_azimuth", "first_azimuth", "second_azimuth"))
    found = range_by_base_line(float(row["base"]), *azimuths, goal=row["quantity"])
    assert close_to_printed(found.distance, row["result"])


@pytest.mark.parametrize("row", widths("stakes"))
def test_a_published_width_by_stakes_comes_out(row):
    found = range_by_stakes(float(row["base"]), float(row["stake_to_turn"]), float(row["inland"]))
    assert close_to_printed(found.distance, row["result"])


def test_the_walk_that_changes_the_azimuth_by_45_degrees_is_the_width():
    found = range_by_right_angle(69, 350, 35)
    assert found.distance == pytest.approx(69)
    assert found.rule_off_pct == 0


def test_half_the_distance_beyond_the_stake_gives_half_the_width_inland():
    # Baden-Powell, Scouting for Boys (1908): 60 to the stick, 30 beyond it.
    found = range_by_stakes(60, 30, 41)
    assert found.distance == pytest.approx(82)
    assert found.rule_off_pct == 0


@pytest.mark.parametrize("bias", [0.0, 10.0])
def test_scatter_of_the_right_angle_matches_the_walk_and_the_compass_bias_drops_out(bias):
    rng = np.random.default_rng(71)
    width, base = 60.0, 40.0
    to_mark = 123.0
    first = to_mark + bias + SIGHT_SD * rng.standard_normal(RUNS)
    # The walker sets the dial square to the first reading and walks with it.
    walked = first + 90 - bias + HELD_SD * rng.standard_normal(RUNS)
    steps = base + base_sd(base) * rng.standard_normal(RUNS)
    mark = (width * math.sin(math.radians(to_mark)), width * math.cos(math.radians(to_mark)))
    east, north = steps * np.sin(np.radians(walked)), steps * np.cos(np.radians(walked))
    second = np.degrees(np.arctan2(mark[0] - east, mark[1] - north)) + bias
    second += SIGHT_SD * rng.standard_normal(RUNS)
    said = base / np.tan(np.radians(first - second))
    turned = math.degrees(math.atan(base / width))
    found = range_by_right_angle(base, (to_mark + bias) % 360, (to_mark + bias - turned) % 360)
    assert found.distance == pytest.approx(width)
    assert found.distance_sd == pytest.approx(said.std(), rel=0.03)


def test_the_region_holds_the_true_width_in_95_of_100_walks():
    rng = np.random.default_rng(72)
    covered = 0
    for _ in range(400):
        first, second = SIGHT_SD * rng.standard_normal(2) + (38.0, 338.0)
        base_azimuth = 90 + SIGHT_SD * rng.standard_normal()
        counted = 75 + base_sd(75) * rng.standard_normal()
        found = range_by_base_line(counted, base_azimuth, first, second, goal="width")
        covered += found.low < 63.27 < found.high
    # 400 runs: 380 expected, standard deviation 4.4.
    assert 366 <= covered <= 394


@pytest.mark.parametrize(
    ("from_a", "from_b"), [(38, 338), (2, 338), (60, 300), (38, 26), (38, 30)], ids=lambda a: f"{a:g}"
)
def test_scatter_of_two_azimuths_matches_a_monte_carlo_even_when_nearly_parallel(from_a, from_b):
    rng = np.random.default_rng(73)
    noise = SIGHT_SD * rng.standard_normal((3, RUNS))
    drawn = crossing(
        75 + base_sd(75) * rng.standard_normal(RUNS), 90 + noise[0], from_a + noise[1], from_b + noise[2]
    )
    found = range_by_base_line(75, 90, from_a, from_b)
    assert_region_holds(found, drawn)
    if abs((from_a - from_b + 180) % 360 - 180) > 20:
        assert found.distance_sd == pytest.approx(drawn.std(), rel=0.02)


@pytest.mark.parametrize("walks", [(24, 16, 12), (60, 30, 20), (60, 30, 40)])
def test_scatter_of_stakes_matches_a_monte_carlo_of_crooked_right_angles(walks):
    rng = np.random.default_rng(74)
    to_stake, beyond, inland = (w + base_sd(w) * rng.standard_normal(RUNS) for w in walks)
    across, turn = np.radians(5 * rng.standard_normal((2, RUNS)))
    in_line = np.radians(rng.standard_normal(RUNS))
    # From the last point a ray over the stake, turned by how badly they were seen to be in line.
    back_x, back_y = -(beyond + inland * np.sin(turn)), inland * np.cos(turn)
    ray_x = back_x * np.cos(in_line) + back_y * np.sin(in_line)
    ray_y = back_y * np.cos(in_line) - back_x * np.sin(in_line)
    drawn = to_stake * ray_y / (ray_y * np.sin(across) - ray_x * np.cos(across))
    found = range_by_stakes(*walks)
    assert found.distance_sd == pytest.approx(drawn[np.abs(drawn) < 1e3].std(), rel=0.08)
    assert_region_holds(found, drawn, slack=0.004)


def test_a_straight_figure_gets_plain_first_order_propagation():
    found = spread(lambda r: float(2 * r[0] - 3 * r[1] + 5), [10, 1], [1.0, 0.5], 0.95)
    sd = math.hypot(2, 1.5)
    assert found.sd == pytest.approx(sd)
    assert (found.low, found.high) == pytest.approx((22 - 1.959964 * sd, 22 + 1.959964 * sd))


def test_a_taped_base_and_a_perfect_compass_leave_no_scatter():
    still = Walker.__dataclass_fields__["compass"].default
    exact = type(still)(0.0, 0.0, 0.0, 0.0)
    found = range_by_base_line(75, 90, 38, 338, base_sd=0.0, walker=Walker(compass=exact))
    assert (found.distance_sd, found.low, found.high) == (0.0, found.distance, found.distance)


def test_paces_of_a_metre_base_carry_the_scatter_of_the_pace_count_as_well():
    in_paces, in_metres = range_by_right_angle(100, 0, 45), range_by_right_angle(100, 0, 45, unit="metre")
    assert in_metres.distance_sd > in_paces.distance_sd


def test_turning_every_azimuth_changes_nothing_but_the_row():
    still, turned = range_by_base_line(75, 90, 38, 338), range_by_base_line(75, 290, 238, 178)
    assert turned.distance == pytest.approx(still.distance)
    assert turned.distance_sd == pytest.approx(still.distance_sd)
    assert (still.azimuth_deg, turned.azimuth_deg) == (38, 238)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: range_by_right_angle(0, 10, 55), "the base line cannot be 0"),
        (lambda: range_by_right_angle(-3, 10, 55), "the base line cannot be -3"),
        (lambda: range_by_right_angle(math.nan, 10, 55), "the base line is nan"),
        (lambda: range_by_right_angle(math.inf, 10, 55), "the base line is inf"),
        (lambda: range_by_right_angle(40, 10, 10), "cannot change by 0 degrees"),
        (lambda: range_by_right_angle(40, 10, 100), "cannot change by 90 degrees"),
        (lambda: range_by_right_angle(40, 10, 11), "cannot be pinned down"),
        (lambda: range_by_right_angle(40, math.nan, 11), "nan is not an azimuth"),
        (lambda: range_by_right_angle(40, 10, 55, base_sd=-1), "scatter of the base line cannot be -1"),
        (lambda: range_by_right_angle(40, 10, 55, probability=1.0), "1.0 is not a share"),
        (lambda: range_by_base_line(75, 90, 38, 38), "do not cross"),
        (lambda: range_by_base_line(75, 90, 38, 60), "do not cross"),
        (lambda: range_by_base_line(75, 90, 38, 200), "do not cross"),
        (lambda: range_by_base_line(75, 90, 90, 338), "do not cross"),
        (lambda: range_by_base_line(75, 90, 38, 36), "cannot be pinned down"),
        (lambda: range_by_base_line(75, 90, 361, 36), "361 is not an azimuth"),
        (lambda: range_by_stakes(60, 0, 30), "from the stake to the turn cannot be 0"),
        (lambda: range_by_stakes(60, 30, 1e9), "the walk inland cannot be"),
        (lambda: range_by_stakes(60, 2, 100), "cannot be pinned down"),
    ],
)
def test_what_gives_no_distance_is_refused_in_words(wrong, says):
    with pytest.raises(ValueComplaint, match=says):
        wrong()


def test_the_row_is_read_back_by_the_log_as_an_estimate():
    row = range_row(range_by_base_line(75, 90, 38, 338))
    azimuth, count, notes = next(csv.reader([",".join(row)]))
    assert (parse_azimuth(azimuth), float(count)) == (38, 80)
    assert parse_remarks(notes) == (Estimated(7.0, "7"),)
    assert "[" not in notes.partition("]")[2]


def test_the_per_cent_of_the_row_is_rounded_up_and_never_below_one():
    assert estimate_pct(Range("thumb", 100, 5.0, 90, 110, 0.95, "metre")) == 5
    assert estimate_pct(Range("thumb", 100, 5.01, 90, 110, 0.95, "metre")) == 6
    assert estimate_pct(Range("thumb", 100, 0.0, 100, 100, 0.95, "metre")) == 1


def test_a_row_from_metres_to_paces_takes_in_the_scatter_of_the_pace_count():
    found = Range("thumb", 160, 160 * 0.04, 150, 170, 0.95, "metre", how="distance by arm and thumb")
    row = range_row(found, count_unit="pace", walker=Walker(per_100_m=62.5))
    assert row.count_text == "100"
    assert row.notes.startswith("[est 5%]")  # hypot(4, 3)
    assert range_row(found, count_unit="step", walker=Walker(per_100_m=62.5)).count_text == "200"


def test_a_row_in_paces_needs_the_walkers_pace_count():
    found = Range("thumb", 160, 16, 150, 170, 0.95, "metre")
    with pytest.raises(MissingComplaint, match="no pace count"):
        range_row(found, count_unit="pace")


def test_a_row_from_paces_to_steps_doubles_the_count_and_adds_no_scatter():
    found = range_by_right_angle(69, 10, 325)
    row = range_row(found, count_unit="step")
    assert (row.count_text, row.notes) == ("138", range_row(found).notes)
