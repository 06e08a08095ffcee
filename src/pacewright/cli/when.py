"""Dates and clocks as options give them."""

from __future__ import annotations

import datetime
import re
from typing import TYPE_CHECKING, Final

from pacewright.exceptions import MissingComplaint, ValueComplaint

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog

_OFFSET: Final = re.compile(r"(?P<sign>[+-])(?P<hours>\d{1,2})(?::?(?P<minutes>\d{2}))?")


def read_date(text: str | None, log: TravelLog | None) -> datetime.date:
    """Give the date that was asked for, or that of the log."""
    if text is None:
        if log is not None and log.heading.date is not None:
            return log.heading.date
        raise MissingComplaint("there is no date", "Add --date, such as --date 2026-05-14")
    try:
        return datetime.date.fromisoformat(text.strip())
    except ValueError:
        raise ValueComplaint(
            f"--date: {text[:40]} is not a date", "Write year-month-day, such as 2026-05-14"
        ) from None


def read_zone(text: str | None, has_time: bool) -> tuple[datetime.tzinfo, str]:
    """Give a zone and its name; universal time where none was named and no time asks for one."""
    if text is None:
        if has_time:
            raise MissingComplaint(
                "the time does not say by which clock it is",
                "Add --zone, such as --zone +02:00; an hour off turns the sun by 15 degrees and more",
            )
        return datetime.UTC, "UTC"
    bare = text.strip()
    if bare.upper() in ("UTC", "Z"):
        return datetime.UTC, "UTC"
    if match := _OFFSET.fullmatch(bare):
        minutes = int(match["hours"]) * 60 + int(match["minutes"] or 0)
        if minutes <= 14 * 60 and int(match["minutes"] or 0) < 60:
            span = datetime.timedelta(minutes=-minutes if match["sign"] == "-" else minutes)
            return datetime.timezone(span), f"{match['sign']}{minutes // 60:02d}:{minutes % 60:02d}"
    import zoneinfo

    try:
        return zoneinfo.ZoneInfo(bare), bare
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueComplaint(
            f"--zone: {bare[:40]} is no zone that this machine knows",
            "Write the clock's offset from universal time, such as +02:00 or -05:00",
        ) from None
