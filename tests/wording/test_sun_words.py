"""The sun in sentences: what does not happen is said, and the cautions stand."""

from __future__ import annotations

import datetime as dt

import pytest

from pacewright.ground.sun import sun_position, sun_track
from pacewright.ground.sun_compass import SunSighting, check_compass
from pacewright.ground.sun_day import Daylight, daylight, sun_day
from pacewright.route.daylight_check import check_daylight
from pacewright.wording.sun import (
    CAUTION,
    EYES,
    HORIZON,
    hours_table,
    say_compass_check,
    say_daylight,
    say_daylight_check,
    say_duration,
    say_sun_day,
    say_sun_now,
)

ZONE = dt.timezone(dt.timedelta(hours=2))
NOW = dt.datetime(2026, 5, 14, 17, 0, tzinfo=ZONE)
PLACE = (47.0, 8.5)
HOUR = dt.timedelta(hours=1)


def test_a_day_says_rise_set_noon_and_twilight_and_that_hills_take_light():
    said = say_sun_day(sun_day(*PLACE, dt.date(2026, 5, 14), ZONE), "+02:00")
    assert said[0].startswith(
        "2026-05-14, clock +02:00. The sun rises at 05:52 on azimuth 61 deg (true), sets at 20:53"
    )
    assert "begins 05:16 and ends 21:29" in said[1]
    assert said[-1] == HORIZON


@pytest.mark.parametrize(
    ("latitude_deg", "date", "first", "second"),
    [
        (70, dt.date(2026, 6, 21), "The sun does not set;", None),
        (70, dt.date(2026, 12, 21), "The sun does not rise; it stands highest at", "begins"),
        (62, dt.date(2026, 6, 21), "rises at", "lasts all night, it does not get darker"),
        (85, dt.date(2026, 12, 21), "does not rise", "is not reached, it stays darker"),
    ],
)
def test_what_does_not_happen_is_said(latitude_deg, date, first, second):
    said = say_sun_day(sun_day(latitude_deg, 0.0, date), "UTC")
    assert first in said[0]
    assert "None" not in " ".join(said)
    assert second is None or second in said[1]
    assert (second is None) == (len(said) == 2)


def test_a_rise_on_another_date_says_its_date():
    said = say_sun_day(sun_day(-36.8, 174.7, dt.date(2026, 5, 14)), "UTC")
    assert "on 2026-05-13" in said[0]


def test_where_the_sun_stands_is_said_true_and_magnetic():
    sun = sun_position(*PLACE, NOW)
    assert "256.6 deg true, 253.1 deg magnetic" in say_sun_now(sun, NOW, 3.5)
    assert "magnetic" not in say_sun_now(sun, NOW, None)
    night = NOW + 6 * HOUR
    assert "below the horizon" in say_sun_now(sun_position(*PLACE, night), night, None)


def test_daylight_left_is_said_with_sunset_and_dusk():
    assert say_daylight(daylight(*PLACE, NOW)) == (
        "Daylight left at 17:00: 3 h 53 min (sunset 20:53, civil twilight ends 21:29)."
    )
    assert "the sun is down; it rises at 05:51 on 2026-05-15" in say_daylight(
        daylight(*PLACE, NOW + 5 * HOUR)
    )
    assert "does not set within a day" in say_daylight(Daylight(NOW, True, None, None, None, None))


def test_the_table_of_hours_leaves_out_the_night_and_turns_to_magnetic():
    hours = [NOW.replace(hour=h) for h in range(24)]
    heading, rows = hours_table(hours, sun_track(*PLACE, hours), 3.5)
    assert heading == ("time", "elevation", "azimuth (true)", "azimuth (magnetic)", "shadow (magnetic)")
    assert [row[0] for row in rows] == [f"{h:02d}:00" for h in range(6, 21)]
    for row in rows:
        assert (int(row[4]) - int(row[3])) % 360 in (179, 180, 181)


def check(off_deg, line="shadow"):
    expected = check_compass(SunSighting(*PLACE, NOW, 0.0, line, declination_deg=3.5)).expected_deg
    return check_compass(SunSighting(*PLACE, NOW, expected + off_deg, line, declination_deg=3.5))


def test_a_compass_off_by_chance_is_not_blamed():
    said = " ".join(say_compass_check(check(2.0), 0.95))
    assert "2.0 deg too high, 95 times in 100 between" in said
    assert "no more than chance" in said and "take off" not in said


def test_a_compass_off_by_more_than_chance_says_which_way_to_correct():
    assert "take off 9 deg to get the magnetic azimuth" in " ".join(say_compass_check(check(9.0), 0.95))
    assert "add 9 deg to get the magnetic azimuth" in " ".join(say_compass_check(check(-9.0), 0.95))


def test_a_reading_that_an_hour_would_explain_points_at_the_clock():
    hour_deg = (
        check(0).expected_deg
        - check_compass(SunSighting(*PLACE, NOW - HOUR, 0.0, "shadow", declination_deg=3.5)).expected_deg
    )
    assert "clock an hour ahead" in " ".join(say_compass_check(check(-hour_deg), 0.95))
    assert "clock" not in " ".join(say_compass_check(check(6.0), 0.95))


def test_who_sights_the_sun_is_told_to_mind_the_eyes():
    assert EYES in say_compass_check(check(0, "sun"), 0.95)
    assert EYES not in say_compass_check(check(0), 0.95)


def light(hours):
    return Daylight(NOW, True, hours * HOUR, NOW + hours * HOUR, None, None)


@pytest.mark.parametrize(
    ("daylight_left", "says"),
    [
        (light(4), "Daylight is enough: 2 h 00 min of walking and 1 h 00 min kept in reserve"),
        (light(2.5), "Daylight is short"),
        (light(1), "Daylight is not enough: the walking alone, 2 h 00 min, ends 1 h 00 min after sunset"),
        (Daylight(NOW, False, dt.timedelta(0), None, None, None), "The sun is down"),
        (Daylight(NOW, True, None, None, None, None), "does not set within a day"),
    ],
)
def test_every_verdict_on_daylight_carries_the_caution(daylight_left, says):
    said = say_daylight_check(check_daylight(daylight_left, 2 * HOUR))
    assert says in said[0]
    assert said[-1] == CAUTION


def test_the_latest_moment_to_set_out_is_named():
    assert "Set out by 18:00 at the latest" in say_daylight_check(check_daylight(light(4), 2 * HOUR))[0]


def test_a_minute_short_of_an_hour_is_not_sixty_minutes():
    assert say_duration(dt.timedelta(minutes=59, seconds=40)) == "1 h 00 min"
    assert say_duration(dt.timedelta(seconds=-10)) == "0 min"
