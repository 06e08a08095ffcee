"""A map at exact scale on one page, or over as many as it takes, with the way back, the key and an index."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.drawing import svg
from pacewright.drawing.labels import Box
from pacewright.drawing.map_field import STRIP_MM, MapField, PageOutline, field_frame
from pacewright.drawing.map_grid import BAND_MM, frame_bounds, written_metres
from pacewright.drawing.map_scale import (
    MOST_SCALE,
    SCALES,
    check_scale,
    fit_map,
    is_narrow,
    least_scale,
    middle_of,
)
from pacewright.drawing.page_fit import PageFit, round_up
from pacewright.drawing.placed_walk import walk_bounds
from pacewright.drawing.sheet_land import interval_for
from pacewright.drawing.terrain_map import check_walk, land_notes
from pacewright.drawing.walk_margin import Hand, draw_hands, key_columns, label_sentences, walk_hands
from pacewright.drawing.walk_on_ground import WalkOnGround
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, caution, heading, keep, new_page, picture, text, texts
from pacewright.sheets.map_pages import MOST_PAGES, MapPage, MapPages, cut_pages
from pacewright.sheets.paper import PAPERS, Paper, Sheet, sheet
from pacewright.sheets.room_taken import body_mm, gap_mm, heights_mm
from pacewright.wording.sheets import PAPER_CAUTION

_SMALL_EM: Final = 0.85
_KEY_MM: Final = 2.6
_NARROW_KEY_MM: Final = 2.2
_SLACK_MM: Final = 1.5
"""Kept free, since the height of words is known from their letters alone before they are set."""
_LEAST_SHAPE: Final = 0.6
"""A map lower than this share of its width gives up its page to no words but those of the way back."""
_LEAST_HIGH_MM: Final = 45.0
_SURE_SHARE: Final = 0.9
"""A walk that fits the map of a page by less than this may not leave room for its words."""
_ROUNDS: Final = 4


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is printed, and on what."""

    walk: WalkOnGround
    paper: Paper
    title: str
    way: tuple[str, ...]
    scale: float | None

    @property
    def width_mm(self) -> float:
        return self.paper.room_mm[0]


def map_sheets(
    walk: WalkOnGround, paper: Paper, title: str, scale: float | None = None, way: Sequence[str] = ()
) -> Sheet:
    """Give a map on one page, or at a stated scale on as many as it takes, an index first.

    Every page is a map of its own, with its metres and its labels whole; key and notes stand on the page
    of a map where there is room, and else on the next.

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
        No scale to walk by, too many pages, or a walk too long for one page.
    MissingComplaint
        The terrain does not reach the map.
    """
    check_walk(walk.figure)
    if scale is not None:
        check_scale(scale)
    asked = _Asked(walk, paper, title, tuple(way), scale)
    arrangements = (_on_a_panel,) if paper.is_card else (_on_one_side, _on_two_sides, _on_its_own_page)
    for arranged in arrangements:
        blocks = arranged(asked)
        if blocks is not None:
            return sheet(title, blocks)
    return sheet(title, _on_pages(asked))


def _on_one_side(asked: _Asked) -> list[Block] | None:
    """Give the map with all words below it; None where that leaves it too little room."""
    room = _room_below_heading(asked)
    high = 0.6 * room
    for _ in range(_ROUNDS):
        field = _field(asked, high)
        if field is None:
            return None
        drawn = [_drawn(field, asked, high), _strip(field, asked)]
        blocks = [*drawn, *_way(asked), _key([field], asked), *_notes(asked, field), _paper_caution()]
        taken = heights_mm(blocks, asked.paper)
        if room - 8.0 <= taken <= room:
            return blocks
        high += room - taken - 0.5
        frame = field_frame((asked.width_mm, high))
        if frame.bottom - frame.top < _LEAST_SHAPE * (frame.right - frame.left):
            return None
    return None


def _on_two_sides(asked: _Asked) -> list[Block] | None:
    """Give the map with the way back below it, key and notes on the next page."""
    below = [*_way(asked), _paper_caution()]
    taken = heights_mm(below, asked.paper) + STRIP_MM + 2 * gap_mm(asked.paper)
    high = _room_below_heading(asked) - taken
    field = _field(asked, high)
    if field is None:
        return None
    front = [_drawn(field, asked, high), _strip(field, asked), *below]
    back = [heading("Key to the map"), _key([field], asked), *_notes(asked, field)]
    return [*front, new_page(), *back]


def _on_its_own_page(asked: _Asked) -> list[Block] | None:
    """Give all words first, and then the map alone on its page."""
    told = heading(f"Map of {asked.title}" if len(asked.title) < 60 else "Map")
    high = body_mm(asked.paper) - _SLACK_MM - heights_mm([told, _paper_caution()], asked.paper)
    high -= STRIP_MM + 2 * gap_mm(asked.paper)
    field = _field(asked, high)
    if field is None:
        return None
    words = [*_way(asked), _paper_caution(), _key([field], asked), *_notes(asked, field)]
    return [*words, new_page(), told, _drawn(field, asked, high), _strip(field, asked), _paper_caution()]


