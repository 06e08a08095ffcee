"""MGRS: a place as zone, square and digits, and back; digits are cut, never rounded."""

from __future__ import annotations

import math
import re
from typing import Final

import numpy as np

from pacewright.core.plausible import plain_digits
from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid import (
    BANDS,
    GridPoint,
    GridZone,
    Hemisphere,
    band_latitudes,
    band_of,
    from_grid,
    to_grid,
    unproject,
    zone_longitudes,
    zone_of,
)

_SQUARE_M: Final = 100_000
_CYCLE_M: Final = 2_000_000
_MICROMETRE: Final = 1e-6

_UTM_COLUMNS: Final = ("STUVWXYZ", "ABCDEFGH", "JKLMNPQR")
"""Columns from 100 km east on, by zone number modulo 3."""

_UTM_ROWS: Final = "ABCDEFGHJKLMNPQRSTUV"
_UTM_ROW_SHIFT: Final = 5
"""Rows of even zones begin with F."""

_POLAR_COLUMNS: Final = {
    "A": ("JKLPQRSTUXYZ", 800_000),
    "B": ("ABCFGHJKLPQR", 2_000_000),
    "Y": ("RSTUXYZ", 1_300_000),
    "Z": ("ABCFGHJ", 2_000_000),
}
"""Columns of each polar half, and how far east the first one begins."""

_POLAR_ROWS: Final = {"S": ("ABCDEFGHJKLMNPQRSTUVWXYZ", 800_000), "N": ("ABCDEFGHJKLMNP", 1_300_000)}

_TEXT: Final = re.compile(r"(?P<zone>\d{1,2})?(?P<letters>[A-Z]{3})(?P<digits>\d*)", re.ASCII)


def format_mgrs(latitude_deg: float, longitude_deg: float, digits: int = 5, *, spaced: bool = False) -> str:
    """Write a place as MGRS: the square it lies in, its digits cut and never rounded.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The place.
    digits
        Digits each way: 5 for a square of 1 m, 0 for one of 100 km.
    spaced
        Put blanks between zone, square and digits.

    Raises
    ------
    ValueComplaint
        There is no such place, or no such number of digits.

    References
    ----------
    United States National Grid, FGDC-STD-011-2001 (digits are truncated). The Universal Grids, DMA TM
    8358.1 (1990), the letters of the squares (from memory; compared with GeographicLib's GeoConvert).

    Examples
    --------
    >>> format_mgrs(37.4521, -119.2984), format_mgrs(37.4521, -119.2984, 2, spaced=True)
    ('11SKB9670047507', '11S KB 96 47')
    """
    if not 0 <= digits <= 5:
        raise ValueComplaint(f"{digits} is not a number of digits of MGRS", "Ask for 0 to 5 each way")
    zone = zone_of(latitude_deg, longitude_deg)
    point = to_grid(latitude_deg, longitude_deg, zone)
    # What was a whole metre before it went through degrees stays one: a micrometre is no rounding.
    east, north = math.floor(point.east_m + _MICROMETRE), math.floor(point.north_m + _MICROMETRE)
    if zone.is_polar:
        place, letters = _polar_letters(zone, east, north)
    else:
        band = band_of(latitude_deg)
        if zone.hemisphere == "S":
            # The equator itself belongs to the north, and a hair below it rounds onto it: the last
            # southern metre, in the last southern band, is meant.
            north, band = min(north, 9_999_999), min(band, "M")
        place, letters = f"{zone.number:02d}{band}", _utm_letters(zone, east, north)
    parts = [place, letters]
    parts += [f"{value % _SQUARE_M:05d}"[:digits] for value in (east, north) if digits]
    return (" " if spaced else "").join(parts)


def looks_like_mgrs(text: str) -> bool:
    """Whether a text, blanks left out, is laid out as MGRS, possible square or not."""
    return _TEXT.fullmatch(_packed(text)) is not None


