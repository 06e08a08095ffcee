"""A leg as the search sees it: east, north and azimuth, with the scatter of all three."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.compass import unit_vectors
from pacewright.core.log.remarks import Estimated
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import Frame, class_ratio, class_ratio_sd
from pacewright.core.way.reckoning import POINT_INTERVAL_DEG, box_covariance, reckon

Array = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class LegScatter:
    """How each leg of a log scatters, whatever azimuth and count it turns out to have.

    Attributes
    ----------
    unit
        Frame units of one counted unit on each leg, shape (n,).
    estimate_sd
        Of legs that were estimated, as a part of one; 0 where counted; shape (n,).
    turn_variance
        Of the azimuth, in radians squared, shape (n,).
    count_sd, floor
        Scatter of a count as a part of one, and the least it may be in frame units.
    boxes
        What boxed obstacles add along and across, shape (n,), in frame units squared.
    """

    unit: Array
    estimate_sd: Array
    turn_variance: Array
    count_sd: float
    floor: float
    boxes: Array

    def covariances(self, leg: Ints, azimuth_rad: Array, length: Array) -> Array:
        """The covariance of east, north and azimuth of legs, shape (3, 3, h)."""
        along_variance, turn = self._along_variance(leg, length), self.turn_variance[leg]
        sine, cosine = np.sin(azimuth_rad), np.cos(azimuth_rad)
        across_variance = turn * length**2
        box = self.boxes[leg]
        covariance = np.empty((3, 3, leg.size))
        covariance[0, 0] = along_variance * sine**2 + across_variance * cosine**2 + box
        covariance[1, 1] = along_variance * cosine**2 + across_variance * sine**2 + box
        covariance[0, 1] = covariance[1, 0] = (along_variance - across_variance) * sine * cosine
        covariance[0, 2] = covariance[2, 0] = turn * length * cosine
        covariance[1, 2] = covariance[2, 1] = -turn * length * sine
        covariance[2, 2] = turn
        return covariance

    def _along_variance(self, leg: Ints, length: Array) -> Array:
        counted = np.where(length > 0, np.maximum(self.count_sd * length, self.floor) ** 2, 0.0)
        guessed = (self.estimate_sd[leg] * length) ** 2
        variance: Array = np.where(self.estimate_sd[leg] > 0, guessed, counted) + self.unit[leg] ** 2 / 12.0
        return variance


@dataclass(frozen=True, slots=True, eq=False)
class LegStates:
    """The legs of a log in a frame, as written.

    Attributes
    ----------
    azimuth_rad, length
        Shape (n,).
    scatter
        How they scatter.
    class_of_leg
        For every shared class of ground, which legs lie on it, shape (classes, n), 1 or 0.
    class_variance
        How well each class's pace count is known, as a part of one squared, shape (classes,).
    """

    azimuth_rad: Array
    length: Array
    scatter: LegScatter
    class_of_leg: Array
    class_variance: Array

    @property
    def size(self) -> int:
        """The number of legs."""
        return int(self.length.size)


def leg_states(log: TravelLog, walker: Walker, frame: Frame) -> LegStates:
    """The legs of a log as the search sees them.

    Raises
    ------
    MissingComplaint
        The pace table lacks a class that the log names.
    """
    reckoning = reckon(log, walker, frame)
    legs = log.legs
    # Metres were made of paces already, by whatever pace count the walker had for the ground.
    told = bool(walker.classes) and log.heading.count_unit != "metres"
    classes = [walker.pace_class(leg.ground, leg.slope) if told and leg.remarks else None for leg in legs]
    unit = np.array([frame.units_per_count * (1.0 if c is None else class_ratio(c, walker)) for c in classes])
    estimates = [leg.find(Estimated) if leg.remarks else None for leg in legs]
    boxes = np.zeros(len(legs))
    for i, leg in enumerate(legs):
        for box in leg.boxes if leg.remarks else ():
            # The offsets lie square to the leg: along and across they differ little, and only the sum
            # of both is kept, so that it holds for whatever azimuth the leg turns out to have.
            spread = box_covariance(0.0, box.offset * float(unit[i]), walker, frame)
            boxes[i] += float(np.trace(spread)) / 2.0
    scatter = LegScatter(
        unit=unit,
        estimate_sd=np.array([e.sd_pct / 100.0 if e else 0.0 for e in estimates]),
        turn_variance=_turn_variance([leg.cells.azimuth for leg in legs], walker),
        count_sd=walker.count.count_sd_pct / 100.0,
        floor=walker.count.count_floor * frame.units_per_pace,
        boxes=boxes,
    )
    kinds = list(dict.fromkeys(c for c in classes if c is not None))
    return LegStates(
        azimuth_rad=np.deg2rad(reckoning.azimuth_deg),
        length=reckoning.length,
        scatter=scatter,
        class_of_leg=np.array([[float(c == kind) for c in classes] for kind in kinds]).reshape(
            len(kinds), len(legs)
        ),
        class_variance=np.array([class_ratio_sd(kind, walker) ** 2 for kind in kinds]),
    )


def steps_of(azimuth_rad: ArrayLike, length: ArrayLike) -> Array:
    """East, north and azimuth of legs, shape (3, h)."""
    azimuth, long = np.asarray(azimuth_rad, dtype=np.float64), np.asarray(length, dtype=np.float64)
    east, north = unit_vectors(np.rad2deg(azimuth))
    return np.stack([east * long, north * long, azimuth])


def _turn_variance(azimuths: list[str], walker: Walker) -> Array:
    interval_deg = np.array(
        [
            max(walker.compass.reading_interval_deg, POINT_INTERVAL_DEG)
            if text.strip().isalpha()
            else walker.compass.reading_interval_deg
            for text in azimuths
        ]
    )
    variance: Array = math.radians(1.0) ** 2 * (walker.compass.azimuth_sd_deg**2 + interval_deg**2 / 12.0)
    return variance
