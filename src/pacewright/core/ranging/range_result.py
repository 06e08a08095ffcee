"""A distance that was not walked: how sure it is, and the row of a log that it becomes."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import NormalDist
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthUnit, format_azimuth, normal_azimuth
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import ValueComplaint

RangeMethod = Literal["right_angle", "base_line", "stakes", "mils", "thumb", "sound"]
LengthUnit = Literal["pace", "step", "metre"]
Goal = Literal["a", "b", "width"]

LONGEST_LENGTH: Final = 1e6
"""A base line, size or jump beyond this many units is a slip of the pencil, not a thing on the ground."""

_MOST_STEPS: Final = 30
_DIFFERENCE: Final = 1e-4
_STEPS_PER_PACE: Final = 2


@dataclass(frozen=True, slots=True)
class Range:
    """One distance that could not be walked.

    Attributes
    ----------
    method
        How it was found.
    distance, distance_sd
        The distance and its scatter, in `unit`.
    low, high
        The region that holds the distance with `probability`; not symmetric where the figure is flat.
    probability
        From 0 to 1.
    unit
        The unit the base line, size or jump was measured in. A range in paces is in the walker's own
        paces: a pace count that is off scales it like every counted leg of that log.
    azimuth_deg
        From where the walker stands to the far mark, by the walker's compass; None if not read.
    rule_of_thumb, rule_off_pct
        What the rule taught for this method gives, in `unit`, and by how many per cent of the distance
        it lies over (positive) or under it; None where the method has no such rule.
    how
        A few words on how it was found, for the notes of a log.
    goal
        Of a base line: the end the distance is from, or the width square to it.
    facts
        What was measured, and what else the same figure tells; names carry units, lengths in `unit`.
    """

    method: RangeMethod
    distance: float
    distance_sd: float
    low: float
    high: float
    probability: float
    unit: LengthUnit
    azimuth_deg: float | None = None
    rule_of_thumb: float | None = None
    rule_off_pct: float | None = None
    how: str = ""
    goal: Goal | None = None
    facts: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))


class Spread(NamedTuple):
    """A figure worked out from readings, its scatter, and the region that holds it."""

    value: float
    sd: float
    low: float
    high: float


class RangeRow(NamedTuple):
    """The three cells of a travel log's row for a distance that was not walked."""

    azimuth_text: str
    count_text: str
    notes: str


def measured_range(
    method: RangeMethod,
    found: Spread,
    probability: float,
    unit: LengthUnit,
    how: str,
    *,
    facts: Mapping[str, float],
    azimuth_deg: float | None = None,
    rule_of_thumb: float | None = None,
    goal: Goal | None = None,
) -> Range:
    """The range that a spread stands for, with how far off its rule of thumb is."""
    return Range(
        method,
        found.value,
        found.sd,
        found.low,
        found.high,
        probability,
        unit,
        None if azimuth_deg is None else azimuth(azimuth_deg),
        rule_of_thumb,
        None if rule_of_thumb is None else round(100.0 * (rule_of_thumb / found.value - 1.0), 9),
        how,
        goal,
        MappingProxyType(dict(facts)),
    )


def sure_spread(
    figure_of: Callable[[NDArray[np.float64]], float],
    readings: Sequence[float],
    sds: Sequence[float],
    probability: float,
    do: str,
) -> Spread:
    """The spread of a distance, or say that the readings do not pin it down.

    Parameters
    ----------
    figure_of, readings, sds, probability
        As in `spread`.
    do
        What would make a better figure.

    Raises
    ------
    ValueComplaint
        Within their scatter the readings make no figure, or the scatter outgrows the distance.
    """
    if not 0 < probability < 1:
        raise ValueComplaint(f"{probability} is not a share between 0 and 1", "Give one such as 0.95")
    found = spread(figure_of, readings, sds, probability)
    if found is None:
        raise ValueComplaint("within the scatter of these readings the distance cannot be pinned down", do)
    if found.sd >= found.value:
        raise ValueComplaint("the scatter of these readings is as large as the distance itself", do)
    return found


def spread(
    figure_of: Callable[[NDArray[np.float64]], float],
    readings: Sequence[float],
    sds: Sequence[float],
    probability: float,
) -> Spread | None:
    """A figure worked out from independent readings, with its scatter and region.

    All readings are moved together, by so many standard deviations in all, the way that lengthens the
    figure most, and the way that shortens it most. Moved by the quantile they give the region, which
    leans the way the figure does; moved by sqrt(3) they give the scatter. For a figure that is straight
    in its readings both are the plain first-order propagation.

    Parameters
    ----------
    figure_of
        From the readings, shape (n,), to the figure; NaN where they make no figure.
    readings, sds
        The n readings and their standard deviations.
    probability
        What the region is to hold.

    Returns
    -------
    Spread or None
        None where the readings, moved within the region, make no figure.

    References
    ----------
    First-order reliability method: A. M. Hasofer and N. C. Lind, 1974 (from memory). The sqrt(3): three
    points that match a normal distribution up to its fifth moment (Gauss-Hermite, from memory).
    """
    centre, scale = np.asarray(readings, dtype=np.float64), np.asarray(sds, dtype=np.float64)

    def moved(by: NDArray[np.float64]) -> float:
        return float(figure_of(centre + scale * by))

    value = moved(np.zeros_like(centre))
    quantile, three = NormalDist().inv_cdf(0.5 + probability / 2), math.sqrt(3)
    low, high = (_farthest(moved, len(centre), way * quantile) for way in (-1, 1))
    short, long = (_farthest(moved, len(centre), way * three) for way in (-1, 1))
    found = Spread(value, (long - short) / (2 * three), max(0.0, low), high)
    return found if all(map(math.isfinite, (*found, low))) else None


