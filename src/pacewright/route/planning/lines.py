"""Lines that a walker meets and follows, and the sights along them: junctions, crossings, bends, ends."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TOUCH_M: Final = 25.0
"""An end so near to another line meets it: lines are drawn to no better than that."""
BEND_DEG: Final = 50.0
BEND_REACH_M: Final = 80.0
"""A bend is told on the ground where a line turns by so much within so far to both sides: assumed."""
SAME_SIGHT_M: Final = 60.0
"""Two sights of one line nearer than this are one."""


@dataclass(frozen=True, eq=False)
class Line:
    """A line on the ground.

    Attributes
    ----------
    kind
        What a walker calls it: `stream`, `track`, `ridge`, or the user's own word. Lines of one kind cannot
        be told apart.
    points_m
        East and north, shape (n, 2). Water runs along it from first to last where the kind is `stream`.
    name
        The user's own; may be empty.
    has_bends
        Whether its course is known well enough that its bends can be told.
    """

    kind: str
    points_m: Array
    name: str = ""
    has_bends: bool = False

    @cached_property
    def lengths_m(self) -> Array:
        """How far along the line every point of it lies."""
        steps = np.hypot(*np.diff(self.points_m, axis=0).T)
        return np.concatenate([[0.0], np.cumsum(steps)])

    def at(self, along_m: float) -> tuple[float, float]:
        """The place so far along the line."""
        lengths = self.lengths_m
        return (
            float(np.interp(along_m, lengths, self.points_m[:, 0])),
            float(np.interp(along_m, lengths, self.points_m[:, 1])),
        )


@dataclass(frozen=True, slots=True)
class Sight:
    """Something at which a walker knows the place.

    Attributes
    ----------
    what
        In words: `junction of streams`, `stream under the track`, `bend of the track`, `top`, a name. Sights
        of the same words cannot be told apart.
    place_m
        East and north.
    is_bare
        Whether it is a mere place: where it lies on a junction, it looks like any junction.
    """

    what: str
    place_m: tuple[float, float]
    is_bare: bool = False


@dataclass(frozen=True, slots=True)
class OnLine:
    """Where a sight lies along a line: the numbers of both, and metres along."""

    line: int
    along_m: float
    sight: int


def find_sights(
    lines: Sequence[Line], points: Iterable[Sight] = (), touch_m: float = TOUCH_M
) -> tuple[list[Sight], list[OnLine]]:
    """Find the sights along lines, and put points that lie on a line onto it.

    Returns
    -------
    sights, on_lines
        Those points first, in their order; where each lies on the lines.
    """
    sights = list(points)
    on_lines: list[OnLine] = []
    low, high = _boxes(lines, touch_m)
    for number, sight in enumerate(sights):
        is_near = (low <= sight.place_m).all(axis=1) & (high >= sight.place_m).all(axis=1)
        for its in np.flatnonzero(is_near).tolist():
            along, away = nearest_on(lines[its], sight.place_m)
            if away <= touch_m:
                on_lines.append(OnLine(its, along, number))
    for place, what, touching in _meetings(lines, touch_m):
        same = _same(sights, place, on_lines, touching)
        if same is None:
            sights.append(Sight(what, place))
            same = len(sights) - 1
        elif sights[same].is_bare:
            sights[same] = replace(sights[same], what=what, is_bare=False)
        on_lines += [OnLine(its, along, same) for its, along in touching if not _has(on_lines, its, same)]
    for number, line in enumerate(lines):
        ends = [] if line.kind == "stream" else [(0.0, f"end of the {line.kind}")]
        if ends:
            ends.append((float(line.lengths_m[-1]), f"end of the {line.kind}"))
        bends = [(along, f"bend of the {line.kind}") for along in _bends(line)] if line.has_bends else []
        for along, what in [*ends, *bends]:
            taken = [one for one in on_lines if one.line == number]
            if all(abs(one.along_m - along) > SAME_SIGHT_M for one in taken):
                sights.append(Sight(what, line.at(along)))
                on_lines.append(OnLine(number, along, len(sights) - 1))
    return sights, sorted(set(on_lines), key=lambda one: (one.line, one.along_m, one.sight))


def nearest_on(line: Line, place: tuple[float, float]) -> tuple[float, float]:
    """How far along a line the point nearest to a place lies, and how far away it is, in metres."""
    start, step = line.points_m[:-1], np.diff(line.points_m, axis=0)
    size2 = np.maximum((step**2).sum(axis=1), 1e-9)
    share = np.clip(((np.array(place) - start) * step).sum(axis=1) / size2, 0.0, 1.0)
    away = np.hypot(*(start + share[:, None] * step - place).T)
    best = int(np.argmin(away))
    return float(line.lengths_m[best] + share[best] * np.sqrt(size2[best])), float(away[best])


def _boxes(lines: Sequence[Line], beyond_m: float) -> tuple[Array, Array]:
    """The lower left and the upper right corners of lines with some room round them, both shape (n, 2)."""
    low = np.array([line.points_m.min(axis=0) for line in lines]).reshape(-1, 2) - beyond_m
    high = np.array([line.points_m.max(axis=0) for line in lines]).reshape(-1, 2) + beyond_m
    return low, high


Meeting = tuple[tuple[float, float], str, list[tuple[int, float]]]


def _meetings(lines: Sequence[Line], touch_m: float) -> Iterable[Meeting]:
    """Where lines meet: the place, what it is called, and how far along each of them it is."""
    low, high = _boxes(lines, touch_m)
    for one in range(len(lines)):
        beside = (low[one + 1 :] <= high[one]).all(axis=1) & (high[one + 1 :] >= low[one]).all(axis=1)
        for other in (np.flatnonzero(beside) + one + 1).tolist():
            for mine, its in _touches(lines[one], lines[other], touch_m):
                kinds = sorted({lines[one].kind, lines[other].kind})
                what = f"junction of {kinds[0]}s" if len(kinds) == 1 else f"{kinds[0]} crosses {kinds[1]}"
                yield lines[one].at(mine), what, [(one, mine), (other, its)]


def _touches(one: Line, other: Line, touch_m: float) -> list[tuple[float, float]]:
    """Where two lines cross, and where an end of either lies on the other; metres along both."""
    found = _crossings(one, other)
    for first, second, is_turned in ((one, other, False), (other, one, True)):
        for along in (0.0, float(first.lengths_m[-1])):
            its, away = nearest_on(second, first.at(along))
            if away <= touch_m:
                found.append((its, along) if is_turned else (along, its))
    kept: list[tuple[float, float]] = []
    for mine, its in found:
        if all(abs(mine - was[0]) > touch_m and abs(its - was[1]) > touch_m for was in kept):
            kept.append((mine, its))
    return kept


def _crossings(one: Line, other: Line) -> list[tuple[float, float]]:
    start, step = one.points_m[:-1, None], np.diff(one.points_m, axis=0)[:, None]
    begin, stride = other.points_m[None, :-1], np.diff(other.points_m, axis=0)[None]
    turn = step[..., 0] * stride[..., 1] - step[..., 1] * stride[..., 0]
    gap = begin - start
    with np.errstate(divide="ignore", invalid="ignore"):
        mine = (gap[..., 0] * stride[..., 1] - gap[..., 1] * stride[..., 0]) / turn
        its = (gap[..., 0] * step[..., 1] - gap[..., 1] * step[..., 0]) / turn
    met = (turn != 0) & (mine >= 0) & (mine <= 1) & (its >= 0) & (its <= 1)
    mine_m, its_m = one.lengths_m, other.lengths_m
    return [
        (
            float(mine_m[i] + mine[i, j] * (mine_m[i + 1] - mine_m[i])),
            float(its_m[j] + its[i, j] * (its_m[j + 1] - its_m[j])),
        )
        for i, j in zip(*np.nonzero(met), strict=True)
    ]


def _same(
    sights: list[Sight],
    place: tuple[float, float],
    on_lines: list[OnLine],
    touching: list[tuple[int, float]],
) -> int | None:
    """The number of the sight on one of these lines that stands here already."""
    for line, along in touching:
        for one in on_lines:
            if one.line == line and abs(one.along_m - along) <= SAME_SIGHT_M / 2:
                near = sights[one.sight].place_m
                if np.hypot(near[0] - place[0], near[1] - place[1]) <= SAME_SIGHT_M / 2:
                    return one.sight
    return None


def _has(on_lines: list[OnLine], line: int, sight: int) -> bool:
    return any(one.line == line and one.sight == sight for one in on_lines)


def _bends(line: Line) -> list[float]:
    """How far along a line its bends lie."""
    lengths = line.lengths_m
    total = float(lengths[-1])
    if total < 2.5 * BEND_REACH_M:
        return []
    along = np.arange(BEND_REACH_M, total - BEND_REACH_M, 10.0)

    def places(at: Array) -> Array:
        return np.stack([np.interp(at, lengths, line.points_m[:, k]) for k in (0, 1)], axis=1)

    before = places(along) - places(along - BEND_REACH_M)
    after = places(along + BEND_REACH_M) - places(along)
    turn = np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1))
    sharp = np.abs(np.degrees(turn))
    found: list[float] = []
    reach = int(BEND_REACH_M / 10.0)
    for k in np.flatnonzero(sharp >= BEND_DEG):
        about = sharp[max(0, k - reach) : k + reach + 1]
        if sharp[k] == about.max() and all(abs(along[k] - was) > BEND_REACH_M for was in found):
            found.append(float(along[k]))
    return found
