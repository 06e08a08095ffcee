"""The inner loops of a search without the compiler: whole arrays at a time, with the same answer.

Works on the smallest box that holds all tiles and then empties those that were not asked for.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.locate.kernel_arguments import MARGIN, LegChance, StationChance

Field = NDArray[np.float32]
Runs = NDArray[np.int32]
_KNOWN_ABOVE = np.float32(-9000.0)


def clear(field: Field, runs: Runs, size: int) -> None:
    """Empty tiles."""
    for row, first, last in runs:
        top = MARGIN + row * size
        field[top : top + size, MARGIN + first * size : MARGIN + last * size] = 0.0


def scatter(
    source: Field,
    goal: Field,
    runs: Runs,
    size: int,
    stride: int,
    down: float,
    across: float,
    corner: float,
    falls: int,
) -> None:
    """Spread a belief by one stencil."""
    if not len(runs):
        return
    top, low, left, right = _box(runs, size)

    def moved(by_row: int, by_column: int) -> Field:
        return source[
            MARGIN + top + by_row : MARGIN + low + by_row,
            MARGIN + left + by_column : MARGIN + right + by_column,
        ]

    spread = np.float32(1.0 - 2.0 * down - 2.0 * across - 2.0 * corner) * moved(0, 0)
    spread += np.float32(down) * (moved(-stride, 0) + moved(stride, 0))
    spread += np.float32(across) * (moved(0, -stride) + moved(0, stride))
    sign = 1 if falls > 0 else -1
    spread += np.float32(corner) * (moved(-sign * stride, -stride) + moved(sign * stride, stride))
    goal[MARGIN + top : MARGIN + low, MARGIN + left : MARGIN + right] = np.where(
        _asked(runs, size), spread, 0
    )


def weigh(
    moved: Field,
    moved_offset: Field,
    goal: Field,
    goal_offset: Field,
    runs: Runs,
    size: int,
    scale: float,
    leg_said: tuple[float, ...],
    slips: NDArray[np.float64],
    station_said: tuple[float, ...],
    height: Field,
    kind: NDArray[np.uint16],
    crossings: NDArray[np.uint8],
    crossing_table: Field,
    tables: Field,
    extras: Field,
    at: NDArray[np.float64],
    most_before: Field,
    most_after: Field,
    sums: Field,
) -> None:
    """Weigh a belief by what is said of a leg and of the station at its far end."""
    if not len(runs):
        return
    leg, station = LegChance(*leg_said), StationChance(*station_said)  # type: ignore[arg-type]
    top, low, left, right = _box(runs, size)
    shape = (low - top, right - left)
    inside = (slice(MARGIN + top, MARGIN + low), slice(MARGIN + left, MARGIN + right))
    own, slid = moved[inside], _slid(moved, slips, inside)
    here_m = _look_up(height, at[0], at[1], top, left, shape)
    chance = np.ones(shape, dtype=np.float32)
    if leg.trend >= 0:
        chance = _trend(here_m, _look_up(height, at[2], at[3], top, left, shape), leg)
    middle = _every(at[0], at[1], top, left, shape)
    if leg.crossing >= 0:
        end = _every(at[4], at[5], top, left, shape)
        chance = chance * crossing_table[leg.crossing][crossings[leg.crossing][end]]
    kept, any_leg = np.float32(leg.kept), np.float32(leg.any_leg)
    weight = kept * own * chance + any_leg * slid
    whole = kept * own + slid
    if station.table >= 0:
        weight = weight * tables[station.table][kind[middle]]
    if station.extra >= 0:
        weight = weight * extras[station.extra][middle]
    weight = weight * np.float32(scale)
    asked = _asked(runs, size)
    if moved_offset.shape[0] > 1:
        offset = kept * moved_offset[inside] + _slid(moved_offset, slips, inside)
        offset = offset / np.maximum(whole, np.float32(1e-37))
        if station.reading_m > -9000.0:
            weight, offset = _altimeter(weight, offset, here_m, station)
        goal_offset[inside] = np.where(asked, weight * offset, 0)
    goal[inside] = np.where(asked, weight, 0)
    _note(whole, goal[inside], runs, size, (top, left), (most_before, most_after, sums))


def _altimeter(weight: Field, offset: Field, here_m: Field, station: StationChance) -> tuple[Field, Field]:
    total = station.variance_m2 + station.offset_variance_m2 + 1e-6
    usual_m = max(station.fill_m, 10.0)
    floor = np.float32(station.wrong / (6.0 * usual_m))
    off = np.float32(station.reading_m) - here_m - offset
    z = np.minimum(np.float32(1.0) + off * off * np.float32(1.0 / (32.0 * total)), np.float32(100.0)) ** 8
    fits = np.float32((1.0 - station.wrong) / np.sqrt(6.2831853 * total)) / (z * z)
    is_known = here_m > _KNOWN_ABOVE
    gain = np.float32(station.offset_variance_m2 / total)
    weight = weight * np.where(is_known, fits + floor, np.float32(1.0 / (3.5449077 * usual_m)))
    offset = offset + np.where(is_known, gain * off * fits / (fits + floor), np.float32(0.0))
    return weight.astype(np.float32), offset.astype(np.float32)


def _trend(here_m: Field, there_m: Field, leg: LegChance) -> Field:
    rise = here_m - there_m
    soft, limit = np.float32(1.0 / (4.472136 * leg.soft_m)), np.float32(leg.limit_m)
    u = np.clip((rise - limit) * soft + np.float32(0.5), 0, 1)
    v = np.clip((-rise - limit) * soft + np.float32(0.5), 0, 1)
    up, down = u * u * (3 - 2 * u), v * v * (3 - 2 * v)
    said = {2: up, 0: down, 1: 1 - up - down}[leg.trend]
    chance = np.float32(1 - leg.wrong) * said + np.float32(leg.wrong / 3.0)
    known = np.minimum(here_m, there_m) > _KNOWN_ABOVE
    return np.where(known, chance, np.float32(leg.unknown)).astype(np.float32)


def _slid(field: Field, slips: NDArray[np.float64], inside: tuple[slice, slice]) -> Field:
    rows, columns = field.shape
    top, low, left, right = inside[0].start, inside[0].stop, inside[1].start, inside[1].stop
    total = np.zeros((low - top, right - left), dtype=np.float32)
    for by_row, by_column, chance in slips:
        r, c = int(by_row), int(by_column)
        t, b = max(top, r), min(low, rows + r)
        le, ri = max(left, c), min(right, columns + c)
        if t < b and le < ri:
            piece = field[t - r : b - r, le - c : ri - c]
            total[t - top : b - top, le - left : ri - left] += np.float32(chance) * piece
    return total


def _every(row: float, column: float, top: int, left: int, shape: tuple[int, int]) -> tuple[slice, slice]:
    r, c = int(np.floor(row + 0.5)) + top, int(np.floor(column + 0.5)) + left
    return slice(r, r + shape[0]), slice(c, c + shape[1])


def _look_up(height: Field, row: float, column: float, top: int, left: int, shape: tuple[int, int]) -> Field:
    r, c = int(np.floor(row)), int(np.floor(column))
    fr, fc = np.float32(row - r), np.float32(column - c)
    corners = [height[_every(r + down, c + across, top, left, shape)] for down in (0, 1) for across in (0, 1)]
    a, b, d, e = corners
    one = np.float32(1.0)
    mean = (one - fr) * ((one - fc) * a + fc * b) + fr * ((one - fc) * d + fc * e)
    least = np.minimum(np.minimum(a, b), np.minimum(d, e))
    return np.where(least > _KNOWN_ABOVE, mean, np.float32(-32768.0))


def _box(runs: Runs, size: int) -> tuple[int, int, int, int]:
    return (
        int(runs[:, 0].min()) * size,
        (int(runs[:, 0].max()) + 1) * size,
        int(runs[:, 1].min()) * size,
        int(runs[:, 2].max()) * size,
    )


def _asked(runs: Runs, size: int) -> NDArray[np.bool_]:
    top, low, left, right = _box(runs, size)
    tiles = np.zeros(((low - top) // size, (right - left) // size), dtype=bool)
    for row, first, last in runs:
        tiles[row - top // size, first - left // size : last - left // size] = True
    return np.repeat(np.repeat(tiles, size, axis=0), size, axis=1)


def _note(
    before: Field, after: Field, runs: Runs, size: int, corner: tuple[int, int], kept: tuple[Any, Any, Any]
) -> None:
    rows, columns = before.shape[0] // size, before.shape[1] // size
    blocks = [one.reshape(rows, size, columns, size) for one in (before, after)]
    found = (blocks[0].max(axis=(1, 3)), blocks[1].max(axis=(1, 3)), blocks[1].sum(axis=(1, 3)))
    top, left = corner[0] // size, corner[1] // size
    for row, first, last in runs:
        for array, value in zip(kept, found, strict=True):
            array[row, first:last] = value[row - top, first - left : last - left]


def runs_of(tiles: NDArray[np.bool_]) -> Runs:
    """Runs of tiles along each row: row, first, after the last."""
    edged = np.zeros((tiles.shape[0], tiles.shape[1] + 2), dtype=np.int8)
    edged[:, 1:-1] = tiles
    change = np.diff(edged, axis=1)
    rows, first = np.nonzero(change == 1)
    _, last = np.nonzero(change == -1)
    return np.stack([rows, first, last], axis=1).astype(np.int32)


def spread_tiles(active: NDArray[np.bool_], reach: int) -> NDArray[np.bool_]:
    """The tiles within so many tiles of active ones."""
    from scipy import ndimage

    return np.asarray(ndimage.maximum_filter(active, size=2 * reach + 1, mode="constant"))


def slid_tiles(
    found: NDArray[np.bool_],
    active: NDArray[np.bool_],
    most: Field,
    slips: NDArray[np.float64],
    size: int,
    least: float,
) -> None:
    """Mark the tiles into which slips move belief that matters."""
    rows, columns = active.shape
    for by_row, by_column, chance in slips:
        moves = active & (most * chance > least)
        for r in range(math.floor(by_row / size), math.ceil(by_row / size) + 1):
            for c in range(math.floor(by_column / size), math.ceil(by_column / size) + 1):
                t, b = max(0, r), min(rows, rows + r)
                le, ri = max(0, c), min(columns, columns + c)
                if t < b and le < ri:
                    found[t:b, le:ri] |= moves[t - r : b - r, le - c : ri - c]
