"""A map over as many pages as it takes: an index first, every page with its scale and its norths."""

from __future__ import annotations

from typing import Final

from pacewright.drawing.labels import Box
from pacewright.drawing.map_field import STRIP_MM, MapField, PageOutline, field_frame
from pacewright.drawing.map_grid import frame_bounds
from pacewright.drawing.map_scale import MOST_SCALE, SCALES, least_scale, middle_of
from pacewright.drawing.page_fit import PageFit, round_up
from pacewright.drawing.placed_walk import walk_bounds
from pacewright.drawing.sheet_land import interval_for
from pacewright.drawing.walk_margin import label_sentences
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, heading, keep, new_page, picture, text
from pacewright.sheets.map_pages import MOST_PAGES, MapPage, MapPages, cut_pages, walked_pages
from pacewright.sheets.map_parts import (
    SLACK_MM,
    SMALL_EM,
    Asked,
    key_of,
    low_strip_of,
    most_scale,
    paper_caution,
    room_below_heading,
    said_of,
    small_texts,
    strip_of,
    way_of,
)
from pacewright.sheets.paper import PAPERS, Paper
from pacewright.sheets.room_taken import body_mm, gap_mm, heights_mm

_LEAST_HIGH_MM: Final = 45.0
_LEAST_SHARE: Final = 0.45
"""Of a page: a lower index gives its page up to the words."""
_SURE_SHARE: Final = 0.9
"""A walk that fits the map of a page by less than this may not leave room for its words."""
_MOST_CUT: Final = 2000
"""A map cut into more pieces than this is refused before it is asked which of them hold the walk."""


def on_pages(asked: Asked, scale: float) -> list[Block]:
    """An index with the way back and the key, and every page that holds a part of the walk."""
    cut = _cut(asked, asked.paper, scale)
    if cut.count > MOST_PAGES:
        fits = next((s for s in SCALES if _cut(asked, asked.paper, s).count <= MOST_PAGES), None)
        raise ValueComplaint(
            f"at 1:{scale:g} this map would take {cut.across} by {cut.down} pages",
            "Take larger paper" if fits is None else f"Give --scale {fits:.0f}, or take larger paper",
        )
    walk = asked.walk
    whole = PageFit(_box(cut.whole_mm), *cut.middle, scale / 100.0)
    interval_m = interval_for(walk.terrain, whole)
    pages = list(cut.pages())
    fields = [
        MapField(walk.figure, walk.terrain, page.fit, walk.norths, interval_m=interval_m, may_lack_land=True)
        for page in pages
    ]
    blocks = _first(asked, cut, pages, fields)
    for page, field in zip(pages, fields, strict=True):
        blocks += [new_page(), _page(page, field, cut, asked)]
    return blocks


def _first(asked: Asked, cut: MapPages, pages: list[MapPage], fields: list[MapField]) -> list[Block]:
    """The index with all words below it, or after them where they leave it too little room."""
    told = text(_say_index(cut), size_em=SMALL_EM)
    labels = [
        f"Map page {page.number}: {sentence}"
        for page, field in zip(pages, fields, strict=True)
        for sentence in label_sentences(field.placement)
    ]
    key = [key_of(fields, asked), *small_texts([*labels, *said_of(asked, fields[0])])]
    words = [*way_of(asked), *key, paper_caution()]
    room = room_below_heading(asked) - heights_mm([told], asked.paper) - gap_mm(asked.paper)
    if asked.paper.is_card:
        return [told, _index(asked, cut, room), *words]
    high = room - heights_mm(words, asked.paper)
    if high >= max(_LEAST_HIGH_MM, _LEAST_SHARE * room):
        return [told, _index(asked, cut, high), *words]
    title = heading("Index of the map")
    room = body_mm(asked.paper) - SLACK_MM - gap_mm(asked.paper)
    room -= heights_mm([title, told, paper_caution()], asked.paper)
    return [*words, new_page(), title, told, _index(asked, cut, room), paper_caution()]


def _say_index(cut: MapPages) -> str:
    left_out = cut.across * cut.down - cut.count
    without = "" if not left_out else f", {left_out} of them without the walk and not printed"
    return (
        f"{cut.across} by {cut.down} pages at 1:{cut.scale:g}{without}, shown here with their numbers. "
        f"Neighbouring maps share {cut.overlap_mm:g} mm: cut one along its frame and lay it over the other "
        "until the grid lines meet."
    )


