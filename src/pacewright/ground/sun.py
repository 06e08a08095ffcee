"""Where the sun stands: azimuth from true north and elevation, for any place and moment.

Good to 0.01 degree from 1900 to 2100, which a compass on foot never asks for and a watch rarely gives.
No clock is read here: every moment comes in as an argument and says its zone.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]
Moments = datetime.datetime | Sequence[datetime.datetime] | NDArray[np.datetime64]

FIRST_YEAR: Final = 1900
LAST_YEAR: Final = 2100

SUNRISE_ELEVATION_DEG: Final = -50 / 60
"""The sun's centre when its upper edge is seen on a level horizon: 34' of refraction and 16' of its own
half width (Meeus, Astronomical Algorithms, 2nd ed. 1998, ch. 15)."""

_J2000: Final = datetime.datetime(2000, 1, 1, 12, tzinfo=datetime.UTC)
_J2000_64: Final = np.datetime64("2000-01-01T12:00:00", "us")
_DELTA_T_DAYS: Final = 69.0 / 86400.0
"""Dynamical less universal time as of the 2020s; the sun's place shifts by 0.001 degree in 88 s."""

_PARALLAX_DEG: Final = 8.794 / 3600
_SOLAR_DEG_PER_MIN: Final = 0.25


@dataclass(frozen=True, slots=True)
class SunPosition:
    """Where the sun stands at one moment.

    Attributes
    ----------
    azimuth_deg
        From true north.
    elevation_deg
        As seen, refraction included while the disc is above a level horizon.
    geometric_elevation_deg
        Of the centre, without refraction.
    azimuth_deg_per_min
        How fast the azimuth changes, clockwise positive.
    """

    azimuth_deg: float
    elevation_deg: float
    geometric_elevation_deg: float
    azimuth_deg_per_min: float


@dataclass(frozen=True, slots=True, eq=False)
class SunTrack:
    """Where the sun stands at many moments: the fields of `SunPosition` as arrays of one shape."""

    azimuth_deg: Array
    elevation_deg: Array
    geometric_elevation_deg: Array
    azimuth_deg_per_min: Array


def sun_position(
    latitude_deg: float,
    longitude_deg: float,
    when: datetime.datetime,
    *,
    pressure_hpa: float = 1010.0,
    air_temp_c: float = 10.0,
) -> SunPosition:
    """The azimuth and the elevation of the sun at one moment.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The place, north and east positive.
    when
        A moment that says its zone.
    pressure_hpa, air_temp_c
        Of the air, for the refraction; they matter by a tenth of a degree close to the horizon only.

    Raises
    ------
    ValueComplaint
        The place is none on the earth, the moment says no zone, or its year is outside 1900 to 2100.

    Examples
    --------
    >>> noon = datetime.datetime(2026, 5, 14, 12, 0, tzinfo=datetime.UTC)
    >>> sun = sun_position(47.0, 0.0, noon)
    >>> round(sun.azimuth_deg, 1), round(sun.elevation_deg, 1)
    (181.8, 61.7)
    """
    track = sun_track(latitude_deg, longitude_deg, when, pressure_hpa=pressure_hpa, air_temp_c=air_temp_c)
    return SunPosition(
        float(track.azimuth_deg),
        float(track.elevation_deg),
        float(track.geometric_elevation_deg),
        float(track.azimuth_deg_per_min),
    )


def sun_track(
    latitude_deg: float,
    longitude_deg: float,
    moments: Moments,
    *,
    pressure_hpa: float = 1010.0,
    air_temp_c: float = 10.0,
) -> SunTrack:
    """The azimuth and the elevation of the sun at many moments.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The place, north and east positive.
    moments
        Moments that say their zone, or an array of `datetime64` in UTC, any shape.
    pressure_hpa, air_temp_c
        Of the air, for the refraction.

    Returns
    -------
    SunTrack
        Arrays of the shape of `moments`.

    Raises
    ------
    ValueComplaint
        As `sun_position`.

    References
    ----------
    J. Meeus, Astronomical Algorithms, 2nd ed. (1998), ch. 12, 22, 25 (lower accuracy) and 40;
    perturbations as in `_pull_deg`.
    """
    check_place(latitude_deg, longitude_deg)
    return track_at_days(latitude_deg, longitude_deg, days_of(moments), pressure_hpa, air_temp_c)


