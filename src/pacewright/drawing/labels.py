"""Labels that do not collide: each beside its thing, or on a leader, or numbered in a key."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import unit_vectors
from pacewright.drawing.svg import text_width_mm

Segment = tuple[float, float, float, float]

_ASCENT: Final = 0.80
_DESCENT: Final = 0.24
_APART_MM: Final = 0.5
_LEADER_FROM_MM: Final = 2.5
_RINGS_MM: Final = (0.9, 2.0, 4.0, 7.0, 11.0, 16.0, 22.0, 30.0, 40.0, 55.0)
# East first, then the diagonals, then above and below: the order in which a map is read.
_DIRECTIONS_DEG: Final = (90, 45, 135, 270, 315, 225, 0, 180, 67, 113, 293, 247, 22, 158, 338, 202)
_DIRECTIONS: Final = unit_vectors(_DIRECTIONS_DEG)
_CROSSED_LINE_COST: Final = 60.0
"""More than the farthest ring: a label covers a line only where no place within reach is free of lines."""
_CROSSED_FAINT_COST: Final = 3.0


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle on the page, in mm; y runs down the page."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box, apart_mm: float = 0.0) -> bool:
        """Say whether two boxes share any room, or come nearer than stated."""
        return (
            self.left < other.right + apart_mm
            and other.left < self.right + apart_mm
            and self.top < other.bottom + apart_mm
            and other.top < self.bottom + apart_mm
        )

    def holds(self, other: Box) -> bool:
        """Say whether the other box lies wholly inside this one."""
        return (
            self.left <= other.left
            and other.right <= self.right
            and self.top <= other.top
            and other.bottom <= self.bottom
        )


@dataclass(frozen=True, slots=True)
class Wish:
    """A label that wants a place.

    Parameters
    ----------
    content
        The text.
    x, y
        The middle of the thing it names, in mm.
    clear_mm
        Radius of the symbol, which the label must leave free.
    size_mm
        Height of the type.
    short
        What stands on the drawing instead when the text finds no place, the text then going into the
        key; empty for a label that may be left out (a station's bare number).
    rank
        Lower ranks choose their places first.
    beside
        Further points of the thing by which the label may stand as well, such as others of a line.
    """

    content: str
    x: float
    y: float
    clear_mm: float
    size_mm: float
    short: str = ""
    rank: int = 0
    beside: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Label:
    """A label in its place: its box, its baseline's middle, and the leader back to its thing if it is far."""

    wish: Wish
    content: str
    box: Box
    leader: Segment | None

    @property
    def middle_x(self) -> float:
        """The middle of the label, in mm."""
        return (self.box.left + self.box.right) / 2

    @property
    def baseline_y(self) -> float:
        """The height of the baseline on the page, in mm."""
        return self.box.bottom - _DESCENT * self.wish.size_mm


@dataclass(frozen=True, slots=True)
class Placement:
    """Where every label went.

    Parameters
    ----------
    labels
        Labels on the drawing; no two boxes overlap.
    key
        `(short, content)` for each label that found no place; its short form is among `labels` unless
        there was no room even for that.
    left_out
        Texts without a short form that found no place.
    """

    labels: tuple[Label, ...]
    key: tuple[tuple[str, str], ...]
    left_out: tuple[str, ...]


def place_labels(
    wishes: Sequence[Wish],
    room: Box,
    blocked: Sequence[Box] = (),
    lines: Sequence[Segment] = (),
    faint: Sequence[Segment] = (),
) -> Placement:
    """Find a place for every label that overlaps no other label and no symbol.

    Parameters
    ----------
    wishes
        The labels; the same wishes always get the same places.
    room
        Where labels may stand.
    blocked
        Boxes that labels must leave free (symbols, the north arrow).
    lines
        Lines that a label crosses only where nothing within reach is free of them (legs, rays).
    faint
        Lines that labels should rather not cross (the rim of a region): as if the place were 3 mm farther.

    Returns
    -------
    Placement
        Nothing is lost: every wish is a label, or in the key, or in `left_out`.
    """
    table = _Table(room, blocked, lines, faint)
    labels: list[Label] = []
    key: list[tuple[str, str]] = []
    left_out: list[str] = []
    for wish in sorted(wishes, key=lambda w: w.rank):
        label = table.place(wish, wish.content)
        if label is None and wish.short:
            key.append((wish.short, wish.content))
            label = table.place(wish, wish.short)
        elif label is None:
            left_out.append(wish.content)
        if label is not None:
            labels.append(label)
    return Placement(tuple(labels), tuple(key), tuple(left_out))


class _Table:
    """The page while labels are being laid on it."""

    def __init__(
        self, room: Box, blocked: Sequence[Box], lines: Sequence[Segment], faint: Sequence[Segment]
    ) -> None:
        self.room = room
        self.marks = len(blocked)
        self.taken: NDArray[np.float64] = np.array([_row(box) for box in blocked], dtype=np.float64).reshape(
            -1, 4
        )
        self.lines: NDArray[np.float64] = np.array(lines, dtype=np.float64).reshape(-1, 4)
        self.faint: NDArray[np.float64] = np.array(faint, dtype=np.float64).reshape(-1, 4)
        self.leaders: NDArray[np.float64] = np.zeros((0, 4))

    def place(self, wish: Wish, content: str) -> Label | None:
        """Take the cheapest free place for one label, or none."""
        # A label that may be left out is no use far from its thing.
        rings = _RINGS_MM if wish.short else _RINGS_MM[:2]
        least = math.inf if wish.short else _CROSSED_LINE_COST
        best: tuple[Wish, NDArray[np.float64]] | None = None
        points = [wish, *(replace(wish, x=x, y=y) for x, y in wish.beside)]
        for gap in rings:
            if gap >= least:
                break
            for point in points:
                boxes = _candidates(point, content, gap)
                costs = gap + 0.05 * np.arange(len(boxes)) + self._costs(boxes, point, gap)
                nearest = int(np.argmin(costs))
                if costs[nearest] < least:
                    least, best = float(costs[nearest]), (point, boxes[nearest])
        return None if best is None else self._lay(wish, content, *best)

    def _costs(self, boxes: NDArray[np.float64], wish: Wish, gap: float) -> NDArray[np.float64]:
        """What each place costs beyond its distance; infinite where a label cannot stand."""
        costs = np.full(len(boxes), math.inf)
        free = np.flatnonzero(self._are_free(boxes))
        leaders = _leaders(wish, boxes[free])
        if gap >= _LEADER_FROM_MM:
            run_over = _crosses(leaders[:, None, :], self._not_of(wish)).any(axis=1)
            free = free[~run_over]
        if not len(free):
            return costs
        lines, faint = _near(self.lines, boxes[free]), _near(self.faint, boxes[free])
        costs[free] = _CROSSED_LINE_COST * _crosses(lines, boxes[free, None, :]).sum(axis=1)
        costs[free] += _CROSSED_FAINT_COST * _crosses(faint, boxes[free, None, :]).any(axis=1)
        return costs

    def _not_of(self, wish: Wish) -> NDArray[np.float64]:
        """All that a leader must not run through: other labels, and marks but the one it starts from."""
        taken = self.taken
        own = (
            (taken[:, 0] <= wish.x)
            & (wish.x <= taken[:, 2])
            & (taken[:, 1] <= wish.y)
            & (wish.y <= taken[:, 3])
        )
        own[self.marks :] = False
        return np.asarray(taken[~own], dtype=np.float64)

    def _are_free(self, boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
        room = self.room
        left, top, right, bottom = (boxes[:, i, None] for i in range(4))
        inside = (left >= room.left) & (top >= room.top) & (right <= room.right) & (bottom <= room.bottom)
        taken = self.taken
        hit = (
            (left < taken[:, 2] + _APART_MM)
            & (taken[:, 0] < right + _APART_MM)
            & (top < taken[:, 3] + _APART_MM)
            & (taken[:, 1] < bottom + _APART_MM)
        )
        free = inside[:, 0] & ~hit.any(axis=1)
        free[free] = ~_crosses(self.leaders, boxes[free, None, :]).any(axis=1)
        return np.asarray(free, dtype=np.bool_)

    def _lay(self, wish: Wish, content: str, point: Wish, sides: NDArray[np.float64]) -> Label:
        self.taken = np.vstack([self.taken, sides])
        box = Box(*(float(side) for side in sides))
        x1, y1, x2, y2 = (float(end) for end in _leaders(point, sides[None, :])[0])
        if math.hypot(x2 - x1, y2 - y1) < _LEADER_FROM_MM:
            return Label(wish, content, box, None)
        self.leaders = np.vstack([self.leaders, (x1, y1, x2, y2)])
        return Label(wish, content, box, (x1, y1, x2, y2))


def _candidates(wish: Wish, content: str, gap: float) -> NDArray[np.float64]:
    """The boxes round a symbol at one distance, in the order of `_DIRECTIONS_DEG`.

    A box slides from touching with its side to touching with its corner as the direction turns.
    """
    half_width = text_width_mm(content, wish.size_mm) / 2
    half_height = (_ASCENT + _DESCENT) * wish.size_mm / 2
    reach = wish.clear_mm + gap
    east, north = _DIRECTIONS
    x = wish.x + east * reach + np.clip(1.8 * east, -1, 1) * half_width
    y = wish.y - north * reach - np.clip(1.8 * north, -1, 1) * half_height
    return np.stack([x - half_width, y - half_height, x + half_width, y + half_height], axis=1)


def _leaders(wish: Wish, boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """The line from the symbol's rim to the nearest point of each box."""
    x = np.clip(wish.x, boxes[:, 0], boxes[:, 2])
    y = np.clip(wish.y, boxes[:, 1], boxes[:, 3])
    distance = np.hypot(x - wish.x, y - wish.y)
    # A box nearer than the rim has a leader of no length.
    share = np.minimum(1.0, wish.clear_mm / np.maximum(distance, 1e-9))
    return np.stack([wish.x + share * (x - wish.x), wish.y + share * (y - wish.y), x, y], axis=1)


def _row(box: Box) -> tuple[float, float, float, float]:
    return box.left, box.top, box.right, box.bottom


def _near(lines: NDArray[np.float64], boxes: NDArray[np.float64]) -> NDArray[np.float64]:
    """The lines that can touch one of the boxes at all: most of a long walk lies elsewhere."""
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    first, second = lines[:, :2], lines[:, 2:]
    are_near = (np.maximum(first, second) >= low) & (np.minimum(first, second) <= high)
    return np.asarray(lines[are_near.all(axis=1)], dtype=np.float64)


def _crosses(lines: NDArray[np.float64], boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Say for each line and box, one of them or a row of either, whether any of the line lies in the box.

    References
    ----------
    Clipping by parameter: Y.-D. Liang and B. A. Barsky, A new concept and method for line clipping,
    ACM Transactions on Graphics 3 (1984), from memory.
    """
    x, y = lines[..., 0], lines[..., 1]
    dx, dy = lines[..., 2] - x, lines[..., 3] - y
    left, top, right, bottom = (boxes[..., i] for i in range(4))
    shape = np.broadcast_shapes(x.shape, left.shape)
    enter, leave, inside = np.zeros(shape), np.ones(shape), np.ones(shape, dtype=np.bool_)
    for step, room in ((-dx, x - left), (dx, right - x), (-dy, y - top), (dy, bottom - y)):
        # Flat to less than any rounding of the page, where a division could overflow.
        flat = np.abs(step) < 1e-9
        inside &= ~(flat & (room < 0))
        share = room / np.where(flat, 1.0, step)
        enter = np.where(~flat & (step < 0), np.maximum(enter, share), enter)
        leave = np.where(~flat & (step > 0), np.minimum(leave, share), leave)
    return inside & (enter <= leave)
