"""The heading of a travel log: who, when, which north, which unit, and what is known beforehand."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Final, Literal

import numpy as np

from pacewright.core.compass import FULL_CIRCLE, AzimuthReference, AzimuthUnit, plain_marks
from pacewright.core.plausible import decimal_point
from pacewright.core.written_dates import parse_date
from pacewright.core.written_lengths import UNITS_M
from pacewright.exceptions import Complaint, FormatComplaint, ValueComplaint, raise_together

CountUnit = Literal["paces", "steps", "metres"]

HEADING_KEYS: Final = ("title", "walker", "date", "azimuth", "count", "start", "declination", "known")
COUNT_UNITS: Final[tuple[CountUnit, ...]] = ("paces", "steps", "metres")
REFERENCES: Final[tuple[AzimuthReference, ...]] = ("magnetic", "true", "grid")
DEFAULT_KNOWN_SD_M: Final = 10.0
"""A known point with no stated uncertainty: read off a map by hand, common practice."""

EXACT_SD_M: Final = 0.01
"""What `+-0` stands for: a place that is exact is known to a centimetre, which keeps the sums finite."""

FARTHEST_LOCAL_M: Final = 1_000_000.0


@dataclass(frozen=True, slots=True)
class KnownPoint:
    """A named place whose position is known beforehand.

    Attributes
    ----------
    name
        As in `[at NAME]`, `[see NAME]` or the start.
    place
        The place as written: latitude longitude, MGRS, UTM, or `local EAST NORTH`.
    sd_m
        Standard deviation of each coordinate, in metres.
    local_m
        East and north in metres from the log's start along its own azimuth reference, where the place
        is given that way; else None, and only a map can tell.
    """

    name: str
    place: str
    sd_m: float
    local_m: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Heading:
    """What the heading of a log says.

    `assumed` names what it left out and what was taken instead; `unread_date` is a date that stands for no
    day, or for one of two, as written: then there is no `date`.
    """

    title: str = ""
    walker: str = ""
    date: datetime.date | None = None
    azimuth_reference: AzimuthReference = "magnetic"
    azimuth_unit: AzimuthUnit = "degrees"
    count_unit: CountUnit = "paces"
    start: str | None = None
    declination_deg: float | None = None
    known: tuple[KnownPoint, ...] = field(default=())
    unread_date: str = ""
    assumed: tuple[str, ...] = ()


def parse_heading(lines: list[tuple[int, str, str]]) -> Heading:
    """The heading that the `# key: value` lines of a log make up.

    Parameters
    ----------
    lines
        Line number, key and value of each, in order.

    Raises
    ------
    FormatComplaint
        A key is unknown or stands twice.
    ValueComplaint
        A value is none for its key.
    """
    heading, seen = Heading(), set()
    wrong: list[Complaint] = []
    for line, key, value in lines:
        word = key.strip().lower()
        if word not in HEADING_KEYS:
            unknown = FormatComplaint(
                f"{key.strip()[:40]} is not a heading of a travel log",
                f"The known ones are {', '.join(HEADING_KEYS)}; a heading without a colon is prose",
            )
            wrong.append(unknown.at(line=line))
            continue
        if word in seen and word != "known":
            twice = FormatComplaint(f"the heading {word} stands twice", "Keep one of them")
            wrong.append(twice.at(line=line))
            continue
        seen.add(word)
        try:
            heading = _SETTERS[word](heading, " ".join(value.split()))
        except (FormatComplaint, ValueComplaint) as complaint:
            wrong.append(complaint.at(line=line, column=f"heading {word}"))
    raise_together(wrong)
    assumed = [f"{key}: {text}" for key, text in _ASSUMED.items() if key not in seen]
    return replace(heading, assumed=tuple(assumed))


_ASSUMED: Final = {"azimuth": "magnetic degrees", "count": "paces"}


def _title(heading: Heading, value: str) -> Heading:
    return replace(heading, title=value)


def _walker(heading: Heading, value: str) -> Heading:
    return replace(heading, walker=value)


def _start(heading: Heading, value: str) -> Heading:
    return replace(heading, start=value or None)


def _date(heading: Heading, value: str) -> Heading:
    if not value:
        return heading
    try:
        return replace(heading, date=parse_date(value))
    except ValueComplaint:
        # Most answers need no date: it is asked about, and nothing is withheld.
        return replace(heading, unread_date=value)


def _azimuth(heading: Heading, value: str) -> Heading:
    words = value.lower().split()
    reference = [w for w in REFERENCES if w in words]
    unit: list[AzimuthUnit] = [w for w in ("degrees", "mils", "gon") if w in words]
    if len(reference) != 1 or len(unit) != 1 or len(words) != 2:
        raise ValueComplaint(
            f"{value[:40] or 'nothing'} does not say how azimuths were read",
            f"Write {', '.join(REFERENCES)} and then {', '.join(FULL_CIRCLE)}, such as magnetic degrees",
        )
    return replace(heading, azimuth_reference=reference[0], azimuth_unit=unit[0])


def _count(heading: Heading, value: str) -> Heading:
    word = value.lower()
    for unit in COUNT_UNITS:
        if word == unit:
            return replace(heading, count_unit=unit)
    raise ValueComplaint(
        f"{value[:40] or 'nothing'} does not say what was counted",
        "Write one of paces (a pace is two steps), steps, metres",
    )


_LONGEST_DECLINATION: Final = 500
_DECLINATION: Final = re.compile(
    r"(?P<deg>\d{1,3}(?:\.\d+)?)\s*°?\s*(?:(?P<min>\d{1,2}(?:\.\d+)?)\s*['′]\s*)?(?:(?P<sec>\d{1,2}(?:\.\d+)?)\s*[\"″])?\s*(?P<side>[EW])?",
    re.IGNORECASE,
)


def parse_declination(text: str) -> float:
    """A declination in degrees, east positive.

    >>> parse_declination("5.5 E"), parse_declination("3°30' W"), parse_declination("0")
    (5.5, -3.5, 0.0)

    Raises
    ------
    ValueComplaint
        No side is named, or the number is out of range.
    """
    # Blanks in a row are one: the pattern's own would be tried in every way, for minutes.
    bare = " ".join(text.split())
    plain = decimal_point(plain_marks(bare)) if len(bare) <= _LONGEST_DECLINATION else ""
    match = _DECLINATION.fullmatch(plain)
    minutes, seconds = (float(match[part] or 0) if match else 0.0 for part in ("min", "sec"))
    degrees = float(match["deg"]) + minutes / 60 + seconds / 3600 if match else math.nan
    if match is None or degrees > 180 or max(minutes, seconds) >= 60 or (degrees and not match["side"]):
        raise ValueComplaint(
            f"{bare[:40] or 'nothing'} is not a declination",
            "Write degrees and the side, such as 5.5 E or 3°30' W",
        )
    return -degrees if (match["side"] or "E").upper() == "W" and degrees else degrees


def _declination(heading: Heading, value: str) -> Heading:
    return replace(heading, declination_deg=parse_declination(value))


_LOCAL: Final = re.compile(
    r"local\s+(-?\d+(?:\.\d+)?)\s*(m|ft|yd|ch)?\s+(-?\d+(?:\.\d+)?)\s*(m|ft|yd|ch)?", re.IGNORECASE
)
_PLUS_MINUS_SIGN: Final = re.compile(r"\+-|\+/-|±")
_PLUS_MINUS: Final = re.compile(
    r"(?P<place>.*?)\s*(?:\+-|\+/-|±)\s*(?P<sd>\d+(?:[.,]\d+)?)\s*(?P<unit>m|ft|yd|ch)", re.IGNORECASE
)


def _known(heading: Heading, value: str) -> Heading:
    name, equals, rest = (part.strip() for part in value.partition("="))
    match = _PLUS_MINUS.fullmatch(rest)
    place, sd_m = (
        (match["place"], _metres(match["sd"], match["unit"])) if match else (rest, DEFAULT_KNOWN_SD_M)
    )
    if not (name and equals and place) or _PLUS_MINUS_SIGN.search(place):
        raise FormatComplaint(
            f"{value[:60] or 'nothing'} does not name a known place",
            "Write NAME = PLACE +-10 m, PLACE being latitude longitude, MGRS, UTM, or local EAST NORTH",
        )
    if not sd_m < 100_000:
        raise ValueComplaint(f"+-{sd_m:g} m is not an uncertainty", "Write less than 100 km")
    if any(point.name == name for point in heading.known):
        raise FormatComplaint(f"{name} is given as a known place twice", "Keep one of them")
    local = _LOCAL.fullmatch(decimal_point(place))
    if local is None and place.lower().startswith("local"):
        raise ValueComplaint(
            f"{place[:40]} is not a local place", "Write local EAST NORTH in metres, such as local 120 -45"
        )
    local_m = (_metres(local[1], local[2]), _metres(local[3], local[4])) if local else None
    if local_m and max(map(abs, local_m)) > FARTHEST_LOCAL_M:
        raise ValueComplaint(
            f"{place[:40]} is farther than anyone walks", "Write local EAST NORTH in metres from the start"
        )
    return replace(heading, known=(*heading.known, KnownPoint(name, place, sd_m or EXACT_SD_M, local_m)))


def _metres(number: str, unit: str | None) -> float:
    metres, number = UNITS_M[(unit or "m").lower()], number.replace(",", ".")
    return float(number) if metres == 1.0 else round(float(number) * metres, 9)


_SETTERS: Final[dict[str, Callable[[Heading, str], Heading]]] = {
    "title": _title,
    "walker": _walker,
    "date": _date,
    "azimuth": _azimuth,
    "count": _count,
    "start": _start,
    "declination": _declination,
    "known": _known,
}


def format_heading(heading: Heading) -> list[str]:
    """Write a heading as `key: value` texts, in the order of a notebook page.

    `parse_heading` reads the same heading back, but for what was assumed, which is now written.
    """
    lines = [("title", heading.title), ("walker", heading.walker)]
    lines.append(("date", heading.date.isoformat() if heading.date else heading.unread_date))
    lines.append(("azimuth", f"{heading.azimuth_reference} {heading.azimuth_unit}"))
    lines.append(("count", heading.count_unit))
    lines.append(("start", heading.start or ""))
    if heading.declination_deg is not None:
        side = "W" if heading.declination_deg < 0 else "E"
        lines.append(("declination", f"{_exact(abs(heading.declination_deg))} {side}"))
    for point in heading.known:
        lines.append(("known", f"{point.name} = {point.place} +-{_exact(point.sd_m)} m"))
    return [f"{key}: {value}" for key, value in lines if value]


def _exact(number: float) -> str:
    # No exponent, and no digit lost on the way back.
    return np.format_float_positional(number, trim="-")
