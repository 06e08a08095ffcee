"""Latitude and longitude as people type them, and as they are written."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final, Literal

from pacewright.core.plausible import plain_digits
from pacewright.exceptions import FormatComplaint, ValueComplaint

LatLonForm = Literal["degrees", "minutes", "seconds"]

METRES_PER_DEGREE: Final = 111_320.0
"""Along a meridian, near enough to say how coarse a number is."""

_FORMS: Final[tuple[LatLonForm, ...]] = ("degrees", "minutes", "seconds")
_WORDS: Final = (
    (re.compile(r"\bNORTH\b"), "N"),
    (re.compile(r"\bSOUTH\b"), "S"),
    (re.compile(r"\bEAST\b"), "E"),
    (re.compile(r"\bWEST\b"), "W"),
    (re.compile(r"(?<=\d)\s*(?:DEGREES?|DEG|D)(?![A-Z])", re.ASCII), "°"),
    (re.compile(r"(?<=\d)\s*(?:MINUTES?|MIN|M)(?![A-Z])", re.ASCII), "'"),
    (re.compile(r"(?<=\d)\s*(?:SECONDS?|SEC)(?![A-Z])", re.ASCII), '"'),
    (re.compile(r"^LAT(?:ITUDE)?\b[\s:=]*(.*?)[\s,;]*\bLONG?(?:ITUDE)?\b[\s:=]*"), r"\1, "),
)
_LETTER: Final = re.compile(r"[NSEW](?![A-Z])")
_SIGNS: Final = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "º": "°",
        "˚": "°",
        "′": "'",
        "’": "'",
        "‘": "'",
        "″": '"',
        "”": '"',
        "“": '"',
    }
)
_COMMA_IN_NUMBER: Final = re.compile(r"(?<=\d),(?=\d)", re.ASCII)
_DASHED: Final = re.compile(
    r"(?<![\d.])(\d{1,3})-(\d{1,2}(?:\.\d+)?)(?:-(\d{1,2}(?:\.\d+)?))?(?![\d.-])", re.ASCII
)
_NUMBER: Final = r"\d+(?:\.\d*)?"
_ANGLE: Final = re.compile(
    rf"(?P<sign>[-+])?\s*(?P<deg>{_NUMBER})(?:\s*[°:]\s*|\s+|$)"
    rf"(?:(?P<min>{_NUMBER})(?:\s*[':]\s*|\s+|$))?"
    rf"(?:(?P<sec>{_NUMBER})\s*(?:\"|'')?\s*)?",
    re.ASCII,
)
_PART: Final = re.compile(r"[-+]?\s*[\d.]+\s*(?:°|:|'+|\")?", re.ASCII)
_RUN_TOGETHER: Final = re.compile(r"(?P<deg>\d{2,3})(?P<min>\d{2})(?P<sec>\d{2})?(?P<rest>\.\d+)?", re.ASCII)
_HOW: Final = (
    "Write latitude, then longitude, such as 37.4521 N 119.2984 W or 37°27.1'N 119°17.9'W or 37.4521 "
    "-119.2984"
)


@dataclass(frozen=True, slots=True)
class LatLon:
    """A latitude and longitude as typed: degrees, the form, and how coarse the last digit is."""

    latitude_deg: float
    longitude_deg: float
    form: LatLonForm
    precision_m: float
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Angle:
    degrees: float
    form: LatLonForm
    step_deg: float


def parse_lat_lon(text: str) -> LatLon:
    """The place that a latitude and longitude in any common form stand for.

    Decimal degrees, degrees and minutes, degrees, minutes and seconds; signed, or with N, S, E, W
    before or behind; parted by a comma or blanks. Latitude comes first unless letters say otherwise.

    Raises
    ------
    FormatComplaint
        The text is not two angles.
    ValueComplaint
        It is, and they are no place on the Earth; a swapped pair is named as such.

    Examples
    --------
    >>> place = parse_lat_lon("37°27.0'N, 119°18.0'W")
    >>> place.latitude_deg, place.longitude_deg, place.form, round(place.precision_m)
    (37.45, -119.3, 'minutes', 186)
    """
    bare = " ".join(plain_digits(text).translate(_SIGNS).upper().split())
    for word, short in _WORDS:
        bare = word.sub(short, bare)
    remarks: tuple[str, ...] = ()
    if _has_decimal_commas(bare):
        bare = _COMMA_IN_NUMBER.sub(".", bare)
        remarks = ("the commas were read as decimal points",)
    if _LETTER.search(bare):
        bare = _DASHED.sub(_with_marks, bare)
    (first, first_letter), (second, second_letter) = _two_halves(bare, text)
    swapped = first_letter in ("E", "W")
    if swapped:
        first, first_letter, second, second_letter = second, second_letter, first, first_letter
    if first_letter and (first_letter not in ("N", "S") or second_letter not in ("E", "W")):
        raise FormatComplaint(f"{_shown(text)} does not hold one latitude and one longitude", _HOW)
    latitude = _angle(first, first_letter, "latitude", text)
    longitude = _angle(second, second_letter, "longitude", text)
    _refuse_off_earth(latitude.degrees, longitude.degrees, bool(first_letter), text)
    form = max(latitude.form, longitude.form, key=_FORMS.index)
    step_deg = max(latitude.step_deg, longitude.step_deg)
    return LatLon(latitude.degrees, longitude.degrees, form, step_deg * METRES_PER_DEGREE, remarks)


def format_lat_lon(
    latitude_deg: float, longitude_deg: float, form: LatLonForm = "degrees", decimals: int | None = None
) -> str:
    """Write a latitude and longitude in degrees, in degrees and minutes, or in seconds as well.

    Parameters
    ----------
    latitude_deg, longitude_deg
        The place.
    form
        `degrees`, `minutes` or `seconds`.
    decimals
        Of the last part; unasked as many as come to about a metre (5, 3, 1).

    Examples
    --------
    >>> format_lat_lon(37.4521, -119.2984), format_lat_lon(37.4521, -119.2984, "minutes", 1)
    ('37.45210 N 119.29840 W', "37°27.1'N 119°17.9'W")
    >>> format_lat_lon(59.9999999, 5.5, "seconds")
    '60°00\\'00.0"N 5°30\\'00.0"E'
    """
    if decimals is None:
        decimals = {"degrees": 5, "minutes": 3, "seconds": 1}[form]
    sides = ("N" if latitude_deg >= 0 else "S", "E" if longitude_deg >= 0 else "W")
    written = (_written(abs(value), form, decimals) for value in (latitude_deg, longitude_deg))
    blank = " " if form == "degrees" else ""
    return " ".join(f"{angle}{blank}{side}" for angle, side in zip(written, sides, strict=True))


def _written(size_deg: float, form: LatLonForm, decimals: int) -> str:
    if form == "degrees":
        return f"{size_deg:.{decimals}f}"
    # Counted in the smallest step written, so that 59.9996 minutes become the next degree.
    steps = round(size_deg * (60 if form == "minutes" else 3600) * 10**decimals)
    whole, part = divmod(steps, 10**decimals)
    last = f"{whole % 60:02d}" + (f".{part:0{decimals}d}" if decimals else "")
    if form == "minutes":
        return f"{whole // 60}°{last}'"
    return f"{whole // 3600}°{whole // 60 % 60:02d}'{last}\""


def _has_decimal_commas(bare: str) -> bool:
    """Whether commas are in numbers, not between them: with letters any is, without them one in each."""
    commas = len(_COMMA_IN_NUMBER.findall(bare))
    return "." not in bare and commas > 0 and (commas == 2 or len(_LETTER.findall(bare)) == 2)


def _with_marks(dashed: re.Match[str]) -> str:
    seconds = f'{dashed[3]}"' if dashed[3] else ""
    return f"{dashed[1]}°{dashed[2]}'{seconds}"


def _two_halves(bare: str, text: str) -> tuple[tuple[str, str], tuple[str, str]]:
    """Split a text into latitude and longitude, each with its letter if it has one."""
    letters = _LETTER.findall(bare)
    if len(letters) == 1:
        raise FormatComplaint(
            f"{_shown(text)} has a letter for one of latitude and longitude only",
            "Write N or S and E or W, or neither and a minus for south and west",
        )
    if letters:
        halves = _at_letters(bare, letters)
    elif len(parts := [part.strip() for part in re.split(r"[,;]", bare)]) == 2:
        halves = [(part, "") for part in parts]
    else:
        halves = _halves_without_letters(bare)
    if len(halves) != 2 or not all(number for number, _ in halves):
        raise FormatComplaint(f"{_shown(text)} is not a latitude and a longitude", _HOW)
    return halves[0], halves[1]


def _at_letters(bare: str, letters: list[str]) -> list[tuple[str, str]]:
    leading = bare[0] in "NSEW"
    pieces = [piece.strip(" ,;") for piece in _LETTER.split(bare)]
    if len(letters) != 2 or pieces.pop(0 if leading else -1):
        return []
    return list(zip(pieces, letters, strict=False))


def _halves_without_letters(bare: str) -> list[tuple[str, str]]:
    # Every part is one number with its signs of unit; both angles have as many parts.
    tokens = _PART.findall(bare)
    if "".join("".join(tokens).split()) != "".join(bare.split()) or len(tokens) % 2 or len(tokens) > 6:
        return []
    half = len(tokens) // 2
    return [(" ".join(t.strip() for t in part), "") for part in (tokens[:half], tokens[half:])]


def _angle(written: str, letter: str, what: str, text: str) -> _Angle:
    match = _ANGLE.fullmatch(written)
    together = _RUN_TOGETHER.fullmatch(written) if letter else None
    if together and len(together["deg"]) == (2 if what == "latitude" else 3):
        sign, parts = None, [together["deg"], together["min"], together["sec"]]
        last = 2 if parts[2] else 1
        parts[last] = parts[last] + (together["rest"] or "")
    elif match:
        sign, parts = match["sign"], [match["deg"], match["min"], match["sec"]]
    else:
        raise FormatComplaint(f"{written[:40]} in {_shown(text)} is not a {what}", _HOW)
    if sign == "-" and letter:
        raise ValueComplaint(
            f"{_shown(text)} has both a minus and the letter {letter}", "Keep one of the two"
        )
    given = [part for part in parts if part]
    if any("." in part for part in given[:-1]):
        raise ValueComplaint(
            f"{written[:40]} in {_shown(text)} has a decimal point before its last part",
            "Write decimals in the last part only",
        )
    if any(float(part) >= 60 for part in given[1:]):
        raise ValueComplaint(
            f"{written[:40]} in {_shown(text)} has 60 minutes or seconds or more", "Write less than 60"
        )
    size = sum(float(part) / 60**i for i, part in enumerate(given))
    decimals = len(given[-1].partition(".")[2])
    negative = sign == "-" or letter in ("S", "W")
    return _Angle(
        degrees=-size if negative and size else size,
        form=_FORMS[len(given) - 1],
        step_deg=10.0**-decimals / 60 ** (len(given) - 1),
    )


def _refuse_off_earth(latitude_deg: float, longitude_deg: float, lettered: bool, text: str) -> None:
    if abs(latitude_deg) > 90 and abs(longitude_deg) <= 90 and abs(latitude_deg) <= 180 and not lettered:
        raise ValueComplaint(
            f"{_shown(text)} seems to have latitude and longitude swapped: {latitude_deg:g} is no latitude",
            f"Write latitude first: {longitude_deg:g} {latitude_deg:g}",
        )
    if not abs(latitude_deg) <= 90:
        raise ValueComplaint(f"{latitude_deg:g} is not a latitude", "Write -90 to 90, or 0 to 90 with N or S")
    if not (math.isfinite(longitude_deg) and -180 <= longitude_deg <= (180 if lettered else 360)):
        raise ValueComplaint(
            f"{longitude_deg:g} is not a longitude", "Write -180 to 180, or 0 to 180 with E or W"
        )


def _shown(text: str) -> str:
    bare = " ".join(text.split())
    return bare[:57] + "..." if len(bare) > 60 else bare or "an empty text"
