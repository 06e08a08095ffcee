"""Azimuths: units, points, back azimuth, differences, mean and scatter on the circle.

Inside the tool an azimuth is in degrees clockwise from its north, 0 <= azimuth < 360.
"""

from __future__ import annotations

import math
import re
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.plausible import decimal_point
from pacewright.exceptions import ValueComplaint

AzimuthUnit = Literal["degrees", "mils", "gon"]
AzimuthReference = Literal["magnetic", "true", "grid"]

FULL_CIRCLE: Final[dict[str, int]] = {"degrees": 360, "mils": 6400, "gon": 400}
"""Units in a full circle; the mil is the 6400 one (FM 21-26 ch. 6: 17.78 mils a degree)."""

_POINTS: Final = [
    "N",
    "NNE",
    "NE",
    "ENE",
    "E",
    "ESE",
    "SE",
    "SSE",
    "S",
    "SSW",
    "SW",
    "WSW",
    "W",
    "WNW",
    "NW",
    "NNW",
]
POINT_DEG: Final[dict[str, float]] = {name: 22.5 * i for i, name in enumerate(_POINTS)}
"""The sixteen points of the compass, in degrees from north."""

_LONGEST_READING: Final = 60
"""Longer is no azimuth, and would keep the patterns below busy for minutes."""
_NUMBER: Final = re.compile(r"\d+(?:\.\d*)?|\.\d+")
_SEXAGESIMAL: Final = re.compile(
    r"(?P<deg>\d+(?:\.\d+)?)\s*°?\s*(?:(?P<min>\d+(?:\.\d+)?)\s*['′]\s*)?(?:(?P<sec>\d+(?:\.\d+)?)\s*(?:\"|″|'')\s*)?"
)
_MARKS: Final = str.maketrans({"º": "°", "˚": "°", "’": "'", "‘": "'", "”": '"', "“": '"'})
_DASHED_ANGLE: Final = re.compile(r"(\D*)(\d{1,3})\s*[-–]\s*(\d{1,2})(?:\s*[-–]\s*(\d{1,2}(?:\.\d+)?))?(\D*)")
_QUADRANT: Final = re.compile(r"(?P<ns>[NS])\s*(?P<angle>[\d.][^EW]*?)\s*(?P<ew>[EW])", re.IGNORECASE)


def normal_azimuth(azimuth_deg: float) -> float:
    """The same direction as a number from 0 up to, but not including, 360.

    >>> normal_azimuth(360), normal_azimuth(-90), normal_azimuth(-1e-20)
    (0.0, 270.0, 0.0)
    """
    turned = math.fmod(azimuth_deg, 360.0)
    if turned < 0:
        turned += 360.0
    # -1e-20 + 360 rounds to 360 itself; -0.0 is no azimuth either.
    return 0.0 if turned >= 360.0 or turned == 0 else turned


def back_azimuth(azimuth_deg: float) -> float:
    """The direction from the far end: half a circle round.

    >>> back_azimuth(305), back_azimuth(180), back_azimuth(360)
    (125.0, 0.0, 180.0)
    """
    return normal_azimuth(normal_azimuth(azimuth_deg) + 180.0)


def turn_deg(from_deg: float, to_deg: float) -> float:
    """The turn from one azimuth to another, clockwise positive, above -180 up to 180.

    >>> turn_deg(350, 10), turn_deg(10, 350), turn_deg(0, 180), turn_deg(90, 270)
    (20.0, -20.0, 180.0, 180.0)
    """
    turned = normal_azimuth(to_deg - from_deg)
    return turned - 360.0 if turned > 180.0 else turned


