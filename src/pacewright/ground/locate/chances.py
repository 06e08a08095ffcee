"""How likely a walker is to write each remark on each kind of ground.

Nobody knows where another draws the line between level and up, or side and ridge: the lines here are
soft, and every remark may be wrong altogether. What stands here holds for a walker who looks about for
a moment; it is said beside each figure where it comes from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.ground_said import StationSaid
from pacewright.ground.locate.layers import (
    LIES,
    NEAR_LEVELS,
    SIDES,
    STEEPNESS_PCT,
    UNKNOWN_KIND,
    kinds_apart,
)

Floats = NDArray[np.float64]

SIDE_SD_DEG: Final = 22.0
"""How far off the side is seen to which a slope falls (assumed: half an eighth of the circle)."""
FLAT_PCT: Final = 4.0
FLAT_SD_PCT: Final = 2.0
"""Below about one in twenty-five ground is called flat (assumed)."""
STEEPNESS_SD: Final = 0.3
"""A slope judged by eye is off by a third (assumed)."""
LEVEL_M, LEVEL_PER_M = 4.0, 0.02
"""A leg is called level while its ends differ by less than 4 m and 2 % of its length (assumed)."""
LEVEL_SD_M, LEVEL_SD_PER_M = 4.0, 0.01
_STANDING_OUT: Final = np.array([-2.0, -1.2, -0.6, 0.0, 0.6, 1.2, 2.0])
_RIDGE_AT, _RIDGE_SD = 0.65, 0.4
LIE_WRONG: Final = 1.5
"""A ridge or valley is told wrongly so many times as often as the rest (assumed: people differ there)."""
_NOTED_CROSSED: Final = np.array([0.02, 0.08, 0.2, 0.45, 0.7, 0.88, 0.95, 0.97])
"""How often a stream that drains so much land is noted where a leg crosses it: small ones are dry, or
are stepped over unseen (assumed)."""
STREAM_WRONG: Final = 2.0
"""A stream is noted wrongly so many times as often as the rest: where heights put it, and where it runs, are
a cell or two apart, and a leg may end between them (measured between two ways of finding streams)."""
_NOTED_NEAR: Final = np.array([0.01, 0.1, 0.5, 0.8])
HEIGHT_SD_M: Final = 10.0
"""How far the heights of a model may be off under trees and on steep ground (assumed)."""
BETTER_HEIGHTS: Final = ((3.0, 0.4),)
"""A good model of open ground is off by less. Who trusts the land too much finds the wrong place, who doubts
it too much a wide region. The larger error is held the likelier: where the land is good the smaller one soon
becomes nearly all as remarks come in, where it is not they speak against it (measured)."""
MOST_SLOPE_ERROR: Final = 0.5
"""A map of whose steepness, squared, more than this were error would not be used (assumed)."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far remarks and terrain are trusted.

    Attributes
    ----------
    wrong_remarks
        The share of remarks that are plainly wrong.
    height_sd_m
        How far the heights of the terrain are off.
    other_heights
        Further errors of the heights, and the chance of each: a search weighs all by how well they explain
        the log. Empty where the error is known.
    altimeter_sd_m
        How an altimeter scatters from station to station.
    altimeter_offset_sd_m
        How far it may be off all day.
    altimeter_drift_m
        How much more that may be from one station to the next.
    """

    wrong_remarks: float = 0.1
    height_sd_m: float = HEIGHT_SD_M
    other_heights: tuple[tuple[float, float], ...] = BETTER_HEIGHTS
    altimeter_sd_m: float = 10.0
    altimeter_offset_sd_m: float = 30.0
    altimeter_drift_m: float = 1.0

    def by_heights(self, slope_pct: float = 0.0) -> tuple[tuple[Doubt, float], ...]:
        """The same with one error of the heights each, the largest first, and the chance of each.

        Where the error is not known it is no larger than a map of such steepness can hold: heights off by ten
        metres would themselves make hills. All errors are then smaller by as much.

        Parameters
        ----------
        slope_pct
            Steepness of the map, root mean square; 0 where it is not known.
        """
        rest = 1.0 - sum(chance for _, chance in self.other_heights)
        errors = sorted([(self.height_sd_m, rest), *self.other_heights], reverse=True)
        if self.other_heights and slope_pct > 0:
            share = min(1.0, _most_height_sd_m(slope_pct) / errors[0][0])
            errors = [(share * one, chance) for one, chance in errors]
        return tuple((replace(self, height_sd_m=one, other_heights=()), chance) for one, chance in errors)


@dataclass(frozen=True, slots=True)
class Roughness:
    """How rough a map has its land: what of that is error of its heights depends on it.

    Attributes
    ----------
    standing_m
        Standard deviation of how far cells stand above the land about them; 0 where it is not known, and
        the map then is taken as right about a ridge.
    slope_pct
        Steepness, root mean square; 0 where it is not known.
    """

    standing_m: float = 0.0
    slope_pct: float = 0.0


def station_table(
    said: StationSaid, turn_deg: float, doubt: Doubt, rough: Roughness = Roughness()
) -> NDArray[np.float32] | None:
    """The chance of all that is said of a station, for every kind of ground.

    Parameters
    ----------
    said
        The remarks.
    turn_deg
        Added to a side as told to make it one of the terrain's grid.
    doubt
        How far they are trusted.
    rough
        How rough the map has the land.

    Returns
    -------
    ndarray or None
        Shape (UNKNOWN_KIND + 1,); the last is set by `with_unknown`. None where nothing is said.
    """
    chances: list[Floats] = []
    if said.faces_deg is not None:
        chances.append(_of_side(said.faces_deg + turn_deg, said.faces_half_deg, doubt, rough))
    if said.is_flat:
        chances.append(_mixed(_flat_on_map(doubt, rough), 1.0 / 9.0, doubt.wrong_remarks))
    if said.slope_pct is not None:
        chances.append(_of_steepness(said.slope_pct, doubt))
    if said.lie is not None:
        lies = _lie_chances(_off_share(doubt, rough.standing_m))[said.lie]
        chances.append(_mixed(lies[kinds_apart()[2]], 1.0 / 3.0, min(LIE_WRONG * doubt.wrong_remarks, 0.9)))
    if said.is_on_stream:
        chances.append(
            _mixed(_NOTED_NEAR[kinds_apart()[3]], 0.2, min(STREAM_WRONG * doubt.wrong_remarks, 0.9))
        )
    if not chances:
        return None
    return np.append(np.prod(chances, axis=0), 0.0).astype(np.float32)


def usual_slope_pct(share_of_kind: Floats) -> float:
    """Root mean square steepness of a land, from the share of every kind of ground."""
    return float(np.sqrt(share_of_kind @ _middle_pct()[kinds_apart()[1]] ** 2))


def with_unknown(table: NDArray[np.float32], share_of_kind: Floats) -> NDArray[np.float32]:
    """A table whose unknown ground has the mean chance over the land: it says nothing."""
    filled = table.copy()
    filled[UNKNOWN_KIND] = float(table[:UNKNOWN_KIND] @ share_of_kind)
    return filled


def crossing_table(is_crossed: bool, doubt: Doubt) -> NDArray[np.float32]:
    """The chance of a leg's remark on streams, by the largest stream it meets; shape (9,).

    The last is for unknown ground, and is set by who knows how often legs meet streams here.
    """
    noted = _NOTED_CROSSED if is_crossed else 1.0 - _NOTED_CROSSED
    wrong = min(STREAM_WRONG * doubt.wrong_remarks, 0.9)
    return np.append(_mixed(noted, 0.5, wrong), 0.0).astype(np.float32)


def level_limits(length_m: float, doubt: Doubt) -> tuple[float, float]:
    """Where a leg is no more called level, and how soft that line is, in metres of height."""
    limit = LEVEL_M + LEVEL_PER_M * length_m
    # The heights at both ends are off, in part together where they lie close.
    apart = min(1.0, length_m / 200.0)
    of_heights = doubt.height_sd_m * np.sqrt(2.0 * apart)
    return limit, float(np.sqrt(LEVEL_SD_M**2 + (LEVEL_SD_PER_M * length_m) ** 2 + of_heights**2))


def _mixed(chance: Floats, any_way: float, wrong: float) -> Floats:
    return np.asarray((1.0 - wrong) * chance + wrong * any_way)


def _is_flat(pct: Floats) -> Floats:
    return _normal_cdf((FLAT_PCT - pct) / FLAT_SD_PCT)


def _flat_on_map(doubt: Doubt, rough: Roughness) -> Floats:
    pct, _, weight = _true_slopes(doubt, rough)
    return np.asarray((_is_flat(pct) @ weight)[kinds_apart()[1]])


def _true_slopes(doubt: Doubt, rough: Roughness) -> tuple[Floats, Floats, Floats]:
    """The slopes that a cell of each steepness on the map may have in truth, and their chances.

    Heights that are off by so much, some 200 m long, tilt the ground both ways, and a slope of the map that
    is more than the land's usual is so in part by that error.

    Returns
    -------
    tuple
        Steepness in per cent and how far it falls to the right of the map's side in degrees, shape (levels,
        k), and the chances, shape (k,).
    """
    off_pct = _off_pct(doubt.height_sd_m)
    share = min(0.8, 2.0 * (off_pct / rough.slope_pct) ** 2) if rough.slope_pct > 0 else 0.0
    at = np.linspace(-2.5, 2.5, 7)
    along, across = (one.ravel() for one in np.meshgrid(at, at))
    weight = np.exp(-0.5 * (along**2 + across**2))
    sd = off_pct * np.sqrt(1.0 - share)
    along = _middle_pct()[:, None] * (1.0 - share) + sd * along
    across = np.broadcast_to(sd * across, along.shape)
    return np.hypot(along, across), np.degrees(np.arctan2(across, along)), weight / weight.sum()


def _of_side(faces_deg: float, half_deg: float, doubt: Doubt, rough: Roughness) -> Floats:
    pct, turned_deg, weight = _true_slopes(doubt, rough)
    sides_deg = np.arange(SIDES) * (360.0 / SIDES)
    away_deg = faces_deg - sides_deg[:, None, None] - turned_deg
    away_deg = (away_deg + 180.0) % 360.0 - 180.0
    told = np.zeros(away_deg.shape)
    for round_ in (-360.0, 0.0, 360.0):
        high, low = ((away_deg + round_ + by) / SIDE_SD_DEG for by in (half_deg, -half_deg))
        told += _normal_cdf(high) - _normal_cdf(low)
    # Not all who meet flat ground say so: some tell the side it all but falls to.
    side, steep, _, _ = kinds_apart()
    chance = ((1.0 - 0.7 * _is_flat(pct)) * told) @ weight
    return _mixed(chance[side, steep], half_deg / 180.0, doubt.wrong_remarks)


def _of_steepness(slope_pct: float, doubt: Doubt) -> Floats:
    truth = _middle_pct()[kinds_apart()[1]]
    told, here = np.log(slope_pct + 2.0), np.log(truth + 2.0)
    density = np.exp(-0.5 * ((told - here) / STEEPNESS_SD) ** 2)
    return _mixed(density, 0.3, doubt.wrong_remarks)


def _off_pct(height_sd_m: float) -> float:
    """How far heights that are off, some 200 m long, put the steepness off, east and north each."""
    return 100.0 * height_sd_m * math.sqrt(2.0) / 200.0


def _most_height_sd_m(slope_pct: float) -> float:
    """How far heights may be off at most if so much of a map's steepness may be their error."""
    return math.sqrt(MOST_SLOPE_ERROR / 2.0) * slope_pct / _off_pct(1.0)


