"""Which side and how far to aim off from a line feature, and which way to turn at the line.

A walker who aims straight at a point on a road does not know, on reaching the road, whether the point
lies to the left or to the right. Aiming to one side by enough makes the turn sure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import (
    AzimuthUnit,
    direction_deg,
    from_degrees,
    normal_azimuth,
    to_degrees,
    turn_deg,
    unit_vectors,
)
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.tally import Tally, whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import CountedUnit, Frame
from pacewright.core.way.lead import Lead
from pacewright.core.way.reckoning import Reckoning, walked_turn_sd_deg
from pacewright.core.way.way_back import tally_on_way
from pacewright.exceptions import NoAnswerComplaint, ValueComplaint

Array = NDArray[np.float64]

DEFAULT_WRONG_SIDE_CHANCE = 0.02
FLATTEST_CROSSING_DEG = 15.0
"""A line met at a flatter angle is met too uncertainly to aim off by it (assumed); twice what the compass
may be off comes on top, for the line lies as it lies and the walker's figure is turned."""


@dataclass(frozen=True, slots=True)
class AimingOff:
    """Where to aim, when the line should come, and the turn there.

    Attributes
    ----------
    azimuth_deg, count
        To walk until the line is met; the azimuth is whole in the log's unit, as it is dialled.
    offset
        How far beside the target the line should be met; in `unit`.
    offset_azimuth_deg
        The direction along the line in which that point lies from the target.
    turn
        Which way to turn at the line.
    turn_azimuth_deg
        The azimuth along the line to the target.
    line_from, line_by
        Counts from which to look for the line, and at which to stop if it has not come.
    tally
        The cord's setting when the count is full; None where metres are counted and the walker has no
        pace count.
    follow_to
        How far along the line the target should have come; beyond that it lies behind.
    line_sd
        Scatter, along the line, of the place where it is met; in `unit`.
    wrong_side_chance
        The chance that remains of meeting the line on the wrong side, at most the one allowed.
    crossing_deg
        The angle at which the line is met.
    unit
        What is counted.
    """

    azimuth_deg: float
    count: int
    offset: float
    offset_azimuth_deg: float
    turn: Literal["left", "right"]
    turn_azimuth_deg: float
    line_from: int
    line_by: int
    tally: Tally | None
    follow_to: int
    line_sd: float
    wrong_side_chance: float
    crossing_deg: float
    unit: CountedUnit


def aim_along(
    lead: Lead,
    reckoning: Reckoning,
    walker: Walker,
    azimuth_unit: AzimuthUnit,
    line_azimuth_deg: float,
    wrong_side_chance: float = DEFAULT_WRONG_SIDE_CHANCE,
    toward_deg: float | None = None,
    counts_per_unit: float = 1.0,
    probability: float = DEFAULT_PROBABILITY,
) -> AimingOff:
    """The side and the offset that leave at most a stated chance of the wrong side.

    Parameters
    ----------
    lead, reckoning, walker
        How the target on the line lies, the log in the walker's frame, and the one who walks.
    azimuth_unit
        Of the dial.
    line_azimuth_deg
        The line's azimuth through the target, either end, by the log's own north.
    wrong_side_chance
        Allowed chance of meeting the line on the wrong side of the target, above 0 and below 0.5.
    toward_deg
        Aim to the side that lies nearest to this azimuth; by default the side with the shorter way.
    counts_per_unit
        Counts on the ground of the way for one unit of distance.
    probability
        Share of walks in which the line, and then the target, come where they are said to.

    Raises
    ------
    ValueComplaint
        The chance is out of range.
    NoAnswerComplaint
        The way is too short against what the legs scatter, or the line is met too flatly.
    """
    if not 0 < wrong_side_chance < 0.5:
        raise ValueComplaint(
            f"{100 * wrong_side_chance:g} in 100 is not a chance of the wrong side",
            "Give more than 0 and less than 50 in 100, such as 2",
        )
    step = lead.step
    course = _Course(
        step=step,
        spread=lead.covariance,
        walker=walker,
        counts_per_unit=counts_per_unit,
        azimuth_unit=azimuth_unit,
        frame=reckoning.frame,
        reach_sds=NormalDist().inv_cdf((1.0 + probability) / 2.0),
    )
    sds = -NormalDist().inv_cdf(wrong_side_chance)
    if _angle_off(course, sds, 1) is None and _angle_off(course, sds, -1) is None:
        distance = math.hypot(*step)
        raise NoAnswerComplaint(
            f"a way of {whole_count(distance)} {reckoning.frame.unit}s is too short to aim off on it: the "
            "legs scatter by more",
            "Walk the direct way back and search at its end",
        )
    sides = [normal_azimuth(line_azimuth_deg), normal_azimuth(line_azimuth_deg + 180.0)]
    found = [one for side in sides if (one := _aim(course, sds, side)) is not None]
    if toward_deg is not None:
        found = [one for one in found if abs(turn_deg(one.offset_azimuth_deg, toward_deg)) <= 90.0]
    if not found:
        raise NoAnswerComplaint(
            "the line runs too nearly along the way to aim off by it",
            "Walk the direct way back and search at its end, or choose another line that crosses the way",
        )
    return min(found, key=lambda one: one.count + one.offset)


@dataclass(frozen=True, slots=True, eq=False)
class _Course:
    """The way to the target: its step and covariance, and how it is walked."""

    step: Array
    spread: Array
    walker: Walker
    counts_per_unit: float
    azimuth_unit: AzimuthUnit
    frame: Frame
    reach_sds: float


