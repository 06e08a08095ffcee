"""The inner loops of a plan, compiled where the compiler is installed: rays, and what ends a leg.

From one place every azimuth of the dial is a ray. A walker who dials one walks down another, near by, so the
same rays say both where a leg can end and what is met instead: no line is left out because it lies off the
straight line. Lengths in metres, angles in radians from the grid's north.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, Final

import numpy as np

from pacewright.ground.locate.compiling import compiled
from pacewright.route.planning.lines import SAME_SIGHT_M
from pacewright.route.planning.obstacles import SLANT_GRADE

SAMPLE_M: Final = 60.0
"""Between the points of a ray at which height and clearance are read."""
_MOST_HITS: Final = 24
_LEAST_LEG_M: Final = 60.0
_LEAST_CROSSING: Final = 0.6
"""Sine of the smallest angle at which a line is met: a slanting one is met too far along it."""
_SIGHTS_AHEAD: Final = 4
_LEAST_CHANCE: Final = 0.5
_TABLE_SDS: Final = 6
_TABLE_ROWS: Final = 256
_PASSED_M: Final = SAME_SIGHT_M / 2.0
"""A sight passed so short before one looks for its like is still in sight."""
_FAR_SDS: Final = 4.0
"""What lies so far outside the looking is met by three walkers in a hundred thousand."""


@lru_cache(maxsize=1)
def cast_rays() -> Any:
    """`_cast_rays`, compiled."""
    return compiled(_cast_rays)


@lru_cache(maxsize=1)
def sample_rays() -> Any:
    """`_sample_rays`, compiled."""
    return compiled(_sample_rays)


@lru_cache(maxsize=1)
def end_on_lines() -> Any:
    """`_end_on_lines`, compiled."""
    return compiled(_end_on_lines)


@lru_cache(maxsize=1)
def surer_ones() -> Any:
    """`_surer_ones`, compiled."""
    return compiled(_surer_ones)


def _surer_ones(group: Any, chance: Any, surer_sight: Any, surer_line: Any) -> Any:
    """Which rows of a group, the fastest first, are surer than all before; groups below 0 end on a line."""
    is_kept = np.zeros(group.size, dtype=np.bool_)
    most = 0.0
    for k in range(group.size):
        if k == 0 or group[k] != group[k - 1]:
            most = 0.0
        if chance[k] > most + (surer_sight if group[k] >= 0 else surer_line):
            most = chance[k]
            is_kept[k] = True
    return is_kept


def _cast_rays(x0: Any, y0: Any, rays: Any, turn: Any, reach: Any, segments: Any) -> Any:
    """How many lines each ray meets, and of each: distance, line, metres along it, sine of the angle.

    `segments` has a row for each piece: east and north of both ends, line, metres along at its first end.
    """
    step = 2.0 * math.pi / rays
    count = np.zeros(rays, dtype=np.int64)
    met = np.zeros((rays, _MOST_HITS, 4))
    for i in range(segments.shape[0]):
        ax, ay = segments[i, 0] - x0, segments[i, 1] - y0
        bx, by = segments[i, 2] - x0, segments[i, 3] - y0
        dx, dy = bx - ax, by - ay
        size = math.sqrt(dx * dx + dy * dy)
        if size == 0.0 or min(ax * ax + ay * ay, bx * bx + by * by) > (reach + size) ** 2:
            continue
        first = math.atan2(ax, ay) - turn
        opening = math.atan2(dx * ay - dy * ax, ax * bx + ay * by)
        if opening < 0.0:
            first, opening = first + opening, -opening
        low = math.ceil(first / step - 1e-9)
        high = math.floor((first + opening) / step + 1e-9)
        for k in range(low, high + 1):
            r = k % rays
            ux, uy = math.sin(r * step + turn), math.cos(r * step + turn)
            across = ux * dy - uy * dx
            if abs(across) < 1e-9 * size:
                continue
            t = (ax * dy - ay * dx) / across
            part = (ax * uy - ay * ux) / across
            if t <= 1e-6 or t > reach or part < 0.0 or part >= 1.0:
                continue
            n = count[r]
            if n == _MOST_HITS:
                if met[r, n - 1, 0] <= t:
                    continue
                n -= 1
            else:
                count[r] += 1
            while n > 0 and met[r, n - 1, 0] > t:
                for c in range(4):
                    met[r, n, c] = met[r, n - 1, c]
                n -= 1
            met[r, n, 0] = t
            met[r, n, 1] = segments[i, 4]
            met[r, n, 2] = segments[i, 5] + part * size
            met[r, n, 3] = abs(across) / size
    return count, met


def _sample_rays(
    x0: Any, y0: Any, rays: Any, turn: Any, samples: Any, heights: Any, clear: Any, slower: Any, steep: Any,
    grid: Any, pace: Any,
) -> Any:  # fmt: skip
    """Minutes to every sample of every ray, and the clearance there; sample 0 is the place itself.

    `grid` is west, north and size of the cells; `pace` minutes a metre by the grade in hundredths, the
    middle of the table being level. `slower` is how many times as long every cell takes. Outside the land
    nothing is clear, nor beyond steep land that the ray climbs or falls too steeply over.
    """
    step = 2.0 * math.pi / rays
    minutes = np.zeros((rays, samples))
    free = np.zeros((rays, samples))
    rows, columns = heights.shape
    middle = (pace.size - 1) // 2
    for r in range(rays):
        ux, uy = math.sin(r * step + turn), math.cos(r * step + turn)
        before = 0.0
        for k in range(samples):
            column = (x0 + ux * k * SAMPLE_M - grid[0]) / grid[2] - 0.5
            row = (grid[1] - y0 - uy * k * SAMPLE_M) / grid[2] - 0.5
            i, j = math.floor(row), math.floor(column)
            if i < 0 or j < 0 or i >= rows - 1 or j >= columns - 1:
                for m in range(k, samples):
                    free[r, m] = -1.0
                    minutes[r, m] = minutes[r, max(k - 1, 0)]
                break
            p, q = row - i, column - j
            height = (1 - p) * ((1 - q) * heights[i, j] + q * heights[i, j + 1]) + p * (
                (1 - q) * heights[i + 1, j] + q * heights[i + 1, j + 1]
            )
            free[r, k] = min(min(clear[i, j], clear[i, j + 1]), min(clear[i + 1, j], clear[i + 1, j + 1]))
            if k > 0:
                rise = (height - before) / SAMPLE_M
                near_i, near_j = i + (p >= 0.5), j + (q >= 0.5)
                if steep[near_i, near_j] and abs(rise) > SLANT_GRADE:
                    for m in range(k, samples):
                        free[r, m] = -1.0
                        minutes[r, m] = minutes[r, k - 1]
                    break
                grade = round(100.0 * rise) + middle
                grade = min(max(grade, 0), pace.size - 1)
                minutes[r, k] = minutes[r, k - 1] + pace[grade] * SAMPLE_M * slower[near_i, near_j]
            before = height
    return minutes, free


def _end_on_lines(
    count: Any, met: Any, free: Any, turn: Any, spread: Any, walker: Any, kinds: Any,
    first_sight: Any, sights: Any, closed_first: Any, closed: Any,
) -> Any:  # fmt: skip
    """Every way to end a leg on a line, and to go on along it to a sight.

    Parameters
    ----------
    count, met, free
        From `_cast_rays` and `_sample_rays`.
    turn
        Azimuth of ray 0.
    spread
        Where the walker stands: variance east, covariance, variance north.
    walker
        Scatter of azimuths (turn and bias together), of lengths (count and scale together), and where one
        stands on a line; then the looking: sds and metres before, sds and metres after.
    kinds
        Of every line.
    first_sight, sights
        The sights of line k are rows first_sight[k] to first_sight[k + 1]: metres along, number of its look.
    closed_first, closed
        Stretches of line k that are not to be walked: from and to, metres along.

    Returns
    -------
    ended, rows
        How many rows are filled, and of each: ray, hit, way along the line (1, -1, or 0 to stay), row of the
        sight, chance, look and stop on the leg, look and stop along the line, mean and variance of where the
        line is met along it.
    """

    # Read off a table, straight between its rows: right to a millionth, and several times as fast.
    table = np.zeros(2 * _TABLE_SDS * _TABLE_ROWS + 2)
    for k in range(table.size):
        table[k] = 0.5 * math.erfc((_TABLE_SDS - k / _TABLE_ROWS) * 0.7071067811865476)

    def normal(x: Any) -> Any:
        if x <= -_TABLE_SDS:
            return 0.0
        if x >= _TABLE_SDS:
            return 1.0
        at = (x + _TABLE_SDS) * _TABLE_ROWS
        row = int(at)
        return table[row] + (at - row) * (table[row + 1] - table[row])

    rays = count.shape[0]
    step = 2.0 * math.pi / rays
    rows = np.zeros((16384, 11))
    ended = 0
    part = np.zeros(4096)
    place = np.zeros(4096)
    for a in range(rays):
        ux, uy = math.sin(a * step + turn), math.cos(a * step + turn)
        along2 = ux * ux * spread[0] + 2 * ux * uy * spread[1] + uy * uy * spread[2]
        across2 = uy * uy * spread[0] - 2 * ux * uy * spread[1] + ux * ux * spread[2]
        reach = (free.shape[1] - 1) * SAMPLE_M
        for k in range(1, free.shape[1]):
            # So far the 95 % corridor keeps clear; where one stands already is not asked.
            if free[a, k] < 1.96 * math.sqrt(across2 + (walker[0] * k * SAMPLE_M) ** 2):
                reach = (k - 1) * SAMPLE_M
                break
        for h in range(count[a]):
            t, line, s, sine = met[a, h, 0], int(met[a, h, 1]), met[a, h, 2], met[a, h, 3]
            if t < _LEAST_LEG_M or t > reach or sine < _LEAST_CROSSING:
                continue
            cosine2 = 1.0 - sine * sine
            drift2 = across2 + (walker[0] * t) ** 2
            length2 = along2 + (walker[1] * t) ** 2
            su = math.sqrt(drift2 * cosine2 + length2 * sine * sine) / sine
            look = max(t - max(walker[3] * su, walker[4]), 0.0)
            stop = t + max(walker[5] * su, walker[6])
            if t + 1.96 * su > reach:
                continue
            spread_rad = math.sqrt(drift2) / t
            beside = min(math.ceil(3.2 * spread_rad / step), rays // 4)
            total, outcomes = 0.0, 0
            sum_p, sum_s, sum_s2 = 0.0, 0.0, 0.0
            for k in range(-beside, beside + 1):
                weight = math.exp(-0.5 * (k * step / spread_rad) ** 2)
                total += weight
                r = (a + k) % rays
                was = 0.0
                for j in range(count[r]):
                    its = int(met[r, j, 1])
                    if kinds[its] != kinds[line]:
                        continue
                    away = met[r, j, 0]
                    sd = math.sqrt(along2 + (walker[1] * away) ** 2)
                    if away > stop + _FAR_SDS * sd:
                        break
                    if away < look - _FAR_SDS * sd:
                        continue
                    looked = normal((away - look) / sd)
                    chance = weight * max(looked - was, 0.0) * normal((stop - away) / sd)
                    was = max(was, looked)
                    if its == line and chance > 1e-9 and outcomes < part.size:
                        part[outcomes], place[outcomes] = chance, met[r, j, 2]
                        outcomes += 1
                        sum_p += chance
                        sum_s += chance * met[r, j, 2]
                        sum_s2 += chance * met[r, j, 2] ** 2
                    if was > 0.9999:
                        break
            if sum_p < _LEAST_CHANCE * total or ended >= rows.shape[0] - 2 * _SIGHTS_AHEAD - 1:
                continue
            mean = sum_s / sum_p
            variance = max(sum_s2 / sum_p - mean * mean, 1.0)
            rows[ended, 0], rows[ended, 1], rows[ended, 2], rows[ended, 3] = a, h, 0.0, -1.0
            rows[ended, 4], rows[ended, 5], rows[ended, 6] = sum_p / total, look, stop
            rows[ended, 9], rows[ended, 10] = mean, variance
            ended += 1
            low, high = first_sight[line], first_sight[line + 1]
            for way in (1, -1):
                ahead = 0
                for n in range(high - low):
                    row = low + n if way == 1 else high - 1 - n
                    m = way * (sights[row, 0] - s)
                    if m < 0.0:
                        continue
                    ahead += 1
                    if ahead > _SIGHTS_AHEAD:
                        break
                    is_closed = False
                    for c in range(closed_first[line], closed_first[line + 1]):
                        if min(s, sights[row, 0]) < closed[c, 1] and max(s, sights[row, 0]) > closed[c, 0]:
                            is_closed = True
                    if is_closed:
                        break
                    sd = math.sqrt(variance + (walker[1] * m) ** 2 + 25.0)
                    look_on = m - max(walker[3] * sd, walker[4])
                    stop_on = m + max(walker[5] * sd, walker[6])
                    chance = 0.0
                    for o in range(outcomes):
                        far = way * (sights[row, 0] - place[o])
                        if far <= 0.0:
                            continue
                        sd_on = math.sqrt((walker[1] * far) ** 2 + 25.0)
                        got = normal((far - look_on) / sd_on) * normal((stop_on - far) / sd_on)
                        for w in range(low, high):
                            nearer = way * (sights[w, 0] - place[o])
                            if w != row and -_PASSED_M < nearer < far and sights[w, 1] == sights[row, 1]:
                                near_sd = math.sqrt((walker[1] * nearer) ** 2 + 25.0)
                                got *= 1.0 - normal((nearer + _PASSED_M - look_on) / near_sd)
                        chance += part[o] * got
                    if chance < _LEAST_CHANCE * total:
                        continue
                    rows[ended, 0], rows[ended, 1], rows[ended, 2], rows[ended, 3] = a, h, way, row
                    rows[ended, 4], rows[ended, 5], rows[ended, 6] = chance / total, look, stop
                    rows[ended, 7], rows[ended, 8] = look_on, stop_on
                    rows[ended, 9], rows[ended, 10] = mean, variance
                    ended += 1
    return ended, rows[:ended]
