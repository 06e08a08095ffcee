"""Cards of a course in pocket size: one folded card for every learner, no answers on it."""

from __future__ import annotations

from typing import Final

from pacewright.core.pace.walker import Walker
from pacewright.course.course import Card, Course
from pacewright.sheets.blocks import Block, Column, caution, fields, heading, keep, table, text, texts
from pacewright.sheets.course_sheets import CourseSheetKind, course_sheet
from pacewright.sheets.pace_course import ways_along
from pacewright.sheets.paper import Paper, Sheet
from pacewright.wording.course_cards import (
    CARD_CAUTION,
    COUNT_RULE,
    say_barred,
    say_cards,
    say_dialled,
    say_drill,
    say_ground,
    say_metres,
    say_obstacle,
    say_start,
    say_task,
)
from pacewright.wording.safety_words import say_expected, strip_fields

_FIGURE_EM: Final = 1.6
_SMALL_EM: Final = 0.9
_ROW_MM: Final = 6.0


def course_paper(
    kind: CourseSheetKind, course: Course, paper: Paper, walker: Walker | None = None, with_log: bool = True
) -> list[Sheet]:
    """One kind of sheet of a course: in pocket size a card for every learner, else one sheet.

    Raises
    ------
    ValueComplaint
        The sheet does not fit such paper.
    """
    if paper.is_card and kind == "cards":
        return pocket_cards(course)
    return [course_sheet(kind, course, paper, walker, with_log)]


def pocket_cards(course: Course) -> list[Sheet]:
    """A folded card for every learner, on a pace course one for each way along the line."""
    if course.kind == "pace":
        return [_pace_card(course, alike) for alike in ways_along(course)]
    return [_card(course, card) for card in course.cards]


def _card(course: Course, card: Card) -> Sheet:
    title = f"{course.title}: card {card.number}"
    ends = "Nearest stake, or last post"
    blocks: list[Block] = [
        heading(title, 1),
        *_asked("Name", "Pace count"),
        text(f"{say_start(card)} {say_expected(course, card)}", bold=True),
        *texts(say_barred(course), bold=True),
        *texts(say_task(course, card), size_em=_SMALL_EM),
        *texts(say_drill(card), bold=True),
        _legs(course, card),
        *([] if card.drill == "azimuth" else [text(COUNT_RULE, size_em=_SMALL_EM)]),
        *_asked(ends, "Minutes"),
        *_strip(course),
        caution(CARD_CAUTION),
    ]
    return Sheet(title, tuple(blocks))


def _asked(*labels: str) -> list[Block]:
    return [fields([[(label, "", 1.0)] for label in labels], 6.5)]


def _strip(course: Course) -> list[Block]:
    """What is carried along in case of trouble, a line for each; the hand fills in what was not set."""
    return [keep([fields([[(label, value, 1.0)] for label, value in strip_fields(course)], 6.5)])]


def _legs(course: Course, card: Card) -> Block:
    columns = [
        Column("leg", mm=6.5, align="right", size_em=_SMALL_EM),
        Column(f"azimuth\n{course.azimuth_reference}", mm=15.0, align="right", bold=True, size_em=_FIGURE_EM),
        Column("metres", mm=12.5, align="right", bold=True, size_em=_FIGURE_EM),
        Column("word on the post" if course.kind == "posts" else "my count"),
    ]
    rows: list[list[str]] = []
    for number, leg in enumerate(card.legs, start=1):
        rows.append([str(number), say_dialled(leg), say_metres(leg), ""])
        rows += [[words] for words in (say_obstacle(leg), say_ground(leg)) if words]
    return table(columns, rows, row_mm=_ROW_MM, pad_mm=0.6)


def _pace_card(course: Course, alike: tuple[Card, ...]) -> Sheet:
    card, title = alike[0], f"{course.title}: {say_cards([one.number for one in alike])}"
    columns = [
        Column("pass", mm=7.5, align="right", size_em=_SMALL_EM),
        Column("to stake", mm=13.0),
        Column("metres", mm=12.0, align="right", bold=True, size_em=_FIGURE_EM),
        Column("my\ncount"),
        Column("to\n100 m"),
    ]
    rows: list[list[str]] = []
    for number, leg in enumerate(card.legs, start=1):
        rows.append([str(number), leg.ends or card.ends, say_metres(leg), "", ""])
        rows += [[words] for words in (say_ground(leg),) if words]
    blocks: list[Block] = [
        heading(title, 1),
        *_asked("Name", "Date", "Load kg"),
        text(f"Start at {card.start} when you are sent. {say_expected(course, card)}", bold=True),
        *texts(say_barred(course), bold=True),
        *texts(say_task(course), size_em=_SMALL_EM),
        table(columns, rows, row_mm=_ROW_MM, pad_mm=0.6),
        text("To 100 m: my count times 100, over the metres.", size_em=_SMALL_EM),
        *_asked("Sum to 100 m", "over the passes = my pace count"),
        *_strip(course),
        caution(CARD_CAUTION),
    ]
    return Sheet(title, tuple(blocks))
