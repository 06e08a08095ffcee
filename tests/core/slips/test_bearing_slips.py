"""A slip in a bearing is told from a slip in a leg."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.slips.bearing_slips import find_bearing_slips
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.files.log_csv import read_log
from support.logs import log_of
from support.made_logs import draw_log

SQUARE = ((0, 300, "[at Elm]"), (90, 300), (180, 300), (270, 300, "[at Gate]"))


def square_with(azimuth):
    """A square that closes to the pace, with the bearing to Elm from its second corner."""
    return log_of(*SQUARE[:2], (azimuth, "", "[see Elm]"), *SQUARE[2:])


def searched(log):
    return find_bearing_slips(find_mistakes(log).posterior)


def test_a_bearing_from_the_wrong_end_of_the_needle_is_not_blamed_on_the_legs():
    slips = searched(square_with(90))
    assert slips.wrong[0].row == 2
    assert (slips.wrong[0].station, slips.wrong[0].name) == (2, "Elm")
    assert slips.wrong[0].probability > 0.99


def test_a_bearing_that_agrees_is_not_suspected():
    slips = searched(square_with(271))
    assert slips.probability < 0.01
    assert slips.none_probability > 0.7


def test_a_reversed_leg_stays_with_the_legs():
    log = log_of(SQUARE[0], (270, 300), (270, "", "[see Elm]"), *SQUARE[2:])
    assert searched(log).leg_probability > 0.5


@pytest.mark.parametrize("azimuth", [90, 240, 271])
def test_legs_bearings_and_no_mistake_sum_to_one(azimuth):
    slips = searched(square_with(azimuth))
    assert slips.probability + slips.leg_probability + slips.none_probability == pytest.approx(1)


def test_without_bearings_only_the_legs_and_no_mistake_are_left():
    findings = find_mistakes(log_of(*SQUARE))
    slips = find_bearing_slips(findings.posterior)
    assert slips.wrong == ()
    assert slips.none_probability == pytest.approx(findings.posterior.none_probability)


def test_of_three_bearings_to_an_unknown_landmark_the_odd_one_is_found():
    tower = np.array([150.0, 900.0])
    corners = [(0.0, 300.0), (300.0, 300.0), (300.0, 0.0)]
    seen = [np.degrees(np.arctan2(*(tower - corner))) % 360 for corner in corners]
    rows = []
    for leg, azimuth, off in zip(SQUARE, seen, (0, 60, 0), strict=False):
        rows += [leg, (round(azimuth + off) % 360, "", "[see Tower]")]
    slips = searched(log_of(*rows, SQUARE[3]))
    assert {one.name for one in slips.wrong} == {"Tower"}
    assert slips.probability > 0.5


def test_clean_logs_seldom_have_a_bearing_accused():
    rng = np.random.default_rng(20260514)
    accused = 0
    for _ in range(60):
        log = read_log(draw_log(rng, "loop", 10, known=True, sightings=2, mistake=False).text.encode())
        accused += searched(log).probability > 0.5
    assert accused <= 3
