"""The walker's pace card: counts for 10 to 1000 metres on each class of ground, and metres for paces."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from pacewright.core.pace.tally import tally_of_count, whole_count
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.sheets.blocks import Block, Column, beside, heading, keep, lines, new_page, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.sheets.row_heights import BESIDE_GUTTER_MM, full_width_mm
from pacewright.wording.numbers import say_tally, say_whole
from pacewright.wording.sheets import PAPER_CAUTION

LENGTHS: Final = (*range(10, 100, 10), *range(100, 1001, 100))

Ground = tuple[str, float]
Cells = Callable[[int, list[Ground]], list[str]]

_MOST_ACROSS: Final = 9
_MOST_ACROSS_NARROW: Final = 4
_MOST_BESIDE: Final = 4
_MOST_BESIDE_NARROW: Final = 2
_TAKEN_MM: Final = 68.0
"""What heads, sentences and lines take of a flat page."""
_SMALL_EM: Final = 0.9
_LARGE_EM: Final = 1.25
_LARGEST_EM: Final = 1.6
_HEAD_LETTERS: Final = 45
"""Letters of a table's head that stand side by side on a panel."""
_HEADS_MM: Final = {1: 10.0, 2: 12.5, 3: 15.0, 4: 17.5}
"""What heading and heads take of a panel, by the lines of the heads."""


def pace_card(walker: Walker, paper: Paper) -> Sheet:
    """The pace card of a walker.

    Raises
    ------
    MissingComplaint
        The walker has no pace count.
    """
    ordinary, grounds = 100.0 / walker.pace_m(), _grounds(walker)
    whose = f" of {walker.name}" if walker.name else ""
    said = [
        f"{ordinary:g} paces to 100 m on ordinary ground, known to {walker.count.scale_sd_pct:g} %; a leg's "
        f"count scatters by {walker.count.count_sd_pct:g} %. A pace is two steps."
    ]
    if walker.per_100_m is not None and (origin := walker.origin.get("pace.per_100_m")):
        said.append(f"From {origin}.")
    size_em = 1.4 if paper.is_card else 0.95
    changes = keep(
        [text("Changes (boots, load, dark, snow):", size_em=size_em), lines(2 if paper.is_card else 1, 8.0)]
    )
    blocks: list[Block] = [*texts(said, size_em=size_em), text(PAPER_CAUTION, size_em=_SMALL_EM)]
    # The first panel of a card is for what is read once; every table has a panel of its own.
    blocks += [_bead(ordinary, size_em), changes] if paper.is_card else []
    tables = [
        keep([heading(title if number == 0 else f"{title}, more ground"), _table(first, some, cells, paper)])
        for title, first, cells in _TABLES
        for number, some in enumerate(_side_by_side(grounds, paper))
    ]
    if paper.is_card:
        blocks += [block for rows in tables for block in (new_page(), rows)]
    elif _is_small(grounds, paper):
        blocks.append(beside([tables[0]], [tables[1]], (full_width_mm(paper) - BESIDE_GUTTER_MM) / 2))
    elif paper.is_narrow:
        half = len(tables) // 2
        blocks += [*tables[:half], _bead(ordinary, size_em), changes, new_page(), *tables[half:]]
    else:
        blocks += tables
    blocks += [] if paper.is_card or _is_long(grounds, paper) else [_bead(ordinary, size_em), changes]
    return sheet(f"Pace card{whose}", blocks)


def pace_tables(walker: Walker) -> list[tuple[str, tuple[list[str], list[list[str]]]]]:
    """The tables of the pace card as texts: the title of each, its heading and its rows.

    Raises
    ------
    MissingComplaint
        The walker has no pace count.
    """
    grounds = _grounds(walker)
    heads = [label.replace("\n", ", ") for label, _ in grounds]
    return [
        (title, ([first, *heads], [[str(length), *cells(length, grounds)] for length in LENGTHS]))
        for title, first, cells in _TABLES
    ]


def _grounds(walker: Walker) -> list[Ground]:
    ordinary = ("ordinary", 100.0 / walker.pace_m())
    return [ordinary, *((_label(one), one.per_100_m) for one in walker.classes)]


def _side_by_side(grounds: list[Ground], paper: Paper) -> list[list[Ground]]:
    """The columns of each table, shared out evenly."""
    tables = -(-len(grounds) // (_MOST_ACROSS_NARROW if paper.is_narrow else _MOST_ACROSS))
    each = -(-len(grounds) // tables)
    return [grounds[start : start + each] for start in range(0, len(grounds), each)]


def _label(one: PaceClass) -> str:
    return "\n".join(part for part in (one.ground, one.slope or "") if part)


def _table(first: str, grounds: list[Ground], cells: Cells, paper: Paper) -> Block:
    columns = [
        Column(first, 0.8, align="right", bold=True),
        *(
            Column(label, align="right", bold=i == 0 and label == "ordinary")
            for i, (label, _) in enumerate(grounds)
        ),
    ]
    rows = [[str(length), *cells(length, grounds)] for length in LENGTHS]
    if not (paper.is_card or _is_small(grounds, paper)):
        return table(columns, rows, pad_mm=0.9 if paper.is_narrow else 0.5, heavy_every=9)
    # The rows fill the panel or the page, in letters as large as they leave room for.
    taken_mm = _HEADS_MM[_lines_of_heads(grounds, paper)] if paper.is_card else _TAKEN_MM
    row_mm = (paper.room_mm[1] - taken_mm) / len(rows)
    size_em = _LARGE_EM if paper.is_narrow else _LARGEST_EM
    large = [replace(column, size_em=size_em) for column in columns]
    return table(large, rows, row_mm=row_mm, pad_mm=0.0, heavy_every=9)


def _is_small(grounds: list[Ground], paper: Paper) -> bool:
    """Whether both tables have room beside each other."""
    return not paper.is_card and len(grounds) <= (_MOST_BESIDE_NARROW if paper.is_narrow else _MOST_BESIDE)


def _is_long(grounds: list[Ground], paper: Paper) -> bool:
    """Whether a narrow page holds one of both tables alone."""
    return paper.is_narrow and not paper.is_card and not _is_small(grounds, paper)


def _lines_of_heads(grounds: list[Ground], paper: Paper) -> int:
    letters = max(1, math.floor(_HEAD_LETTERS / (len(grounds) + 0.8)) - 1)
    each = (sum(math.ceil(len(part) / letters) for part in label.split("\n")) for label, _ in grounds)
    return min(max(each), max(_HEADS_MM))


def _paces(metres: int, grounds: list[Ground]) -> list[str]:
    return [say_whole(metres * per_100_m / 100) for _, per_100_m in grounds]


def _metres(paces: int, grounds: list[Ground]) -> list[str]:
    return [say_whole(paces * 100 / per_100_m) for _, per_100_m in grounds]


_TABLES: Final[tuple[tuple[str, str, Cells], ...]] = (
    ("Paces for metres", "metres", _paces),
    ("Metres for paces", "paces", _metres),
)


def _to_a_tenth(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _bead(per_100_m: float, size_em: float) -> Block:
    count = 1000 * per_100_m / 100
    return text(
        f"A bead a hundred metres: slide one every {_to_a_tenth(per_100_m)} paces. "
        f"A bead a hundred paces: 1000 m is {say_tally(tally_of_count(whole_count(count)))}.",
        size_em=size_em,
    )
