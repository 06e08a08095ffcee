"""Numbers that may be others on the page, as slips: what a reader doubts is held against what closes.

A reader's chance is of what the pencil wrote, whatever the walker did: it stands against `as read` and not
among the mistakes of walkers. A number that nobody doubts adds nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from pacewright.core.compass import turn_deg
from pacewright.core.log.doubted_numbers import MayBe
from pacewright.core.log.remarks import Was
from pacewright.core.log.travel_log import Leg, Row, Sighting, TravelLog
from pacewright.core.slips.detours import DetourSense, Held
from pacewright.core.slips.reading_slips import ReadingSlip
from pacewright.core.slips.slip_entries import Reading
from pacewright.core.slips.slips import PAGE_MISREAD, Entry, PageSlip, leg_entry
from pacewright.core.way.observations import Observations

Column = Literal["azimuth", "count"]


@dataclass(frozen=True, slots=True)
class PageDoubts:
    """What the numbers of a log may be on its page.

    Attributes
    ----------
    slips
        Of legs; each with the log of its odds against the number as it stands, and of what the detours say.
    bearings
        Of bearings; each with its odds as weight.
    odds
        The sum of all odds.
    """

    slips: tuple[PageSlip, ...] = ()
    bearings: tuple[ReadingSlip, ...] = ()
    odds: float = 0.0


def find_page_doubts(log: TravelLog, detours: DetourSense, observations: Observations) -> PageDoubts:
    """What every doubted number of a log may be on its page.

    Parameters
    ----------
    log
        The log; an entry that was struck out is doubted no more.
    detours
        What its detours say of its legs.
    observations
        Which of its bearings tell anything.
    """
    slips: list[PageSlip] = []
    bearings: list[ReadingSlip] = []
    odds, station = 0.0, 0
    seen = {bearing.row for bearing in observations.bearings}
    for place, row in enumerate(log.rows):
        if isinstance(row, Leg):
            station += 1
        if isinstance(row, Sighting) and place not in seen:
            continue
        for other, share in doubts_of(row):
            odds += share
            if isinstance(row, Leg):
                slips.append(_slip(row, station, other, share, detours))
            elif isinstance(row, Sighting):
                bearings.append(
                    ReadingSlip(
                        "page_misread",
                        "bearing",
                        share,
                        station=station,
                        name=row.name,
                        row=place,
                        instead=other.text,
                        turn_deg=turn_deg(row.azimuth_deg, other.value),
                    )
                )
    return PageDoubts(tuple(slips), tuple(bearings), odds)


def doubts_of(row: Row) -> Iterator[tuple[MayBe, float]]:
    """What the numbers of a row may be instead, each with its odds against the number as it stands."""
    columns: Sequence[Column] = ("azimuth", "count") if isinstance(row, Leg) else ("azimuth",)
    if not row.remarks or not isinstance(row, Leg | Sighting):
        return
    for column in columns:
        if any(isinstance(one, Was) and one.column == column for one in row.remarks):
            continue
        others = [one for one in row.remarks if isinstance(one, MayBe) and one.column == column]
        left = 100.0 - sum(one.chance_pct for one in others)
        written = row.azimuth_deg if column == "azimuth" else row.count if isinstance(row, Leg) else None
        for one in others:
            if one.value != written:
                yield one, one.chance_pct / left


def _slip(row: Leg, leg: int, other: MayBe, odds: float, detours: DetourSense) -> PageSlip:
    entry = leg_entry(row)
    if other.column == "azimuth":
        entry = Entry(Reading(other.text, other.value), entry.count_text, entry.count)
    else:
        entry = Entry(entry.reading, other.text, other.value)
    weight = math.log(odds) + detours.weight(leg, Held(entry.reading.azimuth_deg, entry.count))
    return PageSlip(PAGE_MISREAD, (leg,), (entry,), 0.0, weight)
