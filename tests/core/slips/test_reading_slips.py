"""Slips in what was read beside the legs: the reading is blamed, and no leg."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.answers.estimate import find_estimate
from pacewright.core.slips.corrected_log import accept_suspect, undo_leg
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.files.log_csv import read_log, write_log
from support.logs import log_of, walker_like

SQUARE = (
    (0, 400, "[back 180]"),
    (90, 400, "[back 90]"),
    (180, 400, "[back 0]"),
    (270, 400, "[back 90] [at Gate]"),
)
PAGE = b"""# azimuth: magnetic degrees
# count: paces
# start: Gate
azimuth,count,notes
0,400,[back 180] pines
90,400,dry [back 90] so far
180,400,[back 0]
270,400,[back 90] [at Gate]
"""


def first_of(*rows, more=()):
    return find_mistakes(log_of(*rows, more=more), walker_like())


def test_a_back_azimuth_not_turned_round_is_blamed_and_no_leg():
    findings = first_of(*SQUARE)
    first = findings.suspects[0]
    assert (first.kind, first.reading.leg, first.reading.instead) == ("back_not_turned", 2, "270")
    assert first.probability > 0.9
    assert sum(one.probability for one in findings.by_leg) < 0.01
    assert findings.posterior.leg_probability < 0.5 * findings.mistake_probability


@pytest.mark.parametrize("leg", [1, 2, 3, 4])
def test_a_back_azimuth_misread_is_blamed_and_no_leg(leg):
    rows = [list(row) for row in SQUARE]
    rows[1][2] = "[back 270]"
    rows[leg - 1][2] = {1: "[back 280]", 2: "[back 170]", 3: "[back 100]", 4: "[back 190] [at Gate]"}[leg]
    findings = first_of(*map(tuple, rows))
    assert findings.by_reading[0].slip.leg == leg
    assert findings.by_reading[0].probability > 0.9
    assert sum(one.probability for one in findings.by_leg) < 0.05


def test_all_sums_to_one():
    findings = first_of(*SQUARE)
    parts = (*findings.by_leg, *findings.by_reading)
    assert sum(one.probability for one in parts) + findings.posterior.none_probability == pytest.approx(1)
    assert sum(chance for _, chance in findings.by_kind) == pytest.approx(findings.mistake_probability)


def test_iron_at_a_station_is_one_suspect_and_no_leg_is_accused():
    """At station 2 every reading is 20 degrees too small: its forward azimuth, and the back reading there."""
    rows = [
        (0, 400, "[back 180]"),
        (90, 400, "[back 250]"),
        (160, 400, "[back 0]"),
        (270, 400, "[back 90] [at Gate]"),
    ]
    findings = first_of(*rows)
    first = findings.by_reading[0]
    assert (first.slip.kind, first.slip.station) == ("station_pulled", 2)
    assert first.probability > 0.9
    assert findings.posterior.leg_probability < 0.5 * findings.mistake_probability


def test_a_known_place_that_is_wrong_is_blamed_and_no_leg():
    """Two ways round agree on where Oak is; the map says 300 m elsewhere."""
    rows = [
        (0, 300, "[at Oak]"),
        (90, 300),
        (180, 300),
        (270, 300, "[at Gate]"),
        (0, 303, "[at Oak]"),
    ]
    findings = first_of(*rows, more=["known: Oak = local 300 480 +-5 m"])
    assert findings.by_reading[0].slip.kind == "place_wrong"
    assert findings.by_reading[0].slip.name == "Oak"


def test_a_marker_taken_for_another_is_among_the_suspects():
    findings = first_of((0, 300), (90, 300), (180, 300), (270, 80, "[at Gate]"))
    assert "marker_mistaken" in {one.kind for one in findings.suspects if one.probability > 0.01}


def test_the_estimate_leaves_a_wrong_reading_out_and_spreads_nothing():
    log = log_of(*SQUARE)
    estimate = find_estimate(log, walker_like())
    assert not estimate.is_condemned
    assert estimate.wrong_reading.leg == 2
    np.testing.assert_allclose(
        estimate.stations("walker").place, [[0, 0], [0, 400], [400, 400], [400, 0], [0, 0]], atol=1.0
    )


def test_a_back_reading_is_struck_and_put_back_to_the_letter():
    log = read_log(PAGE)
    suspect = find_mistakes(log, walker_like()).suspects[0]
    corrected = accept_suspect(log, suspect)
    assert b"90,400,dry [back 270] [was 90 back] so far\n" in write_log(corrected)
    assert write_log(undo_leg(read_log(write_log(corrected)), 2)) == PAGE
    assert find_mistakes(corrected, walker_like()).verdict == "none"


def test_a_reading_of_which_nothing_is_told_is_struck_without_a_new_one():
    log = read_log(PAGE)
    findings = find_mistakes(log, walker_like())
    free = next(
        s for s in findings.suspects if s.reading and s.reading.leg == 2 and s.reading.instead is None
    )
    corrected = accept_suspect(log, free)
    assert b"90,400,dry [was 90 back] so far\n" in write_log(corrected)
    assert write_log(undo_leg(corrected, 2)) == PAGE
