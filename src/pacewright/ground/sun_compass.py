"""Checking a compass by the sun, with how sure the check is.

Three lines can be read: the sun itself, the shadow of an upright stick, and the line between the tips
of a stick's shadow at two times, which needs no upright stick and works when the sun is high.
"""

from __future__ import annotations

import dataclasses
import datetime
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import NormalDist
from types import MappingProxyType
from typing import Final, Literal

from pacewright.core.compass import direction_deg, normal_azimuth, turn_deg, unit_vectors
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY, CompassScatter
from pacewright.exceptions import ValueComplaint
from pacewright.ground.sun import SUNRISE_ELEVATION_DEG, sun_position

SunLine = Literal["sun", "shadow", "tips"]

HIGHEST_DEG: Final = 60.0
"""Above this a stick one degree out of plumb turns its shadow by more than 1.7 degrees."""

LOWEST_FOR_TIPS_DEG: Final = 10.0
"""Below this a shadow is more than five sticks long and any unevenness of the ground moves its tip."""

HOUR: Final = datetime.timedelta(hours=1)

_USUAL: Final = CompassScatter()


@dataclass(frozen=True, slots=True)
class SunSighting:
    """What was read, when and where, and how sure each of it is.

    Attributes
    ----------
    latitude_deg, longitude_deg
        The place; a few kilometres do not matter.
    when
        A moment that says its zone; for `tips` that of the first mark.
    reading_deg
        The magnetic azimuth that the compass gave.
    line
        `sun`: toward the sun. `shadow`: along the shadow of an upright stick, away from the sun.
        `tips`: from the first mark of a shadow's tip to the second.
    declination_deg, declination_sd_deg
        East positive, and how well it is known: half a degree where it comes off a map or a field model
        (assumed; the models state 0.3 to 0.5).
    sighting_sd_deg
        Scatter of a bearing, as in the walker's own figures.
    reading_interval_deg
        The step to which the dial is read.
    watch_sd_s
        How far the watch may be off: a minute (assumed).
    plumb_sd_deg
        How far the stick, or the compass tilted up to the sun, may be out of plumb: 1.5 degrees by eye
        (assumed); a hanging cord is better. For `tips`, how far the ground may be out of level.
    wait_min
        For `tips`, minutes between the two marks.
    mark_sd_sticks
        For `tips`, how surely a tip is marked, in heights of the stick: 0.005, half a centimetre for a
        stick of a metre (assumed; the sun is no point, and the tip is blurred by twice that).
    """

    latitude_deg: float
    longitude_deg: float
    when: datetime.datetime
    reading_deg: float
    line: SunLine = "sun"
    declination_deg: float = 0.0
    declination_sd_deg: float = 0.5
    sighting_sd_deg: float = _USUAL.sighting_sd_deg
    reading_interval_deg: float = _USUAL.reading_interval_deg
    watch_sd_s: float = 60.0
    plumb_sd_deg: float = 1.5
    wait_min: float = 30.0
    mark_sd_sticks: float = 0.005


@dataclass(frozen=True, slots=True)
class CompassCheck:
    """How far the compass is off by the sun.

    Attributes
    ----------
    sighting
        What was read.
    elevation_deg, azimuth_deg_per_min
        Of the sun, then.
    true_azimuth_deg
        Of the line that was read.
    expected_deg
        What a compass without any error would have read.
    error_deg
        Reading less expected: positive where the compass reads too high.
    error_sd_deg
        How sure that is, one standard deviation.
    parts_deg
        What makes it up, by name, each a standard deviation.
    error_if_clock_ahead_deg, error_if_clock_behind_deg
        The same, were the clock an hour ahead of what was said, or an hour behind; None where the sun
        could not be read then.
    """

    sighting: SunSighting
    elevation_deg: float
    azimuth_deg_per_min: float
    true_azimuth_deg: float
    expected_deg: float
    error_deg: float
    error_sd_deg: float
    parts_deg: Mapping[str, float]
    error_if_clock_ahead_deg: float | None
    error_if_clock_behind_deg: float | None

    def reach_deg(self, probability: float) -> float:
        """How far to either side of `error_deg` the truth lies with a probability."""
        return NormalDist().inv_cdf(0.5 + probability / 2) * self.error_sd_deg

    def is_off(self, probability: float = DEFAULT_PROBABILITY) -> bool:
        """Whether the compass is off by more than chance."""
        return abs(self.error_deg) > self.reach_deg(probability)


