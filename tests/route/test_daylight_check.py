"""Daylight left against walking time and reserve."""

from __future__ import annotations

import datetime as dt

import pytest

from pacewright.exceptions import ValueComplaint
from pacewright.ground.sun_day import Daylight
from pacewright.route.daylight_check import check_daylight

NOW = dt.datetime(2026, 5, 14, 18, 0, tzinfo=dt.UTC)
HOUR = dt.timedelta(hours=1)


def light(hours_left):
    sunset = NOW + hours_left * HOUR
    return Daylight(NOW, True, sunset - NOW, sunset, sunset + HOUR / 2, None)


def test_a_way_with_half_its_time_in_reserve_must_end_before_sunset():
    check = check_daylight(light(4), 2 * HOUR)
    assert check.reserve == HOUR
    assert check.spare == HOUR and check.is_enough
    assert check.set_out_by == NOW + HOUR


def test_to_the_minute_is_enough_and_a_minute_less_is_not():
    assert check_daylight(light(3), 2 * HOUR).is_enough
    assert not check_daylight(light(2.98), 2 * HOUR).is_enough


def test_a_short_way_still_keeps_half_an_hour():
    assert check_daylight(light(1), HOUR / 6).reserve == HOUR / 2


def test_a_stated_reserve_replaces_the_usual_one():
    assert check_daylight(light(2), 2 * HOUR, dt.timedelta(0)).is_enough


def test_in_the_dark_no_way_is_short_enough():
    dark = Daylight(NOW, False, dt.timedelta(0), None, None, None)
    check = check_daylight(dark, dt.timedelta(minutes=5))
    assert not check.is_enough and check.set_out_by is None


def test_under_the_midnight_sun_any_way_ends_in_daylight():
    check = check_daylight(Daylight(NOW, True, None, None, None, None), 20 * HOUR)
    assert check.is_enough and check.spare is None


def test_a_negative_time_is_refused():
    with pytest.raises(ValueComplaint, match="negative"):
        check_daylight(light(2), -HOUR)
