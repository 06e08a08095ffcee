"""The magnetic field model: declination, its change, its uncertainty.

A spherical harmonic model of the main field, evaluated for any number of points and dates at once.
The coefficients come in as a `FieldModel`; the file that holds them is read elsewhere.
"""

from __future__ import annotations

import calendar
import datetime
import math
import re
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.plausible import plain_digits
from pacewright.core.written_dates import parse_date
from pacewright.exceptions import ValueComplaint
from pacewright.ground.harmonics import field_sums

Array = NDArray[np.float64]
CompassZone = Literal["ordinary", "caution", "blackout"]

BLACKOUT_NT: Final = 2000.0
CAUTION_NT: Final = 6000.0
"""Horizontal field under which a compass is unusable, and under which it needs care (WMM2025 report;
the two limits from memory)."""

LOWEST_M: Final = -1_000.0
HIGHEST_M: Final = 850_000.0
"""Heights above the ellipsoid for which the model is stated to hold."""

_MAJOR_AXIS_M: Final = 6_378_137.0
_ECCENTRICITY2: Final = (2 - 1 / 298.257223563) / 298.257223563
_POINTS_AT_ONCE: Final = 4096
"""Points in one sweep: the arrays of a sweep stay in the processor's cache."""


@dataclass(frozen=True, slots=True, eq=False)
class FieldModel:
    """The coefficients of a magnetic model and the dates for which it holds.

    Attributes
    ----------
    name
        As its publisher writes it, such as `WMM-2025`.
    epoch
        Decimal year of the main field coefficients.
    valid_from, valid_to
        First and last day for which the model answers.
    g_nt, h_nt
        Schmidt quasi-normal coefficients at the epoch, row n, column m, in nanotesla.
    g_change_nt, h_change_nt
        Their change in a year.
    """

    name: str
    epoch: float
    valid_from: datetime.date
    valid_to: datetime.date
    g_nt: Array
    h_nt: Array
    g_change_nt: Array
    h_change_nt: Array


@dataclass(frozen=True, slots=True, eq=False)
class MagneticField:
    """The field at points and dates, all arrays of one shape; north, east, down and their yearly change."""

    north_nt: Array
    east_nt: Array
    down_nt: Array
    north_change_nt: Array
    east_change_nt: Array
    down_change_nt: Array

    @property
    def horizontal_nt(self) -> Array:
        """Strength of the part that turns a compass needle."""
        return np.hypot(self.north_nt, self.east_nt)

    @property
    def total_nt(self) -> Array:
        """Strength of the whole field."""
        return np.hypot(self.horizontal_nt, self.down_nt)

    @property
    def declination_deg(self) -> Array:
        """Angle from true north to magnetic north, east positive; at a pole from the meridian stated."""
        return np.degrees(np.arctan2(self.east_nt, self.north_nt))

    @property
    def inclination_deg(self) -> Array:
        """Angle by which the field points below the horizon."""
        return np.degrees(np.arctan2(self.down_nt, self.horizontal_nt))

    @property
    def annual_change_deg(self) -> Array:
        """Change of the declination in a year, east positive."""
        turning = self.north_nt * self.east_change_nt - self.east_nt * self.north_change_nt
        with np.errstate(divide="ignore", invalid="ignore"):
            change: Array = np.degrees(turning / (self.north_nt**2 + self.east_nt**2))
        return change

    @property
    def declination_sd_deg(self) -> Array:
        """Standard deviation of the declination: the model's own, and what the rocks add, on average."""
        return declination_sd_deg(self.horizontal_nt)