def check_compass(sighting: SunSighting) -> CompassCheck:
    """How far a compass is off by the sun, and how sure that is.

    Raises
    ------
    ValueComplaint
        The sun is below the horizon, or too high for its azimuth to be read, or too low for the tips of
        a shadow; or a figure is none.

    References
    ----------
    Comparing a compass with the reckoned azimuth of the sun is common practice at sea; the error is
    reading less expected, the parts are propagated at first order.

    Examples
    --------
    >>> evening = datetime.datetime(2026, 5, 14, 16, 0, tzinfo=datetime.UTC)
    >>> check = check_compass(SunSighting(47.0, 8.0, evening, reading_deg=270, declination_deg=3.5))
    >>> round(check.true_azimuth_deg, 1), round(check.error_deg, 1), round(check.error_sd_deg, 1)
    (268.1, 5.4, 2.2)
    """
    _check_figures(sighting)
    sun = sun_position(sighting.latitude_deg, sighting.longitude_deg, sighting.when)
    _check_height(sighting, sun.elevation_deg, sun.geometric_elevation_deg)
    true_deg = _line_azimuth_deg(sighting)
    expected_deg = normal_azimuth(true_deg - sighting.declination_deg)
    parts = _parts_deg(sighting, sun.elevation_deg)
    return CompassCheck(
        sighting=sighting,
        elevation_deg=sun.elevation_deg,
        azimuth_deg_per_min=sun.azimuth_deg_per_min,
        true_azimuth_deg=true_deg,
        expected_deg=expected_deg,
        error_deg=turn_deg(expected_deg, sighting.reading_deg),
        error_sd_deg=math.sqrt(sum(part**2 for part in parts.values())),
        parts_deg=MappingProxyType(parts),
        error_if_clock_ahead_deg=_error_at(sighting, sighting.when - HOUR),
        error_if_clock_behind_deg=_error_at(sighting, sighting.when + HOUR),
    )


def shadow_line_azimuth_deg(
    latitude_deg: float,
    longitude_deg: float,
    when: datetime.datetime,
    wait_min: float = 30.0,
    ground_tilt_deg: tuple[float, float] = (0.0, 0.0),
) -> float:
    """The true azimuth from the tip of a stick's shadow to where the tip lies later.

    The stick need not be upright, for both shadows are those of one and the same point.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The place, north and east positive.
    when
        Of the first mark; says its zone.
    wait_min
        Minutes to the second mark.
    ground_tilt_deg
        How far the ground rises to the east and to the north; level if not given.

    Examples
    --------
    >>> noon = datetime.datetime(2026, 3, 20, 12, 0, tzinfo=datetime.UTC)
    >>> round(shadow_line_azimuth_deg(47.0, 0.0, noon))
    90
    """
    first, second = _tips(latitude_deg, longitude_deg, when, wait_min, ground_tilt_deg)
    return direction_deg(second[0] - first[0], second[1] - first[1])


def _tips(
    latitude_deg: float,
    longitude_deg: float,
    when: datetime.datetime,
    wait_min: float,
    ground_tilt_deg: tuple[float, float],
) -> list[tuple[float, float]]:
    """East and north of both tips from the foot of the stick, in heights of the stick."""
    tips = []
    rise_east, rise_north = (math.tan(math.radians(tilt)) for tilt in ground_tilt_deg)
    for moment in (when, when + datetime.timedelta(minutes=wait_min)):
        sun = sun_position(latitude_deg, longitude_deg, moment)
        east, north = (-float(part) for part in unit_vectors(sun.azimuth_deg))
        fall = math.tan(math.radians(sun.elevation_deg))
        rise = rise_east * east + rise_north * north
        if sun.elevation_deg <= 0 or fall + rise <= 0:
            raise ValueComplaint(
                "the sun is too low for its shadow to be marked twice", "Mark it while the sun is higher"
            )
        length = 1.0 / (fall + rise)
        tips.append((length * east, length * north))
    return tips


def _line_azimuth_deg(sighting: SunSighting, tilt_deg: tuple[float, float] = (0.0, 0.0)) -> float:
    place = sighting.latitude_deg, sighting.longitude_deg
    if sighting.line == "tips":
        return shadow_line_azimuth_deg(*place, sighting.when, sighting.wait_min, tilt_deg)
    away = 180.0 if sighting.line == "shadow" else 0.0
    return normal_azimuth(sun_position(*place, sighting.when).azimuth_deg + away)