def _angle_off(course: _Course, sds: float, hand: int) -> float | None:
    """How far to aim beside the target, in degrees, `hand` 1 for right and -1 for left.

    None where the scatter exceeds the way.
    """
    direct_deg, distance = direction_deg(*course.step), math.hypot(*course.step)
    off_rad = 0.0
    # The scatter across depends a little on the azimuth, the azimuth on the scatter: a fixed point.
    for _ in range(50):
        needed = sds * _passing_sd(course, direct_deg + hand * math.degrees(off_rad))
        if needed >= distance:
            return None
        off_rad, before = math.asin(needed / distance), off_rad
        if abs(off_rad - before) < 1e-9:
            break
    return math.degrees(off_rad)


def _aim(course: _Course, sds: float, side_deg: float) -> AimingOff | None:
    direct_deg = direction_deg(*course.step)
    hand = 1 if turn_deg(direct_deg, side_deg) > 0 else -1
    off_deg = _angle_off(course, sds, hand)
    if off_deg is None:
        return None
    azimuth_deg = _dialled(direct_deg + hand * off_deg, hand, course.azimuth_unit)
    crossing_deg = _crossing(azimuth_deg, side_deg)
    if crossing_deg < FLATTEST_CROSSING_DEG + 2.0 * course.walker.compass.bias_sd_deg:
        return None
    ahead, side = (np.stack(unit_vectors(deg)) for deg in (azimuth_deg, side_deg))
    distance = _cross(course.step, side) / _cross(ahead, side)
    offset = _cross(course.step, ahead) / _cross(ahead, side)
    if distance <= 0 or offset <= 0:
        return None
    turn_azimuth_deg = normal_azimuth(side_deg + 180.0)
    reach = course.reach_sds * _meeting_sd(course, azimuth_deg, side_deg, distance)
    line_sd = _line_sd(course, azimuth_deg, side_deg, distance)
    paced = course.counts_per_unit
    count = whole_count(distance * paced)
    return AimingOff(
        azimuth_deg=azimuth_deg,
        count=count,
        offset=offset,
        offset_azimuth_deg=side_deg,
        turn="right" if turn_deg(azimuth_deg, turn_azimuth_deg) > 0 else "left",
        turn_azimuth_deg=turn_azimuth_deg,
        line_from=max(0, math.floor((distance - reach) * paced)),
        line_by=math.ceil((distance + reach) * paced),
        tally=tally_on_way(count, course.frame.unit, course.walker),
        follow_to=math.ceil(offset + course.reach_sds * line_sd),
        line_sd=line_sd,
        wrong_side_chance=NormalDist().cdf(-_passing_sds(course, azimuth_deg)),
        crossing_deg=crossing_deg,
        unit=course.frame.unit,
    )


def _dialled(azimuth_deg: float, hand: int, unit: AzimuthUnit) -> float:
    # Rounded away from the target, so that whoever dials whole units keeps the stated chance.
    whole = hand * math.ceil(hand * from_degrees(azimuth_deg, unit) - 1e-9)
    return normal_azimuth(to_degrees(whole, unit))


def _cross(first: Array, second: Array) -> float:
    return float(first[0] * second[1] - first[1] * second[0])


def _crossing(azimuth_deg: float, line_deg: float) -> float:
    between = abs(turn_deg(azimuth_deg, line_deg))
    return min(between, 180.0 - between)


def _passing_sd(course: _Course, azimuth_deg: float) -> float:
    """The scatter of how far beside the target the track passes, where it is nearest to it.

    The side on which the track passes is the side on which it meets the line, however the line runs.
    """
    east, north = (float(v) for v in unit_vectors(azimuth_deg))
    across = np.array([north, -east])
    abreast = float(course.step @ np.array([east, north]))
    return math.hypot(
        _sd_along(course.spread, across), math.radians(walked_turn_sd_deg(course.walker)) * abreast
    )


def _passing_sds(course: _Course, azimuth_deg: float) -> float:
    beside = abs(_cross(course.step, np.stack(unit_vectors(azimuth_deg))))
    return beside / _passing_sd(course, azimuth_deg)


def _meeting_sd(course: _Course, azimuth_deg: float, side_deg: float, distance: float) -> float:
    """The scatter of the count at which the line is met, in units of distance."""
    crossing_rad = math.radians(_crossing(azimuth_deg, side_deg))
    east, north = (float(v) for v in unit_vectors(side_deg))
    start = _sd_along(course.spread, np.array([north, -east])) / math.sin(crossing_rad)
    turned = math.radians(walked_turn_sd_deg(course.walker)) * distance / math.tan(crossing_rad)
    scatter = course.walker.count
    floor = scatter.count_floor * course.frame.units_per_pace
    return math.hypot(start, turned, max(scatter.count_sd_pct / 100.0 * distance, floor))


def _line_sd(course: _Course, azimuth_deg: float, side_deg: float, distance: float) -> float:
    """The scatter, along the line, of the place where it is met, in units of distance."""
    east, north = (float(v) for v in unit_vectors(azimuth_deg))
    start = _sd_along(course.spread, np.array([north, -east]))
    turned = math.radians(walked_turn_sd_deg(course.walker)) * distance
    return math.hypot(start, turned) / math.sin(math.radians(_crossing(azimuth_deg, side_deg)))


def _sd_along(spread: Array, direction: Array) -> float:
    return math.sqrt(max(0.0, float(direction @ spread @ direction)))
