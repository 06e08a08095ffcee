"""Stations that pull the compass, against printed exercises and made-up pulls."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.bearings.included_angles import find_included_angles
from pacewright.core.bearings.local_attraction import Line, find_local_attraction, find_log_attraction
from pacewright.core.compass import back_azimuth, parse_azimuth
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.travel_log import Cells, compose_log, parse_row
from pacewright.exceptions import MissingComplaint, ValueComplaint
from support.authorities import read_authority

EXERCISES = {
    # file, stations found clean by the source
    "back_bearings_open.csv": ["A", "D", "E"],
    "back_bearings_quadrants.csv": ["C", "D"],
    "back_bearings_loop.csv": ["A", "B"],
}


def signed(text):
    sign = -1 if text.startswith("-") else 1
    return sign * parse_azimuth(text.lstrip("+-"))


def exercise(name):
    rows = read_authority(name)
    lines = [
        Line(row["leg"][0], row["leg"][1], parse_azimuth(row["fore"]), parse_azimuth(row["back"]))
        for row in rows
    ]
    return rows, lines


@pytest.mark.parametrize("name", EXERCISES)
def test_the_corrections_are_the_printed_ones(name):
    rows, lines = exercise(name)
    found = find_local_attraction(lines)
    for row in rows:
        assert found.correction_deg(row["leg"][0]) == pytest.approx(
            signed(row["correction_at_start"]), abs=1e-9
        )
        assert found.correction_deg(row["leg"][1]) == pytest.approx(
            signed(row["correction_at_end"]), abs=1e-9
        )


@pytest.mark.parametrize("name", EXERCISES)
def test_the_corrected_bearings_are_the_printed_ones(name):
    rows, lines = exercise(name)
    for row, line in zip(rows, find_local_attraction(lines).corrected, strict=True):
        assert line.forward_deg == pytest.approx(parse_azimuth(row["corrected_fore"]), abs=1e-9), row["leg"]
        assert line.back_deg == pytest.approx(parse_azimuth(row["corrected_back"]), abs=1e-9), row["leg"]


@pytest.mark.parametrize("name", EXERCISES)
def test_the_clean_stations_are_those_of_the_source(name):
    _, lines = exercise(name)
    found = find_local_attraction(lines)
    assert sorted(pull.station for pull in found.pulls if not pull.pulled) == EXERCISES[name]
    assert not found.assumed
    assert not found.unreached


@pytest.mark.parametrize("name", EXERCISES)
def test_included_angles_are_the_same_before_and_after(name):
    """A station's pull turns both readings there, so their angle stays (common practice)."""
    _, lines = exercise(name)
    corrected = find_local_attraction(lines).corrected
    for i in range(1, len(lines)):
        before = (lines[i].forward_deg - lines[i - 1].back_deg) % 360
        after = (corrected[i].forward_deg - corrected[i - 1].back_deg) % 360
        assert after == pytest.approx(before, abs=1e-9)


def test_the_included_angle_exercise_comes_out_as_printed():
    rows, lines = exercise("included_angles.csv")
    found = find_included_angles(lines)
    assert found.sum_deg == pytest.approx(540.5)
    assert found.expected_deg == 540
    assert found.correction_deg == pytest.approx(-6 / 60)
    assert lines[found.held].first + lines[found.held].last == "BC"
    for i, row in enumerate(rows):
        assert found.angle_deg[i] == pytest.approx(parse_azimuth(row["angle"]), abs=1e-9)
        assert found.corrected_deg[i] == pytest.approx(parse_azimuth(row["corrected_angle"]), abs=1e-9)
        assert found.forward_deg[i] == pytest.approx(parse_azimuth(row["corrected_fore"]), abs=1e-9), row[
            "leg"
        ]
    assert found.check_deg == pytest.approx(parse_azimuth("118°15'"), abs=1e-9)


def test_a_loop_walked_the_other_way_has_outer_angles():
    azimuths = [0.0, 270.0, 180.0, 90.0]
    lines = [Line("ABCD"[i], "BCDA"[i], azimuth, back_azimuth(azimuth)) for i, azimuth in enumerate(azimuths)]
    left = find_included_angles(lines)
    right = find_included_angles(
        [Line(line.last, line.first, line.back_deg, line.forward_deg) for line in reversed(lines)]
    )
    assert sorted((left.expected_deg, right.expected_deg)) == [360, 1080]
    assert left.correction_deg == right.correction_deg == 0


