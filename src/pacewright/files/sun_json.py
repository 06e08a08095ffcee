"""The keys of --json for the sun, the compass by it, and daylight."""

from __future__ import annotations

import datetime
from typing import Any

from pacewright.answers.daylight import TimedWay
from pacewright.answers.sunlight import SunAnswer
from pacewright.ground.sun import SunPosition
from pacewright.ground.sun_compass import CompassCheck
from pacewright.ground.sun_day import Crossing, Daylight, SunDay
from pacewright.route.daylight_check import DaylightCheck
from pacewright.route.travel_cost import WalkingRule, find_rule


def sun_day_keys(latitude_deg: float, longitude_deg: float, day: SunDay) -> dict[str, Any]:
    """A day of the sun as keys; what does not happen is null, and `stays` says why."""
    return {
        "latitude_deg": latitude_deg,
        "longitude_deg": longitude_deg,
        "date": day.date.isoformat(),
        "noon": day.noon.isoformat(),
        "noon_elevation_deg": day.noon_elevation_deg,
        "sunrise": _moment(day.sun.up),
        "sunset": _moment(day.sun.down),
        "stays": day.sun.stays,
        "rise_azimuth_deg": day.rise_azimuth_deg,
        "set_azimuth_deg": day.set_azimuth_deg,
        "civil": _crossing(day.civil),
        "nautical": _crossing(day.nautical),
    }


def sun_now_keys(sun: SunPosition, light: Daylight) -> dict[str, Any]:
    """The sun at one moment, and the daylight left, as keys."""
    return {
        "time": light.when.isoformat(),
        "azimuth_deg": sun.azimuth_deg,
        "elevation_deg": sun.elevation_deg,
        "geometric_elevation_deg": sun.geometric_elevation_deg,
        "azimuth_deg_per_min": sun.azimuth_deg_per_min,
        "is_up": light.is_up,
        "daylight_left_min": _minutes(light.left),
        "sunset": _moment(light.sunset),
        "dusk": _moment(light.dusk),
        "sunrise": _moment(light.sunrise),
    }


def compass_check_keys(check: CompassCheck) -> dict[str, Any]:
    """A compass checked by the sun as keys."""
    sighting = check.sighting
    return {
        "line": sighting.line,
        "reading_deg": sighting.reading_deg,
        "declination_deg": sighting.declination_deg,
        "true_azimuth_deg": check.true_azimuth_deg,
        "expected_deg": check.expected_deg,
        "error_deg": check.error_deg,
        "error_sd_deg": check.error_sd_deg,
        "parts_deg": dict(check.parts_deg),
        "error_if_clock_ahead_deg": check.error_if_clock_ahead_deg,
        "error_if_clock_behind_deg": check.error_if_clock_behind_deg,
    }


def way_time_keys(timed: TimedWay, rule: WalkingRule, check: DaylightCheck) -> dict[str, Any]:
    """The time of the way back against the daylight left as keys.

    While the legs may hold a mistake there is no time to set out, and daylight is not called enough.
    """
    time = timed.times[rule.name]
    return {
        "rule": rule.name,
        "source": rule.source,
        "direct_m": time.direct_m,
        "direct_min": 60 * time.direct_h,
        "legs_m": time.legs_m,
        "legs_min": 60 * time.legs_h,
        "needed_min": _minutes(check.needed),
        "reserve_min": _minutes(check.reserve),
        "spare_min": _minutes(check.spare),
        "set_out_by": None if timed.is_doubted else _moment(check.set_out_by),
        "is_enough": check.is_enough and not timed.is_doubted,
        "mistake_probability": timed.answer.doubt.chance,
    }


def _crossing(passing: Crossing) -> dict[str, Any]:
    return {"begins": _moment(passing.up), "ends": _moment(passing.down), "stays": passing.stays}


def _moment(moment: datetime.datetime | None) -> str | None:
    return None if moment is None else moment.isoformat()


def _minutes(span: datetime.timedelta | None) -> float | None:
    return None if span is None else span.total_seconds() / 60


def sun_keys(found: SunAnswer, zone_name: str) -> dict[str, Any]:
    """A day of the sun, and the moment and the compass where they were asked for, as keys."""
    asked = found.asked
    keys = {
        **sun_day_keys(asked.latitude_deg, asked.longitude_deg, found.day),
        "zone": zone_name,
        "declination_deg": None if asked.declination is None else asked.declination.deg,
    }
    if found.now is not None and found.light is not None:
        keys["at"] = sun_now_keys(found.now, found.light)
    if found.check is not None:
        keys["compass"] = compass_check_keys(found.check) | {"is_off": found.check.is_off(asked.probability)}
    return keys


def sun_back_keys(found: SunAnswer) -> dict[str, Any]:
    """Daylight against the way back as keys; none where it was not asked for."""
    if found.timed is None or found.enough is None or found.asked.back is None:
        return {}
    return way_time_keys(found.timed, find_rule(found.asked.back.rule), found.enough)