def _on_a_panel(asked: _Asked) -> list[Block] | None:
    """Give the map on one panel of a card, all else on the panels after it."""
    room, before = _room_below_heading(asked), 0.0
    if room < 0.6 * body_mm(asked.paper):
        # The title takes a panel of its own.
        room, before = body_mm(asked.paper) - _SLACK_MM, 1.0
    line = text("1:100 000, grid north up; 1 mm is 100 m", size_em=_SMALL_EM)
    high = room - heights_mm([line], asked.paper) - gap_mm(asked.paper)
    field = _field(asked, high)
    if field is None:
        return None
    scale = field.scale
    line = text(f"1:{written_metres(scale)}, grid north up; 1 mm is {scale / 1000:g} m", size_em=_SMALL_EM)
    first = [line, _drawn(field, asked, high)]
    rest = [*_way(asked), _paper_caution(), _strip(field, asked), _key([field], asked), *_notes(asked, field)]
    return [*([new_page()] if before else []), *first, new_page(), *rest]


def _on_pages(asked: _Asked) -> list[Block]:
    """Give an index, every page of a map that is larger than one, and the key."""
    if asked.scale is None:
        raise _too_long(asked)
    cut = _cut(asked, asked.paper, asked.scale)
    if cut.count > MOST_PAGES:
        fits = next((s for s in SCALES if _cut(asked, asked.paper, s).count <= MOST_PAGES), None)
        raise ValueComplaint(
            f"at 1:{asked.scale:g} this map would take {cut.across} by {cut.down} pages",
            "Take larger paper" if fits is None else f"Give --scale {fits:.0f}, or take larger paper",
        )
    walk = asked.walk
    whole = PageFit(_box(cut.whole_mm), *cut.middle, asked.scale / 100.0)
    interval_m = interval_for(walk.terrain, whole)
    pages = list(cut.pages())
    fields = [
        MapField(walk.figure, walk.terrain, page.fit, walk.norths, interval_m=interval_m, may_lack_land=True)
        for page in pages
    ]
    strip = _strip(fields[0], asked)
    # Of a card the scale finds its place beside the words of the way back.
    blocks = [*_index(asked, cut), *([strip] if asked.paper.is_card else [])]
    for page, field in zip(pages, fields, strict=True):
        blocks += [new_page(), _page(page, field, cut, asked)]
    told = [
        f"Map page {page.number}: {sentence}"
        for page, field in zip(pages, fields, strict=True)
        for sentence in label_sentences(field.placement)
    ]
    key = [_key(fields, asked), *_texts([*told, *_said(asked, fields[0])]), _paper_caution()]
    return [
        *blocks,
        new_page(),
        heading("Key to the map"),
        *([] if asked.paper.is_card else [strip]),
        *key,
    ]


def _index(asked: _Asked, cut: MapPages) -> list[Block]:
    told = text(
        f"{cut.across} by {cut.down} pages at 1:{cut.scale:g}, shown here with their numbers. Neighbouring "
        f"maps share {cut.overlap_mm:g} mm: cut one along its frame and lay it over the other until the grid "
        "lines meet.",
        size_em=_SMALL_EM,
    )
    below = [*_way(asked), _paper_caution()]
    room = _room_below_heading(asked) - heights_mm([told], asked.paper) - gap_mm(asked.paper)
    high = room - heights_mm(below, asked.paper)
    if high < max(_LEAST_HIGH_MM, 0.3 * room):
        # The words go on the page after, or on the panel after.
        high = room
    frame = field_frame((asked.width_mm, high))
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
    alt = f"Index of the map: {cut.across} by {cut.down} pages, numbered from west to east and north to south"
    drawn = picture(field.drawing((asked.width_mm, high), asked.title), alt=alt)
    return [told, drawn, *below]


def _page(page: MapPage, field: MapField, cut: MapPages, asked: _Asked) -> Block:
    size_mm = _page_size_mm(asked, asked.paper)
    alt = f"Part {page.number} of the map, in row {page.row} and column {page.column}, at 1:{cut.scale:g}"
    drawn = picture(field.drawing(size_mm, asked.title), alt=alt)
    beside = cut.beside(page)
    told = f"Beside it: {beside}." if beside else "The only page."
    return keep(
        [heading(_page_title(page.number, cut.scale)), text(told, size_em=_SMALL_EM), drawn, _paper_caution()]
    )


def _page_title(number: int, scale: float) -> str:
    return f"Map page {number}, 1:{scale:g}"


