"""A place as people type it: latitude and longitude, UTM, polar grid, MGRS, local grid."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final, Literal

from pacewright.core.plausible import decimal_point, plain_digits
from pacewright.exceptions import FormatComplaint, MissingComplaint, ValueComplaint
from pacewright.ground.any_grid import from_any_grid
from pacewright.ground.grid import (
    BANDS,
    GridPoint,
    GridZone,
    Hemisphere,
    band_latitudes,
    from_grid,
    refuse_no_place,
    signed_longitude,
    to_grid,
    unproject,
    zone_of,
)
from pacewright.ground.grid_letters import BRITISH, looks_lettered, parse_letters
from pacewright.ground.lat_lon_text import METRES_PER_DEGREE, format_lat_lon, parse_lat_lon
from pacewright.ground.local_grid import LocalGrid
from pacewright.ground.mgrs_squares import format_mgrs, looks_like_mgrs, parse_mgrs

PlaceForm = Literal["degrees", "minutes", "seconds", "utm", "polar", "mgrs", "local", "epsg", "letters"]
FORMS: Final[tuple[PlaceForm, ...]] = ("degrees", "minutes", "seconds", "utm", "polar", "mgrs", "local")

_NUMBER: Final = r"\d+(?:\.\d+)?"
_METRES: Final = (
    rf"(?:E\s*)?(?P<east>{_NUMBER})\s*(?:M?\s*E)?\s*[,\s]\s*(?:N\s*)?(?P<north>{_NUMBER})\s*(?:M?\s*N)?"
)
_UTM: Final = re.compile(
    rf"(?:UTM\s+)?(?:ZONE\s+)?(?P<zone>\d{{1,2}})\s*(?P<letter>[A-Z]|NORTH|SOUTH)[,\s]\s*{_METRES}", re.ASCII
)
_UTM_BEHIND: Final = re.compile(
    rf"(?:UTM\s+)?{_METRES}[,\s]\s*(?:ZONE\s+)?(?P<zone>\d{{1,2}})\s*(?P<letter>[A-Z]|NORTH|SOUTH)", re.ASCII
)
_POLAR: Final = re.compile(rf"(?:UPS\s+)?(?P<letter>[ABYZNS]|NORTH|SOUTH)[,\s]\s*{_METRES}", re.ASCII)
_POLAR_LEAST_DIGITS: Final = 6
_EPSG: Final = re.compile(
    r"(?P<code>EPSG:\s?\d{4,6})[,\s]\s*(?P<east>-?\d+(?:\.\d+)?)[,\s]\s*(?P<north>-?\d+(?:\.\d+)?)", re.ASCII
)
_LOCAL: Final = re.compile(r"LOCAL\s+(?P<east>-?\d+(?:\.\d+)?)[,\s]\s*(?P<north>-?\d+(?:\.\d+)?)", re.ASCII)
_METRES_COMMA: Final = re.compile(r"(?<=\d{5}),(?=\d{1,2}(?!\d))")
"""A decimal comma of metres on a grid; between the two numbers one has at least five digits behind it."""
_LONGEST: Final = 200


@dataclass(frozen=True, slots=True)
class Position:
    """A place on the Earth, as it was given.

    Attributes
    ----------
    latitude_deg, longitude_deg
        On the WGS 84 ellipsoid, north and east positive; the longitude from -180 up to 180.
    form
        How it was given.
    precision_m
        What one unit of the last digit is worth on the ground, or the side of the square named; the
        place of a square is its middle.
    zone
        The grid it was given on; None for latitude and longitude.
    remarks
        What was taken by rule in reading it, a sentence without its full stop each.
    """

    latitude_deg: float
    longitude_deg: float
    form: PlaceForm = "degrees"
    precision_m: float = 0.0
    zone: GridZone | None = None
    remarks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a place off the Earth."""
        refuse_no_place(self.latitude_deg, self.longitude_deg)


