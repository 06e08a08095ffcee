"""Boxing round an obstacle, drawn: where the count stops and where it runs on."""

from __future__ import annotations

from itertools import pairwise
from typing import Final, Literal

from pacewright.drawing import svg
from pacewright.drawing.svg import INK, Point
from pacewright.drawing.symbols import arrow_head

WIDTH_MM: Final = 66.0
HIGH_MM: Final = 74.0
_LETTERS_MM: Final = 3.2
_FOOT_Y: Final = 70.0
_NEAR_Y: Final = 54.0
_FAR_Y: Final = 20.0
_TOP_Y: Final = 3.0
_OUT_MM: Final = 24.0


def draw_box(side: Literal["right", "left"]) -> str:
    """Draw a box to one side, the leg running up the page.

    References
    ----------
    Out, past and back by square turns, the outward counts not added: common practice.
    """
    way = 1.0 if side == "right" else -1.0
    x = WIDTH_MM / 2 - way * _OUT_MM / 2
    out = x + way * _OUT_MM
    corners: list[Point] = [
        (x, _FOOT_Y),
        (x, _NEAR_Y),
        (out, _NEAR_Y),
        (out, _FAR_Y),
        (x, _FAR_Y),
        (x, _TOP_Y),
    ]
    body = [
        svg.rect(
            x - 9.0,
            _FAR_Y + 5.0,
            18.0,
            _NEAR_Y - _FAR_Y - 10.0,
            rx=6.0,
            fill="none",
            stroke=INK,
            stroke_width=0.3,
            stroke_dasharray="1.2 1",
        ),
        svg.text(x, (_NEAR_Y + _FAR_Y) / 2 + 1.0, "pond", _LETTERS_MM, anchor="middle"),
    ]
    for (start, end), heavy in zip(pairwise(corners), (True, False, True, False, True), strict=True):
        body.append(svg.line(*start, *end, stroke=INK, stroke_width=1.1 if heavy else 0.4))
        body.append(arrow_head(start, end, 3.0, solid=True))
    anchor = "start" if way > 0 else "end"
    middle = (x + out) / 2
    body += [
        svg.text(x - way * 2.0, _FOOT_Y - 4.0, "count", _LETTERS_MM, anchor="end" if way > 0 else "start"),
        svg.text(middle, _NEAR_Y + 4.6, "out: stops", _LETTERS_MM, anchor="middle"),
        svg.text(out + way * 2.0, (_NEAR_Y + _FAR_Y) / 2 - 1.0, "runs", _LETTERS_MM, anchor=anchor),
        svg.text(out + way * 2.0, (_NEAR_Y + _FAR_Y) / 2 + 3.4, "on", _LETTERS_MM, anchor=anchor),
        svg.text(middle, _FAR_Y - 2.2, "back: stops", _LETTERS_MM, anchor="middle"),
        svg.text(x - way * 2.0, _TOP_Y + 5.0, "runs on", _LETTERS_MM, anchor="end" if way > 0 else "start"),
    ]
    told = f"out to the {side}, past, back to the line; heavy where the count runs on, thin where it stops"
    return svg.drawing(WIDTH_MM, HIGH_MM, body, title=f"Box {side}", description=told)
