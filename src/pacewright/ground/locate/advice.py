"""What to note next: the remark, bearing or short walk that tells the places apart best, or two of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.chances import Doubt, level_limits, station_table
from pacewright.ground.locate.ground_said import StationSaid
from pacewright.ground.locate.layers import UNKNOWN_KIND, GroundLayers
from pacewright.ground.locate.sights import Sight, bearing_chances, in_sight
from pacewright.ground.locate.streams import KNOWN_ABOVE

Floats = NDArray[np.float64]

WALK_M: Final = 450.0
"""A walk of some three hundred paces."""
_WAYS: Final = 16
_MOST_CELLS: Final = 4000
_MOST_STEPS: Final = 60
LEAST_SEEN: Final = 0.3
"""A bearing is advised where the thing is in sight from a fair part of the places."""
LEAST_BITS: Final = 0.15
"""Less than this is not worth the note."""

What = Literal["faces", "lie", "altitude", "slope", "bearing", "walk", "together"]


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to note, and how much it is expected to tell.

    Attributes
    ----------
    what
        A remark of the present station (`faces`, `lie`, `slope`, `altitude`), a `bearing` from it, a `walk`
        whose lie and end are noted, or two of these `together`.
    bits
        Expected gain; each halves the places that are left.
    azimuth_deg, length_m
        Of the walk, by the land's grid.
    sight
        What the bearing is taken to.
    parts
        The two that are noted together.
    """

    what: What
    bits: float
    azimuth_deg: float | None = None
    length_m: float | None = None
    sight: Sight | None = None
    parts: tuple[Advice, ...] = ()


def find_advice(
    layers: GroundLayers,
    now: NDArray[np.float32],
    doubt: Doubt,
    offset_sd_m: float,
    sights: Sequence[Sight] = (),
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
    sights
        What bearings may be taken to.
    """
    rows, columns, weight = _cells(now)
    if not weight.size:
        return ()
    kinds = layers.kind[rows, columns]
    sides = _shared_out(_sides(doubt))
    options = [
        _option("faces", sides[:, kinds], weight),
        _option("lie", _lies(doubt)[:, kinds], weight),
        _option("slope", _slopes(doubt)[:, kinds], weight),
        _option("altitude", _altitudes(layers.height_m[rows, columns], doubt, offset_sd_m), weight),
    ]
    seen = [(one, in_sight(layers, (rows, columns), one)) for one in sights]
    bearings = [
        _option("bearing", bearing_chances(layers, (rows, columns), one, where), weight, sight=one)
        for one, where in seen
        if float(weight[where].sum()) > LEAST_SEEN
    ]
    walks = [_walk(layers, (rows, columns), weight, 360.0 * k / _WAYS, doubt, sides) for k in range(_WAYS)]
    options += [max(some, key=lambda one: one.advice.bits) for some in (bearings, walks) if some]
    found = [one.advice for one in options]
    both = _together(options, weight)
    if both is not None and both.bits > both.parts[0].bits + LEAST_BITS:
        found.append(both)
    return tuple(sorted((one for one in found if one.bits >= LEAST_BITS), key=lambda one: -one.bits))


@dataclass(frozen=True, slots=True, eq=False)
class _Option:
    """An advice, and how likely each of its labels is on every cell; shape (labels, cells)."""

    advice: Advice
    chances: Floats


def _option(what: What, chances: Floats, weight: Floats, **more: Any) -> _Option:
    shared = _shared_out(chances)
    return _Option(Advice(what, _gain(shared, weight), **more), shared)


def _together(options: Sequence[_Option], weight: Floats) -> Advice | None:
    """The two remarks that tell most when both are made; a walk ends elsewhere and stands alone."""
    here = [one for one in options if one.advice.what != "walk"]
    best: Advice | None = None
    for k, first in enumerate(here):
        for second in here[k + 1 :]:
            joint = (first.chances * weight) @ second.chances.T
            # On one cell the two know nothing of each other: their uncertainties add.
            left = (_entropy(first.chances) + _entropy(second.chances)) @ weight
            bits = float(_entropy(joint.reshape(-1, 1))[0] - left)
            if best is None or bits > best.bits:
                best = Advice("together", bits, parts=(first.advice, second.advice))
    if best is None:
        return None
    return replace(best, parts=tuple(sorted(best.parts, key=lambda one: -one.bits)))


def _shared_out(chances: Floats) -> Floats:
    return np.asarray(chances / np.maximum(chances.sum(axis=0), 1e-12))


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


def _altitudes(heights: NDArray[np.float32], doubt: Doubt, offset_sd_m: float) -> Floats:
    """How likely each reading of an altimeter is, in steps of half its noise."""
    from scipy.special import ndtr

    known = heights > KNOWN_ABOVE
    if not known.any():
        return np.ones((1, heights.size))
    noise_m = math.sqrt(doubt.altimeter_sd_m**2 + doubt.height_sd_m**2 + offset_sd_m**2)
    low, high = float(heights[known].min()) - 3.0 * noise_m, float(heights[known].max()) + 3.0 * noise_m
    edges = np.linspace(low, high, min(_MOST_STEPS, math.ceil(2.0 * (high - low) / noise_m)) + 1)
    below = ndtr((edges[:, None] - heights[None, :].astype(np.float64)) / noise_m)
    told = np.diff(below, axis=0)
    return np.asarray(np.where(known, told, told[:, known].mean(axis=1)[:, None]))


def _walk(
    layers: GroundLayers,
    cells: tuple[NDArray[np.intp], NDArray[np.intp]],
    weight: Floats,
    azimuth_deg: float,
    doubt: Doubt,
    sides: Floats,
) -> _Option:
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
    return _option("walk", both, weight, azimuth_deg=azimuth_deg, length_m=WALK_M)
