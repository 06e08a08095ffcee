"""The tally cord as it hangs at a count: nine lower beads for hundreds, four upper ones for thousands."""

from __future__ import annotations

import math
from typing import Final, Literal

from pacewright.core.pace.tally import LOWER_BEADS, UPPER_BEADS, Tally
from pacewright.drawing import svg
from pacewright.drawing.svg import INK, PAPER, PENCIL
from pacewright.exceptions import ValueComplaint

BeadUnit = Literal["pace", "metre"]

_WIDTH_MM: Final = 110.0
_CORD_X: Final = 38.0
_STICK_X: Final = 13.0
_TOP_MM: Final = 12.0
_BEAD_MM: Final = 6.0
_BEAD_WIDE_MM: Final = 9.5
_SLACK_MM: Final = 13.0
_TEXT_MM: Final = 4.6
_MOST_NOTCHES: Final = 15


def draw_cord(tally: Tally, caption: str = "", *, bead_unit: BeadUnit = "pace") -> str:
    """Draw the cord at a count: moved beads black and pulled down, the others white and still up.

    A cord stands empty again at every 5 000; a notch on a stick keeps each full cord.

    Parameters
    ----------
    tally
        How the count stands on the cord.
    caption
        A sentence under the drawing.
    bead_unit
        `pace` or `metre`: what a lower bead is a hundred of.

    Returns
    -------
    str
        An SVG document.

    Raises
    ------
    ValueComplaint
        A part of the tally cannot stand on a cord.

    References
    ----------
    Nine beads below the knot and four above it: common practice.
    """
    _check(tally)
    knot_y = _TOP_MM + _section_mm(UPPER_BEADS)
    tail_y = knot_y + _section_mm(LOWER_BEADS)
    title, words = _count_in_words(tally, bead_unit)
    lines = [
        line for sentence in (*words, caption) for line in svg.wrap_text(sentence, _TEXT_MM, _WIDTH_MM - 12)
    ]
    feed = _TEXT_MM * svg.LINE_HEIGHT
    lines_y = tail_y + 28
    body = [
        _rope(knot_y, tail_y),
        *_beads(_TOP_MM + 3.0, knot_y - 3.0, UPPER_BEADS, tally.upper_beads),
        *_beads(knot_y + 3.0, tail_y - 3.0, LOWER_BEADS, tally.hundreds),
        *(_knot(y) for y in (_TOP_MM, knot_y, tail_y)),
        *_said(_TOP_MM + _section_mm(UPPER_BEADS) / 2, tally.upper_beads, "thousand", UPPER_BEADS),
        *_said(knot_y + _section_mm(LOWER_BEADS) / 2, tally.hundreds, "hundred", LOWER_BEADS),
        *(_notches(tally.full_cords, tail_y) if tally.full_cords else []),
        svg.text(6, tail_y + 20, title, _size_that_fits(title), font_weight="bold"),
        *(svg.text(6, lines_y + i * feed, line, _TEXT_MM) for i, line in enumerate(lines)),
    ]
    height_mm = lines_y + (len(lines) - 1) * feed + 6
    told = (
        f"{tally.upper_beads} of {UPPER_BEADS} upper and {tally.hundreds} of {LOWER_BEADS} lower beads moved."
    )
    description = " ".join([told, *words, caption]).rstrip()
    return svg.drawing(_WIDTH_MM, height_mm, body, title=f"Tally cord at {title}", description=description)


def _check(tally: Tally) -> None:
    for name, value, most in (
        ("thousands", tally.thousands, math.inf),
        ("hundreds", tally.hundreds, LOWER_BEADS),
        ("paces", tally.paces, 999),
    ):
        if not (0 <= value <= most and math.isfinite(value)):
            upper = f" to {most}" if most < math.inf else " upward"
            raise ValueComplaint(f"{value} {name} cannot be shown on a cord", f"Give {name} from 0{upper}")


def _count_in_words(tally: Tally, bead_unit: BeadUnit) -> tuple[str, list[str]]:
    """The whole count, and the sentences that say what the beads do not show."""
    on_beads = 1000 * tally.thousands + 100 * tally.hundreds
    words = [f"{_many(tally.paces, 'pace')} since the last bead, kept in the head."]
    if tally.full_cords:
        words.append(f"{_many(tally.full_cords, 'full cord')} of 5 000, one notch each.")
    if bead_unit == "pace":
        return _many(on_beads + tally.paces, "pace"), words
    return f"{_many(on_beads, 'metre')} + {_many(tally.paces, 'pace')}", words


