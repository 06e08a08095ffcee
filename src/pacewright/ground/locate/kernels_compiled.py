"""The inner loops of a search, compiled: scatter a belief, and weigh it by what a log says of the ground.

Import this only where the compiler is installed; `kernels_plain` does the same without it, and a test
holds the two together. Tiles are given as runs: tile row, first tile, tile after the last. Rows are worked
through in short loops over whole runs, each of which the compiler turns into vector instructions.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numba import njit

# Fast arithmetic does not see a not-a-number: what is not known is a number of its own. A division by zero
# must not raise in the midst of a loop.
_COMPILED: Final[dict[str, Any]] = {
    "nogil": True,
    "cache": True,
    "error_model": "numpy",
    "fastmath": True,
}


@njit(**_COMPILED)
def clear(field: Any, runs: Any, size: int) -> None:
    """Empty tiles."""
    for t in range(runs.shape[0]):
        top, left, right = 8 + runs[t, 0] * size, 8 + runs[t, 1] * size, 8 + runs[t, 2] * size
        for row in range(top, top + size):
            field[row, left:right] = np.float32(0.0)


@njit(**_COMPILED)
def scatter(
    source: Any,
    goal: Any,
    runs: Any,
    size: int,
    stride: int,
    down: float,
    across: float,
    corner: float,
    falls: int,
) -> None:
    """Spread a belief by one stencil."""
    wd, wa, wc = np.float32(down), np.float32(across), np.float32(corner)
    middle = np.float32(1.0 - 2.0 * down - 2.0 * across - 2.0 * corner)
    for t in range(runs.shape[0]):
        top, left, right = 8 + runs[t, 0] * size, 8 + runs[t, 1] * size, 8 + runs[t, 2] * size
        for row in range(top, top + size):
            # Slices that all begin at nought: an index that could be negative would keep the loop slow.
            out, here = goal[row, left:right], source[row, left:right]
            above, below = source[row - stride, left:right], source[row + stride, left:right]
            west, east = source[row, left - stride :], source[row, left + stride :]
            first = source[row - falls * stride, left - stride :]
            second = source[row + falls * stride, left + stride :]
            for i in range(right - left):
                out[i] = (
                    middle * here[i]
                    + wd * (above[i] + below[i])
                    + wa * (west[i] + east[i])
                    + wc * (first[i] + second[i])
                )


@njit(**_COMPILED)
def _slide(moved: Any, row: int, left: int, right: int, slips: Any, out: Any) -> None:
    """Sum what slips bring into one row."""
    out[: right - left] = np.float32(0.0)
    rows, columns = moved.shape
    for w in range(slips.shape[0]):
        r, by = row - int(slips[w, 0]), int(slips[w, 1])
        if r < 0 or r >= rows:
            continue
        low, high = max(left, by), min(right, columns + by)
        if low >= high:
            continue
        share, source, goal = np.float32(slips[w, 2]), moved[r, low - by : high - by], out[low - left :]
        for i in range(high - low):
            goal[i] += share * source[i]


@njit(**_COMPILED)
def _mix(a: Any, b: Any, d: Any, e: Any, r: Any, k: Any, count: int, out: Any) -> None:
    one = np.float32(1.0)
    wa, wb, wd, we = (one - r) * (one - k), (one - r) * k, r * (one - k), r * k
    for i in range(count):
        least = min(min(a[i], b[i]), min(d[i], e[i]))
        mean = wa * a[i] + wb * b[i] + wd * d[i] + we * e[i]
        out[i] = mean if least > np.float32(-9000.0) else np.float32(-32768.0)


@njit(**_COMPILED)
def _look_up(height: Any, row: int, column: int, fr: float, fc: float, count: int, out: Any) -> None:
    """Heights along a row, bilinear; below -9000 where one of the four is not known."""
    last = column + count
    _mix(height[row, column:last], height[row, column + 1 : last + 1],
         height[row + 1, column:last], height[row + 1, column + 1 : last + 1],
         np.float32(fr), np.float32(fc), count, out)  # fmt: skip


@njit(**_COMPILED)
def _judge_trend(here: Any, there: Any, count: int, leg: Any, out: Any) -> None:
    """The chance of what is said of a leg's lie, by the heights of its ends."""
    one, half, zero, three = np.float32(1.0), np.float32(0.5), np.float32(0.0), np.float32(3.0)
    limit, soft = np.float32(leg[1]), np.float32(1.0 / (4.472136 * leg[2]))
    wrong, unknown = np.float32(leg[3]), np.float32(leg[4])
    up_share = np.float32(leg[0] == 2) - np.float32(leg[0] == 1)
    down_share = np.float32(leg[0] == 0) - np.float32(leg[0] == 1)
    level = np.float32(leg[0] == 1)
    any_way = wrong / three
    for i in range(count):
        rise = here[i] - there[i]
        # A normal curve of the same scatter, without its exponential.
        u = min(max((rise - limit) * soft + half, zero), one)
        v = min(max((-rise - limit) * soft + half, zero), one)
        up, down = u * u * (three - u - u), v * v * (three - v - v)
        chance = (one - wrong) * (level + up_share * up + down_share * down) + any_way
        out[i] = chance if min(here[i], there[i]) > np.float32(-9000.0) else unknown