def made_up(pulls_deg, sd_deg, seed):
    """A loop read by a compass that each station pulls and the reader scatters."""
    chance = np.random.default_rng(seed)
    names = list(pulls_deg)
    true_deg = chance.uniform(0, 360, len(names))
    lines = []
    for i, azimuth in enumerate(true_deg):
        first, last = names[i], names[(i + 1) % len(names)]
        forward = azimuth + pulls_deg[first] + chance.normal(0, sd_deg)
        back = azimuth + 180 + pulls_deg[last] + chance.normal(0, sd_deg)
        lines.append(Line(first, last, forward % 360, back % 360, sd_deg * 2**0.5))
    return lines


def test_pulls_far_beyond_scatter_are_found_and_measured():
    pulls = {"A": 0.0, "B": 0.0, "C": 25.0, "D": 0.0, "E": -20.0, "F": 0.0, "G": 0.0}
    hit, off = 0, []
    for seed in range(100):
        found = find_local_attraction(made_up(pulls, 1.0, seed))
        hit += {pull.station for pull in found.pulls if pull.pulled} >= {"C", "E"}
        off += [(found.correction_deg("C") + 25) / 1.0, (found.correction_deg("E") - 20) / 1.0]
    assert hit == 100
    # Two lines of sd sqrt(2) meet at C: its correction is good to about 1 degree.
    assert 0.8 < np.std(off) < 1.4


def test_clean_stations_are_seldom_called_pulled():
    clean = dict.fromkeys("ABCDEF", 0.0)
    called = [
        pull.pulled for seed in range(200) for pull in find_local_attraction(made_up(clean, 2.0, seed)).pulls
    ]
    assert np.mean(called) < 0.05


def test_without_a_line_that_agrees_the_best_line_is_held_at_its_mean_and_said_so():
    found = find_local_attraction([Line("A", "B", 40, 224), Line("B", "C", 100, 290)])
    assert found.assumed
    assert found.correction_deg("A") == pytest.approx(2)
    assert found.correction_deg("B") == pytest.approx(-2)
    assert found.corrected[0].disagreement_deg == pytest.approx(0)
    assert found.corrected[1].disagreement_deg == pytest.approx(0)


def test_two_groups_that_agree_among_themselves_are_both_named():
    found = find_local_attraction(
        [Line("A", "B", 40, 220), Line("B", "C", 100, 290), Line("C", "D", 10, 190)]
    )
    assert found.rivals == (("C", "D"),)
    assert found.correction_deg("C") == found.correction_deg("D") == pytest.approx(-10)


def test_a_station_no_line_leads_to_is_left_unjudged():
    found = find_local_attraction([Line("A", "B", 40, 220), Line("C", "D", 100, 290)])
    assert found.unreached == ("C", "D")
    with pytest.raises(MissingComplaint, match="nothing is known of the readings at C"):
        found.correction_deg("C")


def test_a_log_with_back_readings_names_the_pulled_marker():
    heading = Heading(start="Gate")
    rows = [
        ("40", "200", "[back 221]"),
        ("100", "150", "[at Split oak] [back 296]"),
        ("181", "90", "[back 346] a fence of iron at the oak"),
        ("250", "100", ""),
    ]
    log = compose_log(heading, [parse_row(Cells(*row), heading) for row in rows])
    found = find_log_attraction(log)
    assert [pull.station for pull in found.pulls if pull.pulled] == ["Split oak"]
    assert found.correction_deg("Split oak") == pytest.approx(-15.5, abs=1)


@pytest.mark.parametrize(
    ("call", "kind", "what"),
    [
        (lambda: find_local_attraction([]), MissingComplaint, "no leg was read from both ends"),
        (lambda: find_local_attraction([Line("A", "A", 1, 2)]), ValueComplaint, "from A to itself"),
        (lambda: find_local_attraction([Line("A", "B", float("nan"), 2)]), ValueComplaint, "not a number"),
        (lambda: find_included_angles([Line("A", "B", 1, 2)]), ValueComplaint, "these lines make no loop"),
    ],
)
def test_what_cannot_be_checked_is_refused_with_a_sentence(call, kind, what):
    with pytest.raises(kind) as refused:
        call()
    assert what in refused.value.what