def track_at_days(
    latitude_deg: float,
    longitude_deg: float,
    days: Array,
    pressure_hpa: float = 1010.0,
    air_temp_c: float = 10.0,
) -> SunTrack:
    """The sun at moments counted in days of universal time from 2000-01-01 12:00, any shape."""
    hour_angle_rad, declination_rad, distance_au = _equatorial(days, longitude_deg)
    latitude_rad = math.radians(latitude_deg)
    sin_lat, cos_lat = math.sin(latitude_rad), math.cos(latitude_rad)
    sin_dec, cos_dec = np.sin(declination_rad), np.cos(declination_rad)
    east = -cos_dec * np.sin(hour_angle_rad)
    north = cos_lat * sin_dec - sin_lat * cos_dec * np.cos(hour_angle_rad)
    up = sin_lat * sin_dec + cos_lat * cos_dec * np.cos(hour_angle_rad)
    level = np.hypot(east, north)
    # From the ground the sun stands lower than from the middle of the earth.
    geometric_deg = np.degrees(np.arctan2(up, level)) - _PARALLAX_DEG / distance_au * level
    azimuth_deg = np.degrees(np.arctan2(east, north)) % 360.0
    seen_deg = geometric_deg + refraction_deg(geometric_deg, pressure_hpa, air_temp_c)
    # At the zenith the azimuth jumps; the rate there is large, not endless.
    steepness = up / np.maximum(level, 1e-9)
    rate = _SOLAR_DEG_PER_MIN * (sin_lat - cos_lat * np.cos(np.radians(azimuth_deg)) * steepness)
    return SunTrack(np.where(azimuth_deg >= 360.0, 0.0, azimuth_deg), seen_deg, geometric_deg, rate)


def refraction_deg(
    geometric_elevation_deg: ArrayLike, pressure_hpa: float = 1010.0, air_temp_c: float = 10.0
) -> Array:
    """By how much the air lifts the sun, in degrees; nothing once its disc is below the horizon.

    Parameters
    ----------
    geometric_elevation_deg
        Elevation without air, any shape.
    pressure_hpa, air_temp_c
        Of the air at the ground.

    References
    ----------
    T. Saemundsson, Sky and Telescope 72 (1986), as in Meeus, Astronomical Algorithms, 2nd ed. (1998),
    eq. 16.4; cut off below the horizon as in NREL/TP-560-34302 (2008), section 3.14.

    >>> float(refraction_deg(0.0).round(2)), float(refraction_deg(45.0).round(3)), float(refraction_deg(-2.0))
    (0.48, 0.017, 0.0)
    """
    if not (0 <= pressure_hpa <= 1200 and -90 <= air_temp_c <= 70):
        raise ValueComplaint(
            f"air of {pressure_hpa:g} hPa and {air_temp_c:g} degrees Celsius is not found on the ground",
            "Give the pressure in hectopascals (about 1010 at the sea) and the temperature in Celsius",
        )
    elevation = np.asarray(geometric_elevation_deg, dtype=np.float64)
    above = np.maximum(elevation, SUNRISE_ELEVATION_DEG)
    air = pressure_hpa / 1010.0 * 283.0 / (273.0 + air_temp_c)
    lifted = air * 1.02 / 60.0 / np.tan(np.radians(above + 10.3 / (above + 5.11)))
    return np.where(elevation >= SUNRISE_ELEVATION_DEG, lifted, 0.0)


def hour_angle_deg(longitude_deg: float, day: float) -> float:
    """How far the sun is past the meridian of a place, -180 to 180, at a day number of `days_of`."""
    hour_angle_rad, _, _ = _equatorial(np.asarray(day, dtype=np.float64), longitude_deg)
    return math.remainder(math.degrees(float(hour_angle_rad)), 360.0)


def check_place(latitude_deg: float, longitude_deg: float) -> None:
    """Refuse a place that is none on the earth."""
    if not -90.0 <= latitude_deg <= 90.0:
        raise ValueComplaint(f"{latitude_deg:g} is not a latitude", "Write -90 to 90, north positive")
    if not -180.0 <= longitude_deg <= 360.0:
        raise ValueComplaint(f"{longitude_deg:g} is not a longitude", "Write -180 to 180, east positive")


