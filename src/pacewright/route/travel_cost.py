"""How long a walk takes by a named rule, over slope and ground.

The rules disagree, by half and more on steep ground, so none is hidden behind another: each has a name, a
source and its own terms. A walker who knows better divides by the time of a walk already walked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]
RuleName = Literal["naismith", "eight-to-one", "langmuir", "tobler"]

_NAISMITH_KMH: Final = 5.0
_OFF_PATH_KMH: Final = 4.0
_CLIMB_M_PER_HOUR: Final = 600.0
_LEVEL_M_PER_CLIMB_M: Final = 8.0
_DESCENT_MIN_PER_M: Final = 10.0 / 300.0
_GENTLE_FROM_DEG: Final = 5.0
_STEEP_FROM_DEG: Final = 12.0
_TOBLER_OFF_PATH: Final = 0.6
LONGEST_WAY_M: Final = 20_100_000.0
"""Half of the equator is 20 038 km: no two places of the Earth lie farther apart."""


@dataclass(frozen=True, slots=True)
class WalkingRule:
    """One rule of walking time.

    Attributes
    ----------
    name
        What it is called here.
    says
        The rule in one sentence.
    source
        Where it comes from.
    hours
        Gives hours from lengths and rises in metres, and whether off path.
    """

    name: RuleName
    says: str
    source: str
    hours: Callable[[Array, Array, bool], Array]


def walking_time_h(
    length_m: ArrayLike, rise_m: ArrayLike = 0.0, *, rule: RuleName = "naismith", off_path: bool = False
) -> Array:
    """The hours that each piece of a walk takes, without rests.

    Parameters
    ----------
    length_m
        Level (map) lengths of the pieces, any shape.
    rise_m
        How much each rises, negative downward; the same shape, or one for all.
    rule
        A name of `RULES`.
    off_path
        Off a path: 4 km/h instead of 5 (Naismith, Langmuir, as refined by R. Aitken, 1977), or 0.6 of the
        speed (Tobler).

    Returns
    -------
    array
        Hours, of the common shape.

    Raises
    ------
    ValueComplaint
        The rule is unknown, a length is negative or not finite, or something rises over no length.

    References
    ----------
    See `RULES`.

    Examples
    --------
    >>> float(walking_time_h(20_000, 1_600).round(2))
    6.67
    >>> float((3 / walking_time_h(3_000, rule="tobler")).round(2))
    5.04
    """
    length, rise = np.broadcast_arrays(
        np.asarray(length_m, dtype=np.float64), np.asarray(rise_m, dtype=np.float64)
    )
    _check_pieces(length, rise)
    return find_rule(rule).hours(length, rise, off_path)


def find_rule(name: str) -> WalkingRule:
    """A rule by its name.

    Raises
    ------
    ValueComplaint
        There is none of that name.
    """
    for rule in RULES.values():
        if rule.name == name:
            return rule
    raise ValueComplaint(f"there is no walking rule called {name[:40]}", f"Take one of {', '.join(RULES)}")


def even_pieces(length_m: float, climb_m: float = 0.0, descent_m: float = 0.0) -> tuple[Array, Array]:
    """A walk known only by its totals as one piece up and one down, both equally steep.

    Parameters
    ----------
    length_m
        Of the whole way.
    climb_m, descent_m
        Metres up and metres down in all, both positive.

    Returns
    -------
    lengths, rises
        Two pieces; on level ground the whole length is one of them.

    Raises
    ------
    ValueComplaint
        A total is negative or not finite, or something rises over no length.

    Examples
    --------
    >>> lengths, rises = even_pieces(3_000, climb_m=200, descent_m=100)
    >>> lengths.tolist(), rises.tolist()
    ([2000.0, 1000.0], [200.0, -100.0])
    """
    for what, value in (("length", length_m), ("climb", climb_m), ("descent", descent_m)):
        if not 0 <= value <= LONGEST_WAY_M:
            raise ValueComplaint(
                f"a {what} of {value:g} m cannot be", f"Give 0 to {LONGEST_WAY_M:.0f} metres"
            )
    total = climb_m + descent_m
    up_share = climb_m / total if total > 0 else 1.0
    lengths = np.array([up_share * length_m, length_m - up_share * length_m])
    rises = np.array([climb_m, -descent_m], dtype=np.float64)
    _check_pieces(lengths, rises)
    return lengths, rises


def _check_pieces(length: Array, rise: Array) -> None:
    if not (np.all(np.isfinite(length)) and np.all(np.isfinite(rise)) and np.all(length >= 0)):
        raise ValueComplaint(
            "a walk has a length or a rise that cannot be", "Give metres, lengths of 0 or more"
        )
    if np.any((length == 0) & (rise != 0)):
        raise ValueComplaint(
            "a walk rises or falls over no length at all", "Give the length over which it does, or no rise"
        )


def _level_hours(length: Array, off_path: bool) -> Array:
    return length / 1000.0 / (_OFF_PATH_KMH if off_path else _NAISMITH_KMH)


def _naismith_h(length: Array, rise: Array, off_path: bool) -> Array:
    return _level_hours(length, off_path) + np.maximum(rise, 0.0) / _CLIMB_M_PER_HOUR


def _eight_to_one_h(length: Array, rise: Array, off_path: bool) -> Array:
    return _level_hours(length + _LEVEL_M_PER_CLIMB_M * np.maximum(rise, 0.0), off_path)


def _langmuir_h(length: Array, rise: Array, off_path: bool) -> Array:
    down = np.maximum(-rise, 0.0)
    # Rounded, so that a slope of exactly 12 degrees is not tipped over by the last bit.
    slope_deg = np.round(np.degrees(np.arctan2(down, length)), 9)
    gentle = (slope_deg >= _GENTLE_FROM_DEG) & (slope_deg <= _STEEP_FROM_DEG)
    steep = slope_deg > _STEEP_FROM_DEG
    sign = np.where(gentle, -1.0, np.where(steep, 1.0, 0.0))
    return _naismith_h(length, rise, off_path) + sign * down * _DESCENT_MIN_PER_M / 60.0


def _tobler_h(length: Array, rise: Array, off_path: bool) -> Array:
    slope = np.divide(rise, length, out=np.zeros_like(rise), where=length > 0)
    speed_kmh = 6.0 * np.exp(-3.5 * np.abs(slope + 0.05)) * (_TOBLER_OFF_PATH if off_path else 1.0)
    # A wall has no speed at all; its time is endless and says so.
    with np.errstate(divide="ignore"):
        return np.where(length > 0, length / 1000.0 / speed_kmh, 0.0)


RULES: Final = MappingProxyType(
    {
        rule.name: rule
        for rule in (
            WalkingRule(
                "naismith",
                "5 km/h, off path 4 km/h, and an hour for every 600 m up; nothing for going down",
                "W. W. Naismith, Scottish Mountaineering Club Journal 2 (1892), p. 136, in its metric form; "
                "4 km/h off path: R. Aitken, Wilderness areas in Scotland, thesis, Aberdeen 1977 "
                "(from memory)",
                _naismith_h,
            ),
            WalkingRule(
                "eight-to-one",
                "5 km/h, off path 4 km/h, every metre up counted as 8 m of level way",
                "Naismith's rule as an equivalent distance: P. Scarf, Route choice in mountain navigation, "
                "Naismith's rule, and the equivalence of distance and climb, Journal of the "
                "Operational Research Society 58 (2007) (from memory)",
                _eight_to_one_h,
            ),
            WalkingRule(
                "langmuir",
                "Naismith, less 10 minutes for every 300 m down a slope of 5 to 12 degrees, and 10 minutes "
                "more where it is steeper",
                "E. Langmuir, Mountaincraft and Leadership (1984), from secondary pages",
                _langmuir_h,
            ),
            WalkingRule(
                "tobler",
                "6 exp(-3.5 |slope + 0.05|) km/h: fastest a little downhill, 5.04 km/h on the level",
                "W. Tobler, Three presentations on geographical analysis and modeling, NCGIA 93-1 (1993)",
                _tobler_h,
            ),
        )
    }
)
"""The rules by name."""