def unit_vectors(azimuth_deg: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The east and north parts of one unit along each azimuth, exact at every quarter circle.

    Parameters
    ----------
    azimuth_deg
        Azimuths in degrees, any shape.

    Returns
    -------
    east, north
        Arrays of the same shape, from -1 to 1; an azimuth of 90 gives 1 and 0, not 6e-17.
    """
    azimuth = np.asarray(azimuth_deg, dtype=np.float64)
    quarter = np.rint(azimuth / 90.0)
    rest_rad = np.deg2rad(azimuth - 90.0 * quarter)
    sine, cosine = np.sin(rest_rad), np.cos(rest_rad)
    turn = quarter.astype(np.int64) % 4
    # + 0.0 turns a negative zero into zero, so that "north 0" never prints as "-0".
    east = np.choose(turn, [sine, cosine, -sine, -cosine]) + 0.0
    north = np.choose(turn, [cosine, -sine, -cosine, sine]) + 0.0
    return east, north


def direction_deg(east: float, north: float) -> float:
    """The azimuth of a displacement, exact along the four cardinal directions.

    >>> direction_deg(0, 5), direction_deg(5, 0), direction_deg(0, -5), direction_deg(-5, 0)
    (0.0, 90.0, 180.0, 270.0)
    """
    return normal_azimuth(math.degrees(math.atan2(east, north)))


def to_degrees(value: float, unit: AzimuthUnit) -> float:
    """Turn a reading in `unit` into degrees, exact at every quarter circle."""
    return value if unit == "degrees" else value * 360.0 / FULL_CIRCLE[unit]


def from_degrees(azimuth_deg: float, unit: AzimuthUnit) -> float:
    """Turn degrees into a reading in `unit`, exact at every quarter circle."""
    return azimuth_deg if unit == "degrees" else azimuth_deg * FULL_CIRCLE[unit] / 360.0


def plain_marks(text: str) -> str:
    """The angle with straight marks: curly ones made straight, dashes made degrees, minutes and seconds.

    >>> plain_marks("226-54-23"), plain_marks("S68–05W"), plain_marks("226°54’23”")
    ('226°54\\'23"', "S68°05'W", '226°54\\'23"')
    """
    straight = text.translate(_MARKS)
    dashed = _DASHED_ANGLE.fullmatch(straight)
    if dashed is None:
        return straight
    seconds = f'{dashed[4]}"' if dashed[4] else ""
    return f"{dashed[1]}{dashed[2]}°{dashed[3]}'{seconds}{dashed[5]}"


def parse_azimuth(text: str, unit: AzimuthUnit = "degrees") -> float:
    """The azimuth that a reading stands for, in degrees.

    Parameters
    ----------
    text
        A number in `unit` from 0 to the full circle (the full circle is north again), a point of
        the compass (`NE`), or a quadrant bearing, always in degrees (`S40W`, `S68°05'35"W`).
        Degrees may carry minutes and seconds (`226°54'23"`, `226-54-23`), with straight or curly marks.
    unit
        `degrees`, `mils` or `gon`.

    Returns
    -------
    float
        Degrees, from 0 up to, but not including, 360.

    Raises
    ------
    ValueComplaint
        The text is no azimuth in that unit.

    References
    ----------
    Quadrant bearings: common practice of surveyors (NAVEDTRA 14069, ch. 13).

    Examples
    --------
    >>> parse_azimuth("305"), parse_azimuth("S40W"), parse_azimuth("NE"), parse_azimuth("1600", "mils")
    (305.0, 220.0, 45.0, 90.0)
    """
    bare = text.strip()
    if len(bare) > _LONGEST_READING:
        raise _no_azimuth(bare, unit)
    bare = decimal_point(plain_marks(bare))
    if _NUMBER.fullmatch(bare):
        return _bounded(float(bare), bare, unit)
    point = POINT_DEG.get(bare.upper())
    if point is not None:
        return point
    if quadrant := _QUADRANT.fullmatch(bare):
        return _quadrant_azimuth(quadrant, bare)
    if unit == "degrees" and (angle_deg := _sexagesimal_deg(bare)) is not None:
        return _bounded(angle_deg, bare, unit)
    raise _no_azimuth(bare, unit)


def _bounded(value: float, text: str, unit: AzimuthUnit) -> float:
    full = FULL_CIRCLE[unit]
    if not 0 <= value <= full:
        raise _no_azimuth(text, unit)
    return 0.0 if value == full else to_degrees(value, unit)


def _no_azimuth(text: str, unit: AzimuthUnit) -> ValueComplaint:
    shown = text if len(text) <= 40 else text[:37] + "..."
    return ValueComplaint(
        f"{shown or 'an empty text'} is not an azimuth in {unit}",
        f"Write a number from 0 to {FULL_CIRCLE[unit]}, a point such as NE, or a bearing such as S40W",
    )


def _sexagesimal_deg(text: str) -> float | None:
    match = _SEXAGESIMAL.fullmatch(text)
    if match is None:
        return None
    minutes, seconds = float(match["min"] or 0), float(match["sec"] or 0)
    parts = [part for part in (match["deg"], match["min"], match["sec"]) if part]
    # Only the last part may be broken: 30.5 degrees and 20 minutes is two readings in one.
    if minutes >= 60 or seconds >= 60 or any("." in part for part in parts[:-1]):
        return None
    return float(match["deg"]) + minutes / 60 + seconds / 3600


def _quadrant_azimuth(match: re.Match[str], text: str) -> float:
    angle_deg = _sexagesimal_deg(match["angle"].strip())
    if angle_deg is None or angle_deg > 90:
        raise ValueComplaint(
            f"{text} is not a quadrant bearing",
            "Write N or S, an angle from 0 to 90 degrees, then E or W, such as S40W",
        )
    south, west = match["ns"].upper() == "S", match["ew"].upper() == "W"
    return normal_azimuth((180.0 if south else 0.0) + (angle_deg if south == west else -angle_deg))


def format_azimuth(azimuth_deg: float, unit: AzimuthUnit = "degrees", decimals: int = 0) -> str:
    """Write an azimuth as a reading in `unit`; what would round to the full circle is written 0.

    A half goes up, as it does in a count: compasses are read to the half degree, and 20.5 and 21.5 are
    21 and 22.

    References
    ----------
    Common practice of hand reckoning.

    >>> format_azimuth(359.7), format_azimuth(20.5), format_azimuth(45, "mils")
    ('0', '21', '800')
    """
    scale = 10**decimals
    # The ninth decimal: a half that was worked out in binary is a half all the same.
    whole = math.floor(from_degrees(normal_azimuth(azimuth_deg), unit) * scale + 0.5 + 1e-9)
    shown = f"{whole / scale:.{decimals}f}"
    return f"{0:.{decimals}f}" if float(shown) >= FULL_CIRCLE[unit] else shown


def format_dms(angle_deg: float, seconds: bool = True) -> str:
    """Write an angle in degrees, minutes and, unless left out, whole seconds; a negative one with its sign.

    >>> format_dms(226.90639), format_dms(-3.5, seconds=False), format_dms(359.99999)
    ('226°54\\'23"', "-3°30'", '360°00\\'00"')
    """
    steps = round(abs(angle_deg) * (3600 if seconds else 60))
    minutes, last = divmod(steps, 60) if seconds else (steps, 0)
    sign = "-" if angle_deg < 0 and steps else ""
    tail = f'{last:02d}"' if seconds else ""
    return f"{sign}{minutes // 60}°{minutes % 60:02d}'{tail}"


def format_quadrant(azimuth_deg: float, decimals: int = 0) -> str:
    """Write an azimuth as a quadrant bearing.

    >>> format_quadrant(220), format_quadrant(359.9, 1), format_quadrant(90)
    ('S40W', 'N0.1W', 'N90E')
    """
    azimuth = normal_azimuth(azimuth_deg)
    from_north = azimuth <= 90 or azimuth >= 270
    angle_deg = min(azimuth, 360 - azimuth) if from_north else abs(180 - azimuth)
    return f"{'N' if from_north else 'S'}{angle_deg:.{decimals}f}{'E' if azimuth <= 180 else 'W'}"


def point_of(azimuth_deg: float, points: Literal[4, 8, 16] = 8) -> str:
    """The nearest of the 4, 8 or 16 points of the compass.

    >>> point_of(305), point_of(359), point_of(200, 16)
    ('NW', 'N', 'SSW')
    """
    step = 16 // points
    nearest = math.floor(normal_azimuth(azimuth_deg) / (360.0 / points) + 0.5) % points
    return _POINTS[nearest * step]


def mean_azimuth(azimuth_deg: ArrayLike) -> float:
    """The circular mean of azimuths: the direction of the sum of their unit vectors.

    Parameters
    ----------
    azimuth_deg
        Azimuths in degrees, shape (n,), n >= 1.

    Raises
    ------
    ValueComplaint
        There are none, or they cancel (0 and 180 have no mean).

    References
    ----------
    Mardia & Jupp, Directional Statistics (2000), section 2.2 (from memory).

    Examples
    --------
    >>> round(mean_azimuth([350, 10, 30]), 9)
    10.0
    """
    east, north = _mean_vector(azimuth_deg)
    if math.hypot(east, north) < 1e-12:
        raise ValueComplaint(
            "these azimuths point every way and have no mean direction",
            "Give azimuths that lie within half a circle",
        )
    return direction_deg(east, north)


def azimuth_scatter(azimuth_deg: ArrayLike) -> float:
    """The circular standard deviation of azimuths in degrees, sqrt(-2 ln R).

    R is the length of the mean unit vector; n readings count as the whole population.

    Raises
    ------
    ValueComplaint
        There are no azimuths.

    References
    ----------
    Mardia & Jupp, Directional Statistics (2000), section 2.3 (from memory).
    """
    resultant = math.hypot(*_mean_vector(azimuth_deg))
    if resultant < 1e-12:
        return math.inf
    return math.degrees(math.sqrt(max(0.0, -2.0 * math.log(min(1.0, resultant)))))


def _mean_vector(azimuth_deg: ArrayLike) -> tuple[float, float]:
    azimuth = np.asarray(azimuth_deg, dtype=np.float64).ravel()
    if azimuth.size == 0:
        raise ValueComplaint("there are no azimuths to take a mean of", "Give at least one")
    east, north = unit_vectors(azimuth)
    return float(east.mean()), float(north.mean())
