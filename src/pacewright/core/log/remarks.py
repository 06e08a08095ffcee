"""The bracketed remarks: what each means, read from text.

Remarks stand in square brackets in the notes of a row; all else in the notes is prose.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from pacewright.core.compass import AzimuthUnit, parse_azimuth, plain_marks
from pacewright.core.log.doubted_numbers import MayBe, parse_doubt
from pacewright.core.log.meant_remarks import find_meant
from pacewright.core.pace.scatter import DEFAULT_ESTIMATE_SD_PCT
from pacewright.core.pace.walker import Slope
from pacewright.exceptions import Complaint, FormatComplaint, ValueComplaint, raise_together

Side = Literal["right", "left"]
Lie = Literal["ridge", "valley", "slope", "stream"]


@dataclass(frozen=True, slots=True)
class At:
    """The leg ends at a marker of this name."""

    name: str


@dataclass(frozen=True, slots=True)
class See:
    """The row is a bearing to something of this name, from the station just reached."""

    name: str


@dataclass(frozen=True, slots=True)
class BackReading:
    """The reading taken backward along the leg from its end, in degrees."""

    azimuth_deg: float
    text: str


@dataclass(frozen=True, slots=True)
class Box:
    """An obstacle boxed: `offset` out to one side and as much back, in the log's count."""

    side: Side
    offset: float
    text: str


@dataclass(frozen=True, slots=True)
class Estimated:
    """The length was estimated, not counted; `sd_pct` is its scatter in per cent."""

    sd_pct: float
    text: str | None = None


@dataclass(frozen=True, slots=True)
class Ground:
    """The leg crosses this class of the walker's pace table."""

    name: str


@dataclass(frozen=True, slots=True)
class LegSlope:
    """The lie of the leg in the direction of walking."""

    slope: Slope


@dataclass(frozen=True, slots=True)
class CrossStream:
    """The leg crosses a stream."""


@dataclass(frozen=True, slots=True)
class NoStream:
    """The leg crosses no stream."""


@dataclass(frozen=True, slots=True)
class StationOn:
    """The station lies on a ridge, in a valley, on the side of a slope, or on a stream."""

    feature: Lie


@dataclass(frozen=True, slots=True)
class Faces:
    """The ground at the station falls toward this azimuth, in degrees."""

    azimuth_deg: float
    text: str


@dataclass(frozen=True, slots=True)
class Flat:
    """The ground at the station faces no side: it is flat."""


@dataclass(frozen=True, slots=True)
class Steepness:
    """How steep the ground is at the station, in per cent of rise."""

    slope_pct: float
    text: str


@dataclass(frozen=True, slots=True)
class Altitude:
    """The altitude of the station, in metres."""

    altitude_m: float
    text: str


@dataclass(frozen=True, slots=True)
class Time:
    """The time of day at the station, minutes after midnight."""

    minutes: int
    text: str


@dataclass(frozen=True, slots=True)
class Was:
    """What stood in the azimuth, the count or the back reading before a correction, to the letter.

    Or the marker (`at`) or the bearing with what was seen (`see`) that was struck out as a whole.
    """

    column: Literal["azimuth", "count", "back", "at", "see"]
    text: str


Remark = (
    At
    | See
    | BackReading
    | Box
    | Estimated
    | Ground
    | LegSlope
    | CrossStream
    | NoStream
    | StationOn
    | Faces
    | Flat
    | Steepness
    | Altitude
    | Time
    | Was
    | MayBe
)

KNOWN_REMARKS: Final = (
    "[at NAME] [see NAME] [back 126] [box right 40] [box left 40] [est] [est 15%] [ground brush] "
    "[up] [level] [down] [cross stream] [no stream] [on ridge] [in valley] [on slope] [on stream] "
    "[faces NE] [flat] [slope 20 %] [alt 512 m] [time 14:32] "
    "[was 52] [was 230 count] [was 90 back] [was at NAME] [was 120 see NAME] "
    "[or 58 9%] [or 388 count 12%]"
)

_BRACKET: Final = re.compile(r"\[([^\[\]]*)\]")
_NUMBER: Final = r"(\d{1,6}(?:[.,]\d{1,6})?)"
_FEET_M: Final = 0.3048
_STEEPEST_PCT: Final = 500.0


