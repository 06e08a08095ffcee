"""What is said of legs, made ready for the inner loops: the lie of each, and the streams it met."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.chances import Doubt, crossing_table, level_limits
from pacewright.ground.locate.domain import Domain, about
from pacewright.ground.locate.ground_said import GroundSaid, LegSaid
from pacewright.ground.locate.kernel_arguments import LegChance
from pacewright.ground.locate.layers import UNKNOWN_STREAM, GroundLayers
from pacewright.ground.locate.streams import KNOWN_ABOVE
from pacewright.ground.locate.walk import Walk

Floats = NDArray[np.float64]

_TREND: Final = {"down": 0, "level": 1, "up": 2}
_SAMPLES: Final = 20_000


def find_crossings(
    walk: Walk, said: GroundSaid, layers: GroundLayers, domain: Domain, doubt: Doubt
) -> tuple[NDArray[np.uint8], NDArray[np.float32], list[int]]:
    """Maps of the largest stream met by legs that end on a cell, their tables, and whose they are."""
    told = [k for k, leg in enumerate(said.legs) if leg.is_stream_crossed is not None]
    crossing_of = [-1] * len(said.legs)
    if not told:
        return np.zeros((0, 1, 1), np.uint8), np.ones((1, UNKNOWN_STREAM + 1), np.float32), crossing_of
    stream = about(layers.stream, domain, UNKNOWN_STREAM)
    maps, tables = np.empty((len(told), *stream.shape), np.uint8), []
    steps = np.diff(walk.place_m, axis=0) / layers.cell_m
    for number, k in enumerate(told):
        crossing_of[k] = number
        _met_on_leg(stream, steps[k], maps[number])
        table = crossing_table(bool(said.legs[k].is_stream_crossed), doubt)
        levels = np.bincount(maps[number, ::7, ::7].ravel(), minlength=UNKNOWN_STREAM + 1)[:UNKNOWN_STREAM]
        table[UNKNOWN_STREAM] = float(table[:UNKNOWN_STREAM] @ levels) / max(1.0, float(levels.sum()))
        tables.append(table)
    return maps, np.stack(tables), crossing_of


def _met_on_leg(stream: NDArray[np.uint8], step: Floats, out: NDArray[np.uint8]) -> None:
    """For every cell, the highest level that a leg which ends there has met."""
    rows, columns = stream.shape
    out[:] = 0
    count = max(2, math.ceil(float(np.abs(step).max())) + 1)
    for part in np.linspace(0.0, 1.0, count):
        # A step back along the leg: rows run south.
        down, across = round(float(step[1] * part)), -round(float(step[0] * part))
        t, b = max(0, -down), min(rows, rows - down)
        le, ri = max(0, -across), min(columns, columns - across)
        if t < b and le < ri:
            piece = out[t:b, le:ri]
            np.maximum(piece, stream[t + down : b + down, le + across : ri + across], out=piece)


def find_legs(
    walk: Walk,
    said: GroundSaid,
    layers: GroundLayers,
    doubt: Doubt,
    crossing_of: list[int],
    crossing_tables: NDArray[np.float32],
) -> tuple[tuple[LegChance, ...], Floats]:
    """What is said of every leg, the first for no leg, and its chance on ground taken at random."""
    made = [LegChance(-1, 0.0, 1.0, doubt.wrong_remarks, 1.0, -1, 0.0, 1.0)]
    by_chance = np.ones(len(said.legs))
    steps = np.diff(walk.place_m, axis=0)
    for k, leg in enumerate(said.legs):
        trend, limit, soft, unknown = -1, 0.0, 1.0, 1.0
        if leg.slope is not None:
            trend = _TREND[leg.slope]
            limit, soft = level_limits(float(np.hypot(*steps[k])), doubt)
            unknown = _trend_by_chance(layers, steps[k], leg, (limit, soft, doubt.wrong_remarks))
        met = crossing_of[k]
        by_chance[k] = unknown * (float(crossing_tables[met, UNKNOWN_STREAM]) if met >= 0 else 1.0)
        slipped = sum(way.chance for way in walk.slips[k])
        made.append(
            LegChance(
                trend, limit, soft, doubt.wrong_remarks, unknown, met, float(by_chance[k]), 1.0 - slipped
            )
        )
    return tuple(made), by_chance


def _trend_by_chance(
    layers: GroundLayers, step: Floats, leg: LegSaid, model: tuple[float, float, float]
) -> float:
    """How likely a leg's lie is anywhere on this land, from cells spread evenly over it."""
    rows, columns = layers.shape
    down, across = round(-float(step[1]) / layers.cell_m), round(float(step[0]) / layers.cell_m)
    stride = max(1, math.isqrt(rows * columns // _SAMPLES))
    r, c = np.meshgrid(np.arange(0, rows, stride), np.arange(0, columns, stride), indexing="ij")
    inside = (r + down >= 0) & (r + down < rows) & (c + across >= 0) & (c + across < columns)
    r, c = r[inside], c[inside]
    start, end = layers.height_m[r, c], layers.height_m[r + down, c + across]
    rise = (end - start)[(start > KNOWN_ABOVE) & (end > KNOWN_ABOVE)].astype(float)
    if not rise.size:
        return 1.0 / 3.0
    from scipy.special import ndtr

    limit, soft, wrong = model
    up, lower = ndtr((rise - limit) / soft), ndtr((-rise - limit) / soft)
    told = {"up": up, "down": lower, "level": 1.0 - up - lower}[str(leg.slope)]
    return float((1.0 - wrong) * told.mean() + wrong / 3.0)
