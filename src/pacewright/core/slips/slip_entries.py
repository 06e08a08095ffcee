"""What the pencil may have meant: the entries that one slip could have turned into what is written.

A slip strikes what stands on the page, so everything here works on the written digits, in the log's
own unit, and gives back an entry in the same style.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from pacewright.core.compass import (
    FULL_CIRCLE,
    POINT_DEG,
    AzimuthUnit,
    normal_azimuth,
    parse_azimuth,
    to_degrees,
)

_DIGITS: Final = re.compile(r"(?P<head>\d+)(?P<tail>\D.*)?", re.DOTALL)
_QUADRANT: Final = re.compile(r"(?P<ns>[NS])(?P<angle>.+?)(?P<ew>[EW])", re.IGNORECASE | re.DOTALL)
_Change = Callable[[str, int], list[str]]
_OTHER_SIDE: Final = str.maketrans("NSEWnsew", "SNWEsnwe")


@dataclass(frozen=True, slots=True)
class Reading:
    """An azimuth as written and in degrees, against the north of the log."""

    text: str
    azimuth_deg: float


def misread(reading: Reading, unit: AzimuthUnit) -> list[Reading]:
    """The azimuths that differ in one digit by one, the last digit left out.

    >>> [r.text for r in misread(Reading("152", 152.0), "degrees")]
    ['142', '162', '52', '252']
    """
    return _each_number(reading, unit, _misread_numbers)


def swapped(reading: Reading, unit: AzimuthUnit) -> list[Reading]:
    """The azimuths with two neighbouring digits in the other order.

    >>> [r.text for r in swapped(Reading("152", 152.0), "degrees")], swapped(Reading("NE", 45.0), "degrees")
    (['125'], [])
    """
    return _each_number(reading, unit, _swapped_numbers)


def swapped_count(text: str) -> list[str]:
    """The counts with two neighbouring digits in the other order.

    >>> swapped_count("240"), swapped_count("77.5")
    (['420', '204'], [])
    """
    match = _DIGITS.fullmatch(text)
    if match is None:
        return []
    return [turned + (match["tail"] or "") for turned in _swapped_numbers(match["head"], 10**9)]


def turned(reading: Reading, by_deg: float, unit: AzimuthUnit) -> Reading:
    """The azimuth turned by so many degrees, written in its own style.

    >>> turned(Reading("S40W", 220.0), 180, "degrees").text, turned(Reading("052", 52.0), -90, "degrees").text
    ('N40E', '322')
    """
    text, azimuth_deg = reading.text, normal_azimuth(reading.azimuth_deg + by_deg)
    is_point = text.upper() in POINT_DEG
    if is_point and by_deg % 90 == 0:
        return Reading(_point_at(azimuth_deg), azimuth_deg)
    if not is_point and _QUADRANT.fullmatch(text) and by_deg == 180:
        opposite = text[0].translate(_OTHER_SIDE) + text[1:-1] + text[-1].translate(_OTHER_SIDE)
        return Reading(opposite, azimuth_deg)
    match = _DIGITS.fullmatch(text)
    step = by_deg * FULL_CIRCLE[unit] / 360
    if match is None or step != round(step):
        return Reading(_number_text(azimuth_deg, unit), azimuth_deg)
    number = (int(match["head"]) + round(step)) % FULL_CIRCLE[unit]
    return Reading(_like(number, match["head"]) + (match["tail"] or ""), azimuth_deg)


def other_quadrants(reading: Reading, unit: AzimuthUnit) -> list[Reading]:
    """The azimuths a quarter circle round; for a quadrant bearing, with one letter exchanged.

    >>> [r.text for r in other_quadrants(Reading("S40W", 220.0), "degrees")]
    ['N40W', 'S40E']
    """
    text = reading.text
    if text.upper() not in POINT_DEG and _QUADRANT.fullmatch(text):
        texts = (text[0].translate(_OTHER_SIDE) + text[1:], text[:-1] + text[-1].translate(_OTHER_SIDE))
        return [Reading(one, parse_azimuth(one, unit)) for one in texts]
    return [turned(reading, 90, unit), turned(reading, -90, unit)]


def count_text(count: float) -> str:
    """Write a count the way a pencil does: whole where it is whole.

    >>> count_text(340.0), count_text(82.5)
    ('340', '82.5')
    """
    return f"{count:.10g}"


def _each_number(reading: Reading, unit: AzimuthUnit, change: _Change) -> list[Reading]:
    text, full = reading.text, FULL_CIRCLE[unit]
    match = _DIGITS.fullmatch(text)
    if match is not None:
        tail, number = match["tail"] or "", int(match["head"])
        return [
            Reading(one + tail, normal_azimuth(reading.azimuth_deg + to_degrees(int(one) - number, unit)))
            for one in change(match["head"], full)
        ]
    quadrant = None if text.upper() in POINT_DEG else _QUADRANT.fullmatch(text)
    angle = _DIGITS.fullmatch(quadrant["angle"].strip()) if quadrant else None
    if quadrant is None or angle is None:
        return []
    texts = [
        quadrant["ns"] + one + (angle["tail"] or "") + quadrant["ew"] for one in change(angle["head"], 90)
    ]
    return [Reading(one, parse_azimuth(one, unit)) for one in texts]


def _misread_numbers(head: str, full: int) -> list[str]:
    number, found = int(head), []
    unit = 10
    while unit < full:
        digit = number // unit % 10
        for by in (-1, 1):
            if 0 <= digit + by <= 9 and 0 <= number + by * unit < full:
                found.append(_like(number + by * unit, head))
        unit *= 10
    return found


def _swapped_numbers(head: str, full: int) -> list[str]:
    padded = head.startswith("0")
    found = []
    for i in range(len(head) - 1):
        one = head[:i] + head[i + 1] + head[i] + head[i + 2 :]
        if one != head and int(one) < full and (padded or not one.startswith("0")):
            found.append(one)
    return found


def _like(number: int, head: str) -> str:
    return str(number).zfill(len(head)) if head.startswith("0") and len(head) > 1 else str(number)


def _number_text(azimuth_deg: float, unit: AzimuthUnit) -> str:
    return f"{azimuth_deg * FULL_CIRCLE[unit] / 360:.4f}".rstrip("0").rstrip(".")


def _point_at(azimuth_deg: float) -> str:
    return min(POINT_DEG, key=lambda name: abs(POINT_DEG[name] - azimuth_deg))
