"""A distance that was not walked, in plain sentences, and its row to paste into a log."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from pacewright.core.compass import AzimuthUnit, turn_deg
from pacewright.core.pace.walker import Walker
from pacewright.core.ranging.range_result import (
    LengthUnit,
    Range,
    RangeMethod,
    counted,
    format_length,
    range_row,
)
from pacewright.wording.walk import CAUTION as AN_AID

ACROSS: Final = frozenset({"right_angle", "stakes"})
"""Methods that give a width."""

CAUTION: Final = "Caution: depth is not known. Local rules and qualified instruction come first."
"""Said beside every width."""

_SAME_PCT: Final = 0.05


def say_range(
    range_: Range,
    *,
    count_unit: LengthUnit | None = None,
    walker: Walker | None = None,
    azimuth_unit: AzimuthUnit = "degrees",
) -> list[str]:
    """Say how far it is, how sure that is, how the number came about, and the row for a log.

    Parameters
    ----------
    range_
        The distance.
    count_unit, walker, azimuth_unit
        What the log counts and writes azimuths in, and whose paces they are, as in `range_row`.

    Raises
    ------
    MissingComplaint
        The row needs a pace count that the walker does not have.
    """
    sentences = [say_how_far(range_), _HOW[range_.method](range_)]
    if range_.rule_of_thumb is not None:
        sentences.append(_rule(range_))
    sentences.append(CAUTION if is_width(range_) else AN_AID)
    return [*sentences, *_row(range_, count_unit or range_.unit, walker, azimuth_unit)]


def is_width(range_: Range) -> bool:
    """Whether the range is a width across, not a distance from where one stands."""
    return range_.method in ACROSS or range_.goal == "width"


def say_how_far(range_: Range) -> str:
    """Say how far it is and how sure that is, in one sentence."""
    from_end = f" from {range_.goal.upper()}" if range_.goal in ("a", "b") else ""
    what = "Width" if is_width(range_) else f"Distance{from_end}"
    whose = "" if range_.unit == "metre" else f" (own {range_.unit}s, own compass)"
    share = f"{100 * range_.probability:g} times in 100"
    return (
        f"{what} about {counted(range_.distance, range_.unit)}, {share} between "
        f"{format_length(range_.low)} and {counted(range_.high, range_.unit)}{whose}."
    )


def _how_right_angle(range_: Range) -> str:
    base, turned = range_.facts["base"], range_.facts["turned_deg"]
    return (
        f"On a walk of {counted(base, range_.unit)} square to the line across, the azimuth of the mark "
        f"changed by {_angle(turned)} deg: {format_length(base)} / tan {_angle(turned)} deg = "
        f"{format_length(range_.distance)}."
    )


def _how_base_line(range_: Range) -> str:
    facts, unit = range_.facts, range_.unit
    crossing = abs(turn_deg(facts["azimuth_from_a_deg"], facts["azimuth_from_b_deg"]))
    return (
        f"From the ends of a base line of {counted(facts['base'], unit)} the lines of sight cross at "
        f"{_angle(crossing)} deg: {format_length(facts['from_a'])} from A, "
        f"{format_length(facts['from_b'])} from B, {format_length(facts['width'])} square to the line."
    )


def _how_stakes(range_: Range) -> str:
    facts = range_.facts
    to_stake, to_turn, inland = (format_length(facts[k]) for k in ("to_stake", "stake_to_turn", "inland"))
    return (
        f"{to_stake} to the stake, {to_turn} beyond it and {inland} inland brought stake and mark in line: "
        f"{inland} x {to_stake} / {to_turn} = {format_length(range_.distance)}."
    )


def _how_mils(range_: Range) -> str:
    return (
        f"{counted(range_.facts['size'], range_.unit)} fill {range_.facts['angle_mil']:g} mils "
        f"(6400 to the circle): size / tan of the angle."
    )


def _how_thumb(range_: Range) -> str:
    return (
        f"Changing eyes, the thumb jumped {counted(range_.facts['jump'], range_.unit)} over there; eye to "
        f"thumb is {range_.facts['ratio']:g} times eye to eye."
    )


def _how_sound(range_: Range) -> str:
    facts = range_.facts
    return (
        f"The sound took {facts['delay_s']:g} s; in air of {facts['air_temp_c']:g} degrees Celsius it runs "
        f"{facts['speed_of_sound_mps']:.0f} m in a second, more with the wind and less against it."
    )


_HOW: Final[dict[RangeMethod, Callable[[Range], str]]] = {
    "right_angle": _how_right_angle,
    "base_line": _how_base_line,
    "stakes": _how_stakes,
    "mils": _how_mils,
    "thumb": _how_thumb,
    "sound": _how_sound,
}

_RULE: Final[dict[RangeMethod, str]] = {
    "right_angle": "distance walked is width, when the azimuth has changed by 45 degrees",
    "stakes": "the walk inland is half the width, when the stake stands twice as far from the start as from "
    "the turn",
    "mils": "a thousand times the size, over the mils",
    "thumb": "ten times the jump",
    "sound": "three seconds to the kilometre",
}


def _rule(range_: Range) -> str:
    assert range_.rule_of_thumb is not None and range_.rule_off_pct is not None
    rule, off = _RULE[range_.method], range_.rule_off_pct
    if range_.method == "stakes" and range_.facts["to_stake"] < 1.5 * range_.facts["stake_to_turn"]:
        rule = "the walk inland is the width, when the stake stands halfway"
    if abs(off) < _SAME_PCT:
        return f"The rule of thumb ({rule}) gives the same."
    way = "long" if off > 0 else "short"
    given = counted(range_.rule_of_thumb, range_.unit)
    return f"The rule of thumb ({rule}) would give {given}, {abs(off):.1f} % too {way}."


def _row(
    range_: Range, count_unit: LengthUnit, walker: Walker | None, azimuth_unit: AzimuthUnit
) -> list[str]:
    row = range_row(range_, count_unit=count_unit, walker=walker, azimuth_unit=azimuth_unit)
    missing = "" if row.azimuth_text else ", the azimuth to be put in front"
    return [f"Row for a log that counts in {count_unit}s{missing}:", ",".join(row)]


def _angle(angle_deg: float) -> str:
    return f"{angle_deg:.1f}".removesuffix(".0")