@dataclass(frozen=True, slots=True)
class Declination:
    """The declination at one place and date.

    Attributes
    ----------
    declination_deg
        Angle from true north to magnetic north, east positive.
    declination_sd_deg
        Its standard deviation.
    annual_change_deg
        Its change in a year, east positive.
    horizontal_nt
        Strength of the field that turns the needle.
    inclination_deg
        By how much the field points below the horizon.
    north_nt, east_nt, down_nt, total_nt
        Its parts, and its whole strength.
    compass_zone
        `ordinary`, `caution` or `blackout`.
    year
        The date, as a decimal year.
    model, valid_to
        Whose number it is, and the last day for which that model answers.
    """

    declination_deg: float
    declination_sd_deg: float
    annual_change_deg: float
    horizontal_nt: float
    inclination_deg: float
    north_nt: float
    east_nt: float
    down_nt: float
    total_nt: float
    compass_zone: CompassZone
    year: float
    model: str
    valid_to: datetime.date


def declination_sd_deg(horizontal_nt: ArrayLike) -> Array:
    """The standard deviation of a modelled declination from the horizontal field.

    References
    ----------
    The US/UK World Magnetic Model for 2025-2030, technical report (2024), section 3.4, equation 43.

    Examples
    --------
    >>> declination_sd_deg([41875, 6000]).round(2).tolist()
    [0.29, 0.94]
    """
    with np.errstate(divide="ignore"):
        return np.hypot(0.26, 5417.0 / np.asarray(horizontal_nt, dtype=np.float64))


def compass_zone(horizontal_nt: float) -> CompassZone:
    """Say whether a compass can be trusted where the horizontal field is this strong.

    >>> compass_zone(20000), compass_zone(5999), compass_zone(1999)
    ('ordinary', 'caution', 'blackout')
    """
    if horizontal_nt < BLACKOUT_NT:
        return "blackout"
    return "caution" if horizontal_nt < CAUTION_NT else "ordinary"


def decimal_year(date: datetime.date) -> float:
    """A day as a decimal year, at its beginning.

    >>> decimal_year(datetime.date(2025, 1, 1)), decimal_year(datetime.date(2028, 7, 1))
    (2025.0, 2028.4972677595629)
    """
    days = 366 if calendar.isleap(date.year) else 365
    return date.year + (date - datetime.date(date.year, 1, 1)).days / days


def parse_when(text: str) -> float:
    """The decimal year that a date or a decimal year stands for.

    >>> parse_when("2027.5"), parse_when("2026-01-01"), parse_when("1990")
    (2027.5, 2026.0, 1990.0)

    Raises
    ------
    ValueComplaint
        The text is neither.
    """
    bare = plain_digits(text.strip())
    if re.fullmatch(r"[12]\d{3}(\.\d+)?", bare, re.ASCII):
        return float(bare)
    return decimal_year(parse_date(bare))


def magnetic_field(
    model: FieldModel,
    latitude_deg: ArrayLike,
    longitude_deg: ArrayLike,
    year: ArrayLike,
    height_m: ArrayLike = 0.0,
) -> MagneticField:
    """The magnetic field at any number of points and dates.

    Parameters
    ----------
    model
        The coefficients.
    latitude_deg, longitude_deg
        On the WGS 84 ellipsoid, north and east positive; they and the rest are broadcast together.
    year
        Decimal years.
    height_m
        Above the ellipsoid; above the sea will do, a hundred metres turn no compass.

    Raises
    ------
    ValueComplaint
        A date lies outside the model's years, or a latitude, longitude or height outside the Earth's.

    References
    ----------
    The US/UK World Magnetic Model for 2025-2030, technical report (2024), section 1.2.
    """
    latitude, longitude, when, height = np.broadcast_arrays(
        *(np.asarray(given, dtype=np.float64) for given in (latitude_deg, longitude_deg, year, height_m))
    )
    _refuse_years(model, when)
    _refuse_outside(latitude, -90.0, 90.0, "latitude", "degrees")
    _refuse_outside(longitude, -360.0, 360.0, "longitude", "degrees")
    _refuse_outside(height, LOWEST_M, HIGHEST_M, "height", "metres")
    parts = np.empty((6, latitude.size))
    flat = [given.ravel() for given in (latitude, longitude, when, height)]
    for start in range(0, latitude.size, _POINTS_AT_ONCE):
        piece = slice(start, start + _POINTS_AT_ONCE)
        parts[:, piece] = _sweep(model, *(given[piece] for given in flat))
    return MagneticField(*parts.reshape(6, *latitude.shape))


