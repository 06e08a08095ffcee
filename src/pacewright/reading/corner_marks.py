"""The corner marks of a page in a photograph, and what its page code says."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from pacewright.drawing.log_grid import LOG_GRIDS, MARK_RADIUS_MM, MARKING_GRIDS, LogGrid
from pacewright.drawing.page_code import (
    BITS,
    CARD_LOG,
    LOG_PAGE,
    MARKING_SHEET,
    VERSION,
    PageCode,
    parse_code,
)
from pacewright.drawing.page_marks import DOT, HOLE
from pacewright.exceptions import FormatComplaint
from pacewright.reading.photographs import open_vision

DARKEST_PAPER: Final = 45
"""Grey of the lightest tenth of a photograph below which pencil is lost in the noise."""

_LEAST_AREA_PX: Final = 60.0
_MOST_RINGS: Final = 24
"""Noughts of a near part of the page look as large as the ring of a far one."""
_MOST_DOTTED: Final = 8
_LIKE_SIZE: Final = 0.35
"""Logarithm of how much larger or smaller a mark may look where the page is bent."""
_SHIFTS_MM: Final = (0.0, 0.4, -0.4, 0.8, -0.8, 1.2, -1.2)


@dataclass(frozen=True, slots=True)
class Mark:
    """A corner mark as it was found: its centre and mean diameter in points, and whether it has the dot."""

    x: float
    y: float
    size: float
    has_dot: bool


@dataclass(frozen=True, slots=True)
class FoundPage:
    """A page in a photograph.

    Attributes
    ----------
    code
        What it says of itself.
    grid
        The places on it.
    to_photograph
        Matrix (3, 3) from mm of the page to points of the photograph.
    """

    code: PageCode
    grid: LogGrid
    to_photograph: np.ndarray


def find_page(grey: np.ndarray) -> FoundPage:
    """Find the log page in a photograph, whichever way up it lies.

    Parameters
    ----------
    grey
        Array (rows, columns) of bytes.

    Raises
    ------
    FormatComplaint
        It is too dark, no page is in it, a corner mark is missing, its code cannot be read, or it is the
        marking sheet of a course.
    """
    lightest = float(np.percentile(grey[::8, ::8], 90))
    if lightest < DARKEST_PAPER:
        raise FormatComplaint("this photograph is too dark to read", "Photograph the page in more light")
    most = 0
    for part in _OF_PAPER:
        marks = _marks(grey, part)
        most = max(most, _alike(marks))
        for corners, sizes in _corners(marks):
            found = _page_of(grey, corners, sizes)
            if found is not None:
                return _with_rows(found)
    raise _no_page(most)


def _with_rows(found: FoundPage) -> FoundPage:
    if found.code.kind != MARKING_SHEET:
        return found
    cards = f"cards 1 to {found.code.card}" if found.code.card else "a course"
    raise FormatComplaint(
        f"this is the marking sheet of {cards}: it has no rows of a log, and nothing on it is read",
        "Photograph the learners' pages; type what stands on the sheet",
    )


_OF_PAPER: Final = (0.72, 0.85, 0.6)
"""What is darker than this share of the paper around it is ink; tried in turn."""


def _alike(marks: Sequence[Mark]) -> int:
    """How many of the four marks were seen, as far as that can be told: a letter may look like one."""
    dotted = [mark.size for mark in marks if mark.has_dot]
    most = max(dotted, default=np.inf)
    rings = sum(mark.size > 0.78 * most for mark in marks if not mark.has_dot)
    return min(3, sum(size > 0.5 * most for size in dotted)) + min(1, rings)


def _no_page(marks: int) -> FormatComplaint:
    if marks == 3:
        return FormatComplaint(
            "one of the four corner marks is missing",
            "Photograph the page anew with all four corner marks in the picture, nothing on them",
        )
    if marks >= 4:
        return FormatComplaint(
            "the page code between the lower corner marks cannot be read",
            "Photograph the page anew, flat and sharp",
        )
    return FormatComplaint(
        "no log page is to be seen in this photograph",
        "Photograph a page that pacewright printed, whole, with its four corner marks",
    )


def _marks(grey: np.ndarray, part: float) -> list[Mark]:
    cv2 = open_vision()
    side = max(31, max(grey.shape) // 40 | 1)
    around = cv2.boxFilter(grey, cv2.CV_32F, (side, side))
    ink = (grey < part * around).astype(np.uint8)
    outlines, tree = cv2.findContours(ink, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if tree is None:
        return []
    dots = _dots(cv2, outlines, tree[0])
    found = [
        mark
        for at, (outline, (_, _, child, parent)) in enumerate(zip(outlines, tree[0], strict=True))
        if parent < 0 <= child and len(outline) >= 20 and (mark := _mark(cv2, outlines, tree[0], at, dots))
    ]
    return sorted(found, key=lambda mark: -mark.size)


def _dots(cv2: Any, outlines: Sequence[np.ndarray], tree: np.ndarray) -> np.ndarray:
    """Centre and area of everything small and solid: an array (n, 3)."""
    found = []
    for outline, (_, _, child, parent) in zip(outlines, tree, strict=True):
        if parent < 0 and child < 0 and 4 <= len(outline) < 200:
            area = max(cv2.contourArea(outline), 0.5 * len(outline))
            found.append((*outline[:, 0].mean(axis=0), area))
    return np.array(found or [(-1e9, -1e9, 0.0)])


def _mark(
    cv2: Any, outlines: Sequence[np.ndarray], tree: np.ndarray, at: int, dots: np.ndarray
) -> Mark | None:
    outline = outlines[at]
    area = cv2.contourArea(outline)
    if area < _LEAST_AREA_PX:
        return None
    (x, y), (one, other), _ = cv2.fitEllipse(outline)
    least, most = sorted((one, other))
    if least < 0.35 * most or not 0.85 < area / (np.pi / 4 * one * other) < 1.15:
        return None
    hole = outlines[tree[at][2]]
    # Its rim runs along the ink, a point outside of the white.
    inner = cv2.contourArea(hole) - 0.5 * len(hole)
    if tree[tree[at][2]][0] >= 0 or not 0.4 * HOLE**2 < inner / area < 1.35 * HOLE**2:
        return None
    away = hole[:, 0].mean(axis=0) - (x, y)
    if np.hypot(*away) > 0.12 * most:
        return None
    near = np.hypot(dots[:, 0] - x, dots[:, 1] - y) < 0.12 * most
    sized = (dots[:, 2] > 0.25 * DOT**2 * area) & (dots[:, 2] < 3.0 * DOT**2 * area)
    return Mark(float(x), float(y), float(np.sqrt(one * other)), bool(np.any(near & sized)))


def _corners(marks: Sequence[Mark]) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Every four marks that may be the corners of a page, upper left first, clockwise: places and sizes."""
    rings = [mark for mark in marks if not mark.has_dot][:_MOST_RINGS]
    dotted = [mark for mark in marks if mark.has_dot][:_MOST_DOTTED]
    for ring, others in itertools.product(rings, itertools.combinations(dotted, 3)):
        sizes = [ring.size, *(mark.size for mark in others)]
        if max(sizes) > 2.2 * min(sizes):
            continue
        points = np.array([(mark.x, mark.y) for mark in (ring, *others)])
        middle = points.mean(axis=0)
        turn = np.arctan2(points[:, 1] - middle[1], points[:, 0] - middle[0])
        order = np.argsort((turn - turn[0]) % (2 * np.pi))
        corners = points[order]
        if _is_convex(corners):
            yield corners, np.array(sizes)[order]


