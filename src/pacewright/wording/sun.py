"""The sun, in plain sentences: rise and set, where it stands, the compass by it, daylight for the way back."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from typing import Final

from pacewright.answers.daylight import TimedWay
from pacewright.core.compass import format_azimuth, normal_azimuth
from pacewright.ground.sun import SunPosition, SunTrack
from pacewright.ground.sun_compass import CompassCheck
from pacewright.ground.sun_day import Crossing, Daylight, SunDay
from pacewright.route.daylight_check import DaylightCheck
from pacewright.route.travel_cost import RuleName, WalkingRule
from pacewright.route.way_time import WayTime
from pacewright.wording.numbers import say_chance, say_length, say_place, say_whole

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

HORIZON: Final = (
    "Rise and set are for a level horizon and clear air: hills, trees and cloud take daylight away, and under "
    "trees it is dark well before sunset."
)
DAY_APART: Final = "+1: on the next day; -1: on the day before."
TURN_BACK_RULE: Final = "Turn back so early that the way back and half as long again, at least half an hour, end before the sun sets."
LIGHT_BY_HAND: Final = (
    "Light left by hand: an arm's length away, fingers level and one below the other under the sun, every finger "
    "down to a level skyline is about a quarter of an hour (common practice); the sun sinks more slowly the "
    "farther from the equator. Never look into the sun."
)
CAUTION: Final = "Caution: no rests are counted. Local rules and qualified instruction come first."
EYES: Final = "Never look into the sun, least of all through a sighting compass: read the shadow instead."

_PARTS: Final = {
    "sighting": "reading the compass",
    "declination": "the declination",
    "watch": "the watch",
    "plumb": "a stick or compass out of plumb",
    "level": "ground out of level",
    "marks": "marking the tips",
}


def say_time(moment: datetime.datetime, date: datetime.date | None = None) -> str:
    """Write a moment to the nearest minute, with its date where it is not the one meant.

    >>> say_time(datetime.datetime(2026, 5, 14, 20, 55, 40), datetime.date(2026, 5, 14))
    '20:56'
    """
    rounded = moment + datetime.timedelta(seconds=30)
    on = "" if date is None or rounded.date() == date else f" on {rounded:%Y-%m-%d}"
    return f"{rounded:%H:%M}{on}"


def say_duration(span: datetime.timedelta) -> str:
    """Write a length of time in hours and minutes.

    >>> say_duration(datetime.timedelta(minutes=125)), say_duration(datetime.timedelta(minutes=-9))
    ('2 h 05 min', '-9 min')
    """
    minutes = round(abs(span.total_seconds()) / 60)
    sign = "-" if minutes and span < datetime.timedelta(0) else ""
    return f"{sign}{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{sign}{minutes} min"


def say_sun_day(day: SunDay, zone_name: str) -> list[str]:
    """Say when the sun rises, stands highest and sets, and the twilights."""
    noon = f"it stands highest at {say_time(day.noon, day.date)}, {day.noon_elevation_deg:.0f} deg up"
    if day.sun.stays == "above":
        first = f"The sun does not set; {noon}."
    elif day.sun.stays == "below":
        first = f"The sun does not rise; {noon.replace(' up', '')}."
    else:
        rise = _passing("rises", day.sun.up, day.rise_azimuth_deg, day.date)
        fall = _passing("sets", day.sun.down, day.set_azimuth_deg, day.date)
        first = f"The sun {rise}, {fall}; {noon}."
    sentences = [f"{day.date.isoformat()}, clock {zone_name}. {first}"]
    if day.length is not None:
        sentences[0] += f" The day is {say_duration(day.length)} long."
    if day.sun.stays == "above":
        return [*sentences, HORIZON]
    sentences.append(
        f"{_twilight('Civil twilight (sun 6 deg down, a lamp from here on)', day.civil, day.date)} "
        f"{_twilight('Nautical twilight (12 deg down)', day.nautical, day.date)}"
    )
    return [*sentences, HORIZON]


def _passing(
    verb: str, moment: datetime.datetime | None, azimuth_deg: float | None, date: datetime.date
) -> str:
    if moment is None or azimuth_deg is None:
        return "does not rise" if verb == "rises" else "does not set"
    return f"{verb} at {say_time(moment, date)} on azimuth {format_azimuth(azimuth_deg)} deg (true)"


def _twilight(what: str, passing: Crossing, date: datetime.date) -> str:
    if passing.stays is not None:
        return (
            f"{what} lasts all night, it does not get darker."
            if passing.stays == "above"
            else f"{what} is not reached, it stays darker."
        )
    begins = say_time(passing.up, date) if passing.up else "at no time"
    ends = say_time(passing.down, date) if passing.down else "at no time"
    return f"{what} begins {begins} and ends {ends}."


def say_sun_now(sun: SunPosition, when: datetime.datetime, declination_deg: float | None) -> str:
    """Say where the sun stands at a moment."""
    if sun.elevation_deg < 0:
        where = f"{-sun.elevation_deg:.1f} deg below the horizon"
    else:
        where = (
            f"{sun.elevation_deg:.1f} deg up as it is seen ({sun.geometric_elevation_deg:.1f} deg by geometry, which the "
            "air lifts)"
        )
    magnetic = ""
    if declination_deg is not None:
        magnetic = f", {format_azimuth(sun.azimuth_deg - declination_deg, decimals=1)} deg magnetic"
    return (
        f"At {when:%H:%M} the sun stands on azimuth {format_azimuth(sun.azimuth_deg, decimals=1)} deg true{magnetic}, "
        f"{where}; its azimuth moves {abs(sun.azimuth_deg_per_min) * 10:.1f} deg in ten minutes."
    )


def say_daylight(light: Daylight) -> str:
    """Say how much daylight is left."""
    date = light.when.date()
    if not light.is_up:
        rise = (
            f"it rises at {say_time(light.sunrise, date)}"
            if light.sunrise
            else "it does not rise within a day"
        )
        return f"At {light.when:%H:%M} the sun is down; {rise}."
    if light.left is None or light.sunset is None:
        return f"From {light.when:%H:%M} on the sun does not set within a day."
    dusk = f", civil twilight ends {say_time(light.dusk, date)}" if light.dusk else ""
    return (
        f"Daylight left at {light.when:%H:%M}: {say_duration(light.left)} (sunset "
        f"{say_time(light.sunset, date)}{dusk})."
    )


def say_declination_used(declination_deg: float, sd_deg: float, origin: str) -> str:
    """Say which declination the magnetic azimuths rest on.

    >>> say_declination_used(-3.25, 0.4, "by WMM-2025")
    'Declination 3.2 W by WMM-2025 (standard deviation 0.4 deg).'
    """
    side = "W" if declination_deg < 0 else "E"
    return f"Declination {abs(declination_deg):.1f} {side} {origin} (standard deviation {sd_deg:.1f} deg)."


def hours_table(moments: Sequence[datetime.datetime], track: SunTrack, declination_deg: float | None) -> Rows:
    """The sun hour by hour while it is up, to be copied into the notebook."""
    if declination_deg is None:
        heading: tuple[str, ...] = ("time", "elevation", "azimuth (true)", "shadow (true)")
    else:
        heading = ("time", "elevation", "azimuth (true)", "azimuth (magnetic)", "shadow (magnetic)")
    rows: list[tuple[str, ...]] = []
    for moment, azimuth_deg, elevation_deg in zip(
        moments, track.azimuth_deg.tolist(), track.elevation_deg.tolist(), strict=True
    ):
        if elevation_deg < 0:
            continue
        read_deg = azimuth_deg - (declination_deg or 0.0)
        magnetic = () if declination_deg is None else (format_azimuth(read_deg),)
        cells = (f"{moment:%H:%M}", f"{elevation_deg:.0f}", format_azimuth(azimuth_deg))
        rows.append((*cells, *magnetic, format_azimuth(read_deg + 180)))
    return heading, rows


def days_table(days: Sequence[SunDay], declination_deg: float | None) -> Rows:
    """Light, rise, noon and set of days in rows; azimuths by the compass where the declination is known."""
    north = "true" if declination_deg is None else "magnetic"
    before = ("day", "first\nlight", "rise", f"{north}\nazimuth", "noon", "height\ndeg")
    heading: tuple[str, ...] = (*before, "set", f"{north}\nazimuth", "last\nlight", "length")
    return heading, [_day_row(day, declination_deg or 0.0) for day in days]


def _day_row(day: SunDay, declination_deg: float) -> tuple[str, ...]:
    whole = {"above": "24 h", "below": "none"}
    length = "-" if day.length is None else say_duration(day.length).removesuffix(" min").replace(" h ", ":")
    return (
        f"{day.date:%a %d}",
        _clock(day.civil.up, day.date),
        _clock(day.sun.up, day.date),
        "-" if day.rise_azimuth_deg is None else format_azimuth(day.rise_azimuth_deg - declination_deg),
        _clock(day.noon, day.date),
        f"{day.noon_elevation_deg:.0f}",
        _clock(day.sun.down, day.date),
        "-" if day.set_azimuth_deg is None else format_azimuth(day.set_azimuth_deg - declination_deg),
        _clock(day.civil.down, day.date),
        length if day.sun.stays is None else whole[day.sun.stays],
    )


def _clock(moment: datetime.datetime | None, date: datetime.date) -> str:
    """Write a time for a cell; a date before or after is marked -1 or +1."""
    if moment is None:
        return "-"
    rounded = moment + datetime.timedelta(seconds=30)
    apart = (rounded.date() - date).days
    return f"{rounded:%H:%M}{f' {apart:+d}' if apart else ''}"


def say_drift(drift_deg: float, days: int) -> str:
    """Say how far the hours of one day hold for the others.

    >>> say_drift(0.0, 1), say_drift(2.4, 7)
    ('By this clock.', 'By this clock. On the other days the sun stands within 3 deg of it.')
    """
    if days == 1:
        return "By this clock."
    return f"By this clock. On the other days the sun stands within {math.ceil(drift_deg)} deg of it."


def say_compass_check(check: CompassCheck, probability: float) -> list[str]:
    """Say how far the compass is off by the sun, whether that is more than chance, and what the doubt is."""
    sighting = check.sighting
    line = {"sun": "the sun", "shadow": "the shadow", "tips": "the line between the tips"}[sighting.line]
    side = "W" if sighting.declination_deg < 0 else "E"
    sentences = [
        f"A compass without error reads {line} at {format_azimuth(check.expected_deg, decimals=1)} (true "
        f"{format_azimuth(check.true_azimuth_deg, decimals=1)}, declination "
        f"{abs(sighting.declination_deg):.1f} {side}); yours read "
        f"{format_azimuth(normal_azimuth(sighting.reading_deg), decimals=1)}."
    ]
    reach = check.reach_deg(probability)
    low, high = check.error_deg - reach, check.error_deg + reach
    sentences.append(
        f"It reads {_off(check.error_deg)}, {say_chance(probability)} between {_off(low)} and {_off(high)}."
    )
    sentences.append(_verdict(check, is_off=check.is_off(probability)))
    parts = sorted(check.parts_deg.items(), key=lambda part: -part[1])
    made_of = ", ".join(f"{_PARTS[name]} {part_deg:.1f} deg" for name, part_deg in parts)
    sentences.append(
        f"The doubt, {check.error_sd_deg:.1f} deg (one standard deviation), comes from {made_of}."
    )
    hour = _say_clock(check)
    if hour:
        sentences.append(hour)
    return [*sentences, EYES] if sighting.line == "sun" else sentences


def _off(error_deg: float) -> str:
    if abs(error_deg) < 0.05:
        return "right"
    return f"{abs(error_deg):.1f} deg too {'high' if error_deg > 0 else 'low'}"


def _verdict(check: CompassCheck, is_off: bool) -> str:
    if not is_off:
        return "That is no more than chance: nothing here says that the compass is off."
    verb = "take off" if check.error_deg > 0 else "add"
    return (
        "That is more than chance. Step away from iron, wires and magnets and read again; if it stays, "
        f"{verb} {abs(check.error_deg):.0f} deg to get the magnetic azimuth, or take another compass."
    )


def _say_clock(check: CompassCheck) -> str:
    """Say so where a clock an hour off would explain what the compass seems to be off."""
    if abs(check.error_deg) <= 2.0 * check.error_sd_deg:
        return ""
    for way, other_deg in (
        ("ahead", check.error_if_clock_ahead_deg),
        ("behind", check.error_if_clock_behind_deg),
    ):
        if other_deg is not None and abs(other_deg) <= check.error_sd_deg:
            return (
                f"Were the clock an hour {way} of what was said (summer time?), the compass would read "
                f"{_off(other_deg)}: check the zone first."
            )
    return ""


def say_way_time(timed: TimedWay, rule: WalkingRule, off_path: bool, climb_m: float, descent_m: float) -> str:
    """Say how long the way back takes."""
    way, time = timed.answer.way, timed.times[rule.name]
    here, there = say_place(way.from_name, way.from_station), say_place(way.to_name, way.to_station or 0)
    if way.is_there:
        return f"You are at {there} already: the log says so."
    slope = (
        f"{say_whole(climb_m)} m up and {say_whole(descent_m)} m down"
        if climb_m or descent_m
        else "taken as level, for no climb was given"
    )
    return (
        f"From {here} to {there} ({slope}, {'off' if off_path else 'on'} path): straight "
        f"{say_length(time.direct_m, 'metre')}, {say_duration(_span(time.direct_h))}; leg by leg "
        f"{say_length(time.legs_m, 'metre')}, {say_duration(_span(time.legs_h))}. "
        f"Rule: {rule.name} ({rule.says})."
    )


def say_no_time_to_set_out(timed: TimedWay) -> list[str]:
    """Say that a log which may hold a mistake gives no time by which to set out."""
    farthest = (
        f" You may be as far as {say_length(timed.farthest_m, 'metre')} from it." if timed.farthest_m else ""
    )
    return [
        "No time to set out is given while the legs may hold a mistake: the times above are for the legs as "
        f"written.{farthest} Find the mistake first (pacewright check), and leave early.",
        CAUTION,
    ]


def rules_table(times: Mapping[RuleName, WayTime]) -> Rows:
    """The same way by every rule, for they disagree."""
    rows = [
        (name, say_duration(_span(time.direct_h)), say_duration(_span(time.legs_h)))
        for name, time in times.items()
    ]
    return ("rule", "straight", "leg by leg"), list(rows)


def say_daylight_check(check: DaylightCheck) -> list[str]:
    """Say whether the way back ends in daylight, and by when to set out."""
    kept = (
        f"{say_duration(check.needed)} of walking and {say_duration(check.reserve)} kept in reserve for a search, a "
        "detour or a rest"
    )
    if check.spare is None:
        return [f"The sun does not set within a day: {kept} end in daylight.", CAUTION]
    if not check.daylight.is_up:
        return [f"The sun is down: {kept} would be walked in the dark. Wait for light if you can.", CAUTION]
    if check.is_enough and check.set_out_by is not None:
        return [
            f"Daylight is enough: {kept} leave {say_duration(check.spare)}. Set out by "
            f"{check.set_out_by:%H:%M} at the latest.",
            CAUTION,
        ]
    if check.spare + check.reserve >= datetime.timedelta(0):
        return [
            f"Daylight is short: {kept} end {say_duration(-check.spare)} after sunset. Set out now; the reserve "
            "is no longer whole.",
            CAUTION,
        ]
    return [
        f"Daylight is not enough: the walking alone, {say_duration(check.needed)}, ends "
        f"{say_duration(-(check.spare + check.reserve))} after sunset. Think of a nearer place, a surer line, "
        "or staying where you are until light.",
        CAUTION,
    ]


def _span(hours: float) -> datetime.timedelta:
    return datetime.timedelta(hours=hours)