def declination_at(
    model: FieldModel, latitude_deg: float, longitude_deg: float, year: float, height_m: float = 0.0
) -> Declination:
    """The declination at one place and date, how sure it is, and whether a compass works there.

    Raises
    ------
    ValueComplaint
        As `magnetic_field`.
    """
    field = magnetic_field(model, latitude_deg, longitude_deg, year, height_m)
    horizontal_nt = float(field.horizontal_nt)
    return Declination(
        declination_deg=float(field.declination_deg),
        declination_sd_deg=float(field.declination_sd_deg),
        annual_change_deg=float(field.annual_change_deg),
        horizontal_nt=horizontal_nt,
        inclination_deg=float(field.inclination_deg),
        north_nt=float(field.north_nt),
        east_nt=float(field.east_nt),
        down_nt=float(field.down_nt),
        total_nt=float(field.total_nt),
        compass_zone=compass_zone(horizontal_nt),
        year=float(year),
        model=model.name,
        valid_to=model.valid_to,
    )


def _sweep(model: FieldModel, latitude: Array, longitude: Array, year: Array, height: Array) -> Array:
    """North, east, down and their yearly change in the frame of the ellipsoid, shape (6, n)."""
    latitude_rad, longitude_rad = np.radians(latitude), np.radians(longitude)
    sine, cosine = np.sin(latitude_rad), np.cos(latitude_rad)
    normal_m = _MAJOR_AXIS_M / np.sqrt(1 - _ECCENTRICITY2 * sine**2)
    from_axis_m = (normal_m + height) * cosine
    from_equator_m = (normal_m * (1 - _ECCENTRICITY2) + height) * sine
    radius_m = np.hypot(from_axis_m, from_equator_m)
    sine_c, cosine_c = from_equator_m / radius_m, from_axis_m / radius_m
    at_epoch, change = field_sums(model, sine_c, cosine_c, longitude_rad, radius_m)
    # The geocentric vertical leans from the ellipsoid's by the difference of the two latitudes.
    lean_sine = sine_c * cosine - cosine_c * sine
    lean_cosine = cosine_c * cosine + sine_c * sine
    elapsed = year - model.epoch
    parts = np.empty((6, latitude.size))
    for first, (north, east, down) in ((0, at_epoch + elapsed * change), (3, change)):
        parts[first] = north * lean_cosine - down * lean_sine
        parts[first + 1] = east
        parts[first + 2] = north * lean_sine + down * lean_cosine
    return parts


def _refuse_years(model: FieldModel, year: Array) -> None:
    first, last = decimal_year(model.valid_from), decimal_year(model.valid_to)
    outside = year[~((year >= first) & (year <= last))]
    if outside.size:
        raise ValueComplaint(
            f"the date {_written_year(float(outside[0]))} lies outside the years of the magnetic model "
            f"{model.name}, {model.valid_from} to {model.valid_to}",
            "Give a date within them, or take the declination from a map and its annual change",
        )


def _written_year(year: float) -> str:
    if not math.isfinite(year):
        return str(year)
    begins = math.floor(year)
    days = (year - begins) * (366 if calendar.isleap(begins) else 365)
    # What was given as a day is said as a day: 2031-05-14, not 2031.364384.
    if begins >= 1 and round(days) and abs(days - round(days)) < 1e-6:
        return (datetime.date(begins, 1, 1) + datetime.timedelta(round(days))).isoformat()
    return f"{year:.6f}".rstrip("0").rstrip(".")


def _refuse_outside(values: Array, low: float, high: float, what: str, unit: str) -> None:
    outside = values[~((values >= low) & (values <= high))]
    if outside.size:
        raise ValueComplaint(
            f"a {what} of {outside[0]:g} {unit} is impossible here", f"Give {low:g} to {high:g}"
        )
