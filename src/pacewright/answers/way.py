"""Which way back: azimuth and count, what may be wrong with it, aiming off, the search, leg by leg."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from pacewright.answers.estimate import Estimate, find_estimate
from pacewright.core.adjust.closure import Closure
from pacewright.core.adjust.standing import with_a_pace
from pacewright.core.compass import direction_deg
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Slope, Walker
from pacewright.core.slips.place_mixture import Island
from pacewright.core.slips.reading_slips import ReadingSlip
from pacewright.core.way.aiming_off import DEFAULT_WRONG_SIDE_CHANCE, AimingOff, aim_along
from pacewright.core.way.ground_of_way import ground_of_way
from pacewright.core.way.lead import Lead, lead_over_legs
from pacewright.core.way.regions import half_widths
from pacewright.core.way.retrace import retrace, retrace_covariance
from pacewright.core.way.search_pattern import (
    ExpandingSquare,
    LineSearch,
    Overshoot,
    expanding_square,
    line_search,
    overshoot,
)
from pacewright.core.way.way_back import MapFigure, WayBack, way_along
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint

T = TypeVar("T")

DOUBT_ABOVE: Final = 0.1
"""A chance of a mistake between the two stations that a walker is warned of."""


@dataclass(frozen=True, slots=True)
class WayAsked:
    """What is asked of a way.

    Attributes
    ----------
    from_station
        Where the walker stands.
    to
        The goal: a station's number, or the name of a known place or of a thing fixed by bearings.
    probability
        Share of walks that a stated region holds.
    ground, slope
        What the way crosses; by default what was walked out on.
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
    to: int | str = 0
    probability: float = DEFAULT_PROBABILITY
    ground: str | None = None
    slope: Slope | None = None
    line_deg: float | None = None
    toward_deg: float | None = None
    wrong_side: float = DEFAULT_WRONG_SIDE_CHANCE
    sighting_distance: float | None = None
    with_retrace: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Doubt:
    """What may be wrong with the legs that a way rests on.

    Attributes
    ----------
    chance
        That a mistake lies in them; None where nothing could show it, or the log was not searched.
    is_warned
        Whether the walker is warned of a mistake in them.
    elsewhere
        The chance of a mistake in the log while it hardly lies in these legs; None where none is likely.
    left_out
        A reading that is wrong, likelier than not, and that the way does not rest on.
    unexplained
        Closures of a log too long to be searched that scatter does not explain.
    islands
        Where the walker may stand from the goal.
    """

    chance: float | None = None
    is_warned: bool = False
    unexplained: tuple[Closure, ...] = ()
    islands: tuple[Island, ...] = ()
    elsewhere: float | None = None
    left_out: ReadingSlip | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Retraced:
    """The log turned round, and where the walker will stand about the goal at its end."""

    log: TravelLog
    along: float
    across: float
    covariance: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class WayAnswer:
    """The answer, part by part; a part that was not asked for is None.

    Attributes
    ----------
    log, walker
        The log, and who walks.
    way, turn
        The way, and where on it to look and to stop.
    doubt
        Whether its legs may hold a mistake.
    aim, square
        Aiming off and the search, which then goes along the line; a complaint where there is none.
    retraced
        Leg by leg.
    unused
        What the log holds and the way does not rest on, and why.
    """

    log: TravelLog
    walker: Walker
    way: WayBack
    turn: Overshoot
    doubt: Doubt
    aim: AimingOff | NoAnswerComplaint | None
    square: ExpandingSquare | LineSearch | NoAnswerComplaint | None
    retraced: Retraced | None
    unused: tuple[str, ...]

    @property
    def aimed(self) -> AimingOff | None:
        """Aiming off, where that is the way to walk."""
        return self.aim if isinstance(self.aim, AimingOff) else None

    @property
    def is_finding(self) -> bool:
        """True where a part that was asked for could not be had."""
        return isinstance(self.aim, NoAnswerComplaint) or isinstance(self.square, NoAnswerComplaint)


def answer_way(estimate: Estimate, asked: WayAsked) -> WayAnswer:
    """The way to a goal, and beside it whatever else was asked for.

    Raises
    ------
    Complaint
        There is no way for these stations, this ground or these numbers. A part that only has no answer
        here does not take the way with it.
    """
    log, walker = estimate.log, estimate.walker
    lead = lead_of(estimate, asked.from_station, asked.to)
    way = _way(estimate, lead, asked)
    aim = _aimed(estimate, lead, way, asked)
    return WayAnswer(
        log=log,
        walker=walker,
        way=way,
        turn=overshoot(way),
        doubt=doubt_of(estimate, lead),
        aim=aim,
        square=_searched(way, aim, asked),
        retraced=_retraced(estimate, lead, way) if asked.with_retrace else None,
        unused=() if way.is_there else estimate.unused,
    )


def way_back(
    log: TravelLog,
    walker: Walker | None = None,
    *,
    from_station: int | None = None,
    to_station: int = 0,
    probability: float = DEFAULT_PROBABILITY,
    ground: str | None = None,
    slope: Slope | None = None,
) -> WayBack:
    """Azimuth and count from one station of a log to another.

    Parameters
    ----------
    log, walker
        The log, and the one who walked it and walks back.
    from_station
        By default the last station.
    to_station
        By default the start.
    probability
        Share of walks that the stated region holds.
    ground, slope
        What the way crosses; by default what was walked out on.

    Raises
    ------
    ValueComplaint
        The two stations are the same number, or the count passes a million.
    MissingComplaint
        The pace table lacks a class that is named.
    """
    here = len(log.legs) if from_station is None else from_station
    asked = WayAsked(here, to_station, probability, ground, slope)
    return answer_way(find_estimate(log, walker), asked).way


