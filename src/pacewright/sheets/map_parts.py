"""What every sheet of a map is made of: its strip, its key, the words of the way back, its notes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.drawing import svg
from pacewright.drawing.map_field import MapField
from pacewright.drawing.map_grid import BAND_MM, written_metres
from pacewright.drawing.map_scale import MOST_SCALE, is_narrow
from pacewright.drawing.terrain_map import land_notes
from pacewright.drawing.walk_margin import Hand, draw_hands, key_columns, label_sentences, walk_hands
from pacewright.drawing.walk_on_ground import WalkOnGround
from pacewright.sheets.blocks import Block, caution, heading, picture, text, texts
from pacewright.sheets.paper import Paper
from pacewright.sheets.room_taken import body_mm, heights_mm
from pacewright.wording.sheets import PAPER_CAUTION

SMALL_EM: Final = 0.85
SLACK_MM: Final = 1.5
"""Kept free, since the height of words is known from their letters alone before they are set."""
MOST_CARD_SCALE: Final = 25_000.0
"""The smallest scale of maps walked by (common practice); a smaller one cannot be read on a card."""
_KEY_MM: Final = 2.6
_NARROW_KEY_MM: Final = 2.2


@dataclass(frozen=True, slots=True)
class Asked:
    """What is printed, and on what."""

    walk: WalkOnGround
    paper: Paper
    title: str
    way: tuple[str, ...]
    scale: float | None

    @property
    def width_mm(self) -> float:
        """Width of what is printed."""
        return self.paper.room_mm[0]


def most_scale(paper: Paper) -> float:
    """The smallest scale that a map on some paper is read at, as its number."""
    return MOST_CARD_SCALE if paper.is_card else MOST_SCALE


def room_below_heading(asked: Asked) -> float:
    """The height in mm that the title leaves on the first page."""
    return body_mm(asked.paper) - SLACK_MM - heights_mm([heading(asked.title, 1)], asked.paper)


def strip_of(field: MapField, asked: Asked) -> Block:
    """The strip with scale bar and norths."""
    strokes = field.strip(BAND_MM, asked.width_mm - BAND_MM, 1.5, with_words=field.is_wide)
    told = " ".join(field.grid_sentences())
    scale = f"Scale bar of a map 1:{written_metres(field.scale)}, and its norths"
    return picture(svg.drawing(asked.width_mm, field.strip_mm(), strokes, title=scale, description=told))


def low_strip_of(field: MapField, asked: Asked) -> Block:
    """The strip of a panel of a card: scale bar and grid north."""
    alt = f"Scale bar of a map 1:{written_metres(field.scale)}; grid north is up"
    low = svg.drawing(asked.width_mm, MapField.LOW_STRIP_MM, field.low_strip(asked.width_mm), title=alt)
    return picture(low)


def key_of(fields: Sequence[MapField], asked: Asked) -> Block:
    """The key to every kind of mark and line that maps of one walk use."""
    hands: dict[str, Hand] = {}
    for hand in (*walk_hands(asked.walk.figure), *(hand for field in fields for hand in field.hands())):
        hands.setdefault(hand[1], hand)
    size_mm = _NARROW_KEY_MM if is_narrow(fields[0].fit.frame) else _KEY_MM
    columns = key_columns(list(hands.values()), asked.width_mm, size_mm)
    drawn, high_mm = draw_hands(list(hands.values()), 0.8, 3.2, asked.width_mm - 0.8, size_mm, columns)
    told = "; ".join(hands)
    return picture(svg.drawing(asked.width_mm, high_mm, drawn, title="Key", description=told))


def way_of(asked: Asked) -> list[Block]:
    """The way back: framed on a flat sheet, sentence by sentence where it may go over a fold."""
    if asked.paper.is_card:
        return [text(sentence, bold=True, size_em=0.92) for sentence in asked.way]
    return [caution("\n".join(asked.way))] if asked.way else []


def paper_caution() -> Block:
    """The caution of everything that is walked by."""
    return text(PAPER_CAUTION, size_em=SMALL_EM)


def notes_of(asked: Asked, field: MapField) -> list[Block]:
    """The labels that found no room, and what is said of walk and land."""
    return small_texts([*label_sentences(field.placement), *said_of(asked, field)])


def said_of(asked: Asked, field: MapField) -> tuple[str, ...]:
    """What is said of walk and land."""
    return (*asked.walk.notes, *land_notes(field, asked.walk.terrain))


def small_texts(sentences: Iterable[str]) -> list[Block]:
    """Sentences in small type."""
    return texts(sentences, size_em=SMALL_EM)
