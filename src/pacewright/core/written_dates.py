"""Dates as people write them."""

from __future__ import annotations

import datetime
import re
from typing import Final

from pacewright.core.plausible import plain_digits
from pacewright.exceptions import ValueComplaint

_MONTHS: Final = (
    *("january", "february", "march", "april", "may", "june", "july"),
    *("august", "september", "october", "november", "december"),
)
_DAY_FIRST: Final = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})")
_YEAR_FIRST: Final = re.compile(r"(\d{4})[/.](\d{1,2})[/.](\d{1,2})")
_EITHER: Final = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")
_DAY_MONTH: Final = re.compile(r"(\d{1,2})\.?(?:st|nd|rd|th)?[ -]([a-z]{3,9})\.?,?[ -](\d{4})", re.IGNORECASE)
_MONTH_DAY: Final = re.compile(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})", re.IGNORECASE)


def parse_date(text: str) -> datetime.date:
    """The day that a date stands for.

    >>> [str(parse_date(one)) for one in ("2026-05-14", "14.05.2026", "14 May 2026", "May 14, 2026")]
    ['2026-05-14', '2026-05-14', '2026-05-14', '2026-05-14']
    >>> str(parse_date("14/05/2026")), str(parse_date("05/14/2026"))
    ('2026-05-14', '2026-05-14')

    Raises
    ------
    ValueComplaint
        It is none, or may be one of two days.
    """
    bare = " ".join(plain_digits(text).split())
    try:
        found = _read(bare)
    except ValueError:
        found = None
    if found is None:
        raise ValueComplaint(
            f"{bare[:40] or 'nothing'} is not a date",
            "Write year-month-day, such as 2026-05-14, or 14 May 2026",
        )
    return found


def _read(bare: str) -> datetime.date | None:
    if found := _DAY_FIRST.fullmatch(bare):
        return datetime.date(int(found[3]), int(found[2]), int(found[1]))
    if found := _YEAR_FIRST.fullmatch(bare):
        return datetime.date(int(found[1]), int(found[2]), int(found[3]))
    if found := _DAY_MONTH.fullmatch(bare):
        return datetime.date(int(found[3]), _month(found[2]), int(found[1]))
    if found := _MONTH_DAY.fullmatch(bare):
        return datetime.date(int(found[3]), _month(found[1]), int(found[2]))
    if found := _EITHER.fullmatch(bare):
        return _of_two(bare, int(found[1]), int(found[2]), int(found[3]))
    return datetime.date.fromisoformat(bare)


def _of_two(bare: str, first: int, second: int, year: int) -> datetime.date:
    if first > 12 or second > 12 or first == second:
        day, month = max(first, second), min(first, second)
        return datetime.date(year, month, day)
    one, other = datetime.date(year, second, first), datetime.date(year, first, second)
    raise ValueComplaint(f"{bare} may be {_day_of(one)} or {_day_of(other)}", f"Write {one} or {other}")


def _day_of(date: datetime.date) -> str:
    return f"{date.day} {_MONTHS[date.month - 1].capitalize()}"


def _month(word: str) -> int:
    (number,) = (
        k for k, name in enumerate(_MONTHS, 1) if name.startswith(word.casefold()) and len(word) >= 3
    )
    return number
