"""Numbers as people write them: the digits of every script, and how large a number of each kind can be.

The bounds refuse what is a slip of the keyboard or an attack, and never what a walker may write: each is at
least ten times what its reason names. A reader with a closer reason of its own has closer bounds.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from typing import Final

from pacewright.exceptions import ValueComplaint

_DECIMAL_COMMA: Final = re.compile(r"(?<=\d),(?=\d{1,2}(?!\d))")


@dataclass(frozen=True, slots=True)
class Bounds:
    """The numbers of one kind.

    Attributes
    ----------
    called
        What such a number is called.
    least, most
        Where the numbers begin and end.
    above
        True where `least` itself is none of them.
    """

    called: str
    least: float
    most: float
    above: bool = False

    def says(self) -> str:
        """What to write.

        >>> Bounds("a mark", 0, 10).says(), Bounds("a length", 0, 1e6, above=True).says()
        ('Write a number from 0 to 10', 'Write a number above 0, up to 1000000')
        """
        start = f"above {_plain(self.least)}, up" if self.above else f"from {_plain(self.least)}"
        return f"Write a number {start} to {_plain(self.most)}"

    def holds(self, value: float) -> bool:
        """Whether a number lies within; what is no number does not."""
        return (value > self.least if self.above else value >= self.least) and value <= self.most


COUNT: Final = Bounds("a count", 0, 1_000_000)
"""Paces of a leg or of an offset. A week on foot without a station is 150 000."""
MINUTES: Final = Bounds("a number of minutes", 0, 100_000)
"""Of one outing, or from its beginning. A week is 10 080."""
TAPED_M: Final = Bounds("a number of metres taped from a post", -100_000, 100_000)
"""Tapes are 100 m long; who ends in the next valley and reads it off a map is 10 km away."""
PLACE_M: Final = Bounds("a place in metres", -100_000_000, 100_000_000)
"""On any grid in metres: northings reach 10 000 000, and some grids put millions in front."""
MARKS: Final = Bounds("a number of marks", 0, 1_000_000)
"""Marks of one card. A contest that divides the length by the error gives a few thousand."""
RULE_LIMIT: Final = Bounds("a limit of a marking rule", 0, 1_000_000)
"""Per cent, stakes, multiples of a scatter, or a length over its error."""
FACT: Final = Bounds("a number that a course states", -1_000_000_000, 1_000_000_000)
"""Seeds' neighbours, shares, metres: what a setting writes down of itself."""
TYPED: Final = Bounds("a number that can be reckoned with", -1e9, 1e9)
"""Whatever is typed into a form: the bounds of its kind are closer; these keep squares and cubes finite."""


def check_bounds(value: float, bounds: Bounds, whose: str = "") -> None:
    """Refuse a number that cannot be of its kind.

    Parameters
    ----------
    value, bounds
        The number, and the numbers of its kind.
    whose
        What the number belongs to, said after it.

    Raises
    ------
    ValueComplaint
        It lies outside, or is no number.
    """
    if not bounds.holds(value):
        of = f" ({whose})" if whose else ""
        # A whole number of a file may be longer than any that can be shown.
        shown = "such a number" if 1e300 < abs(value) < math.inf else f"{value:g}"
        raise ValueComplaint(f"{shown} is not {bounds.called}{of}", bounds.says())


def plain_digits(text: str) -> str:
    """A text with its digits written 0 to 9, whatever script they were written in.

    >>> plain_digits("\uff11\uff14:\u0663\u0662"), plain_digits("NE")
    ('14:32', 'NE')
    """
    if text.isascii():
        return text
    return "".join(str(unicodedata.decimal(one)) if one.isdecimal() else one for one in text)


def decimal_point(text: str) -> str:
    """A text with the decimal commas of its numbers made points.

    Three digits after a comma may be thousands: they stay, and whoever reads the number refuses it.

    >>> decimal_point("62,5"), decimal_point("7,5 E"), decimal_point("1,200")
    ('62.5', '7.5 E', '1,200')
    """
    return _DECIMAL_COMMA.sub(".", text)


def _plain(number: float) -> str:
    return str(int(number)) if math.isfinite(number) and number == int(number) else f"{number:g}"