def parse_remarks(notes: str, unit: AzimuthUnit = "degrees") -> tuple[Remark, ...]:
    """The remarks that stand in a row's notes, in order.

    Parameters
    ----------
    notes
        The notes as written.
    unit
        The log's azimuth unit, in which `[back 126]` is read.

    Raises
    ------
    FormatComplaint
        A bracket is not closed or holds no known remark.
    ValueComplaint
        A remark's value cannot be (an hour of 25).

    Examples
    --------
    >>> parse_remarks("[box right 40] pond; [down]")
    (Box(side='right', offset=40.0, text='40'), LegSlope(slope='down'))
    """
    if "[" not in notes:
        return ()
    found = []
    wrong: list[Complaint] = []
    for match in _BRACKET.finditer(notes):
        try:
            found.append(_parse_one(match[1], unit))
        except Complaint as complaint:
            wrong.append(complaint)
    raise_together(wrong)
    if "[" in _BRACKET.sub("", notes):
        raise FormatComplaint(
            "a square bracket in the notes is not closed",
            "Close it with ], or use round brackets for prose",
        )
    return tuple(found)


def prose(notes: str) -> str:
    """The notes without their remarks, tidied of the blanks and separators these leave.

    >>> prose("[box right 40] pond; [down]")
    'pond'
    """
    return re.sub(r"\s+", " ", _BRACKET.sub(" ", notes)).strip(" ;,")


def _parse_one(inside: str, unit: AzimuthUnit) -> Remark:
    refused = None
    try:
        remark = _understood(inside, unit)
        if remark is not None:
            return remark
    except ValueComplaint as complaint:
        # `[back azimuth 126]` begins as a remark does, and goes on in other words.
        if not inside.lower().startswith(("back", "faces")):
            raise
        refused = complaint
    shown = inside if len(inside) <= 40 else inside[:37] + "..."
    unknown = FormatComplaint(
        f"[{shown}] is not a remark of a travel log", f"The known ones are {KNOWN_REMARKS}"
    )
    meant = find_meant(inside, lambda text: _is_remark(text, unit))
    if meant:
        raise FormatComplaint(unknown.what, f"Write [{meant}] if that is meant")
    raise refused or unknown


def _understood(inside: str, unit: AzimuthUnit) -> Remark | None:
    words = inside.split(None, 1)
    word, rest = (words[0].lower(), words[1].strip() if len(words) > 1 else "") if words else ("", "")
    reader = _READERS.get(word)
    return reader(rest, unit) if reader else None


def _is_remark(inside: str, unit: AzimuthUnit) -> bool:
    try:
        return _understood(inside, unit) is not None
    except Complaint:
        return False


def _named(make: Callable[[str], Remark]) -> Callable[[str, AzimuthUnit], Remark | None]:
    return lambda rest, unit: make(" ".join(rest.split())) if rest else None


def _bare(remark: Remark) -> Callable[[str, AzimuthUnit], Remark | None]:
    return lambda rest, unit: None if rest else remark


def _back(rest: str, unit: AzimuthUnit) -> Remark | None:
    return BackReading(parse_azimuth(rest, unit), rest) if rest else None


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _box(rest: str, unit: AzimuthUnit) -> Remark | None:
    match = re.fullmatch(r"(right|left)\s+" + _NUMBER, rest, re.IGNORECASE)
    if match is None:
        return None
    side: Side = "right" if match[1].lower() == "right" else "left"
    return Box(side, _number(match[2]), match[2])


def _est(rest: str, unit: AzimuthUnit) -> Remark | None:
    if not rest:
        return Estimated(DEFAULT_ESTIMATE_SD_PCT)
    match = re.fullmatch(_NUMBER + r"\s*%", rest)
    if match is None:
        return None
    sd_pct = _number(match[1])
    if not 0 < sd_pct <= 100:
        raise ValueComplaint(f"[est {rest}] is not an uncertainty", "Write more than 0% and at most 100%")
    return Estimated(sd_pct, match[1])


def _cross(rest: str, unit: AzimuthUnit) -> Remark | None:
    return CrossStream() if rest.lower() == "stream" else None


def _no(rest: str, unit: AzimuthUnit) -> Remark | None:
    return NoStream() if rest.lower() == "stream" else None


