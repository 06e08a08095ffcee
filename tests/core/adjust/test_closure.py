"""Misclosures: where a log comes back to what it knows, and whether that is ordinary."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import chi2

from pacewright.core.adjust.closure import find_closures
from pacewright.core.compass import parse_azimuth
from pacewright.core.log.log_heading import parse_heading
from pacewright.core.log.travel_log import Cells, compose_log, parse_row
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import choose_frame, map_frame
from pacewright.core.way.observations import find_observations
from pacewright.core.way.reckoning import reckon
from support.authorities import close_to_printed, read_authority

METRES = Walker(per_100_m=62.5)


def made(rows, *headings, start="Gate"):
    lines = [("start", start), *(line.split(": ", 1) for line in headings)]
    heading = parse_heading([(k, key, value) for k, (key, value) in enumerate(lines)])
    return compose_log(heading, [parse_row(Cells(*row), heading) for row in rows])


def closures_of(log, walker=None, frame=None):
    walker = walker or Walker()
    frame = frame or choose_frame(log.heading, walker)
    return find_closures(log, reckon(log, walker, frame), find_observations(log, walker, frame))


@pytest.mark.parametrize(
    "name",
    [
        "traverse_purdue",
        "traverse_compass_rule_lesson",
        "traverse_mahun_adjustment",
        "traverse_mahun_bearing",
    ],
)
def test_a_log_walked_as_a_printed_loop_misses_by_the_printed_amount(name):
    """The feet of the books counted as metres: the figure is the same."""
    rows = read_authority(f"{name}.csv")
    sums = {row["quantity"]: row for row in read_authority(f"{name}_totals.csv")}
    notes = [""] * (len(rows) - 1) + ["[at Gate]"]
    log = made(
        [(row["azimuth"], row["length"], note) for row, note in zip(rows, notes, strict=True)],
        "count: metres",
    )
    (loop,) = closures_of(log)
    assert loop.legs == (1, len(rows))
    assert loop.at == "Gate"
    assert close_to_printed(loop.north, sums["latitude_sum"]["recomputed"])
    assert close_to_printed(loop.east, sums["departure_sum"]["recomputed"])
    assert close_to_printed(loop.length, sums["misclosure"]["recomputed"])
    assert close_to_printed(loop.ratio, sums["ratio"]["recomputed"])
    assert loop.verdict == "ordinary"


def test_the_chance_is_that_of_two_degrees_of_freedom():
    (loop,) = closures_of(made([("0", "100", ""), ("120", "100", ""), ("245", "110", "[at Gate]")]))
    assert loop.p_value == pytest.approx(chi2.sf(loop.mahalanobis2, 2))
    gap = np.array([loop.east, loop.north])
    assert loop.mahalanobis2 == pytest.approx(gap @ np.linalg.inv(loop.covariance) @ gap)


def test_a_square_walk_closes_and_has_no_ratio():
    (loop,) = closures_of(
        made([("0", "100", ""), ("90", "100", ""), ("180", "100", ""), ("270", "100", "[at Gate]")])
    )
    assert (loop.east, loop.north, loop.length) == (0, 0, 0)
    assert loop.ratio is None
    assert loop.p_value == 1
    assert loop.verdict == "ordinary"


def test_a_lost_hundred_in_short_legs_is_no_ordinary_scatter():
    (loop,) = closures_of(
        made([("0", "200", ""), ("90", "200", ""), ("180", "100", ""), ("270", "200", "[at Gate]")])
    )
    assert loop.north == pytest.approx(100)
    assert loop.verdict == "mistake"
    assert loop.p_value < 0.01


def test_between_ordinary_and_mistake_a_closure_is_unusual():
    """Chi-square of two degrees of freedom, upper 5 and 1 per cent: 5.991 and 9.210 (tables, from memory)."""
    seen = {}
    for tenths in range(2000, 1000, -1):
        count = f"{tenths / 10:.1f}"
        log = made([("0", "200", ""), ("90", "200", ""), ("180", count, ""), ("270", "200", "[at Gate]")])
        loop = closures_of(log)[0]
        seen.setdefault(loop.verdict, []).append(loop.mahalanobis2)
    assert list(seen) == ["ordinary", "unusual", "mistake"]
    assert max(seen["ordinary"]) < 5.9915 < min(seen["unusual"]) < max(seen["ordinary"]) + 0.1
    assert max(seen["unusual"]) < 9.2103 < min(seen["mistake"]) < max(seen["unusual"]) + 0.1


def test_a_marker_met_three_times_closes_from_visit_to_visit():
    rows = [("0", "100", "[at Oak]"), ("90", "50", ""), ("270", "50", "[at Oak]"), ("0", "30", "")]
    loops = closures_of(made([*rows, ("180", "30", "[at Oak]"), ("180", "100", "[at Gate]")]))
    assert [(loop.at, loop.legs) for loop in loops] == [("Oak", (2, 3)), ("Oak", (4, 5)), ("Gate", (1, 6))]


def test_a_known_point_is_closed_on_from_the_start():
    log = made(
        [("90", "100", ""), ("0", "100", "[at Fire tower]")],
        "count: metres",
        "known: Fire tower = local 110 95 +-5 m",
    )
    (closure,) = closures_of(log, METRES)
    assert closure.kind == "known point"
    assert closure.legs == (1, 2)
    assert (closure.east, closure.north) == pytest.approx((-10, 5))
    assert closure.ratio == pytest.approx(200 / math.hypot(10, 5))


def test_what_the_legs_share_widens_a_known_point_and_not_a_loop():
    rows = [("0", "400", ""), ("90", "400", ""), ("180", "400", ""), ("270", "400", "[at Gate]")]
    log = made([*rows, ("0", "600", "[at Fire tower]")], "known: Fire tower = local 0 960 +-10 m")
    sure = Walker(per_100_m=62.5, count=METRES.count, compass=METRES.compass)
    reckoning = reckon(log, sure, map_frame(log.heading, sure))
    loop, tower = closures_of(log, sure, map_frame(log.heading, sure))
    assert loop.covariance == pytest.approx(reckoning.own_sum[4] + np.eye(2))
    own_only = reckoning.own_sum[5] + 100 * np.eye(2)
    assert tower.covariance[1, 1] == pytest.approx(own_only[1, 1] + (0.03 * 960) ** 2)


def test_a_closure_of_no_legs_checks_nothing():
    (loop,) = closures_of(made([("0", "0", "[at Gate]"), ("90", "100", "")]))
    assert loop.verdict == "no legs"
    assert loop.ratio is None
    assert loop.walked == 0


def test_a_log_that_meets_nothing_again_has_no_closure():
    assert closures_of(made([("0", "100", "[at Oak]"), ("90", "100", "")])) == ()


def test_clean_walks_are_called_a_mistake_about_once_in_a_hundred():
    """2000 loops scattered by the tool's own defaults: the stated chance is the share (own simulation)."""
    chance = np.random.default_rng(3)
    sides, azimuths = (
        np.array([400.0, 300.0, 500.0]),
        np.array([parse_azimuth(a) for a in ("0", "90", "217")]),
    )
    true = sides[:, None] * np.stack([np.sin(np.deg2rad(azimuths)), np.cos(np.deg2rad(azimuths))], axis=1)
    close = -true.sum(axis=0)
    azimuths = np.append(azimuths, math.degrees(math.atan2(*close)) % 360)
    sides = np.append(sides, math.hypot(*close))
    p_values = []
    for _ in range(2000):
        counts = np.rint(sides * (1 + chance.normal(0, 0.05, 4)))
        read = np.rint(azimuths + chance.normal(0, 2.5, 4)) % 360
        rows = [(f"{a:.0f}", f"{c:.0f}", "") for a, c in zip(read, counts, strict=True)]
        rows[-1] = (*rows[-1][:2], "[at Gate]")
        p_values.append(closures_of(made(rows))[0].p_value)
    assert 0.004 < np.mean(np.array(p_values) < 0.01) < 0.02
    assert 0.035 < np.mean(np.array(p_values) < 0.05) < 0.07