@njit(**_COMPILED)
def weigh(
    moved: Any,
    moved_offset: Any,
    goal: Any,
    goal_offset: Any,
    runs: Any,
    size: int,
    scale: float,
    leg: Any,
    slips: Any,
    station: Any,
    height: Any,
    kind: Any,
    crossings: Any,
    crossing_table: Any,
    tables: Any,
    extras: Any,
    at: Any,
    most_before: Any,
    most_after: Any,
    sums: Any,
) -> None:
    """Weigh `moved` into `goal` over runs of tiles.

    `at` is row and column of the belief's first cell on the land, for the station now weighed, for the
    other end of the leg and for the end at which its streams are told; `leg` and `station` are a LegChance
    and a StationChance.
    """
    zero, one, least, farthest = np.float32(0.0), np.float32(1.0), np.float32(1e-37), np.float32(100.0)
    factor, any_leg, kept = np.float32(scale), np.float32(leg[6]), np.float32(leg[7])
    has_altitude, has_offset = station[1] > -9000.0, moved_offset.shape[0] > 1
    has_trend, has_slips = leg[0] >= 0, slips.shape[0] > 0
    has_chance = has_trend or has_slips or leg[5] >= 0
    reading, spread = np.float32(station[1]), np.float32(1.0 / (32.0 * (station[2] + station[3] + 1e-6)))
    gain = np.float32(station[3] / (station[2] + station[3] + 1e-6))
    peak = np.float32((1.0 - station[5]) / np.sqrt(6.2831853 * (station[2] + station[3] + 1e-6)))
    usual_m = max(station[4], 10.0)
    floor, unknown = np.float32(station[5] / (6.0 * usual_m)), np.float32(1.0 / (3.5449077 * usual_m))
    far_r, far_c = int(np.floor(at[0])), int(np.floor(at[1]))
    fr, fc = at[0] - far_r, at[1] - far_c
    near_r, near_c = int(np.floor(at[2])), int(np.floor(at[3]))
    nr, nc = at[2] - near_r, at[3] - near_c
    mid_r, mid_c = int(np.floor(at[0] + 0.5)), int(np.floor(at[1] + 0.5))
    end_r, end_c = int(np.floor(at[4] + 0.5)), int(np.floor(at[5] + 0.5))
    width = moved.shape[1]
    here_m, there_m = np.empty(width, np.float32), np.empty(width, np.float32)
    chance, slid, slid_offset = (
        np.empty(width, np.float32),
        np.empty(width, np.float32),
        np.empty(width, np.float32),
    )
    before, after, total = (
        np.empty(width, np.float32),
        np.empty(width, np.float32),
        np.empty(width, np.float32),
    )
    for t in range(runs.shape[0]):
        first, left, right = runs[t, 0] * size, 8 + runs[t, 1] * size, 8 + runs[t, 2] * size
        count, x0 = right - left, left - 8
        before[:count], after[:count], total[:count] = zero, zero, zero
        for row in range(first, first + size):
            out, own = goal[row + 8, left:right], moved[row + 8, left:right]
            if has_altitude or has_trend:
                _look_up(height, row + far_r, x0 + far_c, fr, fc, count, here_m)
            if has_trend:
                _look_up(height, row + near_r, x0 + near_c, nr, nc, count, there_m)
                _judge_trend(here_m, there_m, count, leg, chance)
            elif has_chance:
                chance[:count] = one
            if leg[5] >= 0:
                met, table = crossings[leg[5], row + end_r, x0 + end_c :], crossing_table[leg[5]]
                for i in range(count):
                    chance[i] *= table[met[i]]
            if has_slips:
                _slide(moved, row + 8, left, right, slips, slid)
                for i in range(count):
                    straight = kept * own[i]
                    whole = straight + slid[i]
                    before[i] = whole if whole > before[i] else before[i]
                    out[i] = (straight * chance[i] + any_leg * slid[i]) * factor
            elif has_chance:
                for i in range(count):
                    before[i] = own[i] if own[i] > before[i] else before[i]
                    out[i] = own[i] * chance[i] * factor
            else:
                for i in range(count):
                    before[i] = own[i] if own[i] > before[i] else before[i]
                    out[i] = own[i] * factor
            if station[0] >= 0:
                table, named = tables[station[0]], kind[row + mid_r, x0 + mid_c :]
                for i in range(count):
                    out[i] *= table[named[i]]
            if station[6] >= 0 and not has_offset:
                extra = extras[station[6], row + mid_r, x0 + mid_c :]
                for i in range(count):
                    value = out[i] * extra[i]
                    out[i] = value
                    after[i] = value if value > after[i] else after[i]
                    total[i] += value
                continue
            if station[6] >= 0:
                extra = extras[station[6], row + mid_r, x0 + mid_c :]
                for i in range(count):
                    out[i] *= extra[i]
            if has_offset:
                kept_offset, out_offset = moved_offset[row + 8, left:right], goal_offset[row + 8, left:right]
                if has_slips:
                    _slide(moved_offset, row + 8, left, right, slips, slid_offset)
                    for i in range(count):
                        whole = kept * own[i] + slid[i]
                        whole = whole if whole > least else least
                        out_offset[i] = (kept * kept_offset[i] + slid_offset[i]) / whole
                else:
                    for i in range(count):
                        whole = own[i] if own[i] > least else least
                        out_offset[i] = kept_offset[i] / whole
                if has_altitude:
                    for i in range(count):
                        off = reading - here_m[i] - out_offset[i]
                        # Close to a normal curve, heavier far out, and without its exponential.
                        z = one + off * off * spread
                        z = z if z < farthest else farthest
                        z = z * z
                        z = z * z
                        z = z * z
                        fits = peak / (z * z)
                        is_known = here_m[i] > np.float32(-9000.0)
                        told = fits + floor if is_known else unknown
                        # The mean moves by the share of the chance that the reading is no wrong one.
                        moves = gain * off * fits if is_known else zero
                        value = out[i] * told
                        out_offset[i] = out[i] * (out_offset[i] * told + moves)
                        out[i] = value
                        after[i] = value if value > after[i] else after[i]
                        total[i] += value
                    continue
                for i in range(count):
                    out_offset[i] *= out[i]
                    after[i] = out[i] if out[i] > after[i] else after[i]
                    total[i] += out[i]
                continue
            for i in range(count):
                after[i] = out[i] if out[i] > after[i] else after[i]
                total[i] += out[i]
        for tile in range(runs[t, 1], runs[t, 2]):
            low = (tile - runs[t, 1]) * size
            most_before[runs[t, 0], tile] = before[low : low + size].max()
            most_after[runs[t, 0], tile] = after[low : low + size].max()
            sums[runs[t, 0], tile] = total[low : low + size].sum()


