"""The ground of a plan: heights, how far from what is barred, lines and sights, as the loops read them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.terrain import Bounds, Terrain, height_at
from pacewright.route.planning.lines import Line, OnLine, Sight, find_sights
from pacewright.route.planning.obstacles import Obstacles, find_obstacles
from pacewright.route.travel_cost import RuleName, walking_time_h

Array = NDArray[np.float64]

TRODDEN: Final = ("track", "path", "trail", "road", "lane", "bridge")
"""Lines that lead over steep ground and water where somebody made them: only an area that was given as barred
closes one of these (assumed)."""
BARE_CELL_M: Final = 20.0
_GRADES: Final = 150
_SAMPLE_M: Final = 60.0
_STREAM_SLOWER: Final = 1.2
"""Along a stream off path: half a path's speed where off path it is six tenths (assumed)."""


@dataclass(frozen=True, slots=True, eq=False)
class PlanLand:
    """What a plan reads of the ground; metres of one grid.

    Attributes
    ----------
    terrain
        Heights; all 0 where there is no map.
    clear_m
        How far every cell lies from what is kept off, shape (rows, columns).
    obstacles, slower
        What is in the way, and how many times as long every cell takes.
    lines, sights, on_lines
        The lines, the sights, and where on the lines they lie.
    segments, kinds, looks, first_sight, sight_rows, closed_first, closed
        The same as the loops read them.
    pace
        Minutes a metre off path, by the grade in hundredths from -150 to 150.
    line_begins_m, strung_m, along_min
        All lines strung one behind the other: metres at which each begins, metres of every point, and minutes
        to it, walked onward (row 0) and back (row 1), shape (2, points).
    strung_places_m
        East and north of the same points, shape (points, 2).
    sight_places_m, row_sights
        Where the sights are, shape (sights, 2), and which sight every row of `sight_rows` is.
    rule
        Of the walking times.
    has_heights
        Whether the heights are those of a terrain.
    """

    terrain: Terrain
    clear_m: Array
    obstacles: Obstacles
    slower: Array
    lines: tuple[Line, ...]
    sights: tuple[Sight, ...]
    on_lines: tuple[OnLine, ...]
    segments: Array
    kinds: NDArray[np.int64]
    looks: NDArray[np.int64]
    first_sight: NDArray[np.int64]
    sight_rows: Array
    closed_first: NDArray[np.int64]
    closed: Array
    pace: Array
    line_begins_m: Array
    strung_m: Array
    along_min: Array
    strung_places_m: Array
    sight_places_m: Array
    row_sights: NDArray[np.int64]
    rule: RuleName
    has_heights: bool

    @property
    def grid(self) -> Array:
        """West, north and size of the cells."""
        return np.array([self.terrain.west_m, self.terrain.north_m, self.terrain.cell_east_m])

    @property
    def sampled(self) -> tuple[NDArray[Any], ...]:
        """What rays read of it, as the inner loop takes it."""
        return (
            self.terrain.elevation_m, self.clear_m, self.slower, self.obstacles.steep, self.grid, self.pace,
        )  # fmt: skip

    def follow_min(self, line: int, from_m: float, to_m: float) -> float:
        """The minutes along a line from one place on it to another."""
        return float(self.follow_minutes(np.array([line]), np.array([from_m]), np.array([to_m]))[0])

    def follow_minutes(self, line: NDArray[np.int64], from_m: Array, to_m: Array) -> Array:
        """The minutes along lines from places on them to others, each shape (n,)."""
        begins = self.line_begins_m[line]
        here, there = begins + from_m, begins + to_m
        onward, back = (
            np.interp(there, self.strung_m, self.along_min[k])
            - np.interp(here, self.strung_m, self.along_min[k])
            for k in (0, 1)
        )
        return np.asarray(np.where(to_m >= from_m, onward, -back))

    def places_on(self, line: NDArray[np.int64], along_m: Array) -> Array:
        """The places so far along lines, shape (n, 2); beyond an end, the end."""
        begins = self.line_begins_m[line]
        ends = np.append(self.line_begins_m[1:] - 1.0, self.strung_m[-1])[line]
        at = np.clip(begins + along_m, begins, ends)
        return np.stack([np.interp(at, self.strung_m, self.strung_places_m[:, k]) for k in (0, 1)], axis=1)

    def straight_min(self, here: tuple[float, float], there: tuple[float, float]) -> float:
        """The minutes straight from one place to another, off path."""
        length = float(np.hypot(there[0] - here[0], there[1] - here[1]))
        share = np.linspace(0.0, 1.0, max(2, int(np.ceil(length / _SAMPLE_M)) + 1))
        east, north = (here[k] + share * (there[k] - here[k]) for k in (0, 1))
        rise = np.diff(np.nan_to_num(height_at(self.terrain, east, north)))
        step = max(length / (share.size - 1), 1e-9)
        grade = np.clip(np.rint(100.0 * rise / step), -_GRADES, _GRADES).astype(int) + _GRADES
        row, column = self.cells(east[1:], north[1:])
        return float((self.pace[grade] * step * self.slower[row, column]).sum())

    def cells(self, east: Array, north: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Row and column of the cells of places, those off the land put on its edge."""
        rows, columns = self.clear_m.shape
        row = ((self.terrain.north_m - north) / self.terrain.cell_north_m).astype(np.intp)
        column = ((east - self.terrain.west_m) / self.terrain.cell_east_m).astype(np.intp)
        return np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)

    def clear_at(self, east: float, north: float) -> float:
        """How far a place lies from what is kept off; 0 also on what is boxed, -1 off the land."""
        row = int((self.terrain.north_m - north) / self.terrain.cell_north_m)
        column = int((east - self.terrain.west_m) / self.terrain.cell_east_m)
        rows, columns = self.clear_m.shape
        if not (0 <= row < rows and 0 <= column < columns):
            return -1.0
        return 0.0 if self.obstacles.boxed[row, column] else float(self.clear_m[row, column])


def make_land(
    terrain: Terrain | None,
    lines: Sequence[Line],
    points: Sequence[Sight],
    barred: dict[str, NDArray[np.bool_]] | None = None,
    rule: RuleName = "naismith",
    bounds: Bounds | None = None,
    steep: NDArray[np.bool_] | None = None,
) -> PlanLand:
    """Put the ground of a plan together.

    Parameters
    ----------
    terrain
        On square cells; without it the ground is level.
    lines, points
        What can be met and seen.
    barred
        What is kept off: its words, and its cells, of the terrain or of `bare_ground(bounds)`.
    rule
        Of the walking times.
    bounds
        Of ground without a terrain.
    steep
        Cells that are crossed on a slant, slowly.
    """
    assert terrain is not None or bounds is not None
    ground = bare_ground(bounds) if terrain is None and bounds is not None else terrain
    assert ground is not None
    sights, on_lines = find_sights(lines, points)
    obstacles = find_obstacles(ground, barred or {}, steep)
    shut = obstacles.kept_off
    looks = {what: k for k, what in enumerate(dict.fromkeys(sight.what for sight in sights))}
    kinds = {kind: k for k, kind in enumerate(dict.fromkeys(line.kind for line in lines))}
    first, rows = _grouped(
        [(one.line, (one.along_m, looks[sights[one.sight].what])) for one in on_lines], len(lines)
    )
    closed_first, closed = _grouped(_closed(lines, shut, obstacles.areas, ground), len(lines))
    begins, strung, along_min = _strung(lines, ground, rule)
    return PlanLand(
        terrain=ground,
        clear_m=_clearance(shut, ground),
        obstacles=obstacles,
        slower=obstacles.slower,
        lines=tuple(lines),
        sights=tuple(sights),
        on_lines=tuple(on_lines),
        segments=_segments(lines),
        kinds=np.array([kinds[line.kind] for line in lines], dtype=np.int64),
        looks=np.array([looks[sight.what] for sight in sights], dtype=np.int64),
        first_sight=first,
        sight_rows=rows,
        closed_first=closed_first,
        closed=closed,
        pace=_pace(rule),
        line_begins_m=begins,
        strung_m=strung,
        along_min=along_min,
        strung_places_m=np.concatenate([line.points_m for line in lines]) if lines else np.zeros((1, 2)),
        sight_places_m=np.array([sight.place_m for sight in sights], dtype=np.float64).reshape(-1, 2),
        row_sights=np.array([one.sight for one in on_lines], dtype=np.int64),
        rule=rule,
        has_heights=terrain is not None,
    )


def bare_ground(bounds: Bounds) -> Terrain:
    """Level ground without a map."""
    west, south, east, north = bounds
    rows = max(2, int(np.ceil((north - south) / BARE_CELL_M)))
    columns = max(2, int(np.ceil((east - west) / BARE_CELL_M)))
    flat = np.zeros((rows, columns), dtype=np.float32)
    return Terrain(flat, west, north, BARE_CELL_M, BARE_CELL_M, "local")


def _clearance(shut: NDArray[np.bool_], ground: Terrain) -> Array:
    from scipy import ndimage

    if not shut.any():
        return np.full(shut.shape, 1e6)
    away = ndimage.distance_transform_edt(~shut, sampling=(ground.cell_north_m, ground.cell_east_m))
    # From the side of the barred cell, not from its middle.
    return np.maximum(np.asarray(away, dtype=np.float64) - ground.cell_east_m / 2.0, 0.0)


def _pace(rule: RuleName) -> Array:
    grades = np.arange(-_GRADES, _GRADES + 1) / 100.0
    return np.minimum(60.0 * walking_time_h(np.ones(grades.size), grades, rule=rule, off_path=True), 5.0)


def _minutes_along(line: Line, ground: Terrain, rule: RuleName) -> tuple[Array, Array]:
    height = np.nan_to_num(height_at(ground, line.points_m[:, 0], line.points_m[:, 1]))
    step, rise = np.diff(line.lengths_m), np.diff(height)
    rise = np.clip(rise, -1.5 * step, 1.5 * step)
    is_stream = line.kind == "stream"
    off_path = is_stream or line.kind == "ridge"
    slower = 60.0 * (_STREAM_SLOWER if is_stream else 1.0)
    onward = slower * walking_time_h(step, rise, rule=rule, off_path=off_path)
    back = slower * walking_time_h(step, -rise, rule=rule, off_path=off_path)
    return np.concatenate([[0.0], np.cumsum(onward)]), np.concatenate([[0.0], np.cumsum(back)])


def _strung(lines: Sequence[Line], ground: Terrain, rule: RuleName) -> tuple[Array, Array, Array]:
    if not lines:
        return np.zeros(0), np.zeros(1), np.zeros((2, 1))
    sizes = np.array([line.lengths_m[-1] for line in lines])
    # A metre between two lines, so that no point belongs to both.
    begins = np.concatenate([[0.0], np.cumsum(sizes + 1.0)[:-1]])
    strung = np.concatenate([begin + line.lengths_m for begin, line in zip(begins, lines, strict=True)])
    minutes = [_minutes_along(line, ground, rule) for line in lines]
    return begins, strung, np.array([np.concatenate([one[k] for one in minutes]) for k in (0, 1)])


def _segments(lines: Sequence[Line]) -> Array:
    made = [
        np.column_stack(
            [line.points_m[:-1], line.points_m[1:], np.full(len(line.points_m) - 1, k), line.lengths_m[:-1]]
        )
        for k, line in enumerate(lines)
    ]
    return np.concatenate(made) if made else np.zeros((0, 6))


def _closed(
    lines: Sequence[Line], shut: NDArray[np.bool_], areas: NDArray[np.bool_], ground: Terrain
) -> list[tuple[int, tuple[float, float]]]:
    """The stretches of lines that lead over barred cells."""
    found: list[tuple[int, tuple[float, float]]] = []
    rows, columns = shut.shape
    for number, line in enumerate(lines):
        along = np.arange(0.0, line.lengths_m[-1] + 5.0, 10.0)
        east = np.interp(along, line.lengths_m, line.points_m[:, 0])
        north = np.interp(along, line.lengths_m, line.points_m[:, 1])
        row = np.clip(((ground.north_m - north) / ground.cell_north_m).astype(int), 0, rows - 1)
        column = np.clip(((east - ground.west_m) / ground.cell_east_m).astype(int), 0, columns - 1)
        bad = np.flatnonzero((areas if line.kind in TRODDEN else shut)[row, column])
        if bad.size:
            cuts = np.flatnonzero(np.diff(bad) > 1)
            for low, high in zip(bad[np.r_[0, cuts + 1]], bad[np.r_[cuts, bad.size - 1]], strict=True):
                found.append((number, (float(along[low]) - 5.0, float(along[high]) + 5.0)))
    return found


def _grouped(
    items: Sequence[tuple[int, tuple[float, float]]], groups: int
) -> tuple[NDArray[np.int64], Array]:
    """Where each group begins, shape (groups + 1,), and the values in order, shape (n, 2)."""
    ordered = sorted(items)
    first = np.searchsorted([group for group, _ in ordered], np.arange(groups + 1))
    return first.astype(np.int64), np.array([value for _, value in ordered], dtype=np.float64).reshape(-1, 2)
