"""Fixes by bearings: all that a log's own bearings fix, your own place, or that of something seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from pacewright.answers.estimate import KnownPlaces
from pacewright.core.bearings.fix_entries import PlacedBearing, own_place, seen_place
from pacewright.core.bearings.intersection import Intersection
from pacewright.core.bearings.log_fixes import LogFixes, find_fixes, fix_landmark, fix_station
from pacewright.core.bearings.resection import Resection
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker

F = TypeVar("F", Resection, Intersection)


@dataclass(frozen=True, slots=True)
class FixAsked:
    """What is to be fixed of a log: a station or a landmark by name, or all that its bearings fix.

    `by_angles` leaves the azimuths alone and takes the angles between them.
    """

    station: str = ""
    landmark: str = ""
    by_angles: bool = False
    probability: float = DEFAULT_PROBABILITY


@dataclass(frozen=True, slots=True, eq=False)
class PlacedFix(Generic[F]):
    """A fix without a log: the bearings it was made of, and the place."""

    bearings: tuple[PlacedBearing, ...]
    fix: F

    @property
    def is_finding(self) -> bool:
        """True where bearings contradict each other."""
        return self.fix.contradicts


def fix_log(log: TravelLog, walker: Walker, asked: FixAsked, known: KnownPlaces | None = None) -> LogFixes:
    """What the bearings of a log fix, from its start, or on the map where that holds the log.

    Parameters
    ----------
    log, walker, asked
        The log, who walked it, and what is to be fixed.
    known
        What a map told; nothing if left out.

    Raises
    ------
    Complaint
        The log has no such station or landmark, or its bearings do not fix it.
    """
    anchor = None if known is None else known.anchor
    placed, frame = (None, None) if anchor is None else (anchor.placed, anchor.frame)
    if asked.station:
        number = log.find_station(asked.station)
        one = fix_station(log, walker, number, placed, asked.by_angles, asked.probability, frame)
        return LogFixes((one,), (), ())
    if asked.landmark:
        return LogFixes((), (fix_landmark(log, walker, asked.landmark, asked.probability),), ())
    return find_fixes(log, walker, placed, frame, by_angles=asked.by_angles, probability=asked.probability)


def is_contradicted(fixes: LogFixes) -> bool:
    """Whether bearings of a log contradict each other, or a fix the legs."""
    return any(
        [fix.resection.contradicts or fix.is_apart for fix in fixes.stations]
        + [fix.intersection.contradicts for fix in fixes.landmarks]
    )


def fix_own_place(
    bearings: Sequence[PlacedBearing],
    walker: Walker,
    by_angles: bool = False,
    probability: float = DEFAULT_PROBABILITY,
) -> PlacedFix[Resection]:
    """Your own place from bearings of known things.

    Raises
    ------
    Complaint
        The bearings fix none.
    """
    return PlacedFix(tuple(bearings), own_place(bearings, walker, by_angles, probability))


def fix_seen_place(
    bearings: Sequence[PlacedBearing], walker: Walker, probability: float = DEFAULT_PROBABILITY
) -> PlacedFix[Intersection]:
    """The place of something from bearings taken at known places.

    Raises
    ------
    Complaint
        The bearings fix none.
    """
    return PlacedFix(tuple(bearings), seen_place(bearings, walker, probability))
