"""Paper for a class: cards for learners, the instructor's key, post labels, marking sheet, safety page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

from pacewright.core.pace.walker import Walker
from pacewright.course.answer_key import AnswerKey, answer_key
from pacewright.course.course import Card, Course
from pacewright.course.ending import wrong_stake_most
from pacewright.course.free_ground import free_ground
from pacewright.course.what_it_shows import what_it_shows
from pacewright.drawing.course_plan import draw_course_plan
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import (
    Block,
    Column,
    caution,
    fields,
    heading,
    keep,
    lines,
    new_page,
    picture,
    table,
    text,
    texts,
)
from pacewright.sheets.lesson_plan import lesson_plan
from pacewright.sheets.log_page import card_log
from pacewright.sheets.marking_sheet import marking_sheet
from pacewright.sheets.pace_course import LARGEST_PT, TOLD_PT, pace_cards, ways_along
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.course_cards import (
    BEFORE_USE,
    CARD_CAUTION,
    COUNT_RULE,
    IF_LOST,
    ORDINARY,
    say_barred,
    say_dialled,
    say_drill,
    say_fact,
    say_ground,
    say_metres,
    say_obstacle,
    say_start,
    say_task,
)
from pacewright.wording.lesson import say_free_ground
from pacewright.wording.numbers import say_azimuth, say_whole
from pacewright.wording.safety_words import say_expected, say_timing, strip_fields
from pacewright.wording.what_it_shows import say_shows, shows_table

CourseSheetKind = Literal["cards", "key", "labels", "marking", "safety", "plan"]
_PLAN_MM: Final = 170.0
_PLAN_SHARE: Final = 0.45
_LETTERS_FOR_LARGE: Final = 9
MY_COUNT_MM: Final = 30.0
_FEW_LEGS: Final = 12
"""A card of no more legs than this stands on one page with others."""


def learner_cards(course: Course, paper: Paper, *, with_log: bool = True) -> Sheet:
    """A card for every learner, on a pace course one for each way along the line: no answers on it.

    With its log every card begins a page; where no paces are counted, and on a pace course, there is none.
    """
    if course.kind == "pace":
        return pace_cards(course, paper, _strip(course))
    blocks: list[Block] = []
    for card in course.cards:
        blocks += _learner_card(course, card, paper, with_log)
    return Sheet(f"{course.title}: cards", tuple(blocks))


def _learner_card(course: Course, card: Card, paper: Paper, with_log: bool) -> list[Block]:
    tail = [
        *([] if card.drill == "azimuth" else [text(COUNT_RULE, size_em=0.9)]),
        fields([[("Nearest stake, or last post", "", 1.3), ("Minutes", "", 0.7)]], 8.0),
        *_strip(course),
        caution(CARD_CAUTION),
    ]
    head = [
        heading(f"{course.title}: card {card.number}", 1),
        fields([[("Name", "", 1.6), ("Pace count", "", 1.0)]], 8.0),
        text(f"{say_start(card)} {say_expected(course, card)}", bold=True),
        *texts(say_barred(course), bold=True),
        *texts(say_task(course, card), size_em=0.9),
        *texts(say_drill(card), bold=True),
    ]
    legs = _card_table(course, card, paper)
    apart = [] if card == course.cards[0] else [new_page()]
    counted = with_log and card.drill != "azimuth"
    log = card_log(course.title, card.number, len(card.legs), paper) if counted else []
    if len(card.legs) > _FEW_LEGS:
        return [*apart, *head, legs, keep(tail), *log]
    if with_log:
        return [*apart, keep([*head, legs, *tail]), *log]
    return [keep([*head, legs, *tail, lines(1, 3.0)])]


def _strip(course: Course) -> list[Block]:
    """What is carried along in case of trouble; the hand fills in what was not set."""
    azimuth, until, back_by, recall, call = ((label, value, 1.0) for label, value in strip_fields(course))
    return [fields([[azimuth, (*until[:2], 1.4)], [back_by, (*recall[:2], 1.2), (*call[:2], 1.2)]], 8.0)]


def _card_table(course: Course, card: Card, paper: Paper) -> Block:
    large_em, told_em = LARGEST_PT / paper.text_pt, TOLD_PT / paper.text_pt
    last = "Word on the post" if course.kind == "posts" else "What bars the way; ground"
    columns = [
        Column("leg", mm=7, align="right", size_em=0.85),
        Column(f"azimuth\n{course.azimuth_reference} deg", mm=18, align="right", bold=True, size_em=large_em),
        Column("metres", mm=20, align="right", bold=True, size_em=large_em),
        Column("my count", mm=MY_COUNT_MM),
        Column(last, size_em=told_em),
    ]
    rows = []
    for number, leg in enumerate(card.legs, start=1):
        told = [words for words in (say_obstacle(leg), say_ground(leg)) if words]
        words = "" if course.kind == "posts" and not told else "\n".join(told)
        rows.append([str(number), say_dialled(leg), say_metres(leg), "", words])
    return table(columns, rows, row_mm=9.0)


def instructor_key(course: Course, paper: Paper, walker: Walker | None = None) -> Sheet:
    """The instructor's key: where every card ends, and how far off still counts as ordinary."""
    made = walker or Walker()
    if course.kind == "pace":
        return sheet(f"{course.title}: key", [*_key_head(course, paper), *_ways(course)])
    keys = [answer_key(course, card.number, made) for card in course.cards]
    blocks = [
        *_key_head(course, paper),
        heading("Where every card ends"),
        _end_table(course, keys, made),
        text(ORDINARY, size_em=0.9),
        heading("What every leg should read"),
        *_leg_tables(course, keys),
    ]
    return sheet(f"{course.title}: key", blocks)


