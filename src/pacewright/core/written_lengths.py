"""Lengths with a unit of their own: metres, feet, yards, chains."""

from __future__ import annotations

import re
from typing import Final

from pacewright.core.plausible import plain_digits

UNITS_M: Final = {"km": 1000.0, "m": 1.0, "ft": 0.3048, "yd": 0.9144, "ch": 20.1168}
"""Metres in each: the international yard of 0.9144 m (1959), its third, and the chain of 22 yards."""
_WORDS: Final = {
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("km", "kilometre", "kilometres", "kilometer", "kilometers"), "km"),
    **dict.fromkeys(("ft", "foot", "feet", "'", "′", "’"), "ft"),
    **dict.fromkeys(("yd", "yds", "yard", "yards"), "yd"),
    **dict.fromkeys(("ch", "chain", "chains"), "ch"),
}
_LENGTH: Final = re.compile(
    r"(?P<number>[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(?P<unit>[a-z]+|['′’])\.?", re.IGNORECASE
)


def length_m(text: str) -> float | None:
    """The metres of a length with its unit; None where the text is none, or a bare number.

    >>> length_m("198 ft"), length_m("3 chains"), length_m("12,5 m"), length_m("100")
    (60.3504, 60.3504, 12.5, None)
    """
    match = _LENGTH.fullmatch(plain_digits(text).strip())
    unit = _WORDS.get(match["unit"].casefold()) if match else None
    if match is None or unit is None:
        return None
    # Rounded, so that three feet are a yard to the last bit.
    return round(float(match["number"].replace(",", ".")) * UNITS_M[unit], 9)
