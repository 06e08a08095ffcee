"""A page that was not printed by us: its frame is set by hand, its numbers stand in cells without boxes."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from pacewright.exceptions import ValueComplaint
from pacewright.reading.bends import PX_PER_MM
from pacewright.reading.cells import LEAST_HIGH_MM, NOTED_MM2, SPECK_MM2, NumberInk, cut_out, is_ink
from pacewright.reading.flattening import FlatPage, evenly_lit, seen_from_above
from pacewright.reading.page_read import ReadPage, ReadRow, read_numbers
from pacewright.reading.photographs import open_vision, photo_size, read_photograph
from pacewright.reading.ruled_rows import find_rows

MOST_ROWS: Final = 80
ROW_MM: Final = 6.8
"""Rows are laid flat as high as those of a printed page, whatever they measure on the paper."""

_BESIDE_LINE_MM: Final = 0.5
_NEAR_RULE_MM: Final = 1.2
_RULED: Final = 0.45
_LINE_MM: Final = 0.6
_OVERLAP: Final = 0.5
"""Pieces of ink that lie over each other by so much of the narrower one are one digit."""
_WIDEST: Final = 1.15
"""No single digit is wider than so much of its height."""
_MOST_DIGITS: Final = 4
_LOWEST: Final = 0.55
"""A piece lower than so much of the highest one in its cell is no digit by itself."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the rows of a page are in its photograph.

    Attributes
    ----------
    corners
        Upper left, upper right, lower right, lower left of the rows, without the head of the table and
        without numbers of rows: (x, y) in points of the photograph as the file has it.
    columns
        The line between azimuth and count, and the one between count and notes: shares of the width, 0 to 1.
    rows
        How many rows there are; 0 if they are to be found.
    """

    corners: tuple[tuple[float, float], ...]
    columns: tuple[float, float]
    rows: int = 0


def read_framed(data: bytes, frame: Frame) -> ReadPage:
    """Read a page whose frame was set by hand.

    Parameters
    ----------
    data
        A JPEG or PNG file.
    frame
        Where its rows are.

    Raises
    ------
    ValueComplaint
        The frame is none, or its rows are not to be found.
    FormatComplaint
        It is no photograph.
    MissingComplaint
        The libraries for it are not installed.
    """
    wide, high = photo_size(data)
    _check(frame, wide, high)
    grey = read_photograph(data)
    corners = np.array(frame.corners) * (grey.shape[1] / wide, grey.shape[0] / high)
    tops = _row_tops(grey, corners, frame)
    flat = _laid(grey, corners, ROW_MM * (len(tops) - 1))
    ink = evenly_lit(flat)
    edges = [0, *(round(share * flat.shape[1]) for share in frame.columns), flat.shape[1]]
    at = [round(top * flat.shape[0]) for top in tops]
    cells = [[ink[a:b, c:d] for c, d in itertools.pairwise(edges)] for a, b in itertools.pairwise(at)]
    numbers = read_numbers([_number_ink(cell) for row in cells for cell in row[:2]])
    rows = [
        ReadRow(number + 1, numbers[2 * number], numbers[2 * number + 1], (), False, _is_noted(row[2]))
        for number, row in enumerate(cells)
    ]
    picture = FlatPage(flat, tuple(float(top) for top in at), 1, float(edges[2]))
    return ReadPage(1, tuple(row for row in rows if not row.is_blank), picture)


def _check(frame: Frame, wide: int, high: int) -> None:
    corners = np.array(frame.corners, dtype=float)
    if corners.shape != (4, 2) or not np.all(np.isfinite(corners)):
        raise ValueComplaint(
            "a frame has four corners", "Give upper left, upper right, lower right, lower left"
        )
    if np.any(corners < -0.5) or np.any(corners > (wide + 0.5, high + 0.5)):
        raise ValueComplaint(
            f"a corner lies outside of the photograph, which has {wide} by {high} points",
            "Give corners within it",
        )
    sides = np.roll(corners, -1, axis=0) - corners
    after = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
    if not np.all(turns > 0) or np.min(np.hypot(*sides.T)) < _LEAST_SIDE_PX:
        raise ValueComplaint(
            "these corners do not go round a page",
            "Give upper left, upper right, lower right, lower left, in this order as the writing stands",
        )
    first, second = frame.columns
    if not 0 < first < second <= 1:
        raise ValueComplaint(
            f"{first:g} and {second:g} are no column lines",
            "Give two shares of the width, such as 0.3 and 0.55: what lies left of them is azimuth and count",
        )
    if not 0 <= frame.rows <= MOST_ROWS:
        raise ValueComplaint(
            f"{frame.rows} is no number of rows", f"Give 1 to {MOST_ROWS}, or none to have them found"
        )


_LEAST_SIDE_PX: Final = 40.0


def _laid(grey: np.ndarray, corners: np.ndarray, high_mm: float) -> np.ndarray:
    """The frame seen from above, so high, and as wide as its sides make it: array of bytes."""
    cv2 = open_vision()
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    wide_mm = high_mm * float((sides[0] + sides[2]) / (sides[1] + sides[3]))
    wide_mm = float(np.clip(wide_mm, 20.0, 400.0))
    page = np.array([(0, 0), (wide_mm, 0), (wide_mm, high_mm), (0, high_mm)], dtype=np.float32)
    matrix = cv2.getPerspectiveTransform(page, corners.astype(np.float32)).astype(np.float64)
    return seen_from_above(grey, matrix, wide_mm, high_mm)


def _row_tops(grey: np.ndarray, corners: np.ndarray, frame: Frame) -> Sequence[float]:
    """Where rows begin and the last one ends, in shares of the height."""
    if frame.rows:
        return [row / frame.rows for row in range(frame.rows + 1)]
    flat = _laid(grey, corners, _LOOKED_AT_MM)
    tops = find_rows(evenly_lit(flat), frame.columns[1])
    if not 1 <= len(tops) - 1 <= MOST_ROWS:
        raise ValueComplaint("the rows of this page are not to be told apart", "Say how many rows there are")
    return tops


_LOOKED_AT_MM: Final = 160.0


def _number_ink(cell: np.ndarray) -> NumberInk:
    """The digits of a cell that has no boxes."""
    cv2 = open_vision()
    beside = round(_BESIDE_LINE_MM * PX_PER_MM)
    strip = cell[:, beside:-beside].copy()
    if min(strip.shape) < LEAST_HIGH_MM * PX_PER_MM:
        return NumberInk((), False, False)
    dark = is_ink(strip)
    _without_lines(dark)
    count, labels, told, _ = cv2.connectedComponentsWithStats(dark.astype(np.uint8), connectivity=8)
    pieces = [
        [piece] for piece in range(1, count) if told[piece, cv2.CC_STAT_AREA] >= SPECK_MM2 * PX_PER_MM**2
    ]
    digits = _together(cv2, pieces, told)
    cut = [cut_out(strip, np.isin(labels, own)) for own in digits]
    highest = max((len(one) for one in cut), default=0)
    least = max(LEAST_HIGH_MM * PX_PER_MM, _LOWEST * highest)
    kept = tuple(one for one in cut if len(one) >= least)
    joined = len(kept) > _MOST_DIGITS or any(one.shape[1] > _WIDEST * one.shape[0] for one in kept)
    return NumberInk(kept, joined, len(kept) < len(cut))


def _without_lines(dark: np.ndarray) -> None:
    """Take rules out: level ones near the edges, upright ones as high as the cell at its sides."""
    near = round(_NEAR_RULE_MM * PX_PER_MM)
    level = dark.mean(axis=1) > _RULED
    level[near:-near] = False
    dark[level] = False
    side = round(_LINE_MM * PX_PER_MM)
    upright = dark.mean(axis=0) > 0.85
    upright[side:-side] = False
    dark[:, upright] = False


def _together(cv2: Any, pieces: list[list[int]], told: np.ndarray) -> list[list[int]]:
    """Pieces one above the other as one digit, from left to right."""
    lefts = {one[0]: told[one[0], cv2.CC_STAT_LEFT] for one in pieces}
    found: list[tuple[list[int], int, int]] = []
    for piece in sorted(lefts, key=lambda one: lefts[one]):
        left = int(told[piece, cv2.CC_STAT_LEFT])
        right = left + int(told[piece, cv2.CC_STAT_WIDTH])
        if found:
            own, first, last = found[-1]
            over = min(last, right) - max(first, left)
            if over >= _OVERLAP * min(last - first, right - left):
                found[-1] = ([*own, piece], min(first, left), max(last, right))
                continue
        found.append(([piece], left, right))
    return [own for own, _, _ in found]


def _is_noted(cell: np.ndarray) -> bool:
    cv2 = open_vision()
    beside = round(_BESIDE_LINE_MM * PX_PER_MM)
    strip = cell[:, beside:-beside]
    if strip.shape[1] < 2 * beside:
        return False
    dark = is_ink(strip)
    _without_lines(dark)
    count, _, told, _ = cv2.connectedComponentsWithStats(dark.astype(np.uint8), connectivity=8)
    areas = [told[piece, cv2.CC_STAT_AREA] for piece in range(1, count)]
    written = sum(area for area in areas if area >= SPECK_MM2 * PX_PER_MM**2)
    return bool(written >= NOTED_MM2 * PX_PER_MM**2)
