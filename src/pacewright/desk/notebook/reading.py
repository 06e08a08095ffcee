"""What every reading page of a log begins with: the log as far as it is understood, and who walked it."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from typing import Any, Final

from django.http import HttpRequest

from pacewright.core.log.travel_log import TravelLog, compose_log
from pacewright.core.pace.walker import Walker
from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.page_reading import read_page, walker_of
from pacewright.desk.serving.access import own_log
from pacewright.exceptions import Complaint, MissingComplaint
from pacewright.wording.numbers import say_place

NO_LEG: Final = "There is no leg yet. Type the first one on the page, and the answer stands here."


@dataclass(frozen=True, slots=True)
class Reading:
    """A log ready to be read.

    Attributes
    ----------
    kept
        The log as typed.
    log
        What it means, as far as it is understood; its rows are numbered as on the page, struck ones
        among them. None where there is no answer.
    walker
        Who walked it.
    not_yet
        Why there is no answer.
    upto
        The row, from 1, at which understanding ends; None where the whole page is understood.
    """

    kept: KeptLog
    log: TravelLog | None
    walker: Walker
    not_yet: str = ""
    upto: int | None = None


def reading_of(request: HttpRequest, log_id: uuid.UUID) -> Reading:
    """A member's own log, ready to be read."""
    return read_kept(own_log(request.member, log_id))


def read_kept(kept: KeptLog) -> Reading:
    """A kept log, ready to be read."""
    page = read_page(kept)
    numbers = [at for at, row in enumerate(kept.rows, start=1) if not row["struck"]]
    upto = None if page.understood == len(page.rows) else numbers[page.understood]
    try:
        walker = walker_of(kept)
    except Complaint as complaint:
        return Reading(kept, None, Walker(), f"The walker's figures are not understood: {complaint.sentence}")
    if page.heading_complaint is not None:
        return Reading(
            kept, None, walker, f"The heading is not understood: {page.heading_complaint.sentence}", upto
        )
    if page.log is None or not page.log.legs:
        return Reading(kept, None, walker, NO_LEG, upto)
    rows = [replace(row, line=numbers[(row.line or 1) - 1]) for row in page.log.rows]
    return Reading(kept, compose_log(page.log.heading, rows), walker, "", upto)


def whole_reading(kept: KeptLog) -> tuple[TravelLog, Walker]:
    """What a kept log means as far as it is understood, and who walked it.

    Raises
    ------
    MissingComplaint
        It holds no leg that is understood.
    """
    reading = read_kept(kept)
    if reading.log is None:
        raise MissingComplaint("there is no leg on this page yet", "Type the first one: azimuth, count")
    return reading.log, reading.walker


def places_of(log: TravelLog) -> list[tuple[int, str]]:
    """Every station with its name or its number, for a list to choose from."""
    return [(at, say_place(name, at)) for at, name in enumerate(log.station_names())]


def page_context(reading: Reading, here: str) -> dict[str, Any]:
    """What every reading page shows: the log, which tab is open, and what is not understood."""
    return {
        "log": reading.kept,
        "here": here,
        "not_yet": reading.not_yet,
        "upto": reading.upto,
        "walker_name": reading.walker.name,
    }