def _on(rest: str, unit: AzimuthUnit) -> Remark | None:
    lies: dict[str, Lie] = {"ridge": "ridge", "slope": "slope", "stream": "stream"}
    lie = lies.get(rest.lower())
    return StationOn(lie) if lie else None


def _in(rest: str, unit: AzimuthUnit) -> Remark | None:
    return StationOn("valley") if rest.lower() == "valley" else None


def _slope(rest: str, unit: AzimuthUnit) -> Remark | None:
    slope_pct = _slope_pct(rest)
    if slope_pct is None:
        if re.fullmatch(_NUMBER, rest):
            raise ValueComplaint(f"[slope {rest}] has no unit", f"Write [slope {rest} %]")
        return None
    if slope_pct > _STEEPEST_PCT:
        raise ValueComplaint(f"[slope {rest}] is no ground to walk on", "Write 0 to 500 %")
    return Steepness(slope_pct, rest)


def _slope_pct(rest: str) -> float | None:
    match = re.fullmatch(_NUMBER + r"\s*(%|deg|°)", rest)
    if match is not None and match[2] == "%":
        return _number(match[1])
    sexagesimal = re.fullmatch(r"(\d{1,2})°(\d{1,2})'", plain_marks(rest.removesuffix("deg").strip()))
    if match is not None:
        slope_deg = _number(match[1])
    # Dashes alone may part two slopes.
    elif sexagesimal is not None and re.search("°|deg", rest):
        slope_deg = int(sexagesimal[1]) + int(sexagesimal[2]) / 60
    else:
        return None
    return 100 * math.tan(math.radians(min(slope_deg, 89.9)))


def _faces(rest: str, unit: AzimuthUnit) -> Remark | None:
    return Faces(parse_azimuth(rest, unit), rest) if rest else None


def _alt(rest: str, unit: AzimuthUnit) -> Remark | None:
    match = re.fullmatch(r"(-?\d{1,5}(?:[.,]\d{1,3})?)\s*(m|ft)", rest, re.IGNORECASE)
    if match is None:
        if re.fullmatch(r"-?\d+(\.\d+)?", rest):
            raise ValueComplaint(f"[alt {rest}] has no unit", f"Write [alt {rest} m] or [alt {rest} ft]")
        return None
    value = _number(match[1])
    return Altitude(value if match[2].lower() == "m" else value * _FEET_M, rest)


def _time(rest: str, unit: AzimuthUnit) -> Remark | None:
    match = re.fullmatch(r"(\d{1,2}):(\d{2})", rest)
    if match is None:
        return None
    hours, minutes = int(match[1]), int(match[2])
    if hours > 23 or minutes > 59:
        raise ValueComplaint(f"[time {rest}] is not a time of day", "Write 0:00 to 23:59")
    return Time(60 * hours + minutes, rest)


def _was(rest: str, unit: AzimuthUnit) -> Remark | None:
    if not rest:
        return None
    if match := re.fullmatch(r"at\s+(\S.*)", rest, re.IGNORECASE):
        return Was("at", " ".join(match[1].split()))
    if match := re.fullmatch(r"(.*\S\s+see\s+\S.*)", rest, re.IGNORECASE):
        return Was("see", " ".join(match[1].split()))
    match = re.fullmatch(r"(.*\S)\s+(count|back)", rest, re.IGNORECASE)
    if match is None:
        return Was("azimuth", rest)
    return Was("count" if match[2].lower() == "count" else "back", match[1])


_READERS: Final[dict[str, Callable[[str, AzimuthUnit], Remark | None]]] = {
    "at": _named(At),
    "see": _named(See),
    "back": _back,
    "box": _box,
    "est": _est,
    "ground": _named(Ground),
    "up": _bare(LegSlope("up")),
    "level": _bare(LegSlope("level")),
    "down": _bare(LegSlope("down")),
    "cross": _cross,
    "no": _no,
    "on": _on,
    "in": _in,
    "faces": _faces,
    "flat": _bare(Flat()),
    "slope": _slope,
    "alt": _alt,
    "time": _time,
    "was": _was,
    "or": lambda rest, unit: parse_doubt(rest, unit) if rest else None,
}
