"""What to note next: the remark, or the short walk, that tells the likely places apart best."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.chances import Doubt, level_limits, station_table
from pacewright.ground.locate.ground_said import StationSaid
from pacewright.ground.locate.layers import UNKNOWN_KIND, GroundLayers
from pacewright.ground.locate.streams import KNOWN_ABOVE

Floats = NDArray[np.float64]

WALK_M: Final = 450.0
"""A walk of some three hundred paces."""
_WAYS: Final = 16
_MOST_CELLS: Final = 4000
LEAST_BITS: Final = 0.15
"""Less than this is not worth the note."""

What = Literal["faces", "lie", "altitude", "slope", "walk"]


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to note, and how much it is expected to tell.

    Attributes
    ----------
    what
        A remark of the present station (`faces`, `lie`, `slope`, `altitude`), or a `walk` whose lie and end
        are noted.
    bits
        Expected gain; each halves the places that are left.
    azimuth_deg, length_m
        Of the walk, by the land's grid.
    """

    what: What
    bits: float
    azimuth_deg: float | None = None
    length_m: float | None = None


def find_advice(
    layers: GroundLayers, now: NDArray[np.float32], doubt: Doubt, offset_sd_m: float
) -> tuple[Advice, ...]:
    """What would tell most, the best first; empty where nothing would tell much.

    Parameters
    ----------
    layers
        The land.
    now
        Belief of the present place, on the same cells.
    doubt
        How far remarks are trusted.
    offset_sd_m
        How far the altimeter may still be off all day.
    """
    rows, columns, weight = _cells(now)
    if not weight.size:
        return ()
    kinds = layers.kind[rows, columns]
    found = [
        Advice("faces", _gain(_sides(doubt)[:, kinds], weight)),
        Advice("lie", _gain(_lies(doubt)[:, kinds], weight)),
        Advice("slope", _gain(_slopes(doubt)[:, kinds], weight)),
        Advice("altitude", _gain_of_altitude(layers.height_m[rows, columns], weight, doubt, offset_sd_m)),
    ]
    sides = _sides(doubt)
    sides = sides / np.maximum(sides.sum(axis=0), 1e-12)
    walks = [_walk(layers, (rows, columns), weight, 360.0 * k / _WAYS, doubt, sides) for k in range(_WAYS)]
    found.append(max(walks, key=lambda one: one.bits))
    return tuple(sorted((one for one in found if one.bits >= LEAST_BITS), key=lambda one: -one.bits))


def _cells(now: NDArray[np.float32]) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
    """The cells that matter, thinned evenly through the order of belief where they are many."""
    flat = now.ravel()
    used = np.flatnonzero(flat > float(flat.max()) * 1e-4)
    if used.size > _MOST_CELLS:
        # Even steps through the sum of belief: each cell kept stands for the same chance.
        held = np.cumsum(flat[used], dtype=np.float64)
        at = np.searchsorted(held, (np.arange(_MOST_CELLS) + 0.5) / _MOST_CELLS * held[-1])
        cells, count = np.unique(used[at], return_counts=True)
        weight = count.astype(np.float64)
    else:
        cells, weight = used, flat[used].astype(np.float64)
    return cells // now.shape[1], cells % now.shape[1], weight / max(float(weight.sum()), 1e-300)


def _gain(chances: Floats, weight: Floats) -> float:
    """The mutual information of a label and the place, in bits; chances of shape (labels, cells)."""
    chances = chances / np.maximum(chances.sum(axis=0), 1e-12)
    mean = chances @ weight
    return float(_entropy(mean[:, None])[0] - _entropy(chances) @ weight)


def _entropy(chances: Floats) -> Floats:
    logs = np.log2(np.maximum(chances, 1e-12))
    return np.asarray(-(chances * logs).sum(axis=0))


def _table(said: StationSaid, doubt: Doubt) -> Floats:
    table = station_table(said, 0.0, doubt)
    assert table is not None
    filled = table.astype(np.float64)
    filled[UNKNOWN_KIND] = float(filled[:UNKNOWN_KIND].mean())
    return filled


def _sides(doubt: Doubt) -> Floats:
    told = [_table(StationSaid(faces_deg=45.0 * k), doubt) for k in range(8)]
    return np.stack([*told, _table(StationSaid(is_flat=True), doubt)])


def _lies(doubt: Doubt) -> Floats:
    return np.stack([_table(StationSaid(lie=one), doubt) for one in ("ridge", "valley", "slope")])


def _slopes(doubt: Doubt) -> Floats:
    return np.stack([_table(StationSaid(slope_pct=one), doubt) for one in (2.0, 6.0, 12.0, 20.0, 33.0, 55.0)])


def _gain_of_altitude(
    heights: NDArray[np.float32], weight: Floats, doubt: Doubt, offset_sd_m: float
) -> float:
    known = heights > KNOWN_ABOVE
    if not known.any():
        return 0.0
    share = weight[known] / weight[known].sum()
    height = heights[known].astype(np.float64)
    spread = float(share @ (height - share @ height) ** 2)
    noise = doubt.altimeter_sd_m**2 + doubt.height_sd_m**2 + offset_sd_m**2
    # Of two normal curves: what the reading scatters by against what it would at one place.
    return 0.5 * math.log2(1.0 + spread / noise)


def _walk(
    layers: GroundLayers,
    cells: tuple[NDArray[np.intp], NDArray[np.intp]],
    weight: Floats,
    azimuth_deg: float,
    doubt: Doubt,
    sides: Floats,
) -> Advice:
    """What a walk tells whose lie is noted, and the side that its end faces."""
    from scipy.special import ndtr

    (rows, columns), far = cells, WALK_M / layers.cell_m
    down = round(-far * math.cos(math.radians(azimuth_deg)))
    across = round(far * math.sin(math.radians(azimuth_deg)))
    r = np.clip(rows + down, 0, layers.shape[0] - 1)
    c = np.clip(columns + across, 0, layers.shape[1] - 1)
    start, end = layers.height_m[rows, columns], layers.height_m[r, c]
    rise = np.where((start > KNOWN_ABOVE) & (end > KNOWN_ABOVE), end - start, 0.0).astype(np.float64)
    limit, soft = level_limits(WALK_M, doubt)
    up, lower = ndtr((rise - limit) / soft), ndtr((-rise - limit) / soft)
    trend = (1.0 - doubt.wrong_remarks) * np.stack([lower, 1.0 - up - lower, up]) + doubt.wrong_remarks / 3.0
    ends = sides[:, layers.kind[r, c]]
    both = (trend[:, None, :] * ends[None, :, :]).reshape(-1, weight.size)
    return Advice("walk", _gain(both, weight), azimuth_deg, WALK_M)
