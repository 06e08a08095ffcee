"""The walker's pace card: counts for 10 to 1000 metres on each class of ground, and metres for paces."""

from __future__ import annotations

import math
from typing import Final

from pacewright.core.tally import tally_of_count
from pacewright.core.walker import PaceClass, Walker
from pacewright.sheets.blocks import Block, Column, heading, keep, lines, new_page, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.numbers import say_tally

LENGTHS: Final = (*range(10, 100, 10), *range(100, 1001, 100))

Ground = tuple[str, float]

_MOST_ACROSS: Final = 9
_MOST_ACROSS_NARROW: Final = 4


def pace_card(walker: Walker, paper: Paper) -> Sheet:
    """Give the pace card of a walker.

    Raises
    ------
    MissingComplaint
        The walker has no pace count.
    """
    ordinary = 100.0 / walker.pace_m()
    grounds: list[Ground] = [
        ("ordinary", ordinary),
        *((_label(one), one.per_100_m) for one in walker.classes),
    ]
    whose = f" of {walker.name}" if walker.name else ""
    said = [
        f"{ordinary:g} paces to 100 m on ordinary ground, known to {walker.count.scale_sd_pct:g} %; a leg's "
        f"count scatters by {walker.count.count_sd_pct:g} %. A pace is two steps."
    ]
    if walker.per_100_m is not None and (origin := walker.origin.get("pace.per_100_m")):
        said.append(f"From {origin}.")
    blocks: list[Block] = [*texts(said, size_em=0.95)]
    for title, build in (("Paces for metres", _paces), ("Metres for paces", _metres)):
        for number, some in enumerate(_side_by_side(grounds, paper)):
            # A card starts every table on a panel of its own.
            blocks += [new_page()] if paper.is_card else []
            blocks.append(keep([heading(title if number == 0 else f"{title}, more ground"), build(some)]))
    blocks.append(_bead(ordinary))
    blocks.append(keep([text("Changes (boots, load, dark, snow):", size_em=0.9), lines(1, 7.0)]))
    return sheet(f"Pace card{whose}", blocks)


def _side_by_side(grounds: list[Ground], paper: Paper) -> list[list[Ground]]:
    """Give the columns of each table, shared out evenly."""
    tables = -(-len(grounds) // (_MOST_ACROSS_NARROW if paper.is_narrow else _MOST_ACROSS))
    each = -(-len(grounds) // tables)
    return [grounds[start : start + each] for start in range(0, len(grounds), each)]


def _label(one: PaceClass) -> str:
    return "\n".join(part for part in (one.ground, one.slope or "") if part)


def _columns(first: str, grounds: list[Ground]) -> list[Column]:
    return [
        Column(first, 0.8, align="right", bold=True),
        *(
            Column(label, align="right", bold=i == 0 and label == "ordinary")
            for i, (label, _) in enumerate(grounds)
        ),
    ]


def _paces(grounds: list[Ground]) -> Block:
    rows = [
        [str(metres), *(_whole(metres * per_100_m / 100) for _, per_100_m in grounds)] for metres in LENGTHS
    ]
    return table(_columns("metres", grounds), rows, pad_mm=0.5, heavy_every=9)


def _metres(grounds: list[Ground]) -> Block:
    rows = [[str(paces), *(_whole(paces * 100 / per_100_m) for _, per_100_m in grounds)] for paces in LENGTHS]
    return table(_columns("paces", grounds), rows, pad_mm=0.5, heavy_every=9)


def _whole(value: float) -> str:
    # A half goes up, as people round; a half to the even number makes a card look wrong.
    return str(math.floor(value + 0.5 + 1e-9))


def _to_a_tenth(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _bead(per_100_m: float) -> Block:
    count = 1000 * per_100_m / 100
    return text(
        f"A bead a hundred metres: slide one every {_to_a_tenth(per_100_m)} paces. "
        f"A bead a hundred paces: 1000 m is {say_tally(tally_of_count(round(count)))}.",
        size_em=0.95,
    )