def _off_share(doubt: Doubt, standing_m: float) -> float:
    """How much of what stands out on this map is error of its heights.

    Of an error some 200 m long six tenths are left when the mean about each place is taken off (measured).
    """
    return min(0.9, 0.6 * doubt.height_sd_m / standing_m) if standing_m > 0 else 0.0


@lru_cache(maxsize=8)
def _lie_chances(off_share: float) -> dict[str, Floats]:
    # What stands out by error as well stands out less in truth.
    truth, sd = _STANDING_OUT * np.sqrt(1.0 - off_share**2), np.hypot(_RIDGE_SD, off_share)
    ridge = _normal_cdf((truth - _RIDGE_AT) / sd)
    valley = _normal_cdf((-truth - _RIDGE_AT) / sd)
    assert ridge.size == LIES and _NOTED_NEAR.size == NEAR_LEVELS
    return {"ridge": ridge, "valley": valley, "slope": 1.0 - ridge - valley}


@lru_cache(maxsize=1)
def _middle_pct() -> Floats:
    limits = np.array([0.0, *STEEPNESS_PCT, 70.0])
    return np.asarray((limits[1:] + limits[:-1]) / 2.0)


def _normal_cdf(at: Floats) -> Floats:
    from scipy.special import ndtr

    return np.asarray(ndtr(at))
