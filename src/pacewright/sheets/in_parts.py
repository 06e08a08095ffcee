"""A long set of sheets in parts, each laid out by itself: memory does not grow with the pages."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.sheets.paper import Sheet

WHOLE: Final = 200_000
PART: Final = 45_000
"""Letters of what sheets hold: some 35 pages, and some eight. The typesetter takes about 1.8 MB a page and
keeps what it laid out the last ten times."""


def parts_of(sheets: Sequence[Sheet]) -> list[list[Sheet]]:
    """The sheets in order, all in one part where they are few; a sheet is never parted."""
    sizes = [len(repr(one.blocks)) for one in sheets]
    if sum(sizes) <= WHOLE:
        return [list(sheets)]
    parts: list[list[Sheet]] = [[]]
    filled = 0
    for one, size in zip(sheets, sizes, strict=True):
        if parts[-1] and filled + size > PART:
            parts.append([])
            filled = 0
        parts[-1].append(one)
        filled += size
    return parts
