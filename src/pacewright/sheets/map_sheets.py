"""A map at exact scale over as many pages as it takes, with an overlap and an index."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, heading, in_black, keep, new_page, parts_of, picture, text, window
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.sheets import PAPER_CAUTION

OVERLAP_MM: Final = 15.0
MOST_PAGES: Final = 40

_LARGEST_MM: Final = 1200.0
_LEAST_MM: Final = 120.0
_FURNITURE_MM: Final = (38.0, 110.0)
"""What frame, title, key and caption of a map need beside the land that is wanted, in width and height."""
_WORDS_MM: Final = 14.0

Draw = Callable[[tuple[float, float], float | None], str]
"""Draws a map on paper of a size in mm, at a scale or at the largest that fits."""


@dataclass(frozen=True, slots=True)
class MapPage:
    """One page of a map that is larger than a page.

    Attributes
    ----------
    number, row, column
        From 1; rows from the north, columns from the west.
    left_mm, top_mm
        Of the page on the whole map.
    """

    number: int
    row: int
    column: int
    left_mm: float
    top_mm: float


@dataclass(frozen=True, slots=True)
class MapPages:
    """How a map is cut into pages.

    Attributes
    ----------
    across, down
        Pages side by side, and one below the other.
    page_mm
        Width and height that a page shows.
    """

    across: int
    down: int
    page_mm: tuple[float, float]

    @property
    def whole_mm(self) -> tuple[float, float]:
        """Width and height of the whole map."""
        return (
            self.across * self.page_mm[0] - (self.across - 1) * OVERLAP_MM,
            self.down * self.page_mm[1] - (self.down - 1) * OVERLAP_MM,
        )

    def pages(self) -> Iterator[MapPage]:
        """Give the pages, from west to east and from north to south."""
        wide, high = self.page_mm
        for row in range(self.down):
            for column in range(self.across):
                yield MapPage(
                    row * self.across + column + 1,
                    row + 1,
                    column + 1,
                    column * (wide - OVERLAP_MM),
                    row * (high - OVERLAP_MM),
                )


def map_sheets(
    draw: Draw, paper: Paper, title: str, scale: float | None = None, land_m: tuple[float, float] = (0.0, 0.0)
) -> Sheet:
    """Give a map on one page, or at a stated scale on as many as it takes, an index first.

    Parameters
    ----------
    draw
        Draws the map.
    paper
        What it is printed on.
    title
        Above it.
    scale
        Such as 5000 for 1:5000; without it the map is made to fit one page.
    land_m
        Metres east and north that must come on the map.

    Raises
    ------
    ValueComplaint
        The scale would take too many pages, or the paper is too small for a map.
    """
    room = _room(paper)
    if scale is None:
        if min(room) < _LEAST_MM:
            raise ValueComplaint(
                f"a map does not fit one page of {paper.name}",
                "Give a --scale, so that it is cut into pages, or take larger paper",
            )
        return sheet(title, [picture(draw(room, None)), text(PAPER_CAUTION, size_em=0.85)])
    drawing, cut = _whole_map(draw, room, scale, land_m)
    if cut.across * cut.down == 1:
        return sheet(title, [picture(drawing), text(PAPER_CAUTION, size_em=0.85)])
    blocks: list[Block] = _index(drawing, cut, paper, scale)
    for page in cut.pages():
        blocks += [new_page(), *_page(in_black(drawing), page, cut, scale)]
    return sheet(title, blocks)


def _room(paper: Paper) -> tuple[float, float]:
    width, height = paper.room_mm
    return width, height - (_WORDS_MM - 6.0)


def _whole_map(
    draw: Draw, room: tuple[float, float], scale: float, land_m: tuple[float, float]
) -> tuple[str, MapPages]:
    if not (math.isfinite(scale) and scale > 0):
        raise ValueComplaint(f"1:{scale:g} is no scale", "Give a number such as 5000")
    wanted = [1000.0 * land / scale + more for land, more in zip(land_m, _FURNITURE_MM, strict=True)]
    across, down = (
        max(1, math.ceil((max(want, _LEAST_MM) - OVERLAP_MM) / (side - OVERLAP_MM)))
        for want, side in zip(wanted, room, strict=True)
    )
    refused: ValueComplaint | None = None
    # A long key may need another row of pages; the drawing itself knows.
    for extra in range(3):
        cut = MapPages(across, down + extra, room)
        if cut.across * cut.down > MOST_PAGES or max(cut.whole_mm) > _LARGEST_MM:
            break
        try:
            return draw(cut.whole_mm, scale), cut
        except ValueComplaint as complaint:
            refused = complaint
    if refused is not None:
        raise refused
    raise ValueComplaint(
        f"at 1:{scale:g} this map would take {across} by {down} pages",
        "Give a larger scale number or larger paper",
    )


def _index(drawing: str, cut: MapPages, paper: Paper, scale: float) -> list[Block]:
    width, height = paper.room_mm
    whole = cut.whole_mm
    times = min(width / whole[0], (height - 26.0) / whole[1])
    parts = [
        {
            "left_mm": page.left_mm * times,
            "top_mm": page.top_mm * times,
            "width_mm": cut.page_mm[0] * times,
            "height_mm": cut.page_mm[1] * times,
            "label": str(page.number),
        }
        for page in cut.pages()
    ]
    size = (whole[0] * times, whole[1] * times)
    told = (
        f"{cut.across} by {cut.down} pages at 1:{scale:g}. Neighbouring pages share {OVERLAP_MM:g} mm; lay "
        "them one over the other until the grid lines meet. This page is no map to measure on."
    )
    alt = f"Index of the map: {cut.across} by {cut.down} pages, numbered from west to east and north to south"
    return [
        text(told, size_em=0.9),
        parts_of(in_black(drawing), size, parts, alt),
        text(PAPER_CAUTION, size_em=0.85),
    ]


def _page(drawing: str, page: MapPage, cut: MapPages, scale: float) -> list[Block]:
    beside = {
        "west": page.number - 1 if page.column > 1 else None,
        "east": page.number + 1 if page.column < cut.across else None,
        "north": page.number - cut.across if page.row > 1 else None,
        "south": page.number + cut.across if page.row < cut.down else None,
    }
    others = ", ".join(f"{side} {number}" for side, number in beside.items() if number is not None)
    alt = f"Part {page.number} of the map, in row {page.row} and column {page.column}, at 1:{scale:g}"
    shown = window(drawing, page.left_mm, page.top_mm, cut.page_mm, cut.whole_mm, alt)
    return [
        keep(
            [
                heading(f"Map page {page.number}, 1:{scale:g}"),
                text(f"Beside it: {others}.", size_em=0.85),
                shown,
            ]
        )
    ]