def _is_convex(corners: np.ndarray) -> bool:
    sides = np.roll(corners, -1, axis=0) - corners
    after = np.roll(sides, -1, axis=0)
    return bool(np.all(sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0] > 0))


def _page_of(grey: np.ndarray, corners: np.ndarray, sizes: np.ndarray) -> FoundPage | None:
    cv2 = open_vision()
    for grid in (*LOG_GRIDS, *MARKING_GRIDS):
        matrix = cv2.getPerspectiveTransform(
            np.array(grid.marks_mm, dtype=np.float32), corners.astype(np.float32)
        ).astype(np.float64)
        if not _is_as_large(matrix, grid, sizes):
            continue
        for dx, dy in itertools.product(_SHIFTS_MM, _SHIFTS_MM):
            code = parse_code(_bits(grey, grid, matrix, dx, dy))
            if code is not None and _is_of(code, grid):
                return FoundPage(code, grid, matrix)
    return None


def _is_as_large(matrix: np.ndarray, grid: LogGrid, sizes: np.ndarray) -> bool:
    """Whether marks on such a page, so far apart, would be as large as those that were found."""
    x, y = np.array(grid.marks_mm).T
    depth = matrix[2] @ np.stack([x, y, np.ones_like(x)])
    # How much larger an area is there than on the page: the determinant of the map's derivatives.
    area = np.abs(np.linalg.det(matrix) / depth**3)
    ratio = sizes / (2 * MARK_RADIUS_MM * np.sqrt(area))
    return bool(np.all(np.abs(np.log(ratio)) < _LIKE_SIZE))


def _is_of(code: PageCode, grid: LogGrid) -> bool:
    told = (code.version, code.paper, code.rows)
    kinds = (MARKING_SHEET,) if grid in MARKING_GRIDS else (LOG_PAGE, CARD_LOG)
    return code.kind in kinds and told == (VERSION, grid.paper, grid.rows)


def _bits(grey: np.ndarray, grid: LogGrid, matrix: np.ndarray, dx: float, dy: float) -> list[int]:
    left, top, wide, high = grid.code_mm
    x = left + (np.arange(BITS) + 0.5) * wide + dx
    fine = np.array([-0.5, 0.0, 0.5])
    across = np.repeat(x, 9) + np.tile(np.repeat(fine, 3), BITS)
    down = top + high / 2 + dy + np.tile(fine, 3 * BITS)
    shades = sample(grey, matrix, across, down).reshape(BITS, 9).mean(axis=1)
    # The ink of the marks beside it, and the paper beneath it, say what is black and what is white here.
    beneath = sample(grey, matrix, x, np.full(BITS, top + high + 1.0 + dy))
    black = float(np.min(shades))
    return [
        int(shade < (black + white) / 2)
        for shade, white in zip(shades, np.maximum(beneath, black + 1), strict=True)
    ]


def sample(grey: np.ndarray, matrix: np.ndarray, x_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """The grey of a photograph at places of the page, between points by straight lines."""
    cv2 = open_vision()
    points = np.stack([x_mm, y_mm, np.ones_like(x_mm)])
    px = matrix @ points
    place = (px[:2] / px[2]).astype(np.float32)
    found = cv2.remap(grey, place[0][None], place[1][None], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(found[0], dtype=np.float64)