def _farthest(figure_of: Callable[[NDArray[np.float64]], float], n: int, signed_radius: float) -> float:
    """The largest (radius positive) or smallest figure on a sphere of unit scatters."""
    at = np.zeros(n)
    for _ in range(_MOST_STEPS):
        slope = _slope(figure_of, at)
        steepness = float(np.linalg.norm(slope))
        if steepness == 0 or not math.isfinite(steepness):
            break
        before, at = at, signed_radius * slope / steepness
        if np.allclose(at, before, rtol=0, atol=1e-6):
            break
    return figure_of(at)


def _slope(figure_of: Callable[[NDArray[np.float64]], float], at: NDArray[np.float64]) -> NDArray[np.float64]:
    steps = _DIFFERENCE * np.eye(len(at))
    return np.array([figure_of(at + step) - figure_of(at - step) for step in steps]) / (2 * _DIFFERENCE)


def estimate_pct(range_: Range) -> int:
    """The per cent that a log's `[est N%]` states: the scatter, rounded up, at least 1.

    >>> estimate_pct(Range("thumb", 500.0, 101.0, 302.0, 698.0, 0.95, "metre"))
    21
    """
    return _whole_pct(range_.distance_sd / range_.distance)


def range_row(
    range_: Range,
    *,
    count_unit: LengthUnit | None = None,
    walker: Walker | None = None,
    azimuth_unit: AzimuthUnit = "degrees",
) -> RangeRow:
    """The range as a row of a travel log, its count marked as estimated.

    Parameters
    ----------
    range_
        The distance.
    count_unit
        What the log counts in; None leaves the range's own unit.
    walker
        Whose paces they are. Between metres and paces the scatter of the pace count itself comes in.
    azimuth_unit
        What the log writes azimuths in.

    Returns
    -------
    RangeRow
        The azimuth is empty where none was read.

    Raises
    ------
    MissingComplaint
        Metres are to become paces, or paces metres, and the walker has no pace count.
    """
    wanted = count_unit or range_.unit
    factor, scale_sd = _conversion(range_.unit, wanted, walker or Walker())
    relative_sd = math.hypot(range_.distance_sd / range_.distance, scale_sd)
    shown = "" if range_.azimuth_deg is None else format_azimuth(range_.azimuth_deg, azimuth_unit)
    notes = f"[est {_whole_pct(relative_sd)}%] {range_.how}"
    return RangeRow(shown, format_length(range_.distance * factor), notes)


def format_length(length: float) -> str:
    """Write a length as a notebook does: whole from 10 up, two figures below.

    >>> format_length(69.28), format_length(9.96), format_length(4.37), format_length(0.0123)
    ('69', '10', '4.4', '0.012')
    """
    if length >= 9.95:
        return str(whole_count(length))
    return str(np.format_float_positional(length, precision=2, fractional=False, trim="-"))


def _whole_pct(relative_sd: float) -> int:
    # 5 % worked out in binary must not become 6; a log takes no more than 100.
    return min(100, max(1, math.ceil(100.0 * relative_sd - 1e-9)))


def _conversion(unit: LengthUnit, wanted: LengthUnit, walker: Walker) -> tuple[float, float]:
    """The factor from one unit of count to another, and its relative scatter."""
    if (unit == "metre") == (wanted == "metre"):
        return _per_pace(wanted) / _per_pace(unit), 0.0
    pace_m = walker.pace_m()
    factor = pace_m / _per_pace(unit) if wanted == "metre" else _per_pace(wanted) / pace_m
    return factor, walker.count.scale_sd_pct / 100.0


def _per_pace(unit: LengthUnit) -> int:
    return _STEPS_PER_PACE if unit == "step" else 1


def finite(value: float, name: str) -> float:
    """The value back if it is a finite number.

    Raises
    ------
    ValueComplaint
        It is not.
    """
    if not math.isfinite(value):
        raise ValueComplaint(f"{name} is {value}, not a number", "Give a finite number")
    return value


def length(value: float, name: str) -> float:
    """The value back if something on the ground can be that long.

    Raises
    ------
    ValueComplaint
        It is not a number above 0, or beyond any base line.
    """
    if not 0 < finite(value, name) <= LONGEST_LENGTH:
        raise ValueComplaint(
            f"{name} cannot be {value:g}", f"Give a number above 0 and at most {LONGEST_LENGTH:,.0f}"
        )
    return value


def scatter(value: float, name: str) -> float:
    """A standard deviation back if it is one: finite and not negative.

    Raises
    ------
    ValueComplaint
        It is not.
    """
    if finite(value, name) < 0:
        raise ValueComplaint(f"{name} cannot be {value:g}", "Give 0 or more")
    return value


def azimuth(azimuth_deg: float) -> float:
    """An azimuth back, 360 as 0.

    Raises
    ------
    ValueComplaint
        It is not from 0 to 360.
    """
    if not 0 <= azimuth_deg <= 360:
        raise ValueComplaint(f"{azimuth_deg} is not an azimuth in degrees", "Give a number from 0 to 360")
    return normal_azimuth(azimuth_deg)


def with_interval(sd: float, interval: float) -> float:
    """Add to a scatter what reading to a step of `interval` adds: the square of it over 12.

    References
    ----------
    Uniform rounding, interval over the root of 12: common practice (H. I. Ralph, 1966, title not read).
    """
    return math.hypot(sd, interval / math.sqrt(12))


def counted(length_: float, unit: LengthUnit) -> str:
    """Write a length with its unit.

    >>> counted(1, "pace"), counted(69.28, "metre")
    ('1 pace', '69 metres')
    """
    shown = format_length(length_)
    return f"{shown} {unit}{'' if shown == '1' else 's'}"
