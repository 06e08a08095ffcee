"""How high a block will stand on paper, so that a map can take all the room that words leave."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.drawing import svg
from pacewright.sheets.blocks import Block
from pacewright.sheets.paper import Paper

MM_PER_PT: Final = 25.4 / 72.0

_CAP_EM: Final = 0.73
"""From baseline to the top of a capital, in the family of the sheets."""
_LEADING_EM: Final = 0.525
"""Between lines, as it measures on paper."""
_HEADING_EM: Final = {1: 1.82, 2: 1.3}
_CARD_HEADING_EM: Final = {1: 1.47, 2: 1.3}
_RULE_MM: Final = {1: 1.4, 2: 0.7}
_HANGING_EM: Final = 0.236
"""From the line down to the foot of a letter that hangs."""
_CAUTION_EM: Final = 0.92
_CAUTION_INSET_MM: Final = 1.6


def body_mm(paper: Paper) -> float:
    """The height that all blocks of a page, or of a panel of a card, share."""
    if paper.panel is not None:
        return paper.panel.height_mm - 2 * paper.panel.pad_mm - 3.0
    return paper.height_mm - 2 * paper.margin_mm - 4.0


def gap_mm(paper: Paper) -> float:
    """What stays free below every block."""
    return 1.6 if paper.is_card else 3.2


def height_mm(block: Block, paper: Paper) -> float:
    """The height of a heading, a paragraph, a framed caution or a picture, bare."""
    width_mm = paper.room_mm[0]
    match block["kind"]:
        case "picture":
            return float(block["height_mm"])
        case "heading":
            level = block["level"]
            size_em = (_CARD_HEADING_EM if paper.is_card else _HEADING_EM)[level]
            return _lines_mm(block["text"], size_em, width_mm, paper, _HANGING_EM) + _RULE_MM[level]
        case "caution":
            inset = 2 * _CAUTION_INSET_MM
            return _lines_mm(block["text"], _CAUTION_EM, width_mm - inset, paper) + inset
        case _:
            return _lines_mm(block["text"], block["size_em"], width_mm, paper)


def heights_mm(blocks: Sequence[Block], paper: Paper) -> float:
    """The height of blocks one below the other, with what is free below each."""
    return sum(height_mm(block, paper) + gap_mm(paper) for block in blocks)


def _lines_mm(words: str, size_em: float, width_mm: float, paper: Paper, hanging_em: float = 0.0) -> float:
    size_em = paper.shown_em(size_em)
    em_mm = paper.text_pt * MM_PER_PT
    count = sum(max(1, len(svg.wrap_text(line, size_em * em_mm, width_mm))) for line in words.split("\n"))
    return em_mm * (count * (_CAP_EM + hanging_em) * size_em + (count - 1) * _LEADING_EM * max(size_em, 1.0))
