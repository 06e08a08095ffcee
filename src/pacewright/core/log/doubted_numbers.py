"""A number that may be another on the page, with the chance of it: `[or 388 count 12%]`.

Who reads a pencilled page, a machine or a person, writes it where a digit is not clear. The number in its
column is the likeliest one, and stands until something else tells.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

from pacewright.core.compass import AzimuthUnit, parse_azimuth
from pacewright.exceptions import ValueComplaint

_OTHER: Final = re.compile(r"(\S.*?)(?:\s+(count))?\s+(\d{1,3}(?:\.\d{1,3})?)\s*%", re.IGNORECASE | re.DOTALL)
_COUNT: Final = re.compile(r"\d{1,6}(?:\.\d{1,6})?")


@dataclass(frozen=True, slots=True)
class MayBe:
    """What the azimuth or the count of a row may be on the page instead, and the chance of it.

    Attributes
    ----------
    column
        `azimuth` or `count`.
    text, value
        As it would stand there; in degrees or in the log's count.
    chance_pct
        Of this one, in per cent.
    chance_text
        The same as written.
    """

    column: Literal["azimuth", "count"]
    text: str
    value: float
    chance_pct: float
    chance_text: str


def parse_doubt(rest: str, unit: AzimuthUnit) -> MayBe | None:
    """What stands behind `or` in the brackets; None where it is something else.

    Raises
    ------
    ValueComplaint
        It is no azimuth, or no chance.

    Examples
    --------
    >>> parse_doubt("388 count 12%", "degrees")
    MayBe(column='count', text='388', value=388.0, chance_pct=12.0, chance_text='12')
    """
    match = _OTHER.fullmatch(rest)
    if match is None:
        return None
    text, chance_pct = match[1], float(match[3])
    if match[2] and _COUNT.fullmatch(text) is None:
        return None
    if not 0 < chance_pct < 100:
        raise ValueComplaint(
            f"[or {rest}] leaves nothing to doubt", "Write a chance of more than 0% and less than 100%"
        )
    if match[2]:
        return MayBe("count", text, float(text), chance_pct, match[3])
    return MayBe("azimuth", text, parse_azimuth(text, unit), chance_pct, match[3])


def check_doubts(remarks: Iterable[object]) -> None:
    """Refuse chances of other numbers that leave none to the number that is written.

    Raises
    ------
    ValueComplaint
        Those of a column come to 100 % and more; the column of the notes is named.
    """
    left = {"azimuth": 100.0, "count": 100.0}
    for one in remarks:
        if isinstance(one, MayBe):
            left[one.column] -= one.chance_pct
    if min(left.values()) <= 0:
        raise ValueComplaint(
            "what this row may say instead has a chance of 100 % and more, so that none is left to what is "
            "written",
            "Write the likeliest number into its column, and lower chances behind [or ...]",
        ).at(column="notes")
