"""The cells of a flattened page: ink of every digit by itself, ticks, notes, what is struck out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.drawing.log_grid import DIGITS, TICK_BOX_MM, TICKS, LogGrid
from pacewright.reading.bends import PX_PER_MM
from pacewright.reading.photographs import open_vision

FAINTEST: Final = 0.13
"""Ink that is no darker than so much above its paper is none."""

_RULE_MM: Final = 0.45
"""Kept free of the rules above and below a row."""
_NEAR_RULE_MM: Final = 0.7
_RULED: Final = 0.45
"""A line of points of which so much is dark, near to where a rule is, belongs to the rule."""
_DOTTED_MM: Final = 0.4
_BESIDE_MM: Final = 0.9
_FAINT_LINE: Final = 0.3
"""What is thin, upright, beside a dotted rule and no darker is that rule, a little out of its place."""
SPECK_MM2: Final = 0.12
LEAST_HIGH_MM: Final = 1.3
"""A digit is at least so high: what is smaller is a dot or a slip of the pencil."""
_SHIFTED_RULE_MM: Final = 1.2
_TOUCHES_PX: Final = 2
_SHARE_OF_INK: Final = 0.4
_JOINED: Final = 1.3
"""Ink in one piece over so many boxes: struck out, or two digits run together."""
_TICKED: Final = 0.07
NOTED_MM2: Final = 1.5


@dataclass(frozen=True, slots=True)
class NumberInk:
    """The ink of a number.

    Attributes
    ----------
    digits
        For every box its ink, 0 to 1, cut to what is written: array (rows, columns); None where it is blank.
    is_joined
        Whether one piece of ink runs over two boxes and more.
    is_torn
        Whether there is ink that is too small for a digit.
    """

    digits: tuple[np.ndarray | None, ...]
    is_joined: bool
    is_torn: bool


def number_ink(ink: np.ndarray, grid: LogGrid, row: int, left_mm: float) -> NumberInk:
    """Cut the boxes of a number.

    Parameters
    ----------
    ink
        The flattened page.
    grid
        The places on it.
    row
        From 0.
    left_mm
        Where its first box begins.
    """
    cv2 = open_vision()
    top = round((grid.row_top_mm(row) + _RULE_MM) * PX_PER_MM)
    foot = round((grid.row_top_mm(row + 1) - _RULE_MM) * PX_PER_MM)
    left = round((left_mm + 0.35) * PX_PER_MM)
    right = round((left_mm + DIGITS * grid.digit_mm - 0.35) * PX_PER_MM)
    strip = ink[top:foot, left:right].copy()
    dotted = [(left_mm + box * grid.digit_mm) * PX_PER_MM - left for box in range(1, DIGITS)]
    for x in dotted:
        _without_dots(strip, x)
    dark = is_ink(strip)
    _without_level_rules(dark)
    count, labels, told, middles = cv2.connectedComponentsWithStats(dark.astype(np.uint8), connectivity=8)
    box_px = grid.digit_mm * PX_PER_MM
    pieces: list[list[int]] = [[] for _ in range(DIGITS)]
    joined = False
    for piece in range(1, count):
        wide, area = told[piece, cv2.CC_STAT_WIDTH], told[piece, cv2.CC_STAT_AREA]
        if area < SPECK_MM2 * PX_PER_MM**2 or _is_rule(told[piece], strip.shape):
            continue
        if _is_dotted(told[piece], dotted) and float(strip[labels == piece].mean()) < _FAINT_LINE:
            continue
        joined = joined or wide > _JOINED * box_px
        place = (middles[piece][0] + left - left_mm * PX_PER_MM) / box_px
        pieces[int(np.clip(place, 0, DIGITS - 1))].append(piece)
    pieces[0] = _without_side_rule(pieces[0], told, len(strip))
    cut = [cut_out(strip, np.isin(labels, own)) if own else None for own in pieces]
    digits = tuple(one if one is None or len(one) >= LEAST_HIGH_MM * PX_PER_MM else None for one in cut)
    torn = any(one is not None and kept is None for one, kept in zip(cut, digits, strict=True))
    return NumberInk(digits, joined, torn)


def _without_dots(strip: np.ndarray, x: float) -> None:
    """Take a dotted rule out: what lies on it is drawn over from both its sides."""
    half = round(_DOTTED_MM * PX_PER_MM)
    a, b = round(x) - half, round(x) + half
    share = np.linspace(0, 1, b - a + 1)
    before, after = strip[:, a - 1 : a], strip[:, b + 1 : b + 2]
    between = before * (1 - share) + after * share
    strip[:, a : b + 1] = np.minimum(strip[:, a : b + 1], between)


def _without_level_rules(dark: np.ndarray) -> None:
    """Take out what is left of the rules above and below: no pencil runs along most of the boxes there."""
    edge = round(_NEAR_RULE_MM * PX_PER_MM)
    ruled = dark.mean(axis=1) > _RULED
    ruled[edge:-edge] = False
    dark[ruled] = False


def is_ink(strip: np.ndarray) -> np.ndarray:
    """Which points of a strip are written on: array as given."""
    paper = float(np.median(strip))
    darkest = float(np.percentile(strip, 99.5))
    return np.asarray(strip > paper + max(FAINTEST, _SHARE_OF_INK * (darkest - paper)))


def _is_rule(told: Sequence[int], shape: tuple[int, ...]) -> bool:
    """Whether a piece is what was left of a rule around the boxes: at a side thinner than a pencil."""
    left, top, wide, high, _ = told
    near = round(_NEAR_RULE_MM * PX_PER_MM)
    at_edge = top + high <= near or top >= shape[0] - near
    at_side = left == 0 or left + wide >= shape[1]
    level = (top == 0 or top + high >= shape[0]) and high <= near and wide > 1.2 * high
    return bool(at_edge or level or (at_side and wide <= 0.25 * PX_PER_MM))


def _without_side_rule(pieces: list[int], told: np.ndarray, high_px: int) -> list[int]:
    """Take the rule before the first box out of its pieces, where a crease has shifted it into the box.

    It runs from rule to rule at the left of a digit; no digit has such a stroke apart from the rest.
    """
    left, top, wide, high, _ = told.T
    thin = [one for one in pieces if wide[one] <= _SHIFTED_RULE_MM * PX_PER_MM and left[one] < 3 * PX_PER_MM]
    rules = [one for one in thin if top[one] <= _TOUCHES_PX and top[one] + high[one] >= high_px - _TOUCHES_PX]
    digit = [one for one in pieces if one not in rules and high[one] >= LEAST_HIGH_MM * PX_PER_MM]
    is_before = digit and all(left[a] + wide[a] / 2 < left[b] for a in rules for b in digit)
    return [one for one in pieces if one not in rules] if is_before else pieces


def _is_dotted(told: Sequence[int], dotted_px: Sequence[float]) -> bool:
    """Whether a piece is as thin as a dotted rule and beside one."""
    left, _, wide, *_ = told
    beside = min(abs(left + wide / 2 - x) for x in dotted_px)
    return bool(wide <= 0.6 * PX_PER_MM and beside <= _BESIDE_MM * PX_PER_MM)


def cut_out(strip: np.ndarray, own: np.ndarray) -> np.ndarray:
    """The ink of a digit, 0 to 1, cut to it: what of a strip is its own is told point by point."""
    cv2 = open_vision()
    rows, columns = np.nonzero(own)
    around = cv2.dilate(own.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    paper = float(np.median(strip))
    soft = np.where(around, np.maximum(strip - paper, 0), 0)
    cut = soft[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    return np.asarray(
        np.clip(cut / max(float(np.percentile(soft[own], 80)), FAINTEST), 0, 1), dtype=np.float32
    )


def ticked(ink: np.ndarray, grid: LogGrid, row: int) -> tuple[float, ...]:
    """The share of every tick box of a row that is inked, within its frame."""
    side = TICK_BOX_MM - 1.0
    shares = []
    for tick in range(len(TICKS)):
        x = grid.ticks_mm + (tick + 0.5) * grid.tick_mm - side / 2
        y = grid.row_top_mm(row) + grid.row_mm / 2 - side / 2
        a, b, c, d = (round(one * PX_PER_MM) for one in (y, y + side, x, x + side))
        inside = ink[a:b, c:d]
        shares.append(float(np.mean(inside > _paper_level(ink, grid, row) + 0.18)))
    return tuple(shares)


def _paper_level(ink: np.ndarray, grid: LogGrid, row: int) -> float:
    top, foot = (round(grid.row_top_mm(row + at) * PX_PER_MM) for at in (0, 1))
    return float(np.median(ink[top:foot]))


def ticks_of(shares: Sequence[float]) -> tuple[tuple[str, ...], bool]:
    """Which boxes are ticked, and whether one of them may or may not be.

    Examples
    --------
    >>> ticks_of((0.0, 0.3, 0.01, 0.0, 0.05))
    (('see',), True)
    """
    names = tuple(name for name, share in zip(TICKS, shares, strict=True) if share >= _TICKED)
    return names, any(0.5 * _TICKED < share < 1.5 * _TICKED for share in shares)


def has_note(ink: np.ndarray, grid: LogGrid, row: int) -> bool:
    """Whether something is written in the notes of a row."""
    cv2 = open_vision()
    top = round((grid.row_top_mm(row) + 0.7) * PX_PER_MM)
    foot = round((grid.row_top_mm(row + 1) - 0.7) * PX_PER_MM)
    strip = ink[top:foot, round((grid.notes_mm + 0.7) * PX_PER_MM) :]
    dark = (strip > float(np.median(strip)) + 0.18).astype(np.uint8)
    count, _, told, _ = cv2.connectedComponentsWithStats(dark, connectivity=8)
    areas = [told[piece, cv2.CC_STAT_AREA] for piece in range(1, count)]
    return bool(sum(area for area in areas if area >= SPECK_MM2 * PX_PER_MM**2) >= NOTED_MM2 * PX_PER_MM**2)
