"""A day of the sun: rise, set, twilight, and how much daylight is left."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from pacewright.ground.sun import (
    SUNRISE_ELEVATION_DEG,
    Array,
    check_place,
    days_of,
    hour_angle_deg,
    moment_of,
    sun_position,
    track_at_days,
)

CIVIL_ELEVATION_DEG: Final = -6.0
"""The brightest stars come out; work outdoors needs a lamp from here on (common practice)."""

NAUTICAL_ELEVATION_DEG: Final = -12.0
"""The horizon at sea is no longer seen (common practice)."""

Stays = Literal["above", "below"]

_MINUTE_DAY: Final = 1.0 / 1440.0


@dataclass(frozen=True, slots=True)
class Crossing:
    """When the sun passes one elevation, upward before its noon and downward after it.

    Attributes
    ----------
    up, down
        The moments, to the second, or None.
    stays
        `above` or `below` where the sun does not pass it at all from one midnight of the sun to the next.
    """

    up: datetime.datetime | None
    down: datetime.datetime | None
    stays: Stays | None


@dataclass(frozen=True, slots=True)
class SunDay:
    """Rise, set and twilight about one noon of the sun.

    Attributes
    ----------
    date
        The date asked for.
    noon
        When the sun stands highest over the meridian.
    noon_elevation_deg
        As seen, then.
    sun, civil, nautical
        Passing the horizon, 6 and 12 degrees below it.
    rise_azimuth_deg, set_azimuth_deg
        True azimuth of the sun as it rises and sets, or None.
    """

    date: datetime.date
    noon: datetime.datetime
    noon_elevation_deg: float
    sun: Crossing
    civil: Crossing
    nautical: Crossing
    rise_azimuth_deg: float | None
    set_azimuth_deg: float | None

    @property
    def length(self) -> datetime.timedelta | None:
        """Sunrise to sunset, or None where one of them is wanting."""
        if self.sun.up is None or self.sun.down is None:
            return None
        return self.sun.down - self.sun.up


@dataclass(frozen=True, slots=True)
class Daylight:
    """How much daylight is left at one moment.

    Attributes
    ----------
    is_up
        Whether the sun is above a level horizon.
    left
        Until sunset; nothing while the sun is down, None where it does not set within a day.
    sunset
        The next one, or None.
    dusk
        The next end of civil twilight within a day, or None.
    sunrise
        The next one while the sun is down, or None.
    """

    when: datetime.datetime
    is_up: bool
    left: datetime.timedelta | None
    sunset: datetime.datetime | None
    dusk: datetime.datetime | None
    sunrise: datetime.datetime | None


def sun_day(
    latitude_deg: float, longitude_deg: float, date: datetime.date, zone: datetime.tzinfo = datetime.UTC
) -> SunDay:
    """Rise, set, noon and twilight of a date, by the clock of a zone.

    The day is the one whose noon of the sun lies closest to noon by that clock; where the clock is far
    from the sun, a rise may fall on the date before or a set on the date after.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The place, north and east positive.
    date
        By the clock of `zone`.
    zone
        Universal time if not given.

    Raises
    ------
    ValueComplaint
        The place is none on the earth, or the year is outside 1900 to 2100.

    References
    ----------
    Rise and set are those of the upper edge with 34' of refraction, on a level horizon at the walker's own
    height (Meeus, Astronomical Algorithms, 2nd ed. 1998, ch. 15). Found on a grid of minutes, so that no
    latitude needs a case of its own.

    Examples
    --------
    >>> day = sun_day(47.0, 8.0, datetime.date(2026, 5, 14))
    >>> f"{day.sun.up:%H:%M} {day.noon:%H:%M} {day.sun.down:%H:%M}"
    '03:54 11:24 18:55'
    >>> sun_day(70.0, 25.0, datetime.date(2026, 6, 21)).sun.stays
    'above'
    """
    check_place(latitude_deg, longitude_deg)
    noon = _noon_near(longitude_deg, datetime.datetime.combine(date, datetime.time(12), zone))
    days = _minutes_from(noon, -720, 720)
    elevation_deg = track_at_days(latitude_deg, longitude_deg, days).geometric_elevation_deg
    sun, civil, nautical = (
        _crossing(days, elevation_deg, threshold, zone)
        for threshold in (SUNRISE_ELEVATION_DEG, CIVIL_ELEVATION_DEG, NAUTICAL_ELEVATION_DEG)
    )
    return SunDay(
        date=date,
        noon=moment_of(noon, zone),
        noon_elevation_deg=sun_position(latitude_deg, longitude_deg, moment_of(noon)).elevation_deg,
        sun=sun,
        civil=civil,
        nautical=nautical,
        rise_azimuth_deg=_azimuth_at(latitude_deg, longitude_deg, sun.up),
        set_azimuth_deg=_azimuth_at(latitude_deg, longitude_deg, sun.down),
    )


def daylight(latitude_deg: float, longitude_deg: float, when: datetime.datetime) -> Daylight:
    """How long the sun stays up from a moment on, within a day.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The place, north and east positive.
    when
        A moment that says its zone; the answer is by the same clock.

    Raises
    ------
    ValueComplaint
        As `sun_day`; the moment says no zone.

    Examples
    --------
    >>> afternoon = datetime.datetime(2026, 5, 14, 17, 0, tzinfo=datetime.UTC)
    >>> daylight(47.0, 8.0, afternoon).left
    datetime.timedelta(seconds=6923)
    """
    check_place(latitude_deg, longitude_deg)
    days = _minutes_from(float(days_of(when)), 0, 1440)
    elevation_deg = track_at_days(latitude_deg, longitude_deg, days).geometric_elevation_deg
    zone = when.tzinfo or datetime.UTC
    is_up = bool(elevation_deg[0] >= SUNRISE_ELEVATION_DEG)
    sunset = _first(days, elevation_deg - SUNRISE_ELEVATION_DEG, "down", zone)
    dusk = _first(days, elevation_deg - CIVIL_ELEVATION_DEG, "down", zone)
    sunrise = _first(days, elevation_deg - SUNRISE_ELEVATION_DEG, "up", zone)
    if not is_up:
        return Daylight(when, False, datetime.timedelta(0), sunset, dusk, sunrise)
    left = None if sunset is None else max(sunset - when, datetime.timedelta(0))
    return Daylight(when, True, left, sunset, dusk, None)


def _minutes_from(day: float, first: int, last: int) -> Array:
    return np.asarray(day + np.arange(first, last + 1) * _MINUTE_DAY, dtype=np.float64)


def _noon_near(longitude_deg: float, clock_noon: datetime.datetime) -> float:
    """The day number of the sun's passing the meridian closest to noon by the clock."""
    day = float(days_of(clock_noon))
    for _ in range(3):
        day -= hour_angle_deg(longitude_deg, day) / 360.0
    return day