def parse_place(text: str, local_grid: LocalGrid | None = None) -> Position:
    """The place that a text stands for, in any form people type.

    Parameters
    ----------
    text
        Latitude and longitude (`37.4521 N 119.2984 W`, `37 27.13, -119 17.90`,
        `37°27'07.6"N 119°17'54.2"W`), UTM (`11N 296700 4147508`), a polar grid
        (`Z 2096454 1452981`), MGRS with or without blanks (`11S KB 96700 47507`), `local EAST NORTH` in
        metres, any other grid by its code, east first (`EPSG:27700 432100 512300`), or the letters of the
        British grid (`TQ 3004 8041`).
    local_grid
        The local grid that `local` means.

    Raises
    ------
    FormatComplaint
        The text is in none of these forms.
    ValueComplaint
        It is, and there is no such place.
    MissingComplaint
        It is local, and no local grid is given; or the library of the British letters is not installed.

    Notes
    -----
    The letter behind a UTM zone is a latitude band, or N or S for the hemisphere. N means the same
    either way. S is read as the band (32 to 40 north) where the metres north lie in that band, and as
    the southern hemisphere everywhere else. Where both could be meant a remark says so: on the
    southern reading such a place lies between 50 and 58 south, where there is next to no land.

    Examples
    --------
    >>> place = parse_place("11SKB9647")
    >>> round(place.latitude_deg, 5), round(place.longitude_deg, 5), place.precision_m
    (37.45199, -119.30066, 1000.0)
    """
    text = plain_digits(text)
    bare = " ".join(text.split()).upper()
    if len(bare) > _LONGEST:
        raise FormatComplaint("this text is too long to be a place", _HOW)
    if bare.startswith("LOCAL"):
        return _local(bare, text, local_grid)
    if bare.startswith("EPSG"):
        return _epsg(bare, text)
    pointed = _METRES_COMMA.sub(".", bare)
    if match := _UTM.fullmatch(pointed) or _UTM_BEHIND.fullmatch(pointed):
        return _utm(match, text)
    # Small numbers behind N or S are a latitude and a longitude, and short of their own letters.
    if (match := _POLAR.fullmatch(bare)) and len(match["east"].split(".")[0]) >= _POLAR_LEAST_DIGITS:
        return _polar(match)
    if looks_like_mgrs(bare):
        return _mgrs(bare)
    if looks_lettered(bare):
        return _lettered(bare)
    if re.match(r"UTM|UPS|ZONE", bare):
        raise FormatComplaint(
            f"{text[:60].strip()} is not a place on a grid",
            "Write zone, hemisphere, metres east and metres north, such as 11N 296700 4147508",
        )
    if re.fullmatch(r"\d{1,2} ?[A-Z]", bare, re.ASCII):
        raise FormatComplaint(
            f"{bare} names a zone of the grid and no place in it",
            "Add the square and its digits, such as 11SKB9647, or the metres east and north",
        )
    if not re.search(r"\d", bare, re.ASCII):
        raise FormatComplaint(f"{text[:60].strip() or 'an empty text'} is not a place", _HOW)
    found = parse_lat_lon(text)
    return Position(
        found.latitude_deg,
        signed_longitude(found.longitude_deg),
        found.form,
        found.precision_m,
        remarks=found.remarks,
    )


def _epsg(bare: str, text: str) -> Position:
    match = _EPSG.fullmatch(_METRES_COMMA.sub(".", bare))
    if match is None:
        raise FormatComplaint(
            f"{text[:60].strip()} is not a place on a grid", "Write code, metres east and metres north"
        )
    code, east, north = match["code"], match["east"], match["north"]
    latitude_deg, longitude_deg = from_any_grid(code, float(east), float(north))
    decimals = min(len(part.partition(".")[2]) for part in (east, north))
    return Position(latitude_deg, signed_longitude(longitude_deg), "epsg", 10.0**-decimals)


def _lettered(bare: str) -> Position:
    east_m, north_m, side_m = parse_letters(bare)
    latitude_deg, longitude_deg = from_any_grid(BRITISH, east_m, north_m)
    return Position(latitude_deg, signed_longitude(longitude_deg), "letters", side_m)


