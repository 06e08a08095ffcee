"""How high the rows of a table are, where that is known beforehand: measuring them takes longest."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from pacewright.sheets.paper import Paper

MONO_ADVANCE_EM: Final = 1233 / 2048
"""Width of every letter of the type that tables are set in.

References
----------
DejaVu Sans Mono 2.37, table hmtx: 1233 of 2048 units.
"""

CELL_INSET_MM: Final = 1.1
CELL_INSET_CARD_MM: Final = 0.7
BESIDE_GUTTER_MM: Final = 5.0

_MM_PER_PT: Final = 25.4 / 72.0
_LINE_EM: Final = 0.97
"""From the head of a capital to the foot of a letter that hangs."""
_SPARE_MM: Final = 0.4
_KNOWN_LETTERS: Final = 0x0300
"""Letters below are in that type, each as wide as the other, and none is set upon another."""


def with_heights(blocks: Sequence[dict[str, Any]], paper: Paper) -> list[dict[str, Any]]:
    """Blocks whose tables say of every row how high it is in mm, or None where it must be measured.

    A row of a stated height is set at once; any other is set twice, to measure it first.

    Parameters
    ----------
    blocks
        Of a sheet, its texts as they will be printed.
    paper
        What they are printed on.
    """
    return _each(blocks, paper, full_width_mm(paper))


def full_width_mm(paper: Paper) -> float:
    """The width that a table takes."""
    return paper.text_width_mm


def _each(blocks: Sequence[dict[str, Any]], paper: Paper, width_mm: float) -> list[dict[str, Any]]:
    made = []
    for block in blocks:
        match block["kind"]:
            case "table":
                made.append({**block, "heights": _heights(block, paper, width_mm)})
            case "keep" | "over":
                made.append({**block, "blocks": _each(block["blocks"], paper, width_mm)})
            case "beside":
                right_mm = width_mm - block["left_mm"] - BESIDE_GUTTER_MM
                left = _each(block["left"], paper, block["left_mm"])
                made.append({**block, "left": left, "right": _each(block["right"], paper, right_mm)})
            case _:
                made.append(block)
    return made


def _heights(table: dict[str, Any], paper: Paper, width_mm: float) -> list[float | None]:
    if table["exact_mm"] is not None:
        return [table["exact_mm"][1]] * len(table["rows"])
    columns = table["columns"]
    letters = [
        (mm - 2 * _inset_mm(paper) - _SPARE_MM) / (MONO_ADVANCE_EM * _type_mm(paper) * column["size_em"])
        for mm, column in zip(_widths_mm(columns, width_mm), columns, strict=True)
    ]
    line_mm = _LINE_EM * _type_mm(paper) * max(column["size_em"] for column in columns)
    height_mm = max(table["row_mm"], line_mm) + 2 * table["pad_mm"]
    return [
        height_mm
        if len(row) == len(columns) and all(_fits(*cell) for cell in zip(row, letters, strict=True))
        else None
        for row in table["rows"]
    ]


def _widths_mm(columns: Sequence[dict[str, Any]], width_mm: float) -> list[float]:
    left = width_mm - sum(column["mm"] or 0.0 for column in columns)
    shares = sum(column["share"] for column in columns if column["mm"] is None)
    return [column["mm"] or left * column["share"] / shares for column in columns]


def _inset_mm(paper: Paper) -> float:
    return CELL_INSET_CARD_MM if paper.is_card else CELL_INSET_MM


def _type_mm(paper: Paper) -> float:
    return paper.text_pt * _MM_PER_PT


def _fits(words: str, letters: float) -> bool:
    return len(words) <= letters and all(" " <= letter < chr(_KNOWN_LETTERS) for letter in words)
