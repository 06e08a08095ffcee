"""The one estimate: the walker's frame where nothing is known in metres, the adjustment where all is."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from pacewright.core.adjust.adjustment import adjust, adjust_reckoning
from pacewright.core.adjust.standing import build_standing
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.lead import find_legs_between, lead_over_legs
from pacewright.core.way.observations import Tie
from pacewright.core.way.reckoning import reckon
from pacewright.exceptions import MissingComplaint
from support.dense_least_squares import Dense
from support.logs import log_of, walker_like

INES = walker_like()
LOOP = (
    (10, 300, "[at Oak]"),
    (100, 250),
    (190, 310, "[back 12]"),
    (278, 260, "[at Gate]"),
    (60, 150),
    (150, 90, "[at Pond]"),
)


def test_with_nothing_known_in_metres_it_is_the_walkers_frame_to_the_letter():
    log = log_of((30, 200, "[at Oak]"), (110, 350), (64, 90))
    standing, written = build_standing(log, INES), reckon(log, INES, walker_frame(log.heading, INES))
    np.testing.assert_allclose(standing.places(), written.place, rtol=1e-9)
    np.testing.assert_allclose(standing.covariances(), written.covariances(), rtol=1e-9)
    lead = standing.lead(3, 1)
    np.testing.assert_allclose(lead.step, written.place[1] - written.place[3], rtol=1e-9)
    np.testing.assert_allclose(lead.covariance, written.relative_covariance(3, 1), rtol=1e-9)


def test_all_known_in_metres_with_a_sure_compass_and_pace_it_is_the_adjustment():
    sure = Walker(
        per_100_m=62.5,
        compass=replace(INES.compass, bias_sd_deg=0.0),
        count=replace(INES.count, scale_sd_pct=0.0),
    )
    log = log_of(*LOOP, more=["known: Oak = local 90 470 +-4 m", "known: Pond = local 260 20 +-6 m"])
    adjusted = adjust(log, sure, map_frame(log.heading, sure))
    standing = build_standing(log, sure)
    np.testing.assert_allclose(standing.places() * 1.6, adjusted.place, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(standing.covariances() * 1.6**2, adjusted.covariances(), rtol=1e-9, atol=1e-9)


def test_between_any_two_stations_it_is_as_sure_as_a_dense_solution_says():
    """Every station an unknown of its own: `tests/support/dense_least_squares.py`, no code of the tool."""
    log = log_of(*LOOP)
    standing = build_standing(log, replace(INES, per_100_m=None, classes=()))
    adjustment = standing.adjustment
    reckoning, found = adjustment.reckoning, adjustment.observations
    dense = Dense(
        np.diff(reckoning.place, axis=0),
        reckoning.own,
        0.0,
        math.radians(INES.compass.bias_sd_deg) / math.sqrt(2),
        0.0,
        as_walked=True,
    )
    dense.ties = [(t.first, t.second, t.sd) for t in found.ties]
    dense.backs = [
        (b.leg - 1, math.radians(b.azimuth_deg), math.radians(b.sd_deg)) for b in found.back_azimuths
    ]
    solved = dense.solve()
    np.testing.assert_allclose(standing.places(), solved.place, atol=1e-7)
    # The same again with two more stations made junctions by a tie that says nothing.
    compared = 0
    for here, there in [(2, 3), (3, 2), (1, 2), (5, 6), (0, 1), (2, 1), (1, 3), (0, 3)]:
        tied = replace(found, ties=(*found.ties, Tie(here, there, 1e9, "")))
        whole = adjust_reckoning(reckoning, tied, INES.compass.bias_sd_deg).solution
        node = np.searchsorted(whole.network.chains.junctions, [here, there]) - 1
        expected = whole.difference_covariance(node[:1], node[1:])[0]
        lead = standing.lead(here, there)
        if (lead.from_station, lead.to_station) == (here, there):
            np.testing.assert_allclose(lead.covariance, expected, rtol=1e-6, atol=1e-9)
            compared += 1
    assert compared >= 4


def test_a_marker_met_again_is_one_place_and_its_loop_is_not_walked_again():
    log = log_of(*LOOP)
    written = reckon(log, INES, walker_frame(log.heading, INES))
    legs = find_legs_between(written, 6, 0)
    assert [(one.leg, one.is_back) for one in legs] == [(6, True), (5, True)]
    lead = lead_over_legs(written, 6, 0)
    np.testing.assert_allclose(lead.step, written.place[4] - written.place[6])
    np.testing.assert_allclose(lead.covariance, written.relative_covariance(6, 4))
    # The estimate says the same, but for the metre that the marker is unsure by.
    standing = build_standing(log, INES)
    np.testing.assert_allclose(standing.lead(6, 0).step, lead.step, atol=1.0)


def test_the_shorter_way_round_a_loop_is_taken():
    log = log_of((0, 100, "[at Oak]"), (90, 900), (180, 100), (270, 880, "[at Gate]"))
    written = reckon(log, INES, walker_frame(log.heading, INES))
    assert [one.leg for one in find_legs_between(written, 1, 4)] == [1]


def test_two_places_known_in_metres_tell_the_pace_of_a_walker_who_has_none():
    # 400 paces north and 300 east, known to be 600 m and 450 m.
    log = log_of(
        (0, 400, "[at Mill]"),
        (90, 300, "[at Barn]"),
        more=["known: Mill = local 0 600 +-1 m", "known: Barn = local 450 600 +-1 m"],
    )
    standing = build_standing(log, Walker())
    assert standing.is_pace_assumed
    assert standing.adjustment.find_parameter("pace scale").value == pytest.approx(1.0, abs=0.03)
    short = build_standing(
        log_of(
            (0, 400, "[at Mill]"),
            (90, 300, "[at Barn]"),
            more=["known: Mill = local 0 480 +-1 m", "known: Barn = local 360 480 +-1 m"],
        ),
        Walker(),
    )
    # 1.2 m a pace is 0.8 of the five feet that nothing but custom says.
    assert short.adjustment.find_parameter("pace scale").value == pytest.approx(0.8, abs=0.04)


def test_a_place_that_was_never_visited_is_a_goal_in_own_paces():
    log = log_of((0, 400), (90, 300), more=["known: Barn = local 480 0 +-2 m"])
    lead = build_standing(log, Walker(per_100_m=62.5)).lead_to(2, "Barn")
    # From 300 paces east, 400 north to 300 east, 0 north.
    np.testing.assert_allclose(lead.step, [0.0, -400.0], atol=1e-6)
    # The pace is 3 % unsure over all that was walked, and that now counts.
    assert math.sqrt(lead.covariance[1, 1]) > math.sqrt(
        reckon(log, INES, walker_frame(log.heading, INES)).own_sum[2][1, 1]
    )


def test_a_thing_seen_from_two_stations_is_a_goal():
    log = log_of((0, 400), (45, "", "[see Tower]"), (90, 400), (0, "", "[see Tower]"))
    lead = build_standing(log, INES).lead_to(0, "Tower")
    np.testing.assert_allclose(lead.step, [400.0, 800.0], atol=1e-6)


def test_a_goal_of_which_nothing_is_known_is_refused():
    log = log_of((0, 400, "[at Oak]"), (90, 400), (180, 400), (270, 400, "[at Gate]"))
    with pytest.raises(MissingComplaint, match="nothing in this log says where Barn lies"):
        build_standing(log, INES).lead_to(2, "Barn")
