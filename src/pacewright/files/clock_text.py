"""The clock as people write it: a zone, and a moment of a day by it."""

from __future__ import annotations

import datetime
import re
import zoneinfo
from typing import Final

from pacewright.exceptions import ValueComplaint

_OFFSET: Final = re.compile(r"(?P<sign>[+-])(?P<hours>\d{1,2})(?::?(?P<minutes>\d{2}))?")
_TIME: Final = re.compile(r"(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2}))?")


def parse_zone(text: str) -> tuple[datetime.tzinfo, str]:
    """The zone that a text stands for, and its name: UTC, an offset, or a name this machine knows.

    Raises
    ------
    ValueComplaint
        It stands for none.

    Examples
    --------
    >>> parse_zone("+2")[1], parse_zone("z")[1]
    ('+02:00', 'UTC')
    """
    bare = text.strip()
    if bare.upper() in ("UTC", "Z"):
        return datetime.UTC, "UTC"
    if match := _OFFSET.fullmatch(bare):
        minutes = int(match["hours"]) * 60 + int(match["minutes"] or 0)
        if minutes <= 14 * 60 and int(match["minutes"] or 0) < 60:
            span = datetime.timedelta(minutes=-minutes if match["sign"] == "-" else minutes)
            return datetime.timezone(span), f"{match['sign']}{minutes // 60:02d}:{minutes % 60:02d}"
    try:
        return zoneinfo.ZoneInfo(bare), bare
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueComplaint(
            f"{bare[:40]} is no zone that this machine knows",
            "Write the clock's offset from universal time, such as +02:00 or -05:00",
        ) from None


def parse_moment(date: datetime.date, text: str, zone: datetime.tzinfo) -> datetime.datetime:
    """The moment of a day that a text such as `14:30` stands for.

    Raises
    ------
    ValueComplaint
        It is no time of the day, or one at which the clocks are changed.
    """
    match = _TIME.fullmatch(text.strip())
    try:
        if match is None:
            raise ValueError
        clock = datetime.time(int(match["hour"]), int(match["minute"]), int(match["second"] or 0))
    except ValueError:
        raise ValueComplaint(
            f"{text[:40]} is not a time of the day", "Write hours and minutes, such as 14:30"
        ) from None
    when = datetime.datetime.combine(date, clock, zone)
    if when.utcoffset() != when.replace(fold=1).utcoffset():
        raise ValueComplaint(
            f"at {text.strip()} of that day the clocks of that zone are changed, so it is not sure",
            "Give the clock's offset in place of the zone, such as +02:00",
        )
    return when