def parse_mgrs(text: str) -> tuple[GridPoint, float, float, float]:
    """The middle of the square that an MGRS text names.

    Parameters
    ----------
    text
        Such as `11SKB9670047507` or `11S KB 96 47`.

    Returns
    -------
    point, side_m, latitude_deg, longitude_deg
        The middle of the square on its grid, the square's side, and where the middle lies.

    Raises
    ------
    ValueComplaint
        There is no such square on the Earth, or the digits do not pair.
    """
    text = plain_digits(text)
    match = _TEXT.fullmatch(_packed(text))
    if match is None:
        raise ValueComplaint(f"{text[:40]} is not MGRS", "Write it as 11S KB 96700 47507")
    digits, letters = match["digits"], match["letters"]
    groups = re.findall(r"\d+", re.sub(r"^\s*\d{1,2}", "", text), re.ASCII)
    if len(groups) > 2 or (len(groups) == 2 and len(groups[0]) != len(groups[1])):
        raise ValueComplaint(
            f"the digits of {text[:40].strip()} are not two equal halves",
            "Write as many digits east as north, with the zeros in front",
        )
    half, odd = divmod(len(digits), 2)
    if odd or half > 5:
        raise ValueComplaint(
            f"{text[:40]} has {len(digits)} digits after its letters, which do not make two equal halves"
            if odd
            else f"{text[:40]} has more digits than MGRS knows",
            "Write as many digits east as north, at most 5 each",
        )
    side = 10 ** (5 - half)
    within_east, within_north = (int(digits[:half] or 0) * side, int(digits[half:] or 0) * side)
    zone, east, north = _square_corner(match["zone"], letters, text)
    point = GridPoint(zone, east + within_east + side / 2, north + within_north + side / 2)
    return (point, float(side), *from_grid(point))


def _square_corner(zone_text: str | None, letters: str, text: str) -> tuple[GridZone, int, int]:
    band = letters[0]
    if zone_text is None:
        if band not in _POLAR_COLUMNS:
            raise _impossible(text, "a square outside the polar grids begins with the number of its zone")
        return _polar_corner(letters, text)
    number = int(zone_text)
    if not 1 <= number <= 60:
        raise _impossible(text, f"zones run from 1 to 60, not {number}")
    if band not in BANDS:
        raise _impossible(text, f"{band} is not a latitude band, which are C to X without I and O")
    if zone_longitudes(number, band) is None:
        raise _impossible(text, f"zone {number} does not reach band {band}, its neighbours are widened there")
    return _utm_corner(number, letters, text)


def _utm_corner(number: int, letters: str, text: str) -> tuple[GridZone, int, int]:
    band, column, row = tuple(letters)
    columns = _UTM_COLUMNS[number % 3]
    if column not in columns:
        raise _impossible(text, f"zone {number} has the columns {columns[0]} to {columns[-1]}, not {column}")
    if row not in _UTM_ROWS:
        raise _impossible(text, f"{row} is not the letter of a row, which are A to V without I and O")
    hemisphere: Hemisphere = "N" if band >= "N" else "S"
    zone = GridZone(number, hemisphere)
    east = _SQUARE_M * (columns.index(column) + 1)
    shift = 0 if number % 2 else _UTM_ROW_SHIFT
    north = _SQUARE_M * ((_UTM_ROWS.index(row) - shift) % len(_UTM_ROWS))
    for north_of_row in range(north, 10_000_000, _CYCLE_M):
        if _touches(zone, band, east, north_of_row):
            return zone, east, north_of_row
    raise _impossible(text, f"the square {column}{row} does not touch {number}{band}")


