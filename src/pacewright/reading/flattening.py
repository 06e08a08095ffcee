"""The table of a photographed page laid flat: seen from above, evenly lit, its bend taken out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.drawing.log_grid import HEAD_MM, LogGrid
from pacewright.reading.bends import PX_PER_MM as PX_PER_MM
from pacewright.reading.bends import followed, followed_together, upright_rules
from pacewright.reading.corner_marks import FoundPage
from pacewright.reading.photographs import open_vision

_PAPER_MM: Final = 2.6
"""Paper is seen beside every stroke within so much."""
_ACROSS_MM: Final = 4.0
"""Rules are looked for this far apart along the row."""


@dataclass(frozen=True, slots=True)
class FlatPage:
    """A page seen from above, as it is shown to a person.

    Attributes
    ----------
    grey
        Its table: array (rows, columns) of bytes with `PX_PER_MM`.
    row_tops
        Where its rows begin, in points from above, and where the last one ends.
    first
        The number of the first row.
    notes_left
        Where the notes begin, in points from the left.
    """

    grey: np.ndarray
    row_tops: tuple[float, ...]
    first: int
    notes_left: float


def laid_flat(grey: np.ndarray, page: FoundPage) -> tuple[np.ndarray, np.ndarray]:
    """Lay the table of a page flat.

    Parameters
    ----------
    grey
        The photograph: array (rows, columns) of bytes.
    page
        Where the page lies in it.

    Returns
    -------
    ink, seen : numpy.ndarray
        How dark every point is, 0 paper to 1 black, and its grey in bytes: arrays (rows, columns) with
        `PX_PER_MM`, from the upper left corner of the table.
    """
    grid = page.grid
    flat = seen_from_above(grey, page.to_photograph, grid.width_mm, grid.height_mm)
    ink = evenly_lit(flat)
    x, y = _bend(ink, grid)
    return _moved(ink, x, y), _moved(flat, x, y)


def seen_from_above(
    grey: np.ndarray, to_photograph: np.ndarray, width_mm: float, height_mm: float
) -> np.ndarray:
    """A flat piece of paper as it is seen from above: array (rows, columns) of bytes with `PX_PER_MM`."""
    cv2 = open_vision()
    size = round(width_mm * PX_PER_MM), round(height_mm * PX_PER_MM)
    scale = np.diag([1 / PX_PER_MM, 1 / PX_PER_MM, 1.0])
    how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(
        cv2.warpPerspective(grey, to_photograph @ scale, size, flags=how, borderMode=cv2.BORDER_REPLICATE)
    )


def _moved(picture: np.ndarray, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    cv2 = open_vision()
    return np.asarray(cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))


def evenly_lit(flat: np.ndarray) -> np.ndarray:
    """How dark every point of a flat page is against the paper around it, 0 to 1: array as given."""
    cv2 = open_vision()
    side = round(_PAPER_MM * PX_PER_MM) | 1
    paper = cv2.dilate(cv2.GaussianBlur(flat, (0, 0), 1.0), np.ones((side, side), np.uint8))
    paper = cv2.GaussianBlur(paper, (0, 0), side / 2)
    return np.asarray(1 - np.minimum(flat.astype(np.float32) / np.maximum(paper, 1), 1))


def _bend(ink: np.ndarray, grid: LogGrid) -> tuple[np.ndarray, np.ndarray]:
    """Where every point of the level table is on the bent one: its columns and its rows, arrays as given."""
    high, wide = ink.shape
    across, down = _downward(ink, grid)
    ys, xs = np.mgrid[0:high, 0:wide].astype(np.float32)
    row = (ys / np.float32(PX_PER_MM) - np.float32(HEAD_MM)) / np.float32(grid.row_mm)
    column = (xs / PX_PER_MM - np.float32(across[0])) / np.float32(_ACROSS_MM)
    dy = _moved(down, column, row)
    level = _moved(ink, xs, ys + dy * PX_PER_MM)
    upright_mm, sideways = _sideways(level, grid)
    place = np.interp(xs[0] / PX_PER_MM, upright_mm, np.arange(len(upright_mm))).astype(np.float32)
    dx = _moved(sideways, np.broadcast_to(place, xs.shape).copy(), row - 0.5)
    return xs + dx * PX_PER_MM, ys + dy * PX_PER_MM


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
    seen = followed(blurred[:, columns].T, rules)
    return places, seen.T.astype(np.float32).copy()


def _sideways(ink: np.ndarray, grid: LogGrid) -> tuple[np.ndarray, np.ndarray]:
    """The places of the upright rules in mm, and how far to the right of it each is seen, row by row.

    The offsets are an array (rows, rules) in mm; the last rule is the right edge, which the marks hold.
    """
    cv2 = open_vision()
    rules = upright_rules(grid)
    high = round((grid.row_mm - 1.0) * PX_PER_MM)
    blurred = cv2.boxFilter(ink, -1, (3, high))
    middles = ((HEAD_MM + grid.row_mm * (np.arange(grid.rows) + 0.5)) * PX_PER_MM).astype(int)
    seen = followed_together(blurred[middles], rules)
    edge = np.zeros((len(seen), 1))
    return np.append(rules, grid.width_mm), np.hstack([seen, edge]).astype(np.float32)