@njit(**_COMPILED)
def runs_of(tiles: Any) -> Any:
    """Runs of tiles along each row: row, first, after the last."""
    rows, columns = tiles.shape
    found = np.empty((rows * (columns // 2 + 1), 3), np.int32)
    count = 0
    for r in range(rows):
        c = 0
        while c < columns:
            if tiles[r, c]:
                first = c
                while c < columns and tiles[r, c]:
                    c += 1
                found[count, 0], found[count, 1], found[count, 2] = r, first, c
                count += 1
            else:
                c += 1
    return found[:count]


@njit(**_COMPILED)
def spread_tiles(active: Any, reach: int) -> Any:
    """The tiles within so many tiles of active ones."""
    rows, columns = active.shape
    found = np.zeros(active.shape, np.bool_)
    for r in range(rows):
        for c in range(columns):
            if active[r, c]:
                found[max(r - reach, 0) : r + reach + 1, max(c - reach, 0) : c + reach + 1] = True
    return found


@njit(**_COMPILED)
def slid_tiles(found: Any, active: Any, most: Any, slips: Any, size: int, least: float) -> None:
    """Mark the tiles into which slips move belief that matters."""
    rows, columns = active.shape
    for r in range(rows):
        for c in range(columns):
            if not active[r, c]:
                continue
            for w in range(slips.shape[0]):
                if most[r, c] * slips[w, 2] <= least:
                    continue
                by_r, by_c = slips[w, 0] / size, slips[w, 1] / size
                r0, r1 = r + int(np.floor(by_r)), r + int(np.ceil(by_r))
                c0, c1 = c + int(np.floor(by_c)), c + int(np.ceil(by_c))
                for r2 in range(max(r0, 0), min(r1 + 1, rows)):
                    for c2 in range(max(c0, 0), min(c1 + 1, columns)):
                        found[r2, c2] = True