def days_of(moments: Moments) -> Array:
    """Moments as days of universal time from 2000-01-01 12:00.

    Raises
    ------
    ValueComplaint
        A moment says no zone, or lies outside the years 1900 to 2100.
    """
    if isinstance(moments, datetime.datetime):
        days = np.asarray(_day_of(moments), dtype=np.float64)
    elif isinstance(moments, np.ndarray):
        days = np.asarray((moments - _J2000_64) / np.timedelta64(86_400_000_000, "us"), dtype=np.float64)
    else:
        days = np.array([_day_of(moment) for moment in moments], dtype=np.float64)
    years = 2000.0 + (days - 0.5) / 365.2425
    if not np.all((years >= FIRST_YEAR) & (years < LAST_YEAR + 1)):
        raise ValueComplaint(
            "the sun is not reckoned for that year", f"Give a date from {FIRST_YEAR} to {LAST_YEAR}"
        )
    return days


def moment_of(day: float, zone: datetime.tzinfo = datetime.UTC) -> datetime.datetime:
    """The moment of a day number, to the nearest second, by the clock of `zone`."""
    return (_J2000 + datetime.timedelta(seconds=round(float(day) * 86400.0))).astimezone(zone)


def _day_of(when: datetime.datetime) -> float:
    if when.tzinfo is None or when.utcoffset() is None:
        raise ValueComplaint(
            "the time does not say by which clock it is", "Give its zone, such as +02:00 or UTC"
        )
    return (when - _J2000) / datetime.timedelta(days=1)


def _equatorial(days: Array, longitude_deg: float) -> tuple[Array, Array, Array]:
    """The sun's local hour angle and declination in radians, and its distance."""
    centuries = (days + _DELTA_T_DAYS) / 36525.0
    longitude_rad, distance_au, node_rad = _ecliptic(centuries)
    tilt_rad = np.radians(
        23.4392911
        - (46.8150 + (0.00059 - 0.001813 * centuries) * centuries) * centuries / 3600.0
        + 0.00256 * np.cos(node_rad)
    )
    right_ascension_rad = np.arctan2(np.cos(tilt_rad) * np.sin(longitude_rad), np.cos(longitude_rad))
    declination_rad = np.arcsin(np.sin(tilt_rad) * np.sin(longitude_rad))
    sidereal_deg = (
        280.46061837
        + 360.98564736629 * days
        + 0.000387933 * (days / 36525.0) ** 2
        - 0.00478 * np.sin(node_rad) * np.cos(tilt_rad)
    )
    hour_angle_rad = np.radians((sidereal_deg + longitude_deg) % 360.0) - right_ascension_rad
    return hour_angle_rad, declination_rad, distance_au


def _ecliptic(centuries: Array) -> tuple[Array, Array, Array]:
    """The sun's apparent longitude, its distance, and the moon's node that nutation follows."""
    t = centuries
    mean_deg = 280.46646 + (36000.76983 + 0.0003032 * t) * t
    anomaly_rad = np.radians((357.52911 + (35999.05029 - 0.0001537 * t) * t) % 360.0)
    centre_deg = (
        (1.914602 - (0.004817 + 0.000014 * t) * t) * np.sin(anomaly_rad)
        + (0.019993 - 0.000101 * t) * np.sin(2 * anomaly_rad)
        + 0.000289 * np.sin(3 * anomaly_rad)
    )
    eccentricity = 0.016708634 - (0.000042037 + 0.0000001267 * t) * t
    distance_au = (
        1.000001018
        * (1 - eccentricity**2)
        / (1 + eccentricity * np.cos(anomaly_rad + np.radians(centre_deg)))
    )
    node_rad = np.radians((125.04 - 1934.136 * t) % 360.0)
    # Aberration, then nutation.
    apparent_deg = mean_deg + centre_deg + _pull_deg(t) - 0.00569 - 0.00478 * np.sin(node_rad)
    return np.radians(apparent_deg % 360.0), distance_au, node_rad


def _pull_deg(centuries: Array) -> Array:
    """What Venus (twice), Jupiter and the moon do to the sun's longitude, and a term of long period.

    References
    ----------
    J. Meeus, Astronomical Formulae for Calculators (1979), ch. 18 (from memory; checked against
    an ephemeris).
    """
    t = centuries + 0.9999863  # those formulas count from 1900
    venus, venus_again, jupiter, moon, slow = (
        np.radians(at_1900 + rate * t)
        for at_1900, rate in (
            (153.23, 22518.7541),
            (216.57, 45037.5082),
            (312.69, 32964.3577),
            (350.74, 445267.1142),
            (231.19, 20.20),
        )
    )
    return np.asarray(
        0.00134 * np.cos(venus)
        + 0.00154 * np.cos(venus_again)
        + 0.00200 * np.cos(jupiter)
        + 0.00179 * np.sin(moon)
        + 0.00178 * np.sin(slow)
    )
