"""Every single slip that could have struck a log, kind by kind, each with what stood there before.

A slip is told by the entry as it would have been without it. Its weight says how often a slip of that
kind, among all the places and ways in which it could have struck the entry as it would have been,
strikes this one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from pacewright.core.compass import AzimuthUnit
from pacewright.core.log.log_heading import Heading
from pacewright.core.log.remarks import Estimated
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.slips.detours import DetourSense, Held
from pacewright.core.slips.slip_entries import (
    Reading,
    count_text,
    misread,
    other_quadrants,
    swapped,
    swapped_count,
    turned,
)

SlipKind = Literal[
    "tally_lost",
    "tally_added",
    "thousand_lost",
    "azimuth_reversed",
    "digit_misread",
    "digits_swapped",
    "leg_missing",
    "offset_mirrored",
    "declination_mirrored",
    "steps_for_paces",
    "paces_for_steps",
    "quadrant_wrong",
    "rows_exchanged",
]
PageKind = Literal["page_misread"]
"""No slip of a walker's: the page says something else, and its reader told how likely that is."""

PAGE_MISREAD: Final[PageKind] = "page_misread"
KIND_WEIGHT: Final[dict[SlipKind, float]] = {
    "tally_lost": 0.5,
    "tally_added": 0.5,
    "thousand_lost": 1.0,
    "azimuth_reversed": 1.0,
    "digit_misread": 1.0,
    "digits_swapped": 1.0,
    "leg_missing": 1.0,
    "offset_mirrored": 1.0,
    "declination_mirrored": 1.0,
    "steps_for_paces": 0.5,
    "paces_for_steps": 0.5,
    "quadrant_wrong": 1.0,
    "rows_exchanged": 1.0,
}
"""How often each kind is taken to happen: evenly, for no published rates were found; two slips that
are one slip in opposite senses share its weight. Rows are exchanged only where a plan is known.
What may be misread on the page has a chance of its own and no weight among these."""

NEIGHBOURS_SHARE: Final = 0.5
"""Of cards or rows that were exchanged, half lay next to each other, the others anywhere (assumed)."""

TALLY: Final = 100.0
THOUSAND: Final = 1000.0
TURNS_OF_DECLINATION_DEG: Final = tuple(2.0 * sign * size for size in range(3, 16) for sign in (1, -1))
"""Where the log does not name its declination: twice 3 to 15 degrees either way, the sizes at which
it is worth applying at all (assumed)."""


@dataclass(frozen=True, slots=True)
class Entry:
    """Azimuth and count of a row, as they would stand on the page and as they count."""

    reading: Reading
    count_text: str
    count: float


@dataclass(frozen=True, slots=True)
class AnySlip:
    """One slip and the log as it would have been without it.

    Attributes
    ----------
    kind
        Which slip.
    legs
        The legs struck, numbered from 1; none where the whole log is.
    entries
        What would stand in their rows.
    turn_deg
        Added to every azimuth, for a declination applied the wrong way.
    place_weight
        Log of the chance of this place and this way among all those of the kind, and of what the
        detours of the log say for or against it.
    """

    kind: SlipKind | PageKind
    legs: tuple[int, ...]
    entries: tuple[Entry, ...]
    turn_deg: float
    place_weight: float


@dataclass(frozen=True, slots=True)
class Slip(AnySlip):
    """One slip of a walker."""

    kind: SlipKind


@dataclass(frozen=True, slots=True)
class PageSlip(AnySlip):
    """A number that may be another on the page; its weight is of the odds that its reader gave."""

    kind: PageKind


def leg_entry(leg: Leg) -> Entry:
    """What is written in the row of a leg."""
    return Entry(Reading(leg.cells.azimuth.strip(), leg.azimuth_deg), leg.cells.count.strip(), leg.count)