def _key_head(course: Course, paper: Paper) -> list[Block]:
    return [
        text("For the instructor alone.", bold=True),
        *texts(say_barred(course), bold=True),
        text(BEFORE_USE, size_em=0.9),
        text(f"{say_free_ground(free_ground(course))} {say_timing(course)}", size_em=0.9),
        *_fact_table(course),
        *_shows(course),
        _plan(course, paper),
        heading("Posts"),
        _post_table(course),
    ]


def _ways(course: Course) -> list[Block]:
    """Who walks which way along a pace line."""
    columns = [
        Column("starts", share=0.8, bold=True),
        Column("minute of the first", mm=30),
        Column("cards", share=2.4),
    ]
    rows = []
    for alike in ways_along(course):
        rows.append(
            [alike[0].start, f"{alike[0].start_minute:g}", ", ".join(str(one.number) for one in alike)]
        )
    return [heading("Who starts where"), table(columns, rows)]


def _plan(course: Course, paper: Paper) -> Block:
    """The plan as wide as it can be and still share the first page with what was found."""
    wide_mm = min(paper.room_mm[0], _PLAN_MM)
    drawn = picture(draw_course_plan(course, course.cards, wide_mm))
    high_mm = paper.room_mm[1] * _PLAN_SHARE
    if drawn["height_mm"] <= high_mm:
        return drawn
    return picture(draw_course_plan(course, course.cards, wide_mm * high_mm / drawn["height_mm"]))


def _fact_table(course: Course) -> list[Block]:
    if not course.facts:
        return []
    columns = [Column("found when it was set", share=2.0, size_em=0.9), Column("", share=1.0, bold=True)]
    return [table(columns, [list(say_fact(fact)) for fact in course.facts])]


def _shows(course: Course) -> list[Block]:
    """What the course can teach."""
    shows = what_it_shows(course)
    heads, rows = shows_table(shows)
    columns = [Column(head, 1.6 if head == "cards" else 1.0, size_em=0.9) for head in heads]
    return [
        keep(
            [
                heading("What it shows of a learner"),
                table(columns, rows),
                *texts(say_shows(shows), size_em=0.9),
            ]
        )
    ]


def _post_table(course: Course) -> Block:
    columns = [
        Column("post", share=1.4, bold=True),
        Column("word", share=1.2),
        Column("east m", mm=16, align="right"),
        Column("north m", mm=16, align="right"),
        Column("known\nwithin m", mm=16, align="right"),
        Column("note", share=1.4, size_em=0.9),
    ]
    rows = [
        [
            post.name,
            post.word,
            f"{post.place_m[0]:.1f}",
            f"{post.place_m[1]:.1f}",
            f"{post.sd_m:g}",
            post.note,
        ]
        for post in course.posts
    ]
    return table(columns, rows)


def _end_table(course: Course, keys: list[AnswerKey], walker: Walker) -> Block:
    columns = [
        Column("card", mm=10, align="right", bold=True),
        Column("starts", share=1.0),
        Column("minute", mm=13, align="right"),
        Column("ends", share=1.0, bold=True),
        Column("metres", mm=14, align="right"),
        Column("ordinary\nalong m", mm=17, align="right"),
        Column("ordinary\nacross m", mm=17, align="right"),
        Column("perfect counter\nat a wrong stake", mm=26, align="right", size_em=0.9),
    ]
    rows = []
    for key in keys:
        card, last = key.card, key.rows[-1]
        wrong = f"{100 * wrong_stake_most(card, course, walker):.1f} %" if course.kind == "field" else ""
        rows.append(
            [
                str(card.number),
                card.start,
                f"{card.start_minute:g}",
                card.ends,
                say_whole(card.length_m),
                say_whole(last.along * key.pace_m),
                say_whole(last.across * key.pace_m),
                wrong,
            ]
        )
    return table(columns, rows)