_HOW: Final = (
    "Write latitude and longitude (37.4521 N 119.2984 W), UTM (11N 296700 4147508), MGRS (11SKB9670047507) "
    "or local EAST NORTH"
)


def format_place(position: Position, form: PlaceForm = "degrees", local_grid: LocalGrid | None = None) -> str:
    """Write a place in another form, to about a metre; `parse_place` reads it back.

    Raises
    ------
    MissingComplaint
        It is to be local, and no local grid is given.
    ValueComplaint
        The form is unknown, or asks for UTM near a pole or a polar grid far from one.

    Examples
    --------
    >>> place = parse_place("37.4521 -119.2984")
    >>> format_place(place, "utm"), format_place(place, "mgrs"), format_place(place, "minutes")
    ('11N 296700 4147508', '11SKB9670047507', "37°27.126'N 119°17.904'W")
    """
    latitude_deg, longitude_deg = position.latitude_deg, position.longitude_deg
    if form in ("degrees", "minutes", "seconds"):
        return format_lat_lon(latitude_deg, longitude_deg, form)
    if form == "mgrs":
        return format_mgrs(latitude_deg, longitude_deg)
    if form == "local":
        if local_grid is None:
            raise _no_local_grid()
        east, north = local_grid.offsets_m(latitude_deg, longitude_deg)
        return f"local {_whole(east)} {_whole(north)}"
    if form not in ("utm", "polar"):
        raise ValueComplaint(f"{form} is not a form of a place", f"Ask for one of {', '.join(FORMS)}")
    zone = position.zone or zone_of(latitude_deg, longitude_deg)
    if zone.is_polar != (form == "polar"):
        where = "near a pole" if zone.is_polar else "far from both poles"
        raise ValueComplaint(
            f"{format_lat_lon(latitude_deg, longitude_deg)} lies {where}",
            f"Ask for {'polar' if zone.is_polar else 'utm'} or mgrs there",
        )
    point = to_grid(latitude_deg, longitude_deg, zone)
    # A bare S could be taken for the band S, so the southern hemisphere is written out.
    side = "N" if zone.hemisphere == "N" else "south" if zone.is_polar else " south"
    return f"{zone.number or ''}{side} {point.east_m:.0f} {point.north_m:.0f}"


def _whole(metres: float) -> str:
    return f"{metres:.0f}".replace("-0", "0") if abs(metres) < 0.5 else f"{metres:.0f}"


def _local(bare: str, text: str, local_grid: LocalGrid | None) -> Position:
    match = _LOCAL.fullmatch(bare) or _LOCAL.fullmatch(decimal_point(bare))
    if match is None:
        raise FormatComplaint(
            f"{text[:60].strip()} is not a local place",
            "Write local EAST NORTH in metres, such as local 120 -45",
        )
    if local_grid is None:
        raise _no_local_grid()
    latitude_deg, longitude_deg = local_grid.place(float(match["east"]), float(match["north"]))
    return Position(latitude_deg, longitude_deg, "local", _step_m(match))


def _no_local_grid() -> MissingComplaint:
    return MissingComplaint(
        "a local place needs to know where its grid begins", "Name the place where local 0 0 lies"
    )


def _utm(match: re.Match[str], text: str) -> Position:
    number, letter = int(match["zone"]), match["letter"]
    if len(letter) == 1 and letter not in BANDS:
        raise ValueComplaint(
            f"{letter} in {text[:40].strip()} is neither a hemisphere nor a latitude band",
            "Write N or S for the hemisphere, or a band from C to X without I and O",
        )
    if not 1 <= number <= 60:
        raise ValueComplaint(f"{number} is not a UTM zone", "Write a zone from 1 to 60")
    remarks: list[str] = []
    if letter == "S" and _lies_in_band_s(number, match):
        hemisphere: Hemisphere = "N"
        remarks.append(
            f"S behind the zone was read as the band S (32 to 40 north); for the southern hemisphere write "
            f"{number} south {match['east']} {match['north']}"
        )
    else:
        hemisphere = "S" if letter[0] < "N" or letter[0] == "S" else "N"
    point = GridPoint(GridZone(number, hemisphere), float(match["east"]), float(match["north"]))
    latitude_deg, longitude_deg = from_grid(point)
    if len(letter) == 1 and letter not in ("N", "S"):
        _refuse_other_band(letter, latitude_deg, match, text)
    remarks += _said_of_zone(point.zone, latitude_deg, longitude_deg)
    return Position(latitude_deg, longitude_deg, "utm", _step_m(match), point.zone, tuple(remarks))


