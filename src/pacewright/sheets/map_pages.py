"""How a map that is larger than a page is cut into pages, each a map of its own."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from pacewright.drawing.labels import Box
from pacewright.drawing.map_scale import middle_of, walk_margin_mm
from pacewright.drawing.page_fit import PageFit, seen_piece
from pacewright.drawing.walk_figure import WalkFigure, stations_by_index
from pacewright.drawing.walk_map import line_segments
from pacewright.ground.terrain import Bounds

MOST_PAGES: Final = 40

_OVERLAP_MM: Final = 15.0
_CARD_OVERLAP_MM: Final = 10.0


@dataclass(frozen=True, slots=True)
class MapPage:
    """One page of a map.

    Attributes
    ----------
    number, row, column
        From 1; rows from the north, columns from the west.
    fit
        How the land lies in its frame.
    """

    number: int
    row: int
    column: int
    fit: PageFit


@dataclass(frozen=True, slots=True)
class MapPages:
    """A map cut into pages.

    Attributes
    ----------
    across, down
        Pages side by side, and one below the other.
    frame
        The frame of every page, in mm.
    middle
        What lies in the middle of the whole map, metres east and north.
    scale
        Such as 5000 for 1:5000.
    overlap_mm
        What neighbouring frames share.
    kept
        Rows and columns of the pages that are printed; None for all of them.
    """

    across: int
    down: int
    frame: Box
    middle: tuple[float, float]
    scale: float
    overlap_mm: float
    kept: frozenset[tuple[int, int]] | None = None

    @property
    def count(self) -> int:
        """How many pages are printed."""
        return self.across * self.down if self.kept is None else len(self.kept)

    @property
    def whole_mm(self) -> tuple[float, float]:
        """Width and height of all frames laid together."""
        wide, high = _step_mm(self.frame, self.overlap_mm)
        return self.across * wide + self.overlap_mm, self.down * high + self.overlap_mm

    @property
    def bounds(self) -> Bounds:
        """West, south, east and north of the land that the pages show, in metres."""
        half_east, half_north = (side * self.scale / 2000.0 for side in self.whole_mm)
        east, north = self.middle
        return east - half_east, north - half_north, east + half_east, north + half_north

    def pages(self) -> Iterator[MapPage]:
        """The pages that are printed, from west to east and from north to south."""
        step_east, step_north = (step * self.scale / 1000.0 for step in _step_mm(self.frame, self.overlap_mm))
        for number, (row, column) in enumerate(self._cells(), start=1):
            east = self.middle[0] + (column - (self.across + 1) / 2) * step_east
            north = self.middle[1] - (row - (self.down + 1) / 2) * step_north
            yield MapPage(number, row, column, PageFit(self.frame, east, north, self.scale / 100.0))

    def beside(self, page: MapPage) -> str:
        """Name the neighbours of a page."""
        numbers = {cell: number for number, cell in enumerate(self._cells(), start=1)}
        row, column = page.row, page.column
        found = (
            ("west", numbers.get((row, column - 1))),
            ("east", numbers.get((row, column + 1))),
            ("north", numbers.get((row - 1, column))),
            ("south", numbers.get((row + 1, column))),
        )
        return ", ".join(f"{side} {number}" for side, number in found if number is not None)

    def core(self, page: MapPage) -> Box:
        """The part of a frame that is the page's own: of what two share each has one half."""
        frame, half = self.frame, self.overlap_mm / 2
        return Box(
            frame.left + (half if page.column > 1 else 0.0),
            frame.top + (half if page.row > 1 else 0.0),
            frame.right - (half if page.column < self.across else 0.0),
            frame.bottom - (half if page.row < self.down else 0.0),
        )

    def _cells(self) -> Iterator[tuple[int, int]]:
        every = ((row, column) for row in range(1, self.down + 1) for column in range(1, self.across + 1))
        return (cell for cell in every if self.kept is None or cell in self.kept)


def walked_pages(cut: MapPages, figure: WalkFigure) -> MapPages:
    """Keep the pages that hold a part of the walk or of the way back."""
    stations = stations_by_index(figure)
    kept = set()
    for page in cut.pages():
        core = cut.core(page)
        pieces = line_segments(figure, stations, page.fit)
        marks = (page.fit.point(s.east, s.north) for s in figure.stations)
        if any(seen_piece((x1, y1), (x2, y2), core) for x1, y1, x2, y2 in pieces) or any(
            core.holds(Box(x, y, x, y)) for x, y in marks
        ):
            kept.add((page.row, page.column))
    return replace(cut, kept=frozenset(kept))


def cut_pages(bounds: Bounds, frame: Box, scale: float, *, is_card: bool = False) -> MapPages:
    """Cut a map of a walk into as few pages as hold all of it, with a margin.

    Parameters
    ----------
    bounds
        Of the walk: west, south, east and north in metres.
    frame
        Of every page, in mm.
    scale
        Such as 5000 for 1:5000.
    is_card
        Whether the pages are panels of a card, which share less with one another.
    """
    overlap_mm = _CARD_OVERLAP_MM if is_card else _OVERLAP_MM
    margin_mm = 2 * walk_margin_mm(frame)
    land_m = (bounds[2] - bounds[0], bounds[3] - bounds[1])
    across, down = (
        max(1, math.ceil((1000.0 * land / scale + margin_mm - overlap_mm) / step - 1e-9))
        for land, step in zip(land_m, _step_mm(frame, overlap_mm), strict=True)
    )
    return MapPages(across, down, frame, middle_of(bounds), scale, overlap_mm)


def _step_mm(frame: Box, overlap_mm: float) -> tuple[float, float]:
    return frame.right - frame.left - overlap_mm, frame.bottom - frame.top - overlap_mm
