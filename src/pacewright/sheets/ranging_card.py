"""The ranging card: every way to find a distance that cannot be walked, its drawing and its table."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.core.pace.walker import Walker
from pacewright.core.ranging.range_result import Range
from pacewright.core.ranging.ranging import range_by_base_line, range_by_right_angle, range_by_stakes
from pacewright.core.ranging.ranging_standing import (
    range_by_mils,
    range_by_sound,
    range_by_thumb,
    speed_of_sound_mps,
)
from pacewright.drawing.ranging_diagrams import draw_ranging
from pacewright.sheets.blocks import (
    Block,
    Column,
    beside,
    caution,
    heading,
    keep,
    picture,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.numbers import say_whole
from pacewright.wording.ranging import CAUTION, say_range

_MILS_IN_CIRCLE: Final = 6400
WIDE_MM: Final = 90.5
"""Of a drawing, so that its letters are 8 pt."""


@dataclass(frozen=True, slots=True)
class RangingMethod:
    """One method as it stands on the card.

    Attributes
    ----------
    title
        Its name.
    how
        How it is done, in one or two sentences.
    example
        A worked distance, for the drawing.
    heads, rows
        Its table.
    """

    title: str
    how: str
    example: Callable[[Walker], Range]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def _right_angle_rows() -> tuple[tuple[str, ...], ...]:
    turns = (15, 20, 25, 30, 35, 40, 45, 50, 60)
    return tuple((str(turn), f"{1 / math.tan(math.radians(turn)):.2f}") for turn in turns)


def _base_line_rows() -> tuple[tuple[str, ...], ...]:
    """The distance from A in base lines, for the angles at A (down) and B (across)."""
    rows = []
    for at_a in (60, 70, 80, 90, 100, 110):
        cells = []
        for at_b in (60, 70, 80):
            crossing_deg = 180 - at_a - at_b
            ratio = (
                math.sin(math.radians(at_b)) / math.sin(math.radians(crossing_deg))
                if crossing_deg >= 5
                else 0.0
            )
            cells.append(f"{ratio:.2f}" if ratio else "-")
        rows.append((str(at_a), *cells))
    return tuple(rows)


def _mil_rows() -> tuple[tuple[str, ...], ...]:
    rows = []
    for mil in (1, 2, 5, 10, 15, 20, 30, 50, 100):
        far = 1.0 / math.tan(2 * math.pi * mil / _MILS_IN_CIRCLE)
        rows.append((str(mil), say_whole(1.8 * far), say_whole(5 * far), say_whole(10 * far)))
    return tuple(rows)


def _sound_rows() -> tuple[tuple[str, ...], ...]:
    seconds = (0.5, 1, 2, 3, 5, 10)
    return tuple(
        (f"{s:g}", *(say_whole(s * speed_of_sound_mps(t)) for t in (-10.0, 10.0, 30.0))) for s in seconds
    )


METHODS: Final = (
    RangingMethod(
        "By a right angle",
        "Sight the mark, walk square to that line, sight it again. Width = walked x the factor of the change "
        "of azimuth; at 45 degrees what you walked is the width.",
        lambda walker: range_by_right_angle(60, 0, 315, walker=walker),
        ("azimuth\nchanged", "width =\nwalked x"),
        _right_angle_rows(),
    ),
    RangingMethod(
        "By a base line",
        "Count a base line from A to B, sight the mark from both ends. The angles at A and B lie between "
        "the base line and the line of sight. Distance from A = base x the factor.",
        lambda walker: range_by_base_line(100, 90, 20, 330, walker=walker),
        ("angle\nat A", "60 at B", "70 at B", "80 at B"),
        _base_line_rows(),
    ),
    RangingMethod(
        "By stakes, no compass",
        "Walk square to the line across, plant a stake, walk on, turn square away from the water and stop "
        "when stake and mark stand in line. Width = inland x to stake / stake to turn.",
        lambda walker: range_by_stakes(40, 20, 30, walker=walker),
        ("to stake /\nto turn", "width =\ninland x"),
        tuple((one, one) for one in ("1", "2", "3", "4", "5")),
    ),
    RangingMethod(
        "By a known size",
        "Measure the angle that a thing of known size fills, in mils of 6400 to the circle. Distance in "
        "metres stands under the size.",
        lambda walker: range_by_mils(1.8, 6),
        ("mils", "1.8 m", "5 m", "10 m"),
        _mil_rows(),
    ),
    RangingMethod(
        "By arm and thumb",
        "Arm out, thumb up, one eye; change eyes and estimate how far the thumb jumps over there. Distance = "
        "jump x 10, or x your own arm divided by the width between your eyes.",
        lambda walker: range_by_thumb(40),
        ("jump m", "distance m"),
        tuple((str(jump), str(10 * jump)) for jump in (5, 10, 20, 30, 50, 100)),
    ),
    RangingMethod(
        "By sound",
        "See it happen, count the seconds until you hear it. Metres stand under the warmth of the air.",
        lambda walker: range_by_sound(3, 10),
        ("seconds", "-10 C", "10 C", "30 C"),
        _sound_rows(),
    ),
)


def ranging_card(walker: Walker, paper: Paper) -> Sheet:
    """The card: six methods, each with a made-up example drawn, and a table."""
    blocks: list[Block] = [
        text("Distances that cannot be walked. The drawings are made-up examples.", size_em=0.95),
        caution(CAUTION),
    ]
    for method in METHODS:
        blocks += _method(method, walker, paper)
    return sheet("Ranging: how far, without walking there", blocks)


def _method(method: RangingMethod, walker: Walker, paper: Paper) -> list[Block]:
    example = method.example(walker)
    rows = _table(method.heads, method.rows)
    how_far, how_found = say_range(example, walker=walker)[:2]
    # The card says beside the drawing what its title and caption would say.
    drawing = draw_ranging(example, sketch_only=True)
    size_em = 0.85 if not (paper.is_card or paper.is_narrow) else 0.9
    if paper.is_card:
        # Turned, so that its letters stay large enough on the narrow panel.
        tall = picture(drawing, width_mm=paper.room_mm[1] - 1.0, turned=True)
        told = texts([method.how, f"Drawn: {how_found}"], size_em=size_em)
        return [keep([heading(method.title), *told, rows]), tall]
    told = texts([method.how, f"Drawn: {how_found} {how_far}"], size_em=size_em)
    drawn = picture(drawing, width_mm=WIDE_MM)
    if paper.is_narrow:
        return [keep([heading(method.title), drawn, *told, rows])]
    return [keep([heading(method.title), beside([drawn], [*told, rows], WIDE_MM)])]


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Block:
    columns = [Column(head, align="right", bold=i == 0, size_em=0.9) for i, head in enumerate(heads)]
    return table(columns, rows, pad_mm=0.55)
