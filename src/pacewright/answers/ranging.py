"""A distance that cannot be walked, by any of the ways, and the row of a log that it becomes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from pacewright.core.compass import AzimuthUnit
from pacewright.core.pace.walker import Walker
from pacewright.core.ranging.range_result import LengthUnit, Range, RangeMethod, RangeRow, range_row
from pacewright.core.ranging.ranging import range_by_base_line, range_by_right_angle, range_by_stakes
from pacewright.core.ranging.ranging_standing import range_by_mils, range_by_sound, range_by_thumb

_WAYS: Final[Mapping[RangeMethod, Callable[..., Range]]] = {
    "right_angle": range_by_right_angle,
    "base_line": range_by_base_line,
    "stakes": range_by_stakes,
    "mils": range_by_mils,
    "thumb": range_by_thumb,
    "sound": range_by_sound,
}
_BY_WALKER: Final = ("right_angle", "base_line", "stakes")
"""Ways on which the scatter of the walker's own counts and azimuths tells."""


@dataclass(frozen=True, slots=True)
class RangeAsked:
    """What was measured.

    Attributes
    ----------
    method
        One of the six ways.
    readings
        By the name of a parameter of that way's function; what is None keeps its default.
    count_unit
        What the log counts in; None for the unit that was measured in.
    azimuth_unit
        In which the row's azimuth is written.
    """

    method: RangeMethod
    readings: Mapping[str, Any]
    count_unit: LengthUnit | None = None
    azimuth_unit: AzimuthUnit = "degrees"


@dataclass(frozen=True, slots=True)
class RangeAnswer:
    """The distance, the unit of the log that takes it, and its row there."""

    found: Range
    count_unit: LengthUnit
    row: RangeRow


def answer_range(asked: RangeAsked, walker: Walker, probability: float) -> RangeAnswer:
    """A distance by what was measured.

    Raises
    ------
    Complaint
        The readings make no distance, or the row needs a pace count that the walker does not have.
    """
    given = {name: value for name, value in asked.readings.items() if value is not None}
    if asked.method in _BY_WALKER:
        given["walker"] = walker
    found = _WAYS[asked.method](**given, probability=probability)
    row = range_row(found, count_unit=asked.count_unit, walker=walker, azimuth_unit=asked.azimuth_unit)
    return RangeAnswer(found, asked.count_unit or found.unit, row)
