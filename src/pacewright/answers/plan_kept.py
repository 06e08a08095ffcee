"""A walk against its plan, leg by leg: what differs by more than one scatters."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthUnit
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.slips.leg_prior import log_lengths
from pacewright.core.slips.leg_state import LegStates, leg_states, steps_of
from pacewright.core.slips.plan_prior import check_pairs
from pacewright.core.way.frames import Frame

Array = NDArray[np.float64]

WRONGLY_NAMED: Final = 0.05
"""Of walks that went as planned, so many have a leg named that did not."""
_FEW: Final = 4
"""With fewer legs nothing common to all can be told from one leg."""
_COMMON_SDS: Final = 2.5
_MEDIAN_VARIANCE: Final = math.pi / 2.0
"""Of the median of many normal values, over that of their mean."""


@dataclass(frozen=True, slots=True)
class LegKept:
    """One leg as walked beside its plan.

    Attributes
    ----------
    leg
        Its number.
    planned_deg, walked_deg
        Azimuths in degrees.
    planned_count, walked_count
        As counted.
    turn_deg, longer
        How far the azimuth is to the right of the plan's, and how much longer the count as a part of it.
    sds
        Both together in standard deviations, what is common to all legs taken off.
    differs
        Whether that is beyond scatter.
    off
        How far from the plan's station the walk stands at its end, in the frame's unit.
    """

    leg: int
    planned_deg: float
    walked_deg: float
    planned_count: float
    walked_count: float
    turn_deg: float
    longer: float
    sds: float
    differs: bool
    off: float


@dataclass(frozen=True, slots=True)
class PlanKept:
    """A walk against its plan.

    Attributes
    ----------
    legs
        In turn.
    common_turn_deg, common_longer
        What all legs have in common, where that is beyond scatter; else None.
    unit, azimuth_unit
        Of `off`, and what the azimuths of the walk are noted in.
    """

    legs: tuple[LegKept, ...]
    common_turn_deg: float | None
    common_longer: float | None
    unit: str
    azimuth_unit: AzimuthUnit


def plan_kept(log: TravelLog, plan: TravelLog, walker: Walker, frame: Frame) -> PlanKept:
    """A walk against its plan, leg by leg.

    Parameters
    ----------
    log, plan
        As walked and as planned, row by row the same legs.
    walker
        Whose scatter is meant: of azimuths and counts leg by leg, and of the pace count all day.
    frame
        In which the stations are compared.

    Raises
    ------
    MissingComplaint
        The plan has other legs, another north, or another unit of counts.

    References
    ----------
    A leg is named where its azimuth and count together leave the region of a normal distribution of two
    dimensions, the level shared among the legs: Z. Šidák, Journal of the American Statistical Association 62
    (1967) 626 (from memory).
    """
    check_pairs(log, plan)
    planned, walked = leg_states(plan, walker, frame), leg_states(log, walker, frame)
    turn = (walked.azimuth_rad - planned.azimuth_rad + np.pi) % (2.0 * np.pi) - np.pi
    longer = log_lengths(walked.length) - log_lengths(planned.length)
    scale_sd = walker.count.scale_sd_pct / 100.0
    turn_sd, count_sd = np.sqrt(planned.scatter.turn_variance), _count_sd(planned)
    all_turn, turn_left = _common(turn, turn_sd, 0.0)
    all_longer, longer_left = _common(longer, count_sd, scale_sd)
    sds = np.hypot(turn_left, longer_left)
    level = 1.0 - (1.0 - WRONGLY_NAMED) ** (1.0 / max(planned.size, 1))
    # The square of two standard normals together exceeds x with exp(-x / 2).
    limit = math.sqrt(-2.0 * math.log(level))
    off = np.hypot(*np.cumsum(_steps(walked) - _steps(planned), axis=1))
    legs = tuple(
        LegKept(
            k + 1, theirs.azimuth_deg, ours.azimuth_deg, theirs.count, ours.count,
            math.degrees(turn[k]), math.expm1(longer[k]), float(sds[k]), bool(sds[k] > limit), float(off[k]),
        )
        for k, (theirs, ours) in enumerate(zip(plan.legs, log.legs, strict=True))
    )  # fmt: skip
    common_turn = None if all_turn is None else math.degrees(all_turn)
    common_longer = None if all_longer is None else math.expm1(all_longer)
    return PlanKept(legs, common_turn, common_longer, frame.unit, log.heading.azimuth_unit)


def _steps(states: LegStates) -> Array:
    return np.asarray(steps_of(states.azimuth_rad, states.length)[:2])


def _count_sd(states: LegStates) -> Array:
    """How a count scatters as a part of it, shape (n,)."""
    scatter, length = states.scatter, np.maximum(states.length, 0.5)
    counted = np.maximum(scatter.count_sd, scatter.floor / length)
    own = np.where(scatter.estimate_sd > 0, scatter.estimate_sd, counted)
    return np.sqrt(own**2 + (scatter.unit / length) ** 2 / 12.0)


def _common(values: Array, sd: Array, shared_sd: float) -> tuple[float | None, Array]:
    """What all values have in common, where it is beyond scatter, and the rest in standard deviations."""
    if values.size < _FEW:
        return None, values / np.hypot(sd, shared_sd)
    # A median: one leg that went astray does not pull it along.
    middle = float(np.median(values))
    middle_sd = math.sqrt(_MEDIAN_VARIANCE / float((1.0 / sd**2).sum()))
    is_beyond = abs(middle) > _COMMON_SDS * math.hypot(middle_sd, shared_sd)
    return middle if is_beyond else None, (values - middle) / np.hypot(sd, middle_sd)
