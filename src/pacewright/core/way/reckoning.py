"""Legs to stations with covariance, in either frame.

First order, with what all legs share kept apart from what each leg has of its own:

    Cov(P_j, P_k) = sum over legs i <= min(j, k) of own_i  +  sum over shared terms of var V_j V_k'

own_i holds the scatter of counting along the leg and of holding the azimuth across it, what rounding
adds, and the two offsets of every box. V is (north, -east) for a compass bias in radians, (east,
north) for the pace scale, and the part walked on a class of ground for that class's pace count.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import unit_vectors
from pacewright.core.log.remarks import Estimated
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.frames import Frame, choose_frame, class_error_name, class_ratio, class_ratio_sd

Array = NDArray[np.float64]

COMPASS_BIAS, PACE_SCALE = "compass bias", "pace scale"
"""Names of the two errors that all legs of a frame share."""
POINT_INTERVAL_DEG: Final = 22.5
"""An azimuth written as a point of the compass is read to the sixteen points."""


@dataclass(frozen=True, slots=True, eq=False)
class SharedTerm:
    """An error that many legs have in common.

    Attributes
    ----------
    name
        `compass bias`, `pace scale`, or the class of ground.
    variance
        Its variance: radians squared for the bias, a fraction squared for the rest.
    lever
        Shape (n + 1, 2): east and north that one unit of it moves every station.
    """

    name: str
    variance: float
    lever: Array


@dataclass(frozen=True, slots=True, eq=False)
class Reckoning:
    """Where every station lies from the start, and how sure that is.

    Attributes
    ----------
    frame
        Unit and north of all that follows.
    names
        Name of every station or None, the start first; length n + 1.
    azimuth_deg, length
        Of every leg, in the frame; shape (n,).
    place
        East and north of every station from the start; shape (n + 1, 2).
    own
        Covariance of each leg's own part; shape (n, 2, 2).
    own_sum
        The same, summed to every station; shape (n + 1, 2, 2).
    turn_variance_rad2
        Of each leg's azimuth; shape (n,).
    shared
        What the legs have in common.
    remarks
        Sentences the reader must see, such as a class of ground that was not told apart.
    held
        Covariance of every station against the start where more than the legs says where it lies, shape
        (n + 1, 2, 2); None where the legs alone do.
    """

    frame: Frame
    names: tuple[str | None, ...]
    azimuth_deg: Array
    length: Array
    place: Array
    own: Array
    own_sum: Array
    turn_variance_rad2: Array
    shared: tuple[SharedTerm, ...]
    remarks: tuple[str, ...]
    held: Array | None = None

    @property
    def ground_terms(self) -> tuple[SharedTerm, ...]:
        """What the legs share beside compass bias and pace scale: the classes of ground."""
        return tuple(term for term in self.shared if term.name not in (COMPASS_BIAS, PACE_SCALE))

    @property
    def last(self) -> int:
        """The number of the last station."""
        return len(self.names) - 1

    def covariance(self, station: int) -> Array:
        """The covariance of a station's place against the start, shape (2, 2)."""
        if self.held is not None:
            of_station: Array = self.held[station]
            return of_station
        return self.joint_covariance(station, station)

    def covariances(self) -> Array:
        """The covariance of every station, shape (n + 1, 2, 2)."""
        if self.held is not None:
            return self.held
        total = self.own_sum.copy()
        for term in self.shared:
            total += term.variance * term.lever[:, :, None] * term.lever[:, None, :]
        return total

    def joint_covariance(self, first: int, second: int) -> Array:
        """Cov(P_first, P_second) by the legs alone, rows for the first station, shape (2, 2)."""
        assert self.held is None, "the legs alone do not say it here"
        total: Array = self.own_sum[min(first, second)].copy()
        for term in self.shared:
            total += term.variance * np.outer(term.lever[first], term.lever[second])
        return total

    def relative_covariance(self, origin: int, station: int) -> Array:
        """The covariance of one station's place as seen from another by the legs alone, shape (2, 2)."""
        assert self.held is None, "the legs alone do not say it here"
        low, high = sorted((origin, station))
        total: Array = self.own_sum[high] - self.own_sum[low]
        for term in self.shared:
            step = term.lever[station] - term.lever[origin]
            total = total + term.variance * np.outer(step, step)
        return total


