"""The figure of a debrief: with the suspects where a mistake shows, else as walked and as adjusted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from pacewright.core.adjust.adjustment import Adjustment
from pacewright.core.adjust.closure import Closure
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.slips.mistakes import Findings
from pacewright.core.slips.place_mixture import Island
from pacewright.core.way.regions import named_regions
from pacewright.drawing.reconciled import draw_adjusted, draw_findings
from pacewright.drawing.walk_map import draw_walk_map
from pacewright.drawing.walk_of import walk_of
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, keep, picture, text, texts, window
from pacewright.sheets.paper import Paper
from pacewright.wording.sheets import FIGURE_KEY, NOT_DRAWN
from pacewright.wording.walk import say_not_possible

_LEAST_WIDE_MM: Final = 170.0
"""In two columns the words of the key have no room on a narrower drawing."""
_HIGH_MM: Final = 112.0
"""Height of a drawing without its key."""
_CARD_PAGE_MM: Final = (88.0, 100.0)
"""Drawn so large and made small for a card, its letters are still 7 pt."""
_SHARE: Final = 0.88
"""Of the width of flat paper, so that what is said of it stands on the same page."""
_LEAST_SHARE: Final = 0.55
"""A drawing is not made smaller than this: its letters would be."""
_KEY_ABOVE_MM: Final = 3.0

PageMm = tuple[float, float]


def suspects_figure(
    findings: Findings, closures: Sequence[Closure], islands: Sequence[Island], paper: Paper
) -> Block:
    """The drawing of a log that may hold a mistake: its gap, and the likeliest suspects."""
    return _fitted(
        paper, lambda page_mm: draw_findings(findings, closures, islands, page_mm=page_mm, on_sheet=True)
    )


def adjusted_figure(log: TravelLog, adjustment: Adjustment, probability: float, paper: Paper) -> Block:
    """The drawing of a log as walked, and as adjusted where anything in it can be."""
    if adjustment.redundancy:
        return _fitted(
            paper,
            lambda page_mm: draw_adjusted(log, adjustment, probability, page_mm=page_mm, on_sheet=True),
        )
    reckoning = adjustment.reckoning
    walk = walk_of(log, reckoning, regions=named_regions(reckoning, probability))
    return _fitted(paper, lambda page_mm: draw_walk_map(walk, page_mm, on_sheet=True))


def _fitted(paper: Paper, draw: Callable[[PageMm], str]) -> Block:
    wide_mm, high_mm = paper.room_mm
    try:
        drawing = draw(_CARD_PAGE_MM if paper.is_card else (max(_LEAST_WIDE_MM, wide_mm), _HIGH_MM))
    except ValueComplaint as complaint:
        # All that it would show stands in the tables below it.
        return keep(texts(say_not_possible("drawing", complaint)))
    if paper.is_card:
        return _without_key(drawing, wide_mm / _CARD_PAGE_MM[0])
    own = picture(drawing)
    share = min((1.0 if paper.is_narrow else _SHARE) * wide_mm / own["width_mm"], high_mm / own["height_mm"])
    return picture(drawing, width_mm=share * own["width_mm"]) if share >= _LEAST_SHARE else text(NOT_DRAWN)


def _without_key(drawing: str, share: float) -> Block:
    """The drawing proper, made small: its key would take more room than a panel has."""
    whole = picture(drawing, width_mm=share * _CARD_PAGE_MM[0])
    # The first row of the key stands close below.
    size_mm = (share * _CARD_PAGE_MM[0], share * (_CARD_PAGE_MM[1] - _KEY_ABOVE_MM))
    shown = window(whole["svg"], 0.0, 0.0, size_mm, (whole["width_mm"], whole["height_mm"]), whole["alt"])
    return keep([shown, text(FIGURE_KEY, size_em=0.9)])
