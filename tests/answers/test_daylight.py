"""The time of the way back: straight, and leg by leg."""

from __future__ import annotations

import pytest

from pacewright.answers.daylight import time_way
from pacewright.answers.estimate import find_estimate
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import MissingComplaint
from pacewright.files.log_csv import read_log

HEAD = "# azimuth: magnetic degrees\n# count: {unit}\n# start: Gate\nazimuth,count,notes\n"
INES = Walker(per_100_m=62.5)


def log(rows, unit="paces"):
    return read_log((HEAD.format(unit=unit) + rows).encode())


def way_back_time(log, walker=None, **more):
    return time_way(find_estimate(log, walker), **more).times["naismith"]


def test_three_and_four_are_five_straight_and_seven_leg_by_leg():
    time = way_back_time(log("0,300,\n90,400,\n", "metres"))
    assert time.direct_m == pytest.approx(500)
    assert time.legs_m == pytest.approx(700)
    # Off path, 4 km/h.
    assert time.direct_h == pytest.approx(0.125)
    assert time.longer_h == time.legs_h == pytest.approx(0.175)


def test_paces_steps_and_metres_of_one_walk_take_the_same_time():
    metres = way_back_time(log("0,480,\n90,640,\n", "metres"), INES)
    paces = way_back_time(log("0,300,\n90,400,\n"), INES)
    steps = way_back_time(log("0,600,\n90,800,\n", "steps"), INES)
    assert paces.direct_h == pytest.approx(metres.direct_h) == pytest.approx(steps.direct_h)
    assert paces.legs_h == pytest.approx(metres.legs_h) == pytest.approx(steps.legs_h)


@pytest.mark.parametrize(("unit", "longer"), [("metres", 80), ("paces", 128), ("steps", 64)])
def test_a_boxing_adds_both_its_offsets_to_the_legs(unit, longer):
    plain, boxed = (
        way_back_time(log(f"0,300,{notes}\n", unit), INES) for notes in ("", "[box right 40] pond")
    )
    assert boxed.legs_m - plain.legs_m == pytest.approx(longer)
    assert boxed.direct_m == pytest.approx(plain.direct_m)


def test_climbing_back_costs_an_hour_for_600_metres_by_naismith():
    level, steep = (way_back_time(log("0,3000,\n", "metres"), climb_m=m) for m in (0, 600))
    assert steep.direct_h - level.direct_h == pytest.approx(1)


def test_a_walker_who_is_back_needs_no_time():
    timed = time_way(find_estimate(log("0,300,\n180,300,[at Gate]\n", "metres")))
    assert timed.is_there and timed.times["naismith"].longer_h == 0


def test_paces_without_a_pace_count_have_no_time():
    with pytest.raises(MissingComplaint, match="no pace count"):
        way_back_time(log("0,300,\n"))
