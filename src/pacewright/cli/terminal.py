"""What a reader sees fits the screen: sentences wrapped, tables made narrower, degrees with their sign.

`COLUMNS` sets the width. Where neither it nor a terminal says one, as in a pipe, it is 80.
"""

from __future__ import annotations

import re
import shutil
import sys
import textwrap
from collections.abc import Sequence
from typing import Final, TextIO

LEAST_COLUMNS: Final = 24
_LEAST_CELL: Final = 12
_DEGREES: Final = re.compile(r"(?<=\d) deg\b")
_GAP: Final = 2


def columns() -> int:
    """How many letters fit on a line."""
    return max(LEAST_COLUMNS, shutil.get_terminal_size((80, 24)).columns)


def wrap(text: str) -> list[str]:
    """A sentence as lines that fit; one that fits, and a name longer than a line, stay as they are."""
    room = columns()
    if len(text) <= room:
        return [text]
    indent = " " * (len(text) - len(text.lstrip()))
    return textwrap.wrap(
        text, room, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    ) or [""]


def with_signs(text: str, stream: TextIO | None = None) -> str:
    """Write degrees and plus-or-minus with their signs where a terminal can show them; in a pipe as typed."""
    stream = stream or sys.stdout
    if not (stream.isatty() and _can_show("°±", stream)):
        return text
    return _DEGREES.sub("°", text).replace("+-", "±")


def _can_show(signs: str, stream: TextIO) -> bool:
    try:
        signs.encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def lay_out(heading: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table as lines that fit: long cells are wrapped first, then columns left out from the right.

    What was left out is named under it.
    """
    heads = [str(head) for head in heading]
    cells = [[str(cell) for cell in row] for row in rows]
    kept, room = len(heads), columns()
    widths = _narrowed(_widths(heads, cells), room)
    while kept > 1 and _total(widths) > room:
        kept -= 1
        widths = _narrowed(_widths(heads[:kept], cells), room)
    shown = _tabulated(heads[:kept], [row[:kept] for row in cells], widths)
    gone = ", ".join(head for head in heads[kept:] if head)
    note = f"(Not shown for want of room: {gone}. A wider window or --json has all.)"
    return [*shown, *wrap(note)] if kept < len(heads) else shown


def _widths(heads: Sequence[str], cells: Sequence[Sequence[str]]) -> list[int]:
    return [max(len(head), *(len(row[i]) for row in cells), 0) for i, head in enumerate(heads)]


def _total(widths: Sequence[int]) -> int:
    return sum(widths) + _GAP * (len(widths) - 1)


def _narrowed(widths: list[int], room: int) -> list[int]:
    """Take from the widest columns, letter by letter, until all fit or none can give more."""
    widths = list(widths)
    while _total(widths) > room and max(widths) > _LEAST_CELL:
        widths[widths.index(max(widths))] -= 1
    return widths


def _tabulated(heads: list[str], cells: list[list[str]], widths: list[int]) -> list[str]:
    import tabulate as library

    library.MIN_PADDING = 0
    tabulate = library.tabulate
    if widths == _widths(heads, cells):
        return _lines(tabulate(cells, headers=heads, tablefmt="simple", disable_numparse=True))
    wrapped = [[_in_cell(cell, width) for cell, width in zip(row, widths, strict=True)] for row in cells]
    heads = [_in_cell(head, width) for head, width in zip(heads, widths, strict=True)]
    return _lines(tabulate(wrapped, headers=heads, tablefmt="simple", disable_numparse=True))


def _in_cell(text: str, width: int) -> str:
    return "\n".join(textwrap.wrap(text, width)) if len(text) > width else text


def _lines(text: str) -> list[str]:
    return [line.rstrip() for line in text.splitlines()]
