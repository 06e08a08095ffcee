"""The walker's frame and the map frame: unit, scale, north, shared errors.

In the walker's frame nothing is converted: lengths are the walker's own paces, azimuths those of the
walker's own compass. A pace count or a compass that is off all day scales and turns the whole figure
and cancels on the way back. In the map frame both come in as errors shared by all legs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthReference
from pacewright.core.log.log_heading import Heading
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.exceptions import MissingComplaint

FrameKind = Literal["walker", "map"]
LengthUnit = Literal["pace", "metre"]
CountedUnit = Literal["pace", "metre", "step"]
"""What a way is counted in: two steps are a pace."""

STEPS_IN_PACE: Final = 2.0
ASSUMED_PACE_M: Final = 1.5
"""A pace (two steps) of a walker never measured, used only to size the least scatter of a count that
is logged in metres: five feet, the forester's and the Roman pace."""


@dataclass(frozen=True, slots=True)
class Frame:
    """How a log's readings become lengths and directions.

    Attributes
    ----------
    kind
        `walker` or `map`.
    unit
        Unit of every length in the frame.
    azimuth_reference
        The north that the frame's azimuths start from.
    turn_deg
        Added to the log's azimuths (the declination, where the map frame is true and the log magnetic).
    units_per_count
        Frame units for one counted unit on ordinary ground.
    units_per_pace
        Frame units for one pace on ordinary ground.
    bias_sd_deg
        Compass bias shared by all legs, 0 in the walker's frame.
    scale_sd
        Scale shared by all legs, as a fraction, 0 in the walker's frame.
    leg_bias_deg, sighting_bias_deg
        What the compass was found to be off before, added to legs and to bearings beside `turn_deg`.
        In the walker's frame legs stay as read and bearings differ from them by what holding the
        compass while walking was found to add.
    """

    kind: FrameKind
    unit: LengthUnit
    azimuth_reference: AzimuthReference
    turn_deg: float
    units_per_count: float
    units_per_pace: float
    bias_sd_deg: float
    scale_sd: float
    leg_bias_deg: float = 0.0
    sighting_bias_deg: float = 0.0

    @property
    def leg_turn_deg(self) -> float:
        """All that is added to the azimuth of a leg as read."""
        return self.turn_deg + self.leg_bias_deg

    @property
    def sighting_turn_deg(self) -> float:
        """All that is added to a bearing as read."""
        return self.turn_deg + self.sighting_bias_deg


def walker_frame(heading: Heading, walker: Walker) -> Frame:
    """The walker's own frame: paces (metres where metres were counted), the compass as it reads."""
    metres = heading.count_unit == "metres"
    pace_m = walker.pace_m() if walker.per_100_m else ASSUMED_PACE_M
    return Frame(
        kind="walker",
        unit="metre" if metres else "pace",
        azimuth_reference=heading.azimuth_reference,
        turn_deg=0.0,
        units_per_count=1.0 / STEPS_IN_PACE if heading.count_unit == "steps" else 1.0,
        units_per_pace=pace_m if metres else 1.0,
        bias_sd_deg=0.0,
        scale_sd=0.0,
        sighting_bias_deg=walker.compass.sighting_bias_deg - walker.compass.bias_deg,
    )


def map_frame(heading: Heading, walker: Walker) -> Frame:
    """The map frame: metres, true north where the log names its declination.

    Raises
    ------
    MissingComplaint
        The log counts paces or steps and the walker has no pace count.
    """
    if heading.count_unit == "metres":
        pace_m = walker.pace_m() if walker.per_100_m else ASSUMED_PACE_M
        per_count = 1.0
    else:
        pace_m = walker.pace_m()
        per_count = pace_m / STEPS_IN_PACE if heading.count_unit == "steps" else pace_m
    to_true = heading.azimuth_reference == "magnetic" and heading.declination_deg is not None
    return Frame(
        kind="map",
        unit="metre",
        azimuth_reference="true" if to_true else heading.azimuth_reference,
        turn_deg=(heading.declination_deg or 0.0) if to_true else 0.0,
        units_per_count=per_count,
        units_per_pace=pace_m,
        bias_sd_deg=walker.compass.bias_sd_deg,
        scale_sd=walker.count.scale_sd_pct / 100.0,
        leg_bias_deg=walker.compass.bias_deg,
        sighting_bias_deg=walker.compass.sighting_bias_deg,
    )


def into_frame(frame: Frame, other: Frame) -> NDArray[np.float64]:
    """The matrix that brings steps of one frame into another of the same log, shape (2, 2)."""
    turn_rad = math.radians(frame.leg_turn_deg - other.leg_turn_deg)
    sine, cosine = math.sin(turn_rad), math.cos(turn_rad)
    return np.array([[cosine, -sine], [sine, cosine]]) * other.units_per_count / frame.units_per_count


def choose_frame(heading: Heading, walker: Walker, kind: FrameKind | None = None) -> Frame:
    """The frame asked for; unasked, paces until the log has a pace count and a known point."""
    if kind is None:
        has_pace = walker.per_100_m is not None or heading.count_unit == "metres"
        kind = "map" if has_pace and heading.known else "walker"
    return map_frame(heading, walker) if kind == "map" else walker_frame(heading, walker)


def class_ratio(pace_class: PaceClass, walker: Walker) -> float:
    """The length of a pace on a class of ground over that of the ordinary pace.

    Raises
    ------
    MissingComplaint
        The walker has classes and no ordinary pace count to compare them with.
    """
    if walker.per_100_m is None:
        raise MissingComplaint(
            f"the pace table knows {pace_class.ground or pace_class.slope} and not the ordinary pace count",
            "Add per_100_m to [pace] in the walker file",
        )
    return walker.per_100_m / pace_class.per_100_m


def class_ratio_sd(pace_class: PaceClass, walker: Walker) -> float:
    """How well the ratio of a class is known, as a fraction; shared by all legs on that ground."""
    if pace_class.per_100_m == walker.per_100_m:
        # The ordinary ground under its own name: the ratio is one, whatever the pace is.
        return 0.0
    if pace_class.per_100_m_sd > 0:
        return pace_class.per_100_m_sd / pace_class.per_100_m
    if pace_class.runs > 0:
        return walker.count.count_sd_pct / 100.0 / math.sqrt(pace_class.runs)
    return walker.count.scale_sd_pct / 100.0


def class_error_name(pace_class: PaceClass) -> str:
    """The name under which the error of a class's ratio is shared by the legs on that ground."""
    return " ".join(filter(None, ("ground", pace_class.ground, pace_class.slope)))