def _crossing(days: Array, elevation_deg: Array, threshold_deg: float, zone: datetime.tzinfo) -> Crossing:
    height = elevation_deg - threshold_deg
    middle = len(days) // 2
    ups, downs = _passes(days, height, "up"), _passes(days, height, "down")
    if not len(ups) and not len(downs):
        return Crossing(None, None, "above" if height[middle] >= 0 else "below")
    before, after = ups[ups <= days[middle]], downs[downs >= days[middle]]
    return Crossing(
        moment_of(before[-1], zone) if len(before) else None,
        moment_of(after[0], zone) if len(after) else None,
        None,
    )


def _first(
    days: Array, height: Array, way: Literal["up", "down"], zone: datetime.tzinfo
) -> datetime.datetime | None:
    passes = _passes(days, height, way)
    return moment_of(passes[0], zone) if len(passes) else None


def _passes(days: Array, height: Array, way: Literal["up", "down"]) -> Array:
    """When a height passes zero; within a minute the sun's path is straight."""
    above = height >= 0
    turn = (~above[:-1] & above[1:]) if way == "up" else (above[:-1] & ~above[1:])
    at = np.flatnonzero(turn)
    share = height[at] / (height[at] - height[at + 1])
    return np.asarray(days[at] + share * (days[at + 1] - days[at]))


def _azimuth_at(latitude_deg: float, longitude_deg: float, when: datetime.datetime | None) -> float | None:
    return None if when is None else sun_position(latitude_deg, longitude_deg, when).azimuth_deg
