"""The whole answer to "which way back": the way, its doubt, aiming off, the search, the retraced log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.place_mixture import Island, find_islands
from pacewright.core.way.aiming_off import AimingOff, aim_off
from pacewright.core.way.regions import half_widths
from pacewright.core.way.retrace import retrace, retrace_covariance
from pacewright.core.way.search_pattern import ExpandingSquare, Overshoot, expanding_square, overshoot
from pacewright.core.way.way_back import WayBack, way_back
from pacewright.exceptions import NoAnswerComplaint
from pacewright.wording.doubt import Doubt, find_doubt
from pacewright.wording.findings import Rows, say_islands
from pacewright.wording.walk import (
    CAUTION,
    retrace_table,
    say_aiming_off,
    say_assumed,
    say_map_figure,
    say_not_possible,
    say_retrace,
    say_square,
    say_way_back,
    square_table,
)

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class WayAsked:
    """What is asked of a way back.

    Attributes
    ----------
    from_station, to_station
        Where the walker stands, and the goal.
    probability
        Share of walks that a stated region holds.
    ground
        Class of the pace table that the way crosses.
    line_deg
        Azimuth of a line through the goal, to aim off by.
    toward_deg
        The side of it to aim off to; None for the shorter way.
    wrong_side
        Chance of meeting the line on the wrong side, 0 to 1.
    sighting_distance
        How far off the goal is seen; plans a search.
    with_retrace
        Also leg by leg.
    """

    from_station: int
    to_station: int = 0
    probability: float = DEFAULT_PROBABILITY
    ground: str | None = None
    line_deg: float | None = None
    toward_deg: float | None = None
    wrong_side: float = 0.02
    sighting_distance: float | None = None
    with_retrace: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Retraced:
    """The log turned round: its rows, and where the walker will stand about the goal at its end."""

    log: TravelLog
    along: float
    across: float
    covariance: NDArray[np.float64]
    said: tuple[str, ...]
    table: Rows


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One part of an answer that may not be had without the rest falling with it: what was said of it."""

    said: tuple[str, ...]
    complaint: NoAnswerComplaint | None = None
    table: Rows | None = None


@dataclass(frozen=True, slots=True, eq=False)
class WayAnswer:
    """The answer, part by part; a part that was not asked for is None.

    Attributes
    ----------
    way, turn
        The way, and where on it to look and to stop.
    doubt, islands
        Whether its legs may hold a mistake, and where the walker may then be.
    said_doubt, said_way
        Sentences of both.
    aim, aimed
        Aiming off, and what was said of it.
    square, searched
        The search, and what was said of it.
    retraced
        Leg by leg.
    """

    way: WayBack
    turn: Overshoot
    doubt: Doubt
    islands: tuple[Island, ...]
    said_doubt: tuple[str, ...]
    said_way: tuple[str, ...]
    aim: AimingOff | None
    aimed: Part | None
    square: ExpandingSquare | None
    searched: Part | None
    retraced: Retraced | None

    @property
    def sentences(self) -> tuple[str, ...]:
        """All that is said, the caution last."""
        parts = [part.said for part in (self.aimed, self.searched, self.retraced) if part is not None]
        return (*self.said_doubt, *self.said_way, *(one for part in parts for one in part), CAUTION)

    @property
    def tables(self) -> list[Rows]:
        """The tables below the sentences."""
        parts = (self.searched, self.retraced)
        return [part.table for part in parts if part is not None and part.table is not None]

    @property
    def is_finding(self) -> bool:
        """True where a part that was asked for could not be had."""
        return any(part is not None and part.complaint is not None for part in (self.aimed, self.searched))


def answer_way(log: TravelLog, walker: Walker, asked: WayAsked) -> WayAnswer:
    """Give the way back, and beside it whatever else was asked for.

    Raises
    ------
    Complaint
        There is no way for these stations, this ground or these numbers. A part that only has no answer
        here is said to be impossible and does not take the way with it.
    """
    way = way_back(
        log,
        walker,
        from_station=asked.from_station,
        to_station=asked.to_station,
        probability=asked.probability,
        ground=asked.ground,
    )
    turn = overshoot(way)
    doubt = find_doubt(log, way, walker)
    islands = _islands(doubt, way)
    aim, aimed = _aimed(log, way, walker, asked)
    square, searched = _searched(log, way, asked)
    return WayAnswer(
        way=way,
        turn=turn,
        doubt=doubt,
        islands=islands,
        said_doubt=(*doubt.said, *say_islands(islands, log, way.from_station, way.unit, way.to_station)),
        said_way=(
            *say_assumed(log, walker),
            *say_way_back(log, way, turn),
            *say_map_figure(log, way, walker),
        ),
        aim=aim,
        aimed=aimed,
        square=square,
        searched=searched,
        retraced=_retraced(log, way, walker) if asked.with_retrace else None,
    )


def _islands(doubt: Doubt, way: WayBack) -> tuple[Island, ...]:
    if not doubt.is_warned or doubt.findings is None or way.is_there:
        return ()
    return tuple(find_islands(doubt.findings.posterior, way.from_station, way.to_station))


def _or_why_not(what: str, find: Callable[[], T]) -> tuple[T | None, Part]:
    try:
        return find(), Part(())
    except NoAnswerComplaint as complaint:
        return None, Part(tuple(say_not_possible(what, complaint)), complaint)


def _aimed(
    log: TravelLog, way: WayBack, walker: Walker, asked: WayAsked
) -> tuple[AimingOff | None, Part | None]:
    line_deg = asked.line_deg
    if line_deg is None:
        return None, None

    def find() -> AimingOff:
        return aim_off(
            log,
            walker,
            way.from_station,
            way.to_station,
            line_deg,
            asked.wrong_side,
            asked.toward_deg,
            asked.ground,
        )

    aim, why_not = _or_why_not("aiming off", find)
    if aim is None:
        return None, why_not
    return aim, Part(tuple(say_aiming_off(log, aim, way.to_name, way.to_station)))


def _searched(log: TravelLog, way: WayBack, asked: WayAsked) -> tuple[ExpandingSquare | None, Part | None]:
    distance = asked.sighting_distance
    if distance is None:
        return None, None
    square, why_not = _or_why_not("search", lambda: expanding_square(way, distance))
    if square is None:
        return None, why_not
    return square, Part(tuple(say_square(square, way)), None, square_table(log, square, way))


def _retraced(log: TravelLog, way: WayBack, walker: Walker) -> Retraced:
    back = retrace(log, way.from_station, way.to_station, walker)
    covariance = retrace_covariance(log, walker, way.from_station, way.to_station)
    along, across = half_widths(covariance, way.azimuth_deg, way.probability)
    said = tuple(say_retrace(log, back, along, across, way.probability))
    return Retraced(back, along, across, covariance, said, retrace_table(back))