def _index(asked: Asked, cut: MapPages, high_mm: float) -> Block:
    frame = field_frame((asked.width_mm, high_mm))
    least = least_scale(cut.bounds, cut.middle, frame)
    scale = 1000.0 * round_up(least / 1000.0)
    outlines = [PageOutline(frame_bounds(page.fit), page.number) for page in cut.pages()]
    field = MapField(
        asked.walk.figure,
        asked.walk.terrain,
        PageFit(frame, *cut.middle, scale / 100.0),
        asked.walk.norths,
        outlines=outlines,
        may_lack_land=True,
    )
    alt = f"Index of the map: {cut.count} pages, numbered from west to east and north to south"
    return picture(field.drawing((asked.width_mm, high_mm), asked.title), alt=alt)


def _page(page: MapPage, field: MapField, cut: MapPages, asked: Asked) -> Block:
    size_mm = _page_size_mm(asked, asked.paper)
    alt = f"Part {page.number} of the map, in row {page.row} and column {page.column}, at 1:{cut.scale:g}"
    drawn = picture(field.drawing(size_mm, asked.title), alt=alt)
    beside = cut.beside(page)
    told = f"Beside it: {beside}." if beside else "The only page."
    head = [heading(_page_title(page.number, cut.scale)), text(told, size_em=SMALL_EM), drawn]
    return keep([*head, *_scale_and_norths(field, asked)])


def _scale_and_norths(field: MapField, asked: Asked) -> list[Block]:
    """What stands below the map of every page: bar, norths, declination; on a flat sheet the caution."""
    if asked.paper.is_card:
        return [low_strip_of(field, asked), *small_texts(field.norths.sentences()[-1:])]
    told = [] if field.is_wide else small_texts([" ".join(field.norths.sentences())])
    return [strip_of(field, asked), *told, paper_caution()]


def _page_title(number: int, scale: float) -> str:
    return f"Map page {number}, 1:{scale:g}"


def _page_size_mm(asked: Asked, paper: Paper) -> tuple[float, float]:
    """The size of the field on one page of several."""
    norths = asked.walk.norths.sentences()
    words = [
        heading(_page_title(MOST_PAGES, MOST_SCALE)),
        text("Beside it: west 40, east 40, north 40, south 40.", size_em=SMALL_EM),
    ]
    if paper.is_card:
        words += small_texts(norths[-1:])
        strip_mm = MapField.LOW_STRIP_MM
    else:
        is_wide = MapField.has_room(field_frame((paper.room_mm[0], paper.room_mm[1])))
        words += [*([] if is_wide else small_texts([" ".join(norths)])), paper_caution()]
        strip_mm = STRIP_MM
    high = body_mm(paper) - SLACK_MM - heights_mm(words, paper) - strip_mm - 2 * gap_mm(paper)
    return paper.room_mm[0], high


def _cut(asked: Asked, paper: Paper, scale: float) -> MapPages:
    frame = field_frame(_page_size_mm(asked, paper))
    cut = cut_pages(walk_bounds(asked.walk.figure), frame, scale, is_card=paper.is_card)
    return cut if cut.count > _MOST_CUT else walked_pages(cut, asked.walk.figure)


def too_long(asked: Asked) -> ValueComplaint:
    """Say at which scale, or on which paper, a walk too long for one page can be had."""
    ways, bounds = [], walk_bounds(asked.walk.figure)
    most = most_scale(asked.paper)
    for name in dict.fromkeys((asked.paper.name, "a5", "a4")):
        paper, named = PAPERS[name], "" if name == asked.paper.name else f"--paper {name}"
        cut = _cut(asked, paper, most_scale(paper))
        if named and least_scale(bounds, middle_of(bounds), cut.frame) <= _SURE_SHARE * most_scale(paper):
            ways.append(f"{named}, where it fits one page")
            break
        if cut.count <= MOST_PAGES and not ways:
            pages = f"--scale {most_scale(paper):.0f}, which takes {say_count(cut.count)}"
            ways.append(f"{named} {pages}".strip())
    smallest = ", the smallest that a card is read at" if asked.paper.is_card else ""
    return ValueComplaint(
        f"the walk does not fit a map on one page of {asked.paper.name} even at 1:{most:.0f}{smallest}",
        f"Give {', or '.join(ways)}"
        if ways
        else f"Draw a part of the log: {MOST_PAGES} pages of A4 do not hold all of it",
    )


def say_count(pages: int) -> str:
    """Say how many pages.

    >>> say_count(1), say_count(3)
    ('1 page', '3 pages')
    """
    return f"{pages} page{'' if pages == 1 else 's'}"


def _box(size_mm: tuple[float, float]) -> Box:
    return Box(0.0, 0.0, *size_mm)
