"""A small drawing for each way to find a distance that cannot be walked."""

from __future__ import annotations

from typing import Final

from pacewright.core.ranging.range_result import Range, RangeMethod
from pacewright.drawing import svg
from pacewright.drawing.labels import Box, Segment, Wish, place_labels
from pacewright.drawing.ranging_plans import plan_of
from pacewright.drawing.ranging_sketches import sketch_of
from pacewright.drawing.ranging_strokes import LABEL_MM, ROOM, Sketch
from pacewright.drawing.svg import INK, PENCIL
from pacewright.exceptions import ValueComplaint
from pacewright.wording.ranging import say_how_far

PAGE_WIDTH_MM: Final = 120.0

_EDGE_MM: Final = 6.0
_TITLE_MM: Final = 4.6
_CAPTION_MM: Final = 3.8

_TITLES: Final[dict[RangeMethod, str]] = {
    "right_angle": "Width by a right angle",
    "base_line": "Two azimuths from a base line",
    "stakes": "Width by stakes, without a compass",
    "mils": "Distance from a known size",
    "thumb": "Distance by arm and thumb",
    "sound": "Distance by the delay of a sound",
}


def draw_ranging(range_: Range, *, sketch_only: bool = False) -> str:
    """Draw how a distance was found, with the region that holds it marked along the line of sight.

    Figures over a base line are to scale, the line across pointing up the page; those from one place
    are sketches, and say so.

    Parameters
    ----------
    range_
        The distance, as one of the ranging functions gave it.
    sketch_only
        Leave title and caption out, for paper that says them beside the drawing.

    Returns
    -------
    str
        An SVG document 120 mm wide.

    Raises
    ------
    ValueComplaint
        The figure is so lopsided that its labels find no room.
    """
    sketch = sketch_of(range_) or plan_of(range_)
    if sketch_only:
        return _sketch_only(range_, sketch)
    caption = svg.wrap_text(say_how_far(range_), _CAPTION_MM, PAGE_WIDTH_MM - 2 * _EDGE_MM)
    first_line = ROOM.bottom + _EDGE_MM + 2.0
    feed = svg.LINE_HEIGHT * _CAPTION_MM
    body = [
        svg.text(_EDGE_MM, _EDGE_MM + 3.6, _TITLES[range_.method], _TITLE_MM, font_weight="bold"),
        svg.line(
            _EDGE_MM, ROOM.top - 2, PAGE_WIDTH_MM - _EDGE_MM, ROOM.top - 2, stroke=INK, stroke_width=0.4
        ),
        *sketch.strokes,
        *_labels(sketch),
        svg.line(
            _EDGE_MM, ROOM.bottom + 2, PAGE_WIDTH_MM - _EDGE_MM, ROOM.bottom + 2, stroke=INK, stroke_width=0.4
        ),
        *(svg.text(_EDGE_MM, first_line + i * feed, line, _CAPTION_MM) for i, line in enumerate(caption)),
    ]
    height_mm = first_line + (len(caption) - 1) * feed + _EDGE_MM - 1.0
    return svg.drawing(
        PAGE_WIDTH_MM, height_mm, body, title=_TITLES[range_.method], description=say_how_far(range_)
    )


def _sketch_only(range_: Range, sketch: Sketch) -> str:
    moved = svg.group([*sketch.strokes, *_labels(sketch)], transform=f"translate(0 {svg.number(-ROOM.top)})")
    return svg.drawing(
        PAGE_WIDTH_MM,
        ROOM.bottom - ROOM.top,
        [moved],
        title=_TITLES[range_.method],
        description=say_how_far(range_),
    )


def _labels(sketch: Sketch) -> list[str]:
    lines: list[Segment] = [(*start, *end) for start, end in sketch.lines]
    blocked = [Box(x - r, y - r, x + r, y + r) for x, y, r in sketch.marks]
    wishes = [
        Wish(content, x, y, clear_mm, LABEL_MM, short=content, rank=rank)
        for rank, (content, x, y, clear_mm) in enumerate(sketch.labels)
    ]
    placed = place_labels(wishes, ROOM, blocked, lines)
    if placed.key or placed.left_out:
        raise ValueComplaint(
            "this figure is too lopsided to be labelled", "Take the answer without a drawing"
        )
    drawn = []
    for label in placed.labels:
        if label.leader is not None:
            drawn.append(svg.line(*label.leader, stroke=PENCIL, stroke_width=0.2))
        drawn.append(
            svg.text(label.middle_x, label.baseline_y, label.content, LABEL_MM, anchor="middle", halo_mm=0.6)
        )
    return drawn