def reckon(log: TravelLog, walker: Walker | None = None, frame: Frame | None = None) -> Reckoning:
    """Where the stations of a log lie and how sure that is.

    Parameters
    ----------
    log
        At least one leg.
    walker
        Pace table and scatter; without one the published defaults hold.
    frame
        By default paces, until log and walker hold a pace count and a known point.

    Raises
    ------
    MissingComplaint
        The map frame has no pace count, or the pace table lacks a class that the log names.

    References
    ----------
    Covariance of a leg: C. D. Ghilani, Adjustment Computations, ch. 8 (eq. 8.2).
    """
    walker = walker or Walker()
    frame = frame or choose_frame(log.heading, walker)
    legs = log.legs
    classes, remarks = _classes(log, walker)
    ratio = np.array([1.0 if c is None else class_ratio(c, walker) for c in classes])
    azimuth_deg = _azimuths(legs, frame)
    length = np.array([leg.count for leg in legs]) * frame.units_per_count * ratio
    steps = np.stack(unit_vectors(azimuth_deg), axis=1) * length[:, None]
    place = _from_zero(steps)
    turn_variance_rad2 = _turn_variance(legs, walker)
    own = _own_covariances(legs, walker, frame, length, ratio, azimuth_deg, turn_variance_rad2)
    shared = (*_frame_terms(frame, place), *_class_terms(classes, walker, steps))
    return Reckoning(
        frame=frame,
        names=log.station_names(),
        azimuth_deg=azimuth_deg,
        length=length,
        place=place,
        own=own,
        own_sum=_from_zero(own),
        turn_variance_rad2=turn_variance_rad2,
        shared=shared,
        remarks=remarks,
    )


def leg_covariance(azimuth_deg: float, length: float, azimuth_sd_deg: float, length_sd: float) -> Array:
    """The covariance of one leg's end, rows east and north.

    Parameters
    ----------
    azimuth_deg, length
        The leg.
    azimuth_sd_deg, length_sd
        Their standard deviations.

    References
    ----------
    C. D. Ghilani, Adjustment Computations, eq. 8.2.
    """
    along = np.stack(unit_vectors([azimuth_deg]), axis=1)
    across_sd = np.array([math.radians(azimuth_sd_deg) * length])
    covariance: Array = _spread(along, np.array([length_sd**2]), across_sd**2)[0]
    return covariance


def walked_covariance(azimuth_deg: float, length: float, walker: Walker, frame: Frame) -> Array:
    """The covariance that walking one leg by azimuth and count adds, shape (2, 2)."""
    unit = np.array([frame.units_per_count])
    count_sd = math.sqrt(float(_count_variance(np.array([length]), walker, frame, unit)[0]))
    return leg_covariance(azimuth_deg, length, walked_turn_sd_deg(walker), count_sd)


def walked_turn_sd_deg(walker: Walker) -> float:
    """The scatter of an azimuth that is dialled and held, in degrees."""
    return math.hypot(walker.compass.azimuth_sd_deg, walker.compass.reading_interval_deg / math.sqrt(12.0))


def box_covariance(azimuth_deg: float, offset: float, walker: Walker, frame: Frame) -> Array:
    """The covariance that boxing an obstacle adds to a leg, shape (2, 2).

    The offset out and the offset back, at right angles to the leg, cancel; their scatter does not.
    """
    both_ways: Array = 2.0 * walked_covariance(azimuth_deg + 90.0, offset, walker, frame)
    return both_ways


def _azimuths(legs: Sequence[Leg], frame: Frame) -> Array:
    read = np.array([leg.azimuth_deg for leg in legs])
    if frame.leg_turn_deg == 0:
        return read
    turned = np.mod(read + frame.leg_turn_deg, 360.0)
    # -1e-14 mod 360 is 360 itself.
    wrapped: Array = np.where(turned >= 360.0, 0.0, turned)
    return wrapped