def _leg_tables(course: Course, keys: list[AnswerKey]) -> list[Block]:
    columns = [
        Column("card", mm=10, align="right", bold=True),
        Column("leg", mm=8, align="right"),
        Column("azimuth", mm=18, align="right"),
        Column("metres", mm=15, align="right"),
        Column("ends at", share=1.2),
        Column("east m", mm=16, align="right"),
        Column("north m", mm=16, align="right"),
    ]
    rows = []
    for key in keys:
        for row in key.rows:
            east, north = row.ends_m
            rows.append(
                [
                    str(key.card.number),
                    str(row.leg),
                    say_azimuth(row.azimuth_deg),
                    say_whole(row.length_m),
                    row.at or "",
                    f"{east:.1f}",
                    f"{north:.1f}",
                ]
            )
    return [table(columns, rows)]


def post_labels(course: Course, paper: Paper) -> Sheet:
    """A label for every post in use: its name, and the word that proves a visit.

    On a field and a line every stake is in use: learners who end beside it name it.
    """
    blocks: list[Block] = []
    used = {card.start for card in course.cards} | {leg.ends for card in course.cards for leg in card.legs}
    for post in course.posts:
        if course.kind == "posts" and post.name not in used:
            continue
        size = 5.0 if len(post.name) <= _LETTERS_FOR_LARGE else 2.6
        label = [
            text(post.name, bold=True, size_em=size),
            *([text(f"word: {post.word}", size_em=2.4)] if post.word else []),
            text(f"{course.title}. Practice in progress: please leave this standing.", size_em=0.9),
            lines(1, 4.0),
        ]
        blocks.append(keep(label))
    return sheet(f"{course.title}: post labels", blocks)


def safety_page(course: Course, paper: Paper) -> Sheet:
    """The safety page: what the instructor fills in and every learner is shown before the start."""
    told = dict(strip_fields(course))
    azimuth, recall = told["Lost? Walk azimuth"], told["Recall signal"]
    rows = [
        [("Boundary north", "", 1.0), ("Boundary east", "", 1.0)],
        [("Boundary south", "", 1.0), ("Boundary west", "", 1.0)],
        [("Lost? Walk azimuth", azimuth, 1.0), ("until you reach", told["to"], 1.6)],
        [("Recall signal", recall, 1.6), ("Everybody back by", told["Back by"], 1.0)],
        [("Danger areas, not to be entered", "", 1.0)],
        [("Emergency number", told["Call"], 1.0), ("Place to tell them", "", 1.6)],
        [("First aid kit at", "", 1.0), ("First aider", "", 1.0)],
        [("Nearest road for help", "", 1.0), ("Vehicle and keys", "", 1.0)],
        [("Who goes to search", "", 1.0), ("Who stays here", "", 1.0)],
    ]
    row_mm = 6.0 if paper.is_narrow else 9.5
    blocks = [
        caution(BEFORE_USE),
        fields([[("Date", "", 1.0), ("Instructor", "", 1.5), ("Learners out", "", 1.0)]], row_mm),
        heading("Shown to everybody before the start"),
        *texts(say_barred(course), bold=True),
        fields(rows[:5], row_mm),
        text(f"{say_timing(course)} {IF_LOST} {say_free_ground(free_ground(course))}", size_em=0.9),
        heading("If something happens"),
        fields(rows[5:], row_mm),
        text("Emergency plan, step by step:"),
        lines(4 if paper.is_narrow else 6, 6.0 if paper.is_narrow else 8.0),
    ]
    return sheet(f"{course.title}: safety page", blocks)


def course_sheet(
    kind: CourseSheetKind, course: Course, paper: Paper, walker: Walker | None = None, with_log: bool = True
) -> Sheet:
    """One kind of sheet of a course; the key is reckoned for the walker given, cards may have their logs.

    Raises
    ------
    ValueComplaint
        The sheet does not fit such paper.
    """
    if paper.is_card:
        raise ValueComplaint(
            "the tables of a course do not fit a pocket card", "Take larger paper, such as A5"
        )
    if kind == "key":
        return instructor_key(course, paper, walker)
    if kind == "cards":
        return learner_cards(course, paper, with_log=with_log)
    return COURSE_SHEETS[kind](course, paper)


COURSE_SHEETS: Final[dict[CourseSheetKind, Callable[[Course, Paper], Sheet]]] = {
    "cards": learner_cards,
    "key": instructor_key,
    "labels": post_labels,
    "marking": marking_sheet,
    "safety": safety_page,
    "plan": lesson_plan,
}
"""Each kind of sheet that a class needs, and what makes it."""
