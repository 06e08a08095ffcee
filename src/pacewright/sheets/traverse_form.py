"""The form to work a traverse on: azimuth, count, parts, sums, the check against a known end, corrections."""

from __future__ import annotations

from typing import Final

from pacewright.core.compass import AzimuthUnit
from pacewright.sheets.blocks import Block, Column, heading, keep, new_page, table, texts
from pacewright.sheets.paper import Paper, PaperName

ROWS: Final[dict[PaperName, int]] = {"a4": 16, "letter": 14, "a5": 10, "pocket": 9, "pocket-letter": 9}
"""Legs that the form has room for."""

_HOW: Final = (
    "Work every leg, then add up the counts and the parts: north and east as they stand, south and west with "
    "a minus. Write below where the end is known to lie from the start; zeros if the walk came back to it. "
    "Sum less known is the miss.",
    "A miss of more than some paces in a hundred counted is a mistake, not scatter: find it, spread nothing.",
    "Else correct every leg: minus the miss x its count / the sum of counts, north and east each. The "
    "corrections add up to the miss turned round: that is the check.",
)
_FOOT: Final = ("sum", "known", "miss")


def own_form(paper: Paper, unit: AzimuthUnit) -> list[Block]:
    """The form on a page, or a panel of a card, of its own."""
    if paper.is_card:
        heads = ("leg", "azi-\nmuth", "count", "north", "east", "cor\nN", "cor\nE")
        widths: tuple[float, ...] = (7.5, 9.0, 9.0, 9.5, 9.5, 6.2, 6.3)
    else:
        heads = (
            "leg",
            f"azimuth\n{unit}",
            "count",
            "north +\nsouth -",
            "east +\nwest -",
            "correction\nnorth",
            "correction\neast",
        )
        widths = (14.0, *([(paper.text_width_mm - 14.0) / 6] * 6))
    columns = [Column(head, mm=mm, align="right") for head, mm in zip(heads, widths, strict=True)]
    rows = [[str(number), *[""] * 6] for number in range(1, ROWS[paper.name] + 1)]
    rows += [[word, *[""] * 6] for word in _FOOT]
    row_mm = 4.2 if paper.is_card else 7.0
    form = table(columns, rows, row_mm=row_mm, pad_mm=0.5, heavy_every=ROWS[paper.name])
    told = texts(_HOW, size_em=0.9)
    if paper.is_card:
        return [new_page(), heading("Your own traverse"), *told, new_page(), form]
    return [new_page(), keep([heading("Your own traverse"), *told, form])]