def find_slips(log: TravelLog, *, follows_plan: bool = False) -> tuple[Slip, ...]:
    """Every slip on every leg that could stand behind what is written, missing legs left out.

    Parameters
    ----------
    log
        What the pencil wrote.
    follows_plan
        Whether its rows follow the cards of a plan, so that two may have been exchanged.
    """
    unit = log.heading.azimuth_unit
    rows = [_Struck(leg, unit) for leg in log.legs]
    able = {kind: sum(row.able(kind) for row in rows) for kind in _ROW_KINDS}
    detours = detour_sense(log)
    found = []
    for number, row in enumerate(rows, start=1):
        for kind, entry, ways in row.clean_entries():
            others = able[kind] - row.able(kind)
            place_weight = -math.log((others + 1) * ways)
            place_weight += detours.weight(number, Held(entry.reading.azimuth_deg, entry.count))
            found.append(Slip(kind, (number,), (entry,), 0.0, place_weight))
    found += _offset_slips(detours.firsts, rows, unit)
    found += _declination_slips(log)
    if follows_plan:
        found += _exchanges(rows)
    return tuple(found)


def detour_sense(log: TravelLog) -> DetourSense:
    """What the detours of a log say of its legs."""
    return DetourSense([Held(leg.azimuth_deg, leg.count) for leg in log.legs])


def likely_kinds(log: TravelLog, slips: Sequence[Slip], beside: float = 0.0) -> list[float]:
    """For every slip, the log of its kind's share among the kinds the log without it could suffer.

    Two numbers more than there are slips: for a missing leg, and for a weight of one.

    Parameters
    ----------
    log, slips
        The log, and what may have struck its legs.
    beside
        The weights of all that may have struck something else.
    """
    counts = [leg.count for leg in log.legs]
    over = {limit: sum(count > limit for count in counts) for limit in (TALLY, THOUSAND)}
    always = beside + sum(
        weight for kind, weight in KIND_WEIGHT.items() if kind not in ("tally_lost", "thousand_lost", *_WHOLE)
    )
    present = {slip.kind for slip in slips}
    always += sum(KIND_WEIGHT[kind] for kind in _WHOLE if kind in present)
    shares = []
    for slip in slips:
        total = always
        for kind, limit in _LIMITS:
            able = over[limit]
            for leg, entry in zip(slip.legs, slip.entries, strict=True):
                able += (entry.count > limit) - (counts[leg - 1] > limit)
            total += KIND_WEIGHT[kind] if able else 0.0
        shares.append(math.log(KIND_WEIGHT[slip.kind] / total))
    total = always + sum(KIND_WEIGHT[kind] for kind, limit in _LIMITS if over[limit])
    return [*shares, math.log(KIND_WEIGHT["leg_missing"] / total), -math.log(total)]


_ROW_KINDS: Final[tuple[SlipKind, ...]] = (
    "tally_lost",
    "tally_added",
    "thousand_lost",
    "azimuth_reversed",
    "digit_misread",
    "digits_swapped",
    "steps_for_paces",
    "paces_for_steps",
    "quadrant_wrong",
)
_WHOLE: Final[tuple[SlipKind, ...]] = ("offset_mirrored", "declination_mirrored", "rows_exchanged")
_LIMITS: Final[tuple[tuple[SlipKind, float], ...]] = (("tally_lost", TALLY), ("thousand_lost", THOUSAND))
_COUNTED: Final = frozenset(
    ("tally_lost", "tally_added", "thousand_lost", "steps_for_paces", "paces_for_steps")
)


