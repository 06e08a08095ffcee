"""How an azimuth, a count, a distance, a chance is written.

Plain ASCII, so that it prints on any console and stands on any page.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from pacewright.core.compass import AzimuthUnit, format_azimuth
from pacewright.core.pace.tally import Tally, whole_count

SHORT_UNITS = {"degrees": "deg", "mils": "mils", "gon": "gon"}


def say_azimuth(azimuth_deg: float, unit: AzimuthUnit = "degrees") -> str:
    """Write an azimuth with its unit, to the whole unit.

    >>> say_azimuth(98.4), say_azimuth(359.8), say_azimuth(90, "mils")
    ('98 deg', '0 deg', '1600 mils')
    """
    return f"{format_azimuth(azimuth_deg, unit)} {SHORT_UNITS[unit]}"


def say_read_azimuth(azimuth_deg: float, unit: AzimuthUnit = "degrees") -> str:
    """Write an azimuth that was read and not worked out, to a tenth where it is not whole.

    >>> say_read_azimuth(98.0), say_read_azimuth(20.5), say_read_azimuth(359.99)
    ('98 deg', '20.5 deg', '0 deg')
    """
    tenths = format_azimuth(azimuth_deg, unit, 1)
    return f"{tenths.removesuffix('.0')} {SHORT_UNITS[unit]}"


def say_length(length: float, unit: str) -> str:
    """Write a length with its unit, in the plural where it is not one; a half goes up.

    >>> say_length(59.2, "pace"), say_length(1.2, "metre"), say_length(0.4, "pace"), say_length(182.5, "pace")
    ('59 paces', '1 metre', '0 paces', '183 paces')
    """
    whole = whole_count(length)
    return f"{whole} {unit}{'' if whole == 1 else 's'}"


def say_whole(number: float) -> str:
    """Write a count or a length without its unit, as `say_length` writes it.

    >>> say_whole(182.5), say_whole(-0.2)
    ('183', '0')
    """
    return str(whole_count(number))


def say_total(parts: Iterable[float], unit: str) -> str:
    """Write the sum of lengths as they are printed, so that a column adds up to its total.

    >>> say_total([12.5, 12.5], "pace")
    '26 paces'
    """
    return say_length(sum(whole_count(part) for part in parts), unit)


def say_chance(probability: float) -> str:
    """Write a chance as so many times in a hundred, or in a thousand where that says more.

    >>> say_chance(0.95), say_chance(0.999), say_chance(0.5)
    ('95 times in 100', '999 times in 1000', '50 times in 100')
    """
    if math.isclose(probability * 100, round(probability * 100), abs_tol=1e-9):
        times = round(probability * 100)
        return f"{times} time{'' if times == 1 else 's'} in 100"
    return f"{round(probability * 1000)} times in 1000"


def say_odds(probability: float) -> str:
    """Write a chance as one stands beside a figure.

    >>> say_odds(0.95), say_odds(0.999)
    ('95 in 100', '999 in 1000')
    """
    return say_chance(probability).replace("times ", "").replace("time ", "")


def say_tally(tally: Tally, unit: str = "pace") -> str:
    """Write a setting of the cord in words; the rest is in a unit.

    >>> say_tally(Tally(1, 4, 80)), say_tally(Tally(7, 2, 0)), say_tally(Tally(0, 0, 59))
    ('1 upper bead, 4 lower beads, 80 paces', '1 full cord, 2 upper beads, 2 lower beads', '59 paces')
    """
    paces = whole_count(tally.paces)
    parts = [*_beads(tally), *([_number_of(paces, unit)] if paces else [])]
    return ", ".join(parts) or "an empty cord"


def _beads(tally: Tally) -> list[str]:
    beads = (
        (tally.full_cords, "full cord"),
        (tally.upper_beads, "upper bead"),
        (tally.hundreds, "lower bead"),
    )
    return [_number_of(number, noun) for number, noun in beads if number]


def _number_of(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def say_cord(tally: Tally) -> str:
    """Write a setting of the cord in few words: beads, and the paces on from the last.

    >>> say_cord(Tally(0, 3, 92)), say_cord(Tally(1, 0, 0)), say_cord(Tally(0, 0, 59)), say_cord(Tally(0, 0, 0))
    ('3 lower beads + 92', '1 upper bead', '', '')
    """
    beads, paces = _beads(tally), whole_count(tally.paces)
    return " + ".join([*beads, *([str(paces)] if paces else [])]) if beads else ""


def say_place(name: str | None, station: int) -> str:
    """Write a station: its name, or its number; station 0 is the start.

    >>> say_place("Split oak", 2), say_place(None, 3), say_place(None, 0)
    ('Split oak', 'station 3', 'the start')
    """
    if name:
        return name
    return "the start" if station == 0 else f"station {station}"
