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

from pacewright.core.compass import direction_deg, normal_azimuth, turn_deg, unit_vectors
from pacewright.core.frames import LengthUnit, walker_frame
from pacewright.core.reckoning import reckon
from pacewright.core.travel_log import TravelLog
from pacewright.core.walker import Walker
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]

DEFAULT_WRONG_SIDE_CHANCE = 0.02
FLATTEST_CROSSING_DEG = 15.0
"""A line met at a flatter angle is met too uncertainly to aim off by it (assumed)."""


@dataclass(frozen=True, slots=True)
class AimingOff:
    """Where to aim, when the line should come, and the turn there.

    Attributes
    ----------
    azimuth_deg, count
        To walk until the line is met.
    offset
        How far beside the target the line should be met; in `unit`.
    offset_azimuth_deg
        The direction along the line in which that point lies from the target.
    turn
        Which way to turn at the line.
    turn_azimuth_deg
        The azimuth along the line to the target.
    line_from, line_by
        Counts between which the line should be met; beyond the second something is wrong.
    wrong_side_chance
        The chance that remains of meeting the line on the wrong side.
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
    wrong_side_chance: float
    crossing_deg: float
    unit: LengthUnit


def aim_off(
    log: TravelLog,
    walker: Walker | None,
    from_station: int,
    to_station: int,
    line_azimuth_deg: float,
    wrong_side_chance: float = DEFAULT_WRONG_SIDE_CHANCE,
    toward_deg: float | None = None,
) -> AimingOff:
    """Give the side and the offset that leave at most a stated chance of the wrong side.

    Parameters
    ----------
    log, walker
        The log, and the one who walks.
    from_station, to_station
        Where the walker stands, and the target on the line.
    line_azimuth_deg
        The line's azimuth through the target, either end, by the log's own north.
    wrong_side_chance
        Allowed chance of meeting the line on the wrong side of the target, above 0 and below 0.5.
    toward_deg
        Aim to the side that lies nearest to this azimuth; by default the side with the shorter way.

    Raises
    ------
    ValueComplaint
        The chance is out of range, or the line is met too flatly for either side.
    """
    if not 0 < wrong_side_chance < 0.5:
        raise ValueComplaint(
            f"{wrong_side_chance} is not a chance of the wrong side",
            "Give more than 0 and less than 0.5, such as 0.02",
        )
    walker = walker or Walker()
    reckoning = reckon(log, walker, walker_frame(log.heading, walker))
    step = reckoning.place[to_station] - reckoning.place[from_station]
    spread = reckoning.relative_covariance(from_station, to_station)
    sides = [normal_azimuth(line_azimuth_deg), normal_azimuth(line_azimuth_deg + 180.0)]
    tries = [_aim(step, spread, side, wrong_side_chance, walker, reckoning.frame.unit) for side in sides]
    found = [one for one in tries if one is not None]
    if toward_deg is not None:
        found = [one for one in found if abs(turn_deg(one.offset_azimuth_deg, toward_deg)) <= 90.0]
    if not found:
        raise ValueComplaint(
            "the line runs too nearly along the way to aim off by it",
            "Walk the direct way back and search at its end, or choose another line that crosses the way",
        )
    return min(found, key=lambda one: one.count + one.offset)


def _aim(
    step: Array, spread: Array, side_deg: float, chance: float, walker: Walker, unit: LengthUnit
) -> AimingOff | None:
    side_east, side_north = (float(v) for v in unit_vectors(side_deg))
    sds = NormalDist().inv_cdf(1.0 - chance)
    offset = 0.0
    # The offset turns the way, the way's angle with the line sets the offset: a fixed point.
    for _ in range(50):
        east, north = step[0] + offset * side_east, step[1] + offset * side_north
        azimuth_deg, distance = direction_deg(east, north), math.hypot(east, north)
        crossing_deg = _crossing(azimuth_deg, side_deg)
        if crossing_deg < FLATTEST_CROSSING_DEG:
            return None
        across_sd = _across_sd(azimuth_deg, distance, spread, walker)
        needed = sds * across_sd / math.sin(math.radians(crossing_deg))
        if abs(needed - offset) < 1e-6 * max(1.0, needed):
            break
        offset = needed
    else:
        return None
    return _instruct(azimuth_deg, distance, offset, side_deg, crossing_deg, chance, walker, unit, spread)


def _instruct(
    azimuth_deg: float,
    distance: float,
    offset: float,
    side_deg: float,
    crossing_deg: float,
    chance: float,
    walker: Walker,
    unit: LengthUnit,
    spread: Array,
) -> AimingOff:
    turn_azimuth_deg = normal_azimuth(side_deg + 180.0)
    along_sd = _along_sd(azimuth_deg, distance, spread, walker, crossing_deg)
    reach = 1.96 * along_sd
    return AimingOff(
        azimuth_deg=azimuth_deg,
        count=round(distance),
        offset=offset,
        offset_azimuth_deg=side_deg,
        turn="right" if turn_deg(azimuth_deg, turn_azimuth_deg) > 0 else "left",
        turn_azimuth_deg=turn_azimuth_deg,
        line_from=max(0, math.floor(distance - reach)),
        line_by=math.ceil(distance + reach),
        wrong_side_chance=chance,
        crossing_deg=crossing_deg,
        unit=unit,
    )


def _crossing(azimuth_deg: float, line_deg: float) -> float:
    between = abs(turn_deg(azimuth_deg, line_deg))
    return min(between, 180.0 - between)


def _turn_sd_rad(walker: Walker) -> float:
    compass = walker.compass
    return math.radians(math.hypot(compass.azimuth_sd_deg, compass.reading_interval_deg / math.sqrt(12.0)))


def _across_sd(azimuth_deg: float, distance: float, spread: Array, walker: Walker) -> float:
    # Only what moves the track sideways shifts the place where it meets the line.
    east, north = (float(v) for v in unit_vectors(azimuth_deg))
    across = np.array([north, -east])
    return math.sqrt(float(across @ spread @ across) + (_turn_sd_rad(walker) * distance) ** 2)


def _along_sd(
    azimuth_deg: float, distance: float, spread: Array, walker: Walker, crossing_deg: float
) -> float:
    along = np.array([float(v) for v in unit_vectors(azimuth_deg)])
    count_sd = max(walker.count.count_sd_pct / 100.0 * distance, walker.count.count_floor)
    slant = _across_sd(azimuth_deg, distance, spread, walker) / math.tan(math.radians(crossing_deg))
    return math.sqrt(float(along @ spread @ along) + count_sd**2 + slant**2)
