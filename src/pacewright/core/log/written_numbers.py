"""Azimuths and counts as a row holds them: decimal commas read, what is unclear refused."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from pacewright.core.compass import AzimuthUnit, parse_azimuth
from pacewright.core.log.log_heading import CountUnit
from pacewright.core.plausible import COUNT, decimal_point
from pacewright.exceptions import Complaint, FormatComplaint, ValueComplaint, raise_together

_COUNT: Final = re.compile(r"\d+(?:\.\d*)?|\.\d+")
_DECIMAL_COMMA: Final = re.compile(r"([+-]?\d+),(\d{1,2})")
_THREE_AFTER_POINT: Final = re.compile(r"(\d{1,3})\.(\d{3})")
_OWN_UNIT: Final = re.compile(
    r"[\d.,]+\s*(°|deg\w*|mils?|gon|m|km|metres?|meters?|paces?|steps?|ft|feet|yd|yards?)\.?", re.IGNORECASE
)

Written = tuple[int | None, str, str]
"""Of a number in a row: its line, its column, its text."""


def read_azimuth(text: str, unit: AzimuthUnit) -> float:
    """The azimuth of a row's cell, in degrees.

    Raises
    ------
    Complaint
        It is none in that unit; the column is named.
    """
    try:
        return parse_azimuth(text, unit)
    except Complaint as complaint:
        own = _OWN_UNIT.fullmatch(text)
        said = _mixed_unit(text, own[1], f"its azimuths in {unit}") if own else complaint
        raise said.at(column="azimuth") from None


def read_count(text: str, unit: CountUnit) -> float:
    """The count of a row's cell.

    Raises
    ------
    ValueComplaint
        It is none; the column is named.
    """
    bare = decimal_point(text)
    if _COUNT.fullmatch(bare):
        count = float(bare)
        if COUNT.holds(count):
            return count
    own = _OWN_UNIT.fullmatch(text)
    if own:
        raise _mixed_unit(text, own[1], f"its counts in {unit}").at(column="count")
    shown = text if len(text) <= 40 else text[:37] + "..."
    raise ValueComplaint(
        f"{shown} is not a count", f"Write the {unit} as a number from 0 to 1000000, such as 240"
    ).at(column="count")


def check_decimal_marks(numbers: Sequence[Written]) -> None:
    """Refuse `1.200` where other numbers of the same log have a decimal comma.

    Raises
    ------
    FormatComplaint
        The point may part the thousands or the decimals; line and column are named.
    """
    if not any(_DECIMAL_COMMA.fullmatch(text) for _, _, text in numbers):
        return
    wrong: list[Complaint] = []
    for line, column, text in numbers:
        match = _THREE_AFTER_POINT.fullmatch(text)
        if match is not None:
            unclear = FormatComplaint(
                f"{text} is unclear: other numbers of this log have a decimal comma, so the point may part "
                "thousands or decimals",
                f"Write {match[1]}{match[2]}, or the decimals with a comma",
            )
            wrong.append(unclear.at(line=line, column=column))
    raise_together(wrong)


def _mixed_unit(text: str, own_unit: str, what: str) -> ValueComplaint:
    return ValueComplaint(
        f"{text[:40]} carries a unit of its own ({own_unit}); the whole log has {what}",
        "Write the bare number in the log's unit, or change the unit in the heading",
    )