def _size_that_fits(title: str) -> float:
    return min(6.4, (_WIDTH_MM - 12) / svg.text_width_mm(title, 1.0))


def _section_mm(beads: int) -> float:
    return beads * _BEAD_MM + _SLACK_MM + 6.0


def _rope(knot_y: float, tail_y: float) -> str:
    x, top = _CORD_X, _TOP_MM
    loop = svg.path(
        [("M", (x, top)), ("C", (x - 9, top - 11, x + 9, top - 11, x, top))],
        fill="none",
        stroke=INK,
        stroke_width=1.0,
    )
    strand = svg.line(x, top, x, tail_y, stroke=INK, stroke_width=1.0)
    ends = [(x - 2.4, tail_y + 8), (x, tail_y + 9.5), (x + 2.4, tail_y + 8)]
    fray = "".join(svg.line(x, tail_y, *end, stroke=INK, stroke_width=0.5) for end in ends)
    return svg.group([loop, strand, fray])


def _knot(y: float) -> str:
    x = _CORD_X
    body = svg.rect(x - 2.3, y - 2.0, 4.6, 4.0, rx=1.9, fill=PAPER, stroke=INK, stroke_width=0.6)
    turns = svg.line(x - 1.9, y + 1.0, x + 1.2, y - 1.6, stroke=INK, stroke_width=0.5)
    return body + turns + svg.line(x - 1.0, y + 1.7, x + 1.9, y - 0.8, stroke=INK, stroke_width=0.5)


def _beads(top: float, bottom: float, beads: int, moved: int) -> list[str]:
    still = beads - moved
    middles = [top + (i + 0.5) * _BEAD_MM for i in range(still)]
    middles += [bottom - (moved - i - 0.5) * _BEAD_MM for i in range(moved)]
    return [_bead(y, is_moved=i >= still) for i, y in enumerate(middles)]


def _bead(y: float, *, is_moved: bool) -> str:
    half = _BEAD_WIDE_MM / 2
    return svg.rect(
        _CORD_X - half,
        y - _BEAD_MM / 2 + 0.25,
        _BEAD_WIDE_MM,
        _BEAD_MM - 0.5,
        rx=2.4,
        fill=INK if is_moved else PAPER,
        # A paper-white rim keeps one black bead apart from the next.
        stroke=PAPER if is_moved else INK,
        stroke_width=0.55,
        class_="moved" if is_moved else "still",
    )


def _said(y: float, moved: int, word: str, beads: int) -> list[str]:
    x = _CORD_X + 12
    return [
        svg.text(x, y, _many(moved, word), _TEXT_MM, font_weight="bold"),
        svg.text(x, y + _TEXT_MM * svg.LINE_HEIGHT, f"{moved} of {beads} moved", 4.0, fill=PENCIL),
    ]


def _notches(full_cords: int, tail_y: float) -> list[str]:
    """Draw the tally stick, one notch a full cord; beyond what it holds, say how many more."""
    cut = min(full_cords, _MOST_NOTCHES)
    left, right, top = _STICK_X - 3.0, _STICK_X + 3.0, _TOP_MM
    room = (tail_y - top - 6) / _MOST_NOTCHES
    side: list[svg.Point] = [(left, top)]
    for i in range(cut):
        y = top + 4 + i * room
        side += [(left, y), (left + 3.0, y + 1.3), (left, y + 2.6)]
    outline = [*side, (left, tail_y), (right, tail_y + 1.5), (right, top + 1.0)]
    drawn = [svg.polygon(outline, fill=PAPER, stroke=INK, stroke_width=0.55, class_="stick")]
    if full_cords > cut:
        drawn.append(svg.text(_STICK_X, tail_y + 7, f"+{full_cords - cut}", 4.0, anchor="middle"))
    return drawn


def _many(number: float, word: str) -> str:
    written = f"{number:,.9g}" if number != int(number) else f"{int(number):,}"
    return f"{written} {word}{'' if number == 1 else 's'}".replace(",", " ")
