"""The table of a photographed page laid flat: seen from above, evenly lit, its bend taken out."""

from __future__ import annotations

from typing import Final

import numpy as np

from pacewright.drawing.log_grid import DIGITS, HEAD_MM, LogGrid
from pacewright.reading.corner_marks import FoundPage
from pacewright.reading.photographs import open_vision

PX_PER_MM: Final = 8.0

_PAPER_MM: Final = 2.6
"""Paper is seen beside every stroke within so much."""
_ACROSS_MM: Final = 4.0
"""Rules are looked for this far apart along the row."""
_STEP_MM: Final = 0.9
"""The bend changes by no more from one place where it is looked for to the next."""


def flatten(grey: np.ndarray, page: FoundPage) -> np.ndarray:
    """Lay the table of a page flat.

    Parameters
    ----------
    grey
        The photograph: array (rows, columns) of bytes.
    page
        Where the page lies in it.

    Returns
    -------
    numpy.ndarray
        How dark every point is, 0 paper to 1 black: array (rows, columns) with `PX_PER_MM`, from the upper
        left corner of the table.
    """
    cv2 = open_vision()
    grid = page.grid
    wide, high = round(grid.width_mm * PX_PER_MM), round(grid.height_mm * PX_PER_MM)
    scale = np.diag([1 / PX_PER_MM, 1 / PX_PER_MM, 1.0])
    flat = cv2.warpPerspective(
        grey,
        page.to_photograph @ scale,
        (wide, high),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    ink = _evenly_lit(flat)
    return _unbent(ink, grid)


def _evenly_lit(flat: np.ndarray) -> np.ndarray:
    cv2 = open_vision()
    side = round(_PAPER_MM * PX_PER_MM) | 1
    paper = cv2.dilate(cv2.GaussianBlur(flat, (0, 0), 1.0), np.ones((side, side), np.uint8))
    paper = cv2.GaussianBlur(paper, (0, 0), side / 2)
    return np.asarray(1 - np.minimum(flat.astype(np.float32) / np.maximum(paper, 1), 1))


def _unbent(ink: np.ndarray, grid: LogGrid) -> np.ndarray:
    cv2 = open_vision()
    high, wide = ink.shape
    across, down = _downward(ink, grid)
    ys, xs = np.mgrid[0:high, 0:wide].astype(np.float32)
    row = (ys / np.float32(PX_PER_MM) - np.float32(HEAD_MM)) / np.float32(grid.row_mm)
    column = (xs / PX_PER_MM - np.float32(across[0])) / np.float32(_ACROSS_MM)
    dy = cv2.remap(down, column, row, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    level = cv2.remap(ink, xs, ys + dy * PX_PER_MM, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    upright_mm, sideways = _sideways(level, grid)
    place = np.interp(xs[0] / PX_PER_MM, upright_mm, np.arange(len(upright_mm))).astype(np.float32)
    dx = cv2.remap(
        sideways,
        np.broadcast_to(place, xs.shape).copy(),
        row - 0.5,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(
        cv2.remap(
            ink,
            xs + dx * PX_PER_MM,
            ys + dy * PX_PER_MM,
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )
    )


def _downward(ink: np.ndarray, grid: LogGrid) -> tuple[np.ndarray, np.ndarray]:
    """Where rules were looked for along a row, in mm, and how far below its place each rule is seen.

    The offsets are an array (rows + 1, places) in mm.
    """
    cv2 = open_vision()
    places = np.arange(_ACROSS_MM / 2, grid.width_mm - 1.0, _ACROSS_MM)
    wide = round(_ACROSS_MM * PX_PER_MM)
    blurred = cv2.boxFilter(ink, -1, (wide, 3))
    columns = np.minimum((places * PX_PER_MM).astype(int), ink.shape[1] - 1)
    rules = HEAD_MM + grid.row_mm * np.arange(grid.rows + 1)
    seen = _followed(blurred[:, columns].T, rules, np.ones(len(rules)), from_both_ends=True)
    return places, seen.T.astype(np.float32).copy()


def _sideways(ink: np.ndarray, grid: LogGrid) -> tuple[np.ndarray, np.ndarray]:
    """The places of the upright rules in mm, and how far to the right of it each is seen, row by row.

    The offsets are an array (rows, rules) in mm; the last rule is the right edge, which the marks hold.
    """
    cv2 = open_vision()
    boxes = grid.digit_mm * np.arange(2 * DIGITS + 1)
    rules = np.append(grid.azimuth_mm + boxes, grid.notes_mm)
    is_dotted = np.append(boxes % (DIGITS * grid.digit_mm) > 0.01, False)
    high = round((grid.row_mm - 1.0) * PX_PER_MM)
    blurred = cv2.boxFilter(ink, -1, (3, high))
    middles = ((HEAD_MM + grid.row_mm * (np.arange(grid.rows) + 0.5)) * PX_PER_MM).astype(int)
    # What is the same in most of five rows is a rule; a digit is not.
    steady = _median_over(blurred[middles])
    seen = _followed(steady, rules, np.where(is_dotted, _DOTTED_TIMES, 1.0), from_both_ends=False)
    edge = np.zeros((len(seen), 1))
    return np.append(rules, grid.width_mm), np.hstack([seen, edge]).astype(np.float32)


_DOTTED_TIMES: Final = 4.0
"""A dotted rule is so much lighter than a whole one."""


def _followed(
    profiles: np.ndarray, rules_mm: np.ndarray, times: np.ndarray, *, from_both_ends: bool
) -> np.ndarray:
    """How far from its place every rule is seen on every profile, following it from where the marks are.

    Parameters
    ----------
    profiles
        Darkness along a line across the rules: array (profiles, points).
    rules_mm
        Where the rules should be.
    times
        How much lighter than others each of them is.
    from_both_ends
        Whether the marks hold the last rule as they hold the first.

    Returns
    -------
    numpy.ndarray
        Array (profiles, rules) in mm.
    """
    cost = np.stack(
        [_costs(profiles * times_of, rule) for rule, times_of in zip(rules_mm, times, strict=True)], axis=1
    )
    # Every profile by itself first: the offsets along it change slowly, from near nothing at the ends.
    chained = np.stack([_cheapest_chain(one, from_both_ends) for one in cost])
    # Then every rule over the profiles, near to what its neighbours say.
    middle = _median_over(chained)
    near = np.abs(_OFFSETS_MM[None, None, :] - middle[:, :, None]) <= _STEP_MM
    best = np.where(near, cost, np.inf).argmin(axis=2)
    return np.asarray(_median_over(_OFFSETS_MM[best]))


_REACH_MM: Final = 4.8
_OFFSETS_MM: Final = np.arange(-_REACH_MM, _REACH_MM + 1e-9, 0.125)


def _costs(profiles: np.ndarray, rule_mm: float) -> np.ndarray:
    """How light every profile is at every offset from a rule: array (profiles, offsets)."""
    at = np.clip(np.round((rule_mm + _OFFSETS_MM) * PX_PER_MM).astype(int), 0, profiles.shape[1] - 1)
    return np.asarray(-np.minimum(profiles[:, at], 0.6))


def _cheapest_chain(cost: np.ndarray, from_both_ends: bool) -> np.ndarray:
    """The offsets, rule after rule, that are darkest together and change least: array (rules,) in mm."""
    jump = 0.02 * np.abs(np.arange(-_MOST_JUMP, _MOST_JUMP + 1))
    start = 0.05 * np.abs(_OFFSETS_MM)
    total, back = cost[0] + start, []
    for here in cost[1:]:
        padded = np.pad(total, _MOST_JUMP, constant_values=np.inf)
        options = np.lib.stride_tricks.sliding_window_view(padded, 2 * _MOST_JUMP + 1) + jump
        back.append(options.argmin(axis=1) - _MOST_JUMP)
        total = options.min(axis=1) + here
    at = int((total + (start if from_both_ends else 0.0)).argmin())
    chain = [at]
    for steps in reversed(back):
        at = at + int(steps[at])
        chain.append(at)
    return np.asarray(_OFFSETS_MM[chain[::-1]])


_MOST_JUMP: Final = round(_STEP_MM / 0.125)


def _median_over(seen: np.ndarray) -> np.ndarray:
    """The median of every value and its neighbours on two profiles to either side: array as given."""
    padded = np.pad(seen, ((2, 2), (0, 0)), mode="edge")
    return np.asarray(np.median(np.stack([padded[at : at + len(seen)] for at in range(5)]), axis=0))
