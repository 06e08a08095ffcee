"""Rise, set, twilight and daylight left, against an ephemeris and the NREL example."""

from __future__ import annotations

import datetime as dt

import pytest

from pacewright.exceptions import ValueComplaint
from pacewright.ground.sun_day import daylight, sun_day
from support.authorities import read_authority

SPA = {row["what"]: row["value"] for row in read_authority("sun_nrel_spa.csv")}
SPA_PLACE = (39.742476, -105.1786)
MOUNTAIN = dt.timezone(dt.timedelta(hours=-7))
MINUTE = dt.timedelta(minutes=1)


def offset(text: str) -> dt.timezone:
    sign = -1 if text.startswith("-") else 1
    return dt.timezone(sign * dt.timedelta(hours=int(text[1:3]), minutes=int(text[4:6])))


@pytest.mark.parametrize(
    "row", read_authority("sun_rise_set.csv"), ids=lambda row: f"{row['date']} {row['latitude_deg']}"
)
def test_rise_set_and_twilight_are_within_a_minute_of_an_ephemeris(row):
    zone = offset(row["utc_offset"])
    day = sun_day(
        float(row["latitude_deg"]), float(row["longitude_deg"]), dt.date.fromisoformat(row["date"]), zone
    )
    ours = {
        "sunrise": day.sun.up,
        "sunset": day.sun.down,
        "civil_begins": day.civil.up,
        "civil_ends": day.civil.down,
        "nautical_begins": day.nautical.up,
        "nautical_ends": day.nautical.down,
    }
    for name, moment in ours.items():
        if row[name] == "":
            assert moment is None, name
        else:
            assert moment is not None, name
            assert abs(moment - dt.datetime.fromisoformat(row[name])) <= MINUTE, name


def test_the_sunrise_and_sunset_of_nrel_come_out_to_seconds():
    # Its sunset is that of the day of universal time: the evening before, by the local clock.
    rise = sun_day(*SPA_PLACE, dt.date(2003, 10, 17), MOUNTAIN).sun.up
    fall = sun_day(*SPA_PLACE, dt.date(2003, 10, 16), MOUNTAIN).sun.down
    for moment, text in ((rise, SPA["sunrise_local"]), (fall, SPA["sunset_local"])):
        wanted = dt.datetime.combine(moment.date(), dt.time.fromisoformat(text), MOUNTAIN)
        assert abs(moment - wanted) <= dt.timedelta(seconds=3)


def test_a_clock_far_from_the_sun_still_gives_rise_before_set():
    day = sun_day(-36.8, 174.7, dt.date(2026, 5, 14))
    assert day.sun.up < day.noon < day.sun.down
    assert day.sun.up.date() == dt.date(2026, 5, 13) or day.sun.down.date() == dt.date(2026, 5, 14)


def test_the_answer_is_by_the_clock_asked_for():
    zone = dt.timezone(dt.timedelta(hours=2))
    here, universal = (sun_day(47.0, 8.5, dt.date(2026, 5, 14), one) for one in (zone, dt.UTC))
    assert here.sun.up == universal.sun.up
    assert here.sun.up.utcoffset() == dt.timedelta(hours=2)


def test_polar_day_and_polar_night_have_neither_rise_nor_set():
    summer = sun_day(70.0, 25.0, dt.date(2026, 6, 21))
    winter = sun_day(70.0, 25.0, dt.date(2026, 12, 21))
    assert (summer.sun.up, summer.sun.down, summer.sun.stays) == (None, None, "above")
    assert (winter.sun.up, winter.sun.down, winter.sun.stays) == (None, None, "below")
    assert winter.civil.up < winter.civil.down
    assert summer.length is None and summer.rise_azimuth_deg is None


def test_on_the_edge_of_polar_day_rise_and_set_never_change_places():
    for day_number in range(365):
        day = sun_day(68.0, 20.0, dt.date(2026, 1, 1) + dt.timedelta(days=day_number))
        if day.sun.up is not None:
            assert day.sun.up <= day.noon
        if day.sun.down is not None:
            assert day.sun.down >= day.noon
        assert (day.sun.stays is None) == (day.sun.up is not None or day.sun.down is not None)


def test_the_equinox_day_is_a_little_over_twelve_hours_anywhere():
    # Refraction and half the sun's width add minutes: common practice of almanacs.
    for latitude_deg in (-50, 0, 50):
        length = sun_day(latitude_deg, 0.0, dt.date(2026, 3, 20)).length
        assert dt.timedelta(hours=12, minutes=5) < length < dt.timedelta(hours=12, minutes=15)


def test_daylight_left_ends_at_the_sunset_of_the_day():
    zone = dt.timezone(dt.timedelta(hours=2))
    day = sun_day(47.0, 8.5, dt.date(2026, 5, 14), zone)
    light = daylight(47.0, 8.5, dt.datetime(2026, 5, 14, 17, 0, tzinfo=zone))
    assert light.is_up
    assert abs(light.sunset - day.sun.down) <= dt.timedelta(seconds=2)
    assert light.left == light.sunset - light.when
    assert abs(light.dusk - day.civil.down) <= dt.timedelta(seconds=2)


def test_in_the_dark_no_daylight_is_left_and_the_next_sunrise_is_named():
    light = daylight(47.0, 8.5, dt.datetime(2026, 5, 14, 22, 0, tzinfo=dt.UTC))
    assert not light.is_up
    assert light.left == dt.timedelta(0)
    assert light.sunrise.date() == dt.date(2026, 5, 15)


def test_under_the_midnight_sun_daylight_has_no_end():
    light = daylight(70.0, 25.0, dt.datetime(2026, 6, 21, 22, 0, tzinfo=dt.UTC))
    assert light.is_up and light.left is None and light.sunset is None


def test_in_polar_night_there_is_no_sunrise_to_wait_for():
    light = daylight(75.0, 25.0, dt.datetime(2026, 12, 21, 12, 0, tzinfo=dt.UTC))
    assert light.left == dt.timedelta(0) and light.sunrise is None


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueComplaint, match="by which clock"):
        daylight(47.0, 8.5, dt.datetime(2026, 5, 14, 17, 0))