def _touches(zone: GridZone, band: str, east: int, north: int) -> bool:
    """Whether a square of 100 km has ground in a zone and band.

    Two patches with nearly straight sides meet where one has a corner in the other or their sides
    cross: the square's rim is walked at every kilometre, and the zone's corners are looked up.
    """
    south_deg, north_deg = band_latitudes(band)
    edges = zone_longitudes(zone.number, band)
    assert edges is not None, "only zones that are there have squares"
    middle_south, middle_north = _northing(zone, south_deg), _northing(zone, north_deg)
    # Parallels bend towards the pole away from the middle of a zone, by less than this.
    if north > max(middle_south, middle_north) + 200_000 or north + 300_000 < min(middle_south, middle_north):
        return False
    if _has_ground(zone, east, north, (south_deg, north_deg), edges):
        return True
    for latitude in (south_deg, north_deg - 1e-9):
        for longitude in (edges[0], edges[1] - 1e-9):
            corner = to_grid(latitude, longitude, zone)
            if 0 <= corner.east_m - east < _SQUARE_M and 0 <= corner.north_m - north < _SQUARE_M:
                return True
    return False


def _has_ground(
    zone: GridZone, east: int, north: int, latitudes: tuple[float, float], longitudes: tuple[float, float]
) -> bool:
    # A millimetre inside, or a square that only leans on the zone's edge would count.
    step = np.append(np.arange(0.001, _SQUARE_M, 1000.0), _SQUARE_M - 0.001)
    near, far = np.full_like(step, step[0]), np.full_like(step, step[-1])
    rim_east = np.concatenate([step, step, near, far])
    rim_north = np.concatenate([near, far, step, step])
    found_latitude, found_longitude = unproject(zone, east + rim_east, north + rim_north)
    inside = (found_latitude >= latitudes[0]) & (found_latitude < latitudes[1])
    inside &= (found_longitude >= longitudes[0]) & (found_longitude < longitudes[1])
    return bool(inside.any())


def _northing(zone: GridZone, latitude_deg: float) -> float:
    return to_grid(latitude_deg, zone.central_deg, zone).north_m


def _polar_corner(letters: str, text: str) -> tuple[GridZone, int, int]:
    half, column, row = tuple(letters)
    zone = GridZone(0, "S" if half in "AB" else "N")
    columns, first_east = _POLAR_COLUMNS[half]
    rows, first_north = _POLAR_ROWS[zone.hemisphere]
    if column not in columns or row not in rows:
        raise _impossible(text, f"the polar grid has no square {column}{row} in {half}")
    east = first_east + _SQUARE_M * columns.index(column)
    north = first_north + _SQUARE_M * rows.index(row)
    nearest = math.hypot(*(max(low - 2_000_000, 0, 2_000_000 - low - _SQUARE_M) for low in (east, north)))
    limit_deg = 80.0 if zone.hemisphere == "S" else 84.0
    edge = to_grid(-limit_deg if zone.hemisphere == "S" else limit_deg, 0.0, zone)
    if nearest > abs(edge.north_m - 2_000_000):
        raise _impossible(text, f"the square {column}{row} lies outside the polar grid")
    return zone, east, north


def _polar_letters(zone: GridZone, east: int, north: int) -> tuple[str, str]:
    south = zone.hemisphere == "S"
    eastern = east >= 2_000_000
    half = ("B" if eastern else "A") if south else ("Z" if eastern else "Y")
    columns, first_east = _POLAR_COLUMNS[half]
    rows, first_north = _POLAR_ROWS[zone.hemisphere]
    return half, columns[(east - first_east) // _SQUARE_M] + rows[(north - first_north) // _SQUARE_M]


def _utm_letters(zone: GridZone, east: int, north: int) -> str:
    column = _UTM_COLUMNS[zone.number % 3][east // _SQUARE_M - 1]
    shift = 0 if zone.number % 2 else _UTM_ROW_SHIFT
    return column + _UTM_ROWS[(north // _SQUARE_M + shift) % len(_UTM_ROWS)]


def _packed(text: str) -> str:
    return "".join(text.split()).upper()


def _impossible(text: str, why: str) -> ValueComplaint:
    return ValueComplaint(
        f"{text[:40].strip()} names no square on the Earth: {why}", "Check its letters and digits"
    )
