"""Ways that rest on a marker which may be another one: closed plane figures, worked by hand."""

from __future__ import annotations

import pytest

from pacewright.answers.estimate import find_estimate
from pacewright.answers.way import WayAsked, answer_way, way_back
from support.logs import log_of

FIGURE = ((0, 300, "[at Cairn]"), (90, 300, "[at Ford]"), (180, 200), (270, 150, "[at Cairn]"), (180, 100))
"""All but the last leg of a square of 300 less a corner; Cairn is written where it is not."""


def test_a_way_over_a_marker_that_may_be_another_is_warned_of_and_tells_where_else_the_goal_may_lie():
    out = ((326, 320), (355, 277, "[at Cairn]"))
    loop = ((64, 324), (120, 352), (175, 303, "[at Ford]"), (253, 325), (356, 278, "[at Cairn]"))
    log = log_of(*out, *loop, (20, 150), start="Gate")
    doubt = answer_way(find_estimate(log), WayAsked(8)).doubt
    assert doubt.is_warned
    assert len(doubt.islands) >= 2
    # Over the first leg nothing rests on the second visit of Cairn.
    assert not answer_way(find_estimate(log), WayAsked(1)).doubt.is_warned


def test_a_walker_said_to_be_back_is_told_the_chance_that_it_is_another_marker():
    log = log_of(
        (0, 300, "[back 180]"),
        (90, 300, "[back 270]"),
        (180, 300, "[back 0]"),
        (230, 250, "[at Gate]"),
        start="Gate",
    )
    answer = answer_way(find_estimate(log), WayAsked(4))
    assert answer.way.is_there
    assert answer.doubt.is_warned
    assert any(one.distance > 100 for one in answer.doubt.islands)


def test_a_marker_that_is_probably_another_is_no_goal_of_that_name():
    log = log_of(*FIGURE, (270, 150, "[at Gate]"), start="Gate")
    assert find_estimate(log).find_goal("Cairn", 6) == 1
    # From (150, 100), where Cairn was written, to Cairn at (0, 300).
    way = way_back(log, from_station=4, to_station=1)
    assert not way.is_there
    assert (way.azimuth_deg, way.count) == (pytest.approx(323.1, abs=0.5), 250)