def aim_off(
    log: TravelLog,
    walker: Walker | None,
    from_station: int,
    to_station: int,
    line_azimuth_deg: float,
    wrong_side_chance: float = DEFAULT_WRONG_SIDE_CHANCE,
    toward_deg: float | None = None,
    ground: str | None = None,
) -> AimingOff:
    """The side and the offset to aim off by on the way from one station of a log to another.

    Raises
    ------
    NoAnswerComplaint
        The way is too short against what the legs scatter, or the line is met too flatly.
    """
    asked = WayAsked(
        from_station,
        to_station,
        ground=ground,
        line_deg=line_azimuth_deg,
        toward_deg=toward_deg,
        wrong_side=wrong_side_chance,
    )
    aim = answer_way(find_estimate(log, walker), asked).aim
    if isinstance(aim, NoAnswerComplaint):
        raise aim
    assert aim is not None
    return aim


def lead_of(estimate: Estimate, here: int, goal: int | str) -> Lead:
    """How a goal lies from a station.

    Raises
    ------
    ValueComplaint
        The two are the same station.
    MissingComplaint
        Nothing says where the goal lies.
    """
    if isinstance(goal, str):
        return estimate.lead_to(here, goal)
    if here == goal:
        raise ValueComplaint(
            f"station {here} is both the start and the goal of the way", "Give two stations that differ"
        )
    return estimate.lead(here, goal)


def doubt_of(estimate: Estimate, lead: Lead) -> Doubt:
    """What may be wrong with the legs that a way rests on."""
    chance = estimate.chance_of_mistake(lead)
    if chance is None:
        unexplained = estimate.unexplained
        return Doubt(None, bool(unexplained), unexplained)
    if not estimate.is_condemned or estimate.findings is None:
        return Doubt(chance, left_out=estimate.wrong_reading)
    if chance < DOUBT_ABOVE:
        return Doubt(chance, elsewhere=estimate.findings.mistake_probability)
    return Doubt(chance, True, (), estimate.islands(lead))


def _way(estimate: Estimate, lead: Lead, asked: WayAsked) -> WayBack:
    log, walker = estimate.log, estimate.walker
    ground = ground_of_way(log, walker, estimate.written, lead.legs, asked.ground, asked.slope)
    origin = estimate.own_places()[lead.from_station]
    on_map = _on_map(estimate, lead, asked)
    return way_along(lead, estimate.written, walker, ground, asked.probability, origin, on_map)


def _on_map(estimate: Estimate, lead: Lead, asked: WayAsked) -> MapFigure | None:
    """The same way in the map frame, with what compass and pace may be off all day."""
    if lead.is_there:
        return None
    stood = None if estimate.is_written else estimate.standing.on_map(lead)
    if stood is not None:
        frame, (step, covariance) = estimate.frame("map"), stood
    elif lead.to_station is not None and not with_a_pace(estimate.log, estimate.walker)[1]:
        on_map = estimate.as_walked("map")
        over = lead_over_legs(on_map, lead.from_station, lead.to_station, lead.legs)
        frame, step, covariance = on_map.frame, over.step, over.covariance
    else:
        return None
    azimuth_deg = direction_deg(*step)
    along_m, across_m = half_widths(covariance, azimuth_deg, asked.probability)
    return MapFigure(azimuth_deg, frame.azimuth_reference, math.hypot(*step), along_m, across_m)


def _or_complaint(find: Callable[[], T]) -> T | NoAnswerComplaint:
    try:
        return find()
    except NoAnswerComplaint as complaint:
        return complaint


def _aimed(
    estimate: Estimate, lead: Lead, way: WayBack, asked: WayAsked
) -> AimingOff | NoAnswerComplaint | None:
    line_deg = asked.line_deg
    if line_deg is None:
        return None
    return _or_complaint(
        lambda: aim_along(
            lead,
            estimate.written,
            estimate.walker,
            estimate.log.heading.azimuth_unit,
            line_deg,
            asked.wrong_side,
            asked.toward_deg,
            way.counts_per_unit,
            asked.probability,
        )
    )


def _searched(
    way: WayBack, aim: AimingOff | NoAnswerComplaint | None, asked: WayAsked
) -> ExpandingSquare | LineSearch | NoAnswerComplaint | None:
    distance = asked.sighting_distance
    if distance is None:
        return None
    if isinstance(aim, AimingOff):
        return line_search(aim, distance, asked.probability)
    return _or_complaint(lambda: expanding_square(way, distance))


def _retraced(estimate: Estimate, lead: Lead, way: WayBack) -> Retraced | None:
    if not lead.legs or lead.to_station is None:
        return None
    log, walker, ends = estimate.log, estimate.walker, (lead.from_station, lead.to_station)
    back = retrace(log, *ends, walker, legs=lead.legs)
    covariance = retrace_covariance(log, walker, *ends, legs=lead.legs)
    along, across = half_widths(covariance, way.azimuth_deg, way.probability)
    return Retraced(back, along, across, covariance)