def _page_size_mm(asked: _Asked, paper: Paper) -> tuple[float, float]:
    """Give the size of the field on one page of several."""
    words = [
        heading(_page_title(MOST_PAGES, MOST_SCALE)),
        text("Beside it: west 40, east 40, north 40, south 40.", size_em=_SMALL_EM),
        _paper_caution(),
    ]
    high = body_mm(paper) - _SLACK_MM - heights_mm(words, paper) - gap_mm(paper)
    return paper.room_mm[0], high


def _cut(asked: _Asked, paper: Paper, scale: float) -> MapPages:
    frame = field_frame(_page_size_mm(asked, paper))
    return cut_pages(walk_bounds(asked.walk.figure), frame, scale, is_card=paper.is_card)


def _too_long(asked: _Asked) -> ValueComplaint:
    """Say at which scale, or on which paper, a walk too long for one page can be had."""
    ways, bounds = [], walk_bounds(asked.walk.figure)
    for name in dict.fromkeys((asked.paper.name, "a5", "a4")):
        paper, named = PAPERS[name], "" if name == asked.paper.name else f"--paper {name}"
        cut = _cut(asked, paper, MOST_SCALE)
        if named and least_scale(bounds, middle_of(bounds), cut.frame) <= _SURE_SHARE * MOST_SCALE:
            ways.append(f"{named}, where it fits one page")
            break
        if cut.count <= MOST_PAGES and not ways:
            pages = f"--scale {MOST_SCALE:.0f}, which takes {cut.across} by {cut.down} pages"
            ways.append(f"{named} {pages}".strip())
    return ValueComplaint(
        f"the walk does not fit a map on one page of {asked.paper.name} even at 1:{MOST_SCALE:.0f}",
        f"Give {', or '.join(ways)}"
        if ways
        else f"Draw a part of the log: {MOST_PAGES} pages of A4 do not hold all of it",
    )


def _room_below_heading(asked: _Asked) -> float:
    return body_mm(asked.paper) - _SLACK_MM - heights_mm([heading(asked.title, 1)], asked.paper)


def _field(asked: _Asked, high_mm: float) -> MapField | None:
    """Give the map in a field of a height; None where the walk does not fit it."""
    walk, frame = asked.walk, field_frame((asked.width_mm, high_mm))
    if frame.bottom - frame.top < _LEAST_HIGH_MM:
        return None
    bounds = walk_bounds(walk.figure)
    if least_scale(bounds, middle_of(bounds), frame) > (asked.scale or MOST_SCALE):
        return None
    return MapField(walk.figure, walk.terrain, fit_map(frame, bounds, asked.scale), walk.norths)


def _drawn(field: MapField, asked: _Asked, high_mm: float) -> Block:
    return picture(field.drawing((asked.width_mm, high_mm), asked.title))


def _strip(field: MapField, asked: _Asked) -> Block:
    strokes = field.strip(BAND_MM, asked.width_mm - BAND_MM, 1.5, with_words=field.is_wide)
    told = " ".join(field.grid_sentences())
    scale = f"Scale bar of a map 1:{written_metres(field.scale)}, and its norths"
    return picture(svg.drawing(asked.width_mm, field.strip_mm(), strokes, title=scale, description=told))


def _key(fields: Sequence[MapField], asked: _Asked) -> Block:
    hands: dict[str, Hand] = {}
    for hand in (*walk_hands(asked.walk.figure), *(hand for field in fields for hand in field.hands())):
        hands.setdefault(hand[1], hand)
    size_mm = _NARROW_KEY_MM if is_narrow(fields[0].fit.frame) else _KEY_MM
    columns = key_columns(list(hands.values()), asked.width_mm, size_mm)
    drawn, high_mm = draw_hands(list(hands.values()), 0.8, 3.2, asked.width_mm - 0.8, size_mm, columns)
    told = "; ".join(hands)
    return picture(svg.drawing(asked.width_mm, high_mm, drawn, title="Key", description=told))


def _way(asked: _Asked) -> list[Block]:
    """Give the way back: framed on a flat sheet, sentence by sentence where it may go over a fold."""
    if asked.paper.is_card:
        return [text(sentence, bold=True, size_em=0.92) for sentence in asked.way]
    return [caution("\n".join(asked.way))] if asked.way else []


def _paper_caution() -> Block:
    return text(PAPER_CAUTION, size_em=_SMALL_EM)


def _notes(asked: _Asked, field: MapField) -> list[Block]:
    return _texts([*label_sentences(field.placement), *_said(asked, field)])


def _said(asked: _Asked, field: MapField) -> tuple[str, ...]:
    return (*asked.walk.notes, *land_notes(field, asked.walk.terrain))


def _texts(sentences: Iterable[str]) -> list[Block]:
    return texts(sentences, size_em=_SMALL_EM)


def _box(size_mm: tuple[float, float]) -> Box:
    return Box(0.0, 0.0, *size_mm)
