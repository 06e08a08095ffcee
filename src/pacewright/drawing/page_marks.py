"""Corner marks, page code and light boxes of a log page, drawn beneath its table of rows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from pacewright.drawing import svg
from pacewright.drawing.log_grid import DIGITS, MARK_RADIUS_MM, TICK_BOX_MM, TICKS, LogGrid
from pacewright.drawing.page_code import CARD_LOG, LOG_PAGE, MARKING_SHEET, VERSION, PageCode, format_code

HOLE: Final = 0.62
"""Radius of the white in a corner mark, as a share of the mark's."""
DOT: Final = 0.28
"""Radius of the dot in it; the upper left mark has none, which tells the way up."""

_LIGHT_MM: Final = 0.15
_BLACK: Final = "#000"


def draw_log_marks(grid: LogGrid, page: int, card: int = 0) -> str:
    """Draw what makes a log page readable from a photograph: one SVG the size of its table of rows.

    Parameters
    ----------
    grid
        Where everything stands.
    page
        The number of the page, for its code.
    card
        The number of the course card that it belongs to; 0 for none.
    """
    code = PageCode(CARD_LOG if card else LOG_PAGE, VERSION, grid.paper, grid.rows, page, card)
    parts = [*_marks(grid), *_code(grid, code), *_digit_boxes(grid), *_tick_boxes(grid)]
    return svg.drawing(grid.width_mm, grid.height_mm, parts, title="Corner marks, page code and boxes")


def draw_marking_marks(grid: LogGrid, last_card: int) -> str:
    """Draw corner marks and page code around the head of a marking sheet, as `draw_log_marks` does.

    Parameters
    ----------
    grid
        Where they stand.
    last_card
        The number of the last card on the sheet, for its code.
    """
    code = PageCode(MARKING_SHEET, VERSION, grid.paper, grid.rows, 1, last_card)
    parts = [*_marks(grid), *_code(grid, code)]
    return svg.drawing(grid.width_mm, grid.height_mm, parts, title="Corner marks and page code")


def _marks(grid: LogGrid) -> Iterator[str]:
    for at, (x, y) in enumerate(grid.marks_mm):
        # A ring is a stroke: no white is printed.
        ring = MARK_RADIUS_MM * (1 - HOLE)
        yield svg.circle(x, y, MARK_RADIUS_MM - ring / 2, fill="none", stroke=_BLACK, stroke_width=ring)
        if at:
            yield svg.circle(x, y, MARK_RADIUS_MM * DOT, fill=_BLACK)


def _code(grid: LogGrid, code: PageCode) -> Iterator[str]:
    left, top, wide, high = grid.code_mm
    for at, bit in enumerate(format_code(code)):
        if bit:
            yield svg.rect(left + at * wide, top, wide, high, fill=_BLACK)


def _digit_boxes(grid: LogGrid) -> Iterator[str]:
    for start in (grid.azimuth_mm, grid.count_mm):
        for digit in range(1, DIGITS):
            x = start + digit * grid.digit_mm
            yield svg.line(
                x,
                grid.row_top_mm(0),
                x,
                grid.foot_mm,
                stroke=_BLACK,
                stroke_width=_LIGHT_MM,
                stroke_dasharray="0.3 0.9",
            )


def _tick_boxes(grid: LogGrid) -> Iterator[str]:
    for row in range(grid.rows):
        y = grid.row_top_mm(row) + (grid.row_mm - TICK_BOX_MM) / 2
        for tick in range(len(TICKS)):
            x = grid.ticks_mm + (tick + 0.5) * grid.tick_mm - TICK_BOX_MM / 2
            yield svg.rect(x, y, TICK_BOX_MM, TICK_BOX_MM, fill="none", stroke=_BLACK, stroke_width=_LIGHT_MM)
