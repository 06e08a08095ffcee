"""Distances across what cannot be walked, from a base line that can: each with its uncertainty.

Azimuths compared here were read by one compass, one after the other: what that compass is off all day
turns them all alike and drops out of the angles between them. Only the scatter of each reading stays,
and for a line that was walked, not sighted, the half of the bias that comes from how the compass is
held on the march.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import back_azimuth, normal_azimuth, turn_deg
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY, CompassScatter, CountScatter
from pacewright.core.pace.walker import Walker
from pacewright.core.ranging.range_result import (
    Goal,
    LengthUnit,
    Range,
    Spread,
    azimuth,
    counted,
    length,
    measured_range,
    scatter,
    sure_spread,
    with_interval,
)
from pacewright.exceptions import ValueComplaint

RULE_WITHIN_DEG: Final = 5.0
"""The rule of 45 degrees is spoken of where the azimuth has changed by so much more or less (assumed)."""
RULE_WITHIN_SHARE: Final = 0.05
"""The rules of the stakes, where the two walks stand to each other as they ask, to this share (assumed)."""
SQUARE_SD_DEG: Final = 5.0
"""How far a right angle laid off without a compass is off: arms spread and brought together (assumed)."""

IN_LINE_SD_DEG: Final = 1.0
"""How well two things are seen to stand in line, walking past (assumed)."""

_FLOOR_PACES_IN: Final[Mapping[str, float]] = MappingProxyType({"pace": 1.0, "step": 2.0, "metre": 1.5})
"""One pace in each unit; 1.5 m is two of the 30-inch steps of Moss, Manual of Military Training, 1917."""


class _Sides(NamedTuple):
    a: float
    b: float
    width: float


def range_by_right_angle(
    base: float,
    azimuth_from_start_deg: float,
    azimuth_from_end_deg: float,
    *,
    unit: LengthUnit = "pace",
    base_sd: float | None = None,
    walker: Walker | None = None,
    probability: float = DEFAULT_PROBABILITY,
) -> Range:
    """The width across, from a walk square to the line across: base / tan(change of azimuth).

    When the azimuth of the far mark has changed by 45 degrees, the distance walked is the width. Which
    way the walk went follows from the way the azimuth changed.

    Parameters
    ----------
    base
        Walked square to the first azimuth, in `unit`.
    azimuth_from_start_deg, azimuth_from_end_deg
        To the far mark before and after the walk.
    unit, base_sd
        Of the base line; without `base_sd` the walker's count scatter stands (a base in metres is taken
        as paced and turned into metres).
    walker
        How this person reads, holds an azimuth, and counts; without one the defaults stand.
    probability
        What the region is to hold.

    Raises
    ------
    ValueComplaint
        The azimuth has not changed, has changed by 90 degrees or more, or is too flat for its scatter.

    References
    ----------
    The 45-degree method: US Army engineer field manuals FM 5-34, FM 5-170 (from memory).

    Examples
    --------
    >>> found = range_by_right_angle(100, 10, 325)
    >>> round(found.distance, 6), found.unit
    (100.0, 'pace')
    """
    length(base, "the base line")
    start, end = azimuth(azimuth_from_start_deg), azimuth(azimuth_from_end_deg)
    turned = turn_deg(start, end)
    compass, count = _scatter(walker)
    if turned == 0 or abs(turned) >= 90:
        raise ValueComplaint(
            f"on a walk square to the first azimuth the far mark cannot change by {abs(turned):g} degrees",
            "Give the azimuth of the same mark before and after the walk; the change lies between 0 and 90",
        )
    walked = start + math.copysign(90.0, -turned)
    held_sd = math.hypot(_read_sd(compass, compass.azimuth_sd_deg), compass.bias_sd_deg / math.sqrt(2))
    sight_sd = _read_sd(compass, compass.sighting_sd_deg)
    found = sure_spread(
        lambda r: _sides(*r.tolist()).a,
        [base, walked, start, end],
        [_base_sd(base, base_sd, unit, count), held_sd, sight_sd, sight_sd],
        probability,
        "Walk on until the azimuth of the mark has changed by some 45 degrees",
    )
    return measured_range(
        "right_angle",
        found,
        probability,
        unit,
        f"width by a right angle from {counted(base, unit)}",
        facts={
            "base": base,
            "azimuth_from_end_deg": end,
            "turned_deg": abs(turned),
            "mark_on_left": float(turned < 0),
        },
        azimuth_deg=start,
        rule_of_thumb=base if abs(abs(turned) - 45.0) <= RULE_WITHIN_DEG else None,
    )


def range_by_base_line(
    base: float,
    base_azimuth_deg: float,
    azimuth_from_a_deg: float,
    azimuth_from_b_deg: float,
    *,
    goal: Goal = "a",
    unit: LengthUnit = "pace",
    base_sd: float | None = None,
    walker: Walker | None = None,
    probability: float = DEFAULT_PROBABILITY,
) -> Range:
    """How far a mark is from a base line A to B, by its azimuths from both ends.

    Parameters
    ----------
    base, base_azimuth_deg
        Counted from A to B, in `unit`, and its azimuth.
    azimuth_from_a_deg, azimuth_from_b_deg
        To the far mark from both ends.
    goal
        `a` or `b`: the distance from that end; `width`: the distance square to the base line. All three
        are among the facts, with their scatter.
    unit, base_sd, walker, probability
        As in `range_by_right_angle`.

    Raises
    ------
    ValueComplaint
        The lines of sight do not cross, or may not within their scatter.

    References
    ----------
    Law of sines, as in any plane surveying text (common practice).

    Examples
    --------
    >>> found = range_by_base_line(75, 90, 38, 338)
    >>> round(found.distance, 2), round(found.facts["width"], 2)
    (80.3, 63.27)
    """
    length(base, "the base line")
    compass, count = _scatter(walker)
    readings = [base, *map(azimuth, (base_azimuth_deg, azimuth_from_a_deg, azimuth_from_b_deg))]
    if math.isnan(_sides(*readings).a):
        raise ValueComplaint(
            "these two lines of sight do not cross ahead of the base line",
            "Check that both azimuths are of the same mark, and that the base line's runs from A to B",
        )
    sight_sd = _read_sd(compass, compass.sighting_sd_deg)
    sds = [_base_sd(base, base_sd, unit, count), sight_sd, sight_sd, sight_sd]

    def side(name: str) -> Spread:
        return sure_spread(
            lambda r: float(getattr(_sides(*r.tolist()), name)),
            readings,
            sds,
            probability,
            "Walk a longer base line, more nearly square to the line of sight",
        )

    found = {name: side(name) for name in _Sides._fields}
    left = turn_deg(readings[1], readings[2]) < 0
    square = normal_azimuth(readings[1] + (-90.0 if left else 90.0))
    facts = {
        "base": base,
        "base_azimuth_deg": readings[1],
        "azimuth_from_a_deg": readings[2],
        "azimuth_from_b_deg": readings[3],
    }
    for name, key in (("a", "from_a"), ("b", "from_b"), ("width", "width")):
        facts |= {key: found[name].value, f"{key}_sd": found[name].sd}
    what = "width" if goal == "width" else "distance"
    return measured_range(
        "base_line",
        found[goal],
        probability,
        unit,
        f"{what} by two azimuths from a base line of {counted(base, unit)}",
        facts=facts,
        azimuth_deg={"a": readings[2], "b": readings[3], "width": square}[goal],
        goal=goal,
    )


def range_by_stakes(
    to_stake: float,
    stake_to_turn: float,
    inland: float,
    *,
    unit: LengthUnit = "pace",
    azimuth_deg: float | None = None,
    length_sd: float | None = None,
    square_sd_deg: float = SQUARE_SD_DEG,
    walker: Walker | None = None,
    probability: float = DEFAULT_PROBABILITY,
) -> Range:
    """The width across without a compass: inland x (to the stake) / (stake to turn).

    Walk square to the line across, plant a stake, walk on, turn square away from the water, and stop
    when stake and far mark are in line. With half the distance beyond the stake, the walk inland is
    half the width: that is the rule of thumb.

    Parameters
    ----------
    to_stake, stake_to_turn, inland
        The three walks, in `unit`.
    azimuth_deg
        Across to the mark, if a compass was there after all; it only fills the row's azimuth.
    length_sd
        Scatter of each of the three walks; without it the walker's count scatter stands.
    square_sd_deg
        How far each of the two right angles laid off by eye may be off.
    unit, walker, probability
        As in `range_by_right_angle`.

    References
    ----------
    Similar triangles; the half rule: R. Baden-Powell, Scouting for Boys, 1908.

    Examples
    --------
    >>> round(range_by_stakes(24, 16, 12).distance, 6)
    18.0
    """
    walks = [
        length(to_stake, "the walk to the stake"),
        length(stake_to_turn, "the walk from the stake to the turn"),
        length(inland, "the walk inland"),
    ]
    _, count = _scatter(walker)
    square_sd = scatter(square_sd_deg, "the scatter of the right angles")
    sds = [*(_base_sd(walk, length_sd, unit, count) for walk in walks), square_sd, square_sd, IN_LINE_SD_DEG]
    found = sure_spread(
        _stakes_width, [*walks, 0.0, 0.0, 0.0], sds, probability, "Walk longer distances on both sides"
    )
    facts = {"to_stake": to_stake, "stake_to_turn": stake_to_turn, "inland": inland}
    return measured_range(
        "stakes",
        found,
        probability,
        unit,
        "width by stakes without a compass",
        facts=facts,
        azimuth_deg=azimuth_deg,
        rule_of_thumb=_stakes_rule(to_stake, stake_to_turn, inland),
    )


def _sides(base: float, base_azimuth_deg: float, azimuth_a_deg: float, azimuth_b_deg: float) -> _Sides:
    """The sides of the triangle over a base line; NaN where the lines of sight do not cross."""
    at_a = turn_deg(base_azimuth_deg, azimuth_a_deg)
    at_b = -turn_deg(back_azimuth(base_azimuth_deg), azimuth_b_deg)
    if at_a * at_b <= 0 or abs(at_a) + abs(at_b) >= 180:
        return _Sides(math.nan, math.nan, math.nan)
    a_rad, b_rad = math.radians(abs(at_a)), math.radians(abs(at_b))
    side_a = base * math.sin(b_rad) / math.sin(a_rad + b_rad)
    side_b = base * math.sin(a_rad) / math.sin(a_rad + b_rad)
    return _Sides(side_a, side_b, side_a * math.sin(a_rad))


def _stakes_rule(to_stake: float, stake_to_turn: float, inland: float) -> float | None:
    """The width by rule: the walk inland with the stake halfway, twice it at two thirds; else None."""
    for times in (1.0, 2.0):
        if abs(to_stake / stake_to_turn / times - 1.0) <= RULE_WITHIN_SHARE:
            return times * inland
    return None


def _stakes_width(readings: NDArray[np.float64]) -> float:
    """The width over the stakes, their right angles and alignment off by the last three readings."""
    to_stake, stake_to_turn, inland = readings[:3]
    across_rad, inland_rad, in_line_rad = np.deg2rad(readings[3:])
    at_start_rad = math.pi / 2 - across_rad
    at_stake_rad = in_line_rad + math.atan2(
        inland * math.cos(inland_rad), stake_to_turn + inland * math.sin(inland_rad)
    )
    if not (at_stake_rad > 0 and at_start_rad + at_stake_rad < math.pi):
        return math.nan
    return float(to_stake * math.sin(at_stake_rad) / math.sin(at_start_rad + at_stake_rad))


def _scatter(walker: Walker | None) -> tuple[CompassScatter, CountScatter]:
    who = walker or Walker()
    return who.compass, who.count


def _read_sd(compass: CompassScatter, sd_deg: float) -> float:
    return with_interval(sd_deg, compass.reading_interval_deg)


def _base_sd(base: float, given: float | None, unit: LengthUnit, count: CountScatter) -> float:
    if given is not None:
        return scatter(given, "the scatter of the base line")
    # Counted in metres is paced in metres: the pace count itself, which turned one into the other, adds up.
    pct = math.hypot(count.count_sd_pct, count.scale_sd_pct) if unit == "metre" else count.count_sd_pct
    return with_interval(max(pct / 100 * base, count.count_floor * _FLOOR_PACES_IN[unit]), 1.0)