def _from_zero(steps: Array) -> Array:
    total = np.zeros((steps.shape[0] + 1, *steps.shape[1:]))
    np.cumsum(steps, axis=0, out=total[1:])
    return total


def _spread(along: Array, along_variance: Array, across_variance: Array) -> Array:
    """Turn variances along and across into covariances; shape (n, 2, 2)."""
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    spread: Array = along_variance[:, None, None] * along[:, :, None] * along[:, None, :]
    spread += across_variance[:, None, None] * across[:, :, None] * across[:, None, :]
    return spread


def _own_covariances(
    legs: Sequence[Leg],
    walker: Walker,
    frame: Frame,
    length: Array,
    ratio: Array,
    azimuth_deg: Array,
    turn_variance_rad2: Array,
) -> Array:
    unit = frame.units_per_count * ratio
    along_variance = _count_variance(length, walker, frame, unit)
    for i, leg in enumerate(legs):
        estimate = leg.find(Estimated) if leg.remarks else None
        if estimate is not None:
            along_variance[i] = (estimate.sd_pct / 100.0 * length[i]) ** 2 + unit[i] ** 2 / 12.0
    along = np.stack(unit_vectors(azimuth_deg), axis=1)
    own = _spread(along, along_variance, turn_variance_rad2 * length**2)
    for i, leg in enumerate(legs):
        for box in leg.boxes if leg.remarks else ():
            own[i] += box_covariance(float(azimuth_deg[i]), box.offset * float(unit[i]), walker, frame)
    return own


def _count_variance(length: Array, walker: Walker, frame: Frame, unit: Array) -> Array:
    floor = walker.count.count_floor * frame.units_per_pace
    sd = np.maximum(walker.count.count_sd_pct / 100.0 * length, floor)
    variance: Array = np.where(length > 0, sd**2, 0.0) + unit**2 / 12.0
    return variance


def _turn_variance(legs: Sequence[Leg], walker: Walker) -> Array:
    interval = np.full(len(legs), walker.compass.reading_interval_deg)
    by_point = [i for i, leg in enumerate(legs) if leg.cells.azimuth.strip().isalpha()]
    interval[by_point] = np.maximum(interval[by_point], POINT_INTERVAL_DEG)
    variance_deg2 = walker.compass.azimuth_sd_deg**2 + interval**2 / 12.0
    variance: Array = math.radians(1.0) ** 2 * variance_deg2
    return variance


def _frame_terms(frame: Frame, place: Array) -> list[SharedTerm]:
    terms = []
    if frame.bias_sd_deg > 0:
        clockwise = np.stack([place[:, 1], -place[:, 0]], axis=1)
        terms.append(SharedTerm(COMPASS_BIAS, math.radians(frame.bias_sd_deg) ** 2, clockwise))
    if frame.scale_sd > 0:
        terms.append(SharedTerm(PACE_SCALE, frame.scale_sd**2, place))
    return terms


def _classes(log: TravelLog, walker: Walker) -> tuple[list[PaceClass | None], tuple[str, ...]]:
    legs = log.legs
    # Metres were made of paces already, by whatever pace count the walker had for the ground.
    if walker.classes and log.heading.count_unit != "metres":
        return [walker.pace_class(leg.ground, leg.slope) if leg.remarks else None for leg in legs], ()
    return [None] * len(legs), _ground_not_told(log)


def _ground_not_told(log: TravelLog) -> tuple[str, ...]:
    grounds = dict.fromkeys(leg.ground for leg in log.legs if leg.remarks and leg.ground)
    if not grounds:
        return ()
    named = ", ".join(map(str, grounds))
    if log.heading.count_unit == "metres":
        return (f"The log counts metres: ground {named} changes nothing in them.",)
    return (f"There is no pace table: ground {named} was counted as ordinary ground.",)


def _class_terms(classes: Sequence[PaceClass | None], walker: Walker, steps: Array) -> list[SharedTerm]:
    terms = []
    for one in dict.fromkeys(c for c in classes if c is not None):
        on_it = np.array([c == one for c in classes])
        sd = class_ratio_sd(one, walker)
        terms.append(SharedTerm(class_error_name(one), sd**2, _from_zero(steps * on_it[:, None])))
    return terms
