"""A map at exact scale on one page, or over as many as it takes, with the way back, the key and an index."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.drawing.map_field import STRIP_MM, MapField, field_frame
from pacewright.drawing.map_grid import written_metres
from pacewright.drawing.map_scale import check_scale, fit_map, least_scale, middle_of
from pacewright.drawing.placed_walk import walk_bounds
from pacewright.drawing.terrain_map import check_walk
from pacewright.drawing.walk_on_ground import WalkOnGround
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, heading, new_page, picture, text
from pacewright.sheets.map_on_pages import on_pages, too_long
from pacewright.sheets.map_parts import (
    SLACK_MM,
    SMALL_EM,
    Asked,
    key_of,
    low_strip_of,
    most_scale,
    notes_of,
    paper_caution,
    room_below_heading,
    strip_of,
    way_of,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.sheets.room_taken import body_mm, gap_mm, heights_mm

_LEAST_SHAPE: Final = 0.6
"""A map lower than this share of its width gives up its page to no words but those of the way back."""
_LEAST_HIGH_MM: Final = 45.0
_ROUNDS: Final = 4


def map_sheets(
    walk: WalkOnGround, paper: Paper, title: str, scale: float | None = None, way: Sequence[str] = ()
) -> Sheet:
    """A map on one page, or at a stated scale on as many as it takes, an index first.

    Every page is a map of its own, with its metres and its labels whole, its scale and its norths; key and
    notes stand on the page of a map where there is room, and else on the next.

    Parameters
    ----------
    walk
        The log on its ground.
    paper
        What it is printed on.
    title
        Above it.
    scale
        Such as 5000 for 1:5000; without it the map is made to fit one page.
    way
        Sentences of the way back.

    Raises
    ------
    ValueComplaint
        No scale to walk by or to read a card at, too many pages, or a walk too long for one page.
    MissingComplaint
        The terrain does not reach the map.
    """
    check_walk(walk.figure)
    if scale is not None:
        check_scale(scale)
    asked = Asked(walk, paper, title, tuple(way), scale)
    if scale is not None and scale > most_scale(paper):
        raise ValueComplaint(
            f"a pocket card cannot be read at 1:{scale:g}",
            f"Give --scale {most_scale(paper):.0f} or less, or larger paper, such as --paper a5",
        )
    arrangements = (_on_a_panel,) if paper.is_card else (_on_one_side, _on_two_sides, _on_its_own_page)
    for arranged in arrangements:
        blocks = arranged(asked)
        if blocks is not None:
            return sheet(title, blocks)
    if scale is None:
        raise too_long(asked)
    return sheet(title, on_pages(asked, scale))


def _on_one_side(asked: Asked) -> list[Block] | None:
    """The map with all words below it; None where that leaves it too little room."""
    room = room_below_heading(asked)
    high = 0.6 * room
    for _ in range(_ROUNDS):
        field = _field(asked, high)
        if field is None:
            return None
        drawn = [_drawn(field, asked, high), strip_of(field, asked)]
        blocks = [*drawn, *way_of(asked), key_of([field], asked), *notes_of(asked, field), paper_caution()]
        taken = heights_mm(blocks, asked.paper)
        if room - 8.0 <= taken <= room:
            return blocks
        high += room - taken - 0.5
        frame = field_frame((asked.width_mm, high))
        if frame.bottom - frame.top < _LEAST_SHAPE * (frame.right - frame.left):
            return None
    return None


def _on_two_sides(asked: Asked) -> list[Block] | None:
    """The map with the way back below it, key and notes on the next page."""
    below = [*way_of(asked), paper_caution()]
    taken = heights_mm(below, asked.paper) + STRIP_MM + 2 * gap_mm(asked.paper)
    high = room_below_heading(asked) - taken
    field = _field(asked, high)
    if field is None:
        return None
    front = [_drawn(field, asked, high), strip_of(field, asked), *below]
    back = [heading("Key to the map"), key_of([field], asked), *notes_of(asked, field)]
    return [*front, new_page(), *back]


def _on_its_own_page(asked: Asked) -> list[Block] | None:
    """All words first, and then the map alone on its page."""
    told = heading(f"Map of {asked.title}" if len(asked.title) < 60 else "Map")
    high = body_mm(asked.paper) - SLACK_MM - heights_mm([told, paper_caution()], asked.paper)
    high -= STRIP_MM + 2 * gap_mm(asked.paper)
    field = _field(asked, high)
    if field is None:
        return None
    words = [*way_of(asked), paper_caution(), key_of([field], asked), *notes_of(asked, field)]
    return [*words, new_page(), told, _drawn(field, asked, high), strip_of(field, asked), paper_caution()]


def _on_a_panel(asked: Asked) -> list[Block] | None:
    """The map on one panel of a card with its bar and its north, all else on the panels after it.

    Where the map is larger without the title, this and the way back have the panel before it.
    """
    line = text("1:100 000, 1 mm is 100 m", size_em=SMALL_EM)
    below = heights_mm([line], asked.paper) + MapField.LOW_STRIP_MM + 2 * gap_mm(asked.paper)
    highs = (room_below_heading(asked) - below, body_mm(asked.paper) - SLACK_MM - below)
    fields = [_field(asked, high) for high in highs]
    found = [(field.scale, at, field) for at, field in enumerate(fields) if field is not None]
    if not found:
        return None
    scale, at, field = min(found, key=lambda one: one[:2])
    line = text(f"1:{written_metres(scale)}, 1 mm is {scale / 1000:g} m", size_em=SMALL_EM)
    first = [line, _drawn(field, asked, highs[at]), low_strip_of(field, asked)]
    way, key = [*way_of(asked), paper_caution()], [key_of([field], asked), *notes_of(asked, field)]
    return [*way, new_page(), *first, new_page(), *key] if at else [*first, new_page(), *way, *key]


def _field(asked: Asked, high_mm: float) -> MapField | None:
    """The map in a field of a height; None where the walk does not fit it."""
    walk, frame = asked.walk, field_frame((asked.width_mm, high_mm))
    if frame.bottom - frame.top < _LEAST_HIGH_MM:
        return None
    bounds = walk_bounds(walk.figure)
    if least_scale(bounds, middle_of(bounds), frame) > (asked.scale or most_scale(asked.paper)):
        return None
    return MapField(walk.figure, walk.terrain, fit_map(frame, bounds, asked.scale), walk.norths)


def _drawn(field: MapField, asked: Asked, high_mm: float) -> Block:
    return picture(field.drawing((asked.width_mm, high_mm), asked.title))
