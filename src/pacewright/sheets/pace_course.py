"""Paper for a pace course: one card for each way along the line, with room for every count and the mean."""

from __future__ import annotations

from itertools import groupby
from typing import Final

from pacewright.core.pace.pace_trials import class_label
from pacewright.course.course import Card, Course
from pacewright.sheets.blocks import Block, Column, caution, fields, heading, keep, table, text, texts
from pacewright.sheets.paper import Paper, Sheet
from pacewright.wording.course_cards import (
    CARD_CAUTION,
    say_barred,
    say_cards,
    say_ground,
    say_metres,
    say_task,
)
from pacewright.wording.safety_words import say_expected

LARGEST_PT: Final = 18.0
"""Azimuth and metres of a card, read at arm's length in poor light (assumed)."""
TOLD_PT: Final = 10.0
_ROW_MM: Final = 9.0


def ways_along(course: Course) -> list[tuple[Card, ...]]:
    """The cards of a course that are alike but for number and minute, each kind once, in order."""
    kinds: dict[tuple[object, ...], list[Card]] = {}
    for card in course.cards:
        kinds.setdefault((card.start, card.legs, card.ends), []).append(card)
    return [tuple(alike) for alike in kinds.values()]


def pace_cards(course: Course, paper: Paper, strip: list[Block]) -> Sheet:
    """A card for each way along the line, to be copied for all who walk it; no counts on it."""
    blocks = [keep(_card(course, alike, paper, strip)) for alike in ways_along(course)]
    return Sheet(f"{course.title}: cards", tuple(blocks))


def _card(course: Course, alike: tuple[Card, ...], paper: Paper, strip: list[Block]) -> list[Block]:
    card = alike[0]
    return [
        heading(f"{course.title}: {say_cards([one.number for one in alike])}", 1),
        fields([[("Name", "", 1.6), ("Date", "", 1.0), ("Load kg", "", 0.6)]], 8.0),
        text(f"Start at {card.start} when you are sent. {say_expected(course, card)}", bold=True),
        *texts(say_barred(course), bold=True),
        *texts(say_task(course), size_em=0.9),
        _passes(card, paper),
        text("To 100 m: my count times 100, over the metres.", size_em=0.9),
        *_means(card),
        *strip,
        caution(CARD_CAUTION),
    ]


def _passes(card: Card, paper: Paper) -> Block:
    large_em, told_em = LARGEST_PT / paper.text_pt, TOLD_PT / paper.text_pt
    columns = [
        Column("pass", mm=9, align="right", size_em=0.85),
        Column("to stake", share=1.0),
        Column("metres", mm=18, align="right", bold=True, size_em=large_em),
        Column("ground", share=1.2, size_em=told_em),
        Column("my count", mm=30),
        Column("to 100 m", mm=20),
    ]
    rows = [
        [str(number), leg.ends or card.ends, say_metres(leg), say_ground(leg), "", ""]
        for number, leg in enumerate(card.legs, start=1)
    ]
    return table(columns, rows, row_mm=_ROW_MM)


def _means(card: Card) -> list[Block]:
    """Room for the mean of each class of ground and slope that the card crosses."""
    labels = sorted(class_label(leg.ground, leg.slope or "level", None) for leg in card.legs)
    rows = []
    for label, same in groupby(labels):
        passes = len(list(same))
        rows.append([(f"{label}: sum to 100 m", "", 1.2), (f"over {passes} = my pace count", "", 1.0)])
    return [fields(rows, 8.0)]
