"""Cards for the pocket that belong to no log: obstacle, cord, back azimuths and hand angles, when lost."""

from __future__ import annotations

from typing import Final

from pacewright.core.compass import FULL_CIRCLE, AzimuthUnit
from pacewright.core.pace.tally import tally_of_count
from pacewright.core.pace.walker import Walker
from pacewright.drawing.box_diagram import WIDTH_MM as BOX_MM
from pacewright.drawing.box_diagram import draw_box
from pacewright.drawing.cord import draw_cord
from pacewright.sheets.blocks import (
    Block,
    Column,
    beside,
    caution,
    fields,
    heading,
    keep,
    lines,
    new_page,
    picture,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.numbers import say_tally
from pacewright.wording.sheets import PAPER_CAUTION
from pacewright.wording.sheets_field import (
    BACK_RULE,
    BOX_STEPS,
    CORD_CUSTOMS,
    CORD_TIE,
    HAND_HOW,
    HAND_ROWS,
    LOST_BLANKS,
    LOST_SIGNALS,
    LOST_STEPS,
)

_EVERY: Final[dict[AzimuthUnit, int]] = {"degrees": 10, "mils": 200, "gon": 10}
_SHOWN_COUNT: Final = 1480
_CORD_MM: Final = 88.0
"""Width of the cord's drawing, so that its letters are 8 pt."""


def obstacle_card(paper: Paper, unit: AzimuthUnit = "degrees") -> Sheet:
    """The card of boxing: both sides drawn, what the count does, and the square azimuths."""
    both = [picture(draw_box(side)) for side in ("right", "left")]
    if paper.is_card:
        drawn = [keep([one]) for one in both]
    else:
        half = (paper.text_width_mm - 5.0) / 2
        wide = min(BOX_MM, half)
        small = [picture(draw_box(side), width_mm=wide) for side in ("right", "left")]
        drawn = [beside([small[0]], [small[1]], half)]
    square = [
        heading(f"Square to a leg, {unit}"),
        _turned(paper, unit, ("leg", "right", "left"), (0.0, 0.25, 0.75)),
    ]
    return sheet(
        "Round an obstacle: boxing",
        [
            caution(PAPER_CAUTION),
            *texts(BOX_STEPS),
            *drawn,
            *_apart(paper),
            *(square if paper.is_card else [keep(square)]),
        ],
    )


def _apart(paper: Paper) -> list[Block]:
    """What comes next stands on a panel of its own."""
    return [new_page()] if paper.is_card else []


def _turned(paper: Paper, unit: AzimuthUnit, heads: tuple[str, ...], turns: tuple[float, ...]) -> Block:
    """A table of azimuths and what they are when turned by shares of the circle."""
    full = FULL_CIRCLE[unit]
    values = list(range(0, full, _EVERY[unit]))
    parts = 1 if paper.is_card else 3
    each = -(-len(values) // parts)
    columns = [Column(head, align="right", bold=i == 0) for i, head in enumerate(heads)] * parts
    rows = []
    for i in range(each):
        row: list[str] = []
        for k in range(parts):
            at = k * each + i
            of = values[at] if at < len(values) else None
            row += [""] * len(turns) if of is None else [str(round(of + t * full) % full) for t in turns]
        rows.append(row)
    return table(columns, rows, pad_mm=0.55, heavy_every=3)


def cord_card(walker: Walker, paper: Paper) -> Sheet:
    """The card of the tally cord: how it is tied and slid, both customs, a count shown on it."""
    shown = f"Shown: {_SHOWN_COUNT} paces, a bead a hundred paces: {say_tally(tally_of_count(_SHOWN_COUNT))}."
    customs = list(CORD_CUSTOMS)
    if walker.per_100_m is not None:
        whose = f" of {walker.name}" if walker.name else ""
        customs.append(f"Own pace count{whose}: {walker.per_100_m:g} paces to 100 m.")
    blank = fields([[("My custom: a bead is", "", 1.0)], [("My paces to 100 m", "", 1.0)]], 8.0)
    drawing = draw_cord(tally_of_count(_SHOWN_COUNT))
    told: list[Block] = [
        heading("Tie it"),
        *texts(CORD_TIE),
        heading("What a bead is worth"),
        *texts(customs),
        blank,
    ]
    if paper.is_card:
        # A panel is too narrow for the letters of the drawing.
        blocks: list[Block] = [caution(PAPER_CAUTION), *told, text(shown)]
    elif paper.is_narrow:
        drawn = [picture(drawing, width_mm=_CORD_MM), text(shown)]
        blocks = [caution(PAPER_CAUTION), *told, keep(drawn)]
    else:
        left = [picture(drawing, width_mm=_CORD_MM), text(shown)]
        blocks = [caution(PAPER_CAUTION), beside(left, told, _CORD_MM)]
    return sheet("The tally cord", blocks)


def angle_card(paper: Paper, unit: AzimuthUnit = "degrees") -> Sheet:
    """The card of back azimuths and of the angles that a hand fills, to be measured by its owner."""
    columns = [
        Column("at arm's length", 2.2),
        Column("usual\nmils", 0.9, align="right"),
        Column("mine\nmils", 1.0),
    ]
    hands = table(columns, [[*row, ""] for row in HAND_ROWS], row_mm=6.0)
    by_hand: list[Block] = [heading("Angles by hand"), *texts(HAND_HOW), *_apart(paper), hands]
    half = FULL_CIRCLE[unit] // 2
    return sheet(
        "Back azimuths and hand angles",
        [
            caution(PAPER_CAUTION),
            *(by_hand if paper.is_card else [keep(by_hand)]),
            *_apart(paper),
            heading(f"Back azimuths, {unit}"),
            text(BACK_RULE.format(half=half)),
            _turned(paper, unit, ("azimuth", "back"), (0.0, 0.5)),
        ],
    )


def lost_card(paper: Paper) -> Sheet:
    """The card of what to do when lost, with blanks that are filled in before the walk."""
    share = 1.0
    asked = [[(label, "", share) for label in pair] for pair in LOST_BLANKS]
    if paper.is_card:
        asked = [[one] for row in asked for one in row]
    return sheet(
        "When you are lost",
        [
            caution(PAPER_CAUTION),
            *texts(LOST_STEPS),
            keep([heading("Filled in before the walk"), fields(asked, 9.0)]),
            keep([heading("Signals"), *texts(LOST_SIGNALS)]),
            keep([text("Written while waiting:"), lines(4, 7.0)]),
        ],
    )