def _parts_deg(sighting: SunSighting, elevation_deg: float) -> dict[str, float]:
    watch = datetime.timedelta(seconds=sighting.watch_sd_s)

    def at(when: datetime.datetime) -> float:
        return _line_azimuth_deg(dataclasses.replace(sighting, when=when))

    parts = {
        "sighting": math.hypot(sighting.sighting_sd_deg, sighting.reading_interval_deg / math.sqrt(12)),
        "declination": sighting.declination_sd_deg,
        "watch": abs(turn_deg(at(sighting.when - watch), at(sighting.when + watch))) / 2,
    }
    if sighting.line != "tips":
        # A line out of plumb to the side is off by that angle times the tangent of the elevation.
        parts["plumb"] = sighting.plumb_sd_deg * math.tan(math.radians(max(0.0, elevation_deg)))
        return parts
    parts["level"] = _level_part_deg(lambda tilt: _line_azimuth_deg(sighting, tilt), sighting.plumb_sd_deg)
    first, second = _tips(
        sighting.latitude_deg, sighting.longitude_deg, sighting.when, sighting.wait_min, (0.0, 0.0)
    )
    parts["marks"] = math.degrees(math.sqrt(2) * sighting.mark_sd_sticks / math.dist(first, second))
    return parts


def _level_part_deg(azimuth_on: Callable[[tuple[float, float]], float], tilt_sd_deg: float) -> float:
    east = turn_deg(azimuth_on((-tilt_sd_deg, 0.0)), azimuth_on((tilt_sd_deg, 0.0))) / 2
    north = turn_deg(azimuth_on((0.0, -tilt_sd_deg)), azimuth_on((0.0, tilt_sd_deg))) / 2
    return math.hypot(east, north)


def _error_at(sighting: SunSighting, when: datetime.datetime) -> float | None:
    moved = dataclasses.replace(sighting, when=when)
    sun = sun_position(sighting.latitude_deg, sighting.longitude_deg, when)
    try:
        _check_height(moved, sun.elevation_deg, sun.geometric_elevation_deg)
        true_deg = _line_azimuth_deg(moved)
    except ValueComplaint:
        return None
    return turn_deg(true_deg - sighting.declination_deg, sighting.reading_deg)


def _check_height(sighting: SunSighting, elevation_deg: float, geometric_elevation_deg: float) -> None:
    if geometric_elevation_deg < SUNRISE_ELEVATION_DEG:
        raise ValueComplaint(
            f"at that moment the sun is {-geometric_elevation_deg:.1f} degrees below the horizon",
            "Check the date, the time and its zone, or wait for the sun",
        )
    if sighting.line != "tips" and elevation_deg > HIGHEST_DEG:
        raise ValueComplaint(
            f"the sun stands {elevation_deg:.0f} degrees high, above {HIGHEST_DEG:.0f} its azimuth cannot be "
            "read well",
            "Wait until it is lower, or take a shadow stick: mark the tip of its shadow on level ground, "
            "again half an hour later, and read the line from the first mark to the second (tips)",
        )
    if sighting.line == "tips" and elevation_deg < LOWEST_FOR_TIPS_DEG:
        raise ValueComplaint(
            f"the sun stands {elevation_deg:.0f} degrees high, below {LOWEST_FOR_TIPS_DEG:.0f} the tip of a "
            "shadow lies too far off to be marked",
            "Read the sun itself, or the shadow of an upright stick",
        )


def _check_figures(sighting: SunSighting) -> None:
    for name, most in (
        ("declination_sd_deg", 30.0),
        ("sighting_sd_deg", 30.0),
        ("watch_sd_s", 3600.0),
        ("plumb_sd_deg", 20.0),
    ):
        value = getattr(sighting, name)
        if not 0 <= value <= most:
            raise ValueComplaint(f"{name} {value:g} cannot be", f"Give a number from 0 to {most:g}")
    if not math.isfinite(sighting.reading_deg):
        raise ValueComplaint(
            f"{sighting.reading_deg} is not an azimuth in degrees", "Write a number from 0 to 360"
        )
    if not abs(sighting.declination_deg) <= 180:
        raise ValueComplaint(
            f"{sighting.declination_deg:g} is not a declination",
            "Give degrees from -180 to 180, east positive",
        )
    if not 5 <= sighting.wait_min <= 240:
        raise ValueComplaint(
            f"{sighting.wait_min:g} minutes between two marks of a shadow is not a wait that helps",
            "Wait from 5 to 240 minutes, half an hour by custom",
        )
