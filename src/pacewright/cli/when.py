"""Dates and clocks as options give them."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from pacewright.exceptions import MissingComplaint, ValueComplaint

if TYPE_CHECKING:
    from pacewright.core.log.travel_log import TravelLog

T = TypeVar("T")


def read_date(text: str | None, log: TravelLog | None) -> datetime.date:
    """The date that was asked for, or that of the log."""
    if text is None:
        if log is not None and log.heading.date is not None:
            return log.heading.date
        raise MissingComplaint("there is no date", "Add --date, such as --date 2026-05-14")
    from pacewright.core.written_dates import parse_date

    return _of_option("--date", lambda: parse_date(text))


def read_zone(text: str | None, has_time: bool) -> tuple[datetime.tzinfo, str]:
    """A zone and its name; universal time where none was named and no time asks for one."""
    from pacewright.files.clock_text import parse_zone

    if text is None:
        if has_time:
            raise MissingComplaint(
                "the time does not say by which clock it is",
                "Add --zone, such as --zone +02:00; an hour off turns the sun by 15 degrees and more",
            )
        return datetime.UTC, "UTC"
    return _of_option("--zone", lambda: parse_zone(text))


def read_moment(text: str | None, date: datetime.date, zone: datetime.tzinfo) -> datetime.datetime | None:
    """The moment of a day that --time names; None where there is none."""
    from pacewright.files.clock_text import parse_moment

    return None if text is None else _of_option("--time", lambda: parse_moment(date, text, zone))


def _of_option(option: str, parse: Callable[[], T]) -> T:
    try:
        return parse()
    except ValueComplaint as complaint:
        raise ValueComplaint(f"{option}: {complaint.what}", complaint.do) from None