def _lies_in_band_s(number: int, match: re.Match[str]) -> bool:
    point = GridPoint(GridZone(number, "N"), float(match["east"]), float(match["north"]))
    try:
        latitude_deg, _ = from_grid(point)
    except ValueComplaint:
        return False
    return _lies_in_band("S", latitude_deg, match)


def _lies_in_band(letter: str, latitude_deg: float, match: re.Match[str]) -> bool:
    south_deg, north_deg = band_latitudes(letter)
    # On the edge of a band a rounded number may fall on its other side.
    slack_deg = 2 * _step_m(match) / METRES_PER_DEGREE
    return south_deg - slack_deg <= latitude_deg <= north_deg + slack_deg


def _refuse_other_band(letter: str, latitude_deg: float, match: re.Match[str], text: str) -> None:
    if not _lies_in_band(letter, latitude_deg, match):
        south_deg, north_deg = band_latitudes(letter)
        raise ValueComplaint(
            f"{text[:40].strip()} is no place in the band {letter}, which holds latitudes {south_deg:.0f} to "
            f"{north_deg:.0f}: it would lie at {latitude_deg:.3f}",
            "Check the letter and the metres north",
        )


def _said_of_zone(zone: GridZone, latitude_deg: float, longitude_deg: float) -> list[str]:
    own = zone_of(latitude_deg, longitude_deg)
    if own == zone:
        return []
    return [f"this place belongs to the {own}; it was given on the {zone}, carried on beyond its edge"]


def _polar(match: re.Match[str]) -> Position:
    letter = match["letter"][0]
    hemisphere: Hemisphere = "S" if letter in "ABS" else "N"
    point = GridPoint(GridZone(0, hemisphere), float(match["east"]), float(match["north"]))
    latitude_deg, longitude_deg = from_grid(point)
    eastern = point.east_m >= 2_000_000
    if letter in "ABYZ" and (letter in "BZ") != eastern:
        raise ValueComplaint(
            f"{point.east_m:.0f} metres east does not lie in {letter}",
            "Check the letter (A and Y are west of 2000000, B and Z east of it) and the metres east",
        )
    remarks = _said_of_zone(point.zone, latitude_deg, longitude_deg)
    return Position(latitude_deg, longitude_deg, "polar", _step_m(match), point.zone, tuple(remarks))


def _mgrs(bare: str) -> Position:
    point, side_m, latitude_deg, longitude_deg = parse_mgrs(bare)
    remarks = (
        [] if _reaches_own_zone(point, side_m) else _said_of_zone(point.zone, latitude_deg, longitude_deg)
    )
    return Position(latitude_deg, longitude_deg, "mgrs", side_m, point.zone, tuple(remarks))


def _reaches_own_zone(point: GridPoint, side_m: float) -> bool:
    # A square on the edge of its zone may have its middle across it.
    half = side_m / 2
    east_m = [point.east_m + step for step in (-half, -half, half, half)]
    north_m = [point.north_m + step for step in (-half, half, -half, half)]
    corners = zip(*(part.tolist() for part in unproject(point.zone, east_m, north_m)), strict=True)
    # A corner may lie farther aside than the grid is read, and its middle and other corners not.
    return any(
        zone_of(latitude, longitude) == point.zone
        for latitude, longitude in corners
        if math.isfinite(latitude) and math.isfinite(longitude)
    )


def _step_m(match: re.Match[str]) -> float:
    decimals = max(len(match[name].partition(".")[2]) for name in ("east", "north"))
    return 10.0**-decimals