class _Struck:
    """A row that a slip may have struck: what it says, and what it may have said."""

    __slots__ = ("count_swaps", "counted", "entry", "misreads", "swaps", "unit")

    def __init__(self, leg: Leg, unit: AzimuthUnit) -> None:
        self.entry = leg_entry(leg)
        self.unit = unit
        self.counted = not leg.remarks or leg.find(Estimated) is None
        self.misreads = misread(self.entry.reading, unit)
        self.swaps = swapped(self.entry.reading, unit)
        self.count_swaps = swapped_count(self.entry.count_text)

    def able(self, kind: SlipKind) -> bool:
        """Whether a slip of this kind could strike the row as written."""
        if kind in _COUNTED and not self.counted:
            return False
        match kind:
            case "tally_lost":
                return self.entry.count > TALLY
            case "thousand_lost":
                return self.entry.count > THOUSAND
            case "digit_misread":
                return bool(self.misreads)
            case "digits_swapped":
                return bool(self.swaps or self.count_swaps)
            case "paces_for_steps":
                return self.entry.count > 1
            case _:
                return True

    def clean_entries(self) -> Iterator[tuple[SlipKind, Entry, float]]:
        """Kind, entry as it would have been, and in how many ways the kind could strike that one."""
        reading, count = self.entry.reading, self.entry.count
        if self.counted and count > 0:
            yield "tally_lost", self.with_count(count + TALLY), 1
            if count > TALLY:
                yield "tally_added", self.with_count(count - TALLY), 1
            yield "thousand_lost", self.with_count(count + THOUSAND), 1
            # Twice a count of paces is one of two neighbouring counts of steps; half a count of steps
            # stands for two of them.
            if count > 1:
                yield "steps_for_paces", self.with_count(count / 2.0), 2
            yield "paces_for_steps", self.with_count(count * 2.0), 0.5
        yield "azimuth_reversed", self.with_reading(turned(reading, 180, self.unit)), 1
        for one in other_quadrants(reading, self.unit):
            yield "quadrant_wrong", self.with_reading(one), 2
        for one in self.misreads:
            yield "digit_misread", self.with_reading(one), max(1, len(misread(one, self.unit)))
        for one in self.swaps:
            ways = len(swapped(one, self.unit)) + len(self.count_swaps)
            yield "digits_swapped", self.with_reading(one), max(1, ways)
        for text in self.count_swaps:
            ways = len(self.swaps) + len(swapped_count(text))
            value = float(text.replace(",", "."))
            yield "digits_swapped", Entry(reading, text, value), max(1, ways)

    def with_count(self, count: float) -> Entry:
        """The entry with another count."""
        return Entry(self.entry.reading, count_text(count), count)

    def with_reading(self, reading: Reading) -> Entry:
        """The entry with another azimuth."""
        return Entry(reading, self.entry.count_text, self.entry.count)


def _offset_slips(firsts: Sequence[int], rows: Sequence[_Struck], unit: AzimuthUnit) -> list[Slip]:
    place_weight = -math.log(len(firsts)) if firsts else 0.0
    found = []
    for first in firsts:
        struck = (first, first + 2)
        entries = tuple(
            rows[leg - 1].with_reading(turned(rows[leg - 1].entry.reading, 180, unit)) for leg in struck
        )
        found.append(Slip("offset_mirrored", struck, entries, 0.0, place_weight))
    return found


def is_declination_in_heading(heading: Heading) -> bool:
    """Whether a log's declination turns its azimuths from the heading, and not by the walker's hand.

    In a log of magnetic azimuths the heading's declination is what turns them to true north. In one of true
    or grid azimuths the walker turned the readings by it before they were written.
    """
    return heading.declination_deg is not None and heading.azimuth_reference == "magnetic"


def _declination_slips(log: TravelLog) -> list[Slip]:
    stated = log.heading.declination_deg
    # The sign in the heading turned round takes twice of it off; readings turned the wrong way lack it twice.
    sense = -2.0 if is_declination_in_heading(log.heading) else 2.0
    turns = TURNS_OF_DECLINATION_DEG if stated is None else (sense * stated,) if stated else ()
    return [Slip("declination_mirrored", (), (), by, -math.log(len(turns))) for by in turns]


def _exchanges(rows: Sequence[_Struck]) -> list[Slip]:
    """Every two legs of which azimuth and count may stand in each other's row."""
    apart = [
        (first, second)
        for second in range(len(rows))
        for first in range(second)
        if rows[first].entry != rows[second].entry
    ]
    near = sum(second == first + 1 for first, second in apart)
    share = NEIGHBOURS_SHARE if 0 < near < len(apart) else float(near > 0)
    found = []
    for first, second in apart:
        is_near = second == first + 1
        chance = share / near if is_near else (1.0 - share) / (len(apart) - near)
        entries = (rows[second].entry, rows[first].entry)
        found.append(Slip("rows_exchanged", (first + 1, second + 1), entries, 0.0, math.log(chance)))
    return found
