"""How finely an azimuth is written, and another azimuth written as finely and in the same style."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from pacewright.core.compass import FULL_CIRCLE, POINT_DEG, AzimuthUnit, from_degrees, normal_azimuth

_NUMBER: Final = re.compile(r"\d+(?:[.,]\d*)?|[.,]\d+")
_PARTS: Final = re.compile(r"(\d+(?:\.\d+)?)(\D*)")
_QUADRANT: Final = re.compile(r"([NS]\s*)([\d.][^EW]*?)(\s*[EW])", re.IGNORECASE)
_SHORT: Final = {"degrees": "deg", "mils": "mils", "gon": "gon"}


@dataclass(frozen=True, slots=True)
class Fineness:
    """To what a reading is written.

    Attributes
    ----------
    unit
        Of the reading.
    parts
        1 for a plain number, 2 where minutes follow the degrees, 3 where seconds do.
    decimals
        Digits behind the point of the last part.
    """

    unit: AzimuthUnit
    parts: int = 1
    decimals: int = 0

    @property
    def step_deg(self) -> float:
        """The smallest difference that shows, in degrees."""
        return 360.0 / FULL_CIRCLE[self.unit] / 60.0 ** (self.parts - 1) / 10.0**self.decimals


def fineness_of(text: str, unit: AzimuthUnit) -> Fineness:
    """How finely a reading is written; a point of the compass counts as a whole number.

    >>> fineness_of("105", "degrees").step_deg, fineness_of("S40°30'W", "mils").step_deg * 60
    (1.0, 1.0)
    """
    bare = text.strip()
    quadrant = None if bare.upper() in POINT_DEG else _QUADRANT.fullmatch(bare)
    if quadrant is not None:
        return fineness_of(quadrant[2], "degrees")
    if bare.upper() in POINT_DEG:
        return Fineness(unit)
    if _NUMBER.fullmatch(bare):
        return Fineness(unit, 1, _decimals(bare.replace(",", ".")))
    parts = _PARTS.findall(bare)
    return Fineness(unit, len(parts), _decimals(parts[-1][0])) if parts else Fineness(unit)


def finest_of(texts: Iterable[str], unit: AzimuthUnit) -> Fineness:
    """The finest way in which one of several readings is written; whole units where there is none."""
    return min(
        (fineness_of(text, unit) for text in texts), key=lambda one: one.step_deg, default=Fineness(unit)
    )


def write_like(text: str, azimuth_deg: float, unit: AzimuthUnit) -> str:
    """Write an azimuth as finely as a reading is, and in its style.

    >>> write_like("105", 102.6, "degrees"), write_like("182°15'", 359.999, "degrees")
    ('103', "0°00'")
    >>> [write_like(text, 46.6, "degrees") for text in ("S40W", "NE", "052")]
    ['N47E', '47', '047']
    """
    bare = text.strip()
    if bare.upper() in POINT_DEG:
        return _number_like("0", azimuth_deg, unit)
    quadrant = _QUADRANT.fullmatch(bare)
    if quadrant is not None:
        return _quadrant_like(quadrant, azimuth_deg)
    if _NUMBER.fullmatch(bare):
        return _number_like(bare, azimuth_deg, unit)
    return _parts_like(bare, normal_azimuth(azimuth_deg), 360)


def say_turn(turn_deg: float, fineness: Fineness) -> str:
    """Write the size of a turn with its unit, as finely as readings are.

    >>> [say_turn(-2.25, one) for one in (Fineness("degrees", 2), Fineness("degrees"), Fineness("mils"))]
    ["2 deg 15'", '2 deg', '40 mils']
    """
    size, unit = abs(turn_deg), _SHORT[fineness.unit]
    if fineness.parts == 1:
        return f"{from_degrees(size, fineness.unit):.{fineness.decimals}f} {unit}"
    whole, *rest = _split(round(size / fineness.step_deg), fineness)
    marks = ("'", '"')
    return " ".join([f"{whole} deg", *(part + mark for part, mark in zip(rest, marks, strict=False))])


def _decimals(number: str) -> int:
    return len(number.partition(".")[2])


def _number_like(text: str, azimuth_deg: float, unit: AzimuthUnit) -> str:
    mark = "," if "," in text else "."
    decimals = _decimals(text.replace(",", "."))
    steps = 10**decimals
    number = round(from_degrees(normal_azimuth(azimuth_deg), unit) * steps) % (FULL_CIRCLE[unit] * steps)
    whole, _, broken = f"{number / steps:.{decimals}f}".partition(".")
    head = text.replace(",", ".").partition(".")[0]
    # A reading that is filled up with noughts stays so.
    whole = whole.zfill(len(head)) if head.startswith("0") else whole
    return whole + (mark + broken if broken else "")


def _quadrant_like(quadrant: re.Match[str], azimuth_deg: float) -> str:
    fineness = fineness_of(quadrant[2], "degrees")
    steps = round(360.0 / fineness.step_deg)
    azimuth_deg = round(azimuth_deg / fineness.step_deg) % steps * fineness.step_deg
    from_north = azimuth_deg <= 90 or azimuth_deg >= 270
    angle_deg = min(azimuth_deg, 360 - azimuth_deg) if from_north else abs(180 - azimuth_deg)
    angle = quadrant[2].strip()
    plain = _NUMBER.fullmatch(angle)
    written = _number_like(angle, angle_deg, "degrees") if plain else _parts_like(angle, angle_deg, 360)
    first = quadrant[1].replace(quadrant[1][0], "N" if from_north else "S", 1)
    return first + written + quadrant[3][:-1] + ("E" if azimuth_deg <= 180 else "W")


def _parts_like(text: str, angle_deg: float, full: int) -> str:
    parts = _PARTS.findall(text)
    fineness = Fineness("degrees", len(parts), _decimals(parts[-1][0]))
    numbers = _split(round(angle_deg / fineness.step_deg) % round(full / fineness.step_deg), fineness)
    return "".join(number + between for number, (_, between) in zip(numbers, parts, strict=True))


def _split(steps: int, fineness: Fineness) -> list[str]:
    """So many steps as degrees, minutes, seconds; the last part with its decimals."""
    steps_in_part = 10**fineness.decimals
    last, rest = steps, []
    for _ in range(fineness.parts - 1):
        last, part = divmod(last, 60 * steps_in_part)
        width = 2 + (fineness.decimals + 1 if fineness.decimals else 0)
        rest.append(f"{part / steps_in_part:0{width}.{fineness.decimals}f}")
        # Only the last part is broken.
        steps_in_part, fineness = 1, Fineness(fineness.unit, fineness.parts)
    whole = f"{last / steps_in_part:.{fineness.decimals}f}"
    return [whole, *reversed(rest)]
