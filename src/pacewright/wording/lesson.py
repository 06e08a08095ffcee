"""A lesson plan for a first day with a course, in words: times, kit, ground, drills in order, cautions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from pacewright.course.course import Course
from pacewright.course.free_ground import FreeGround

Row = tuple[str, str, str]

PLAN_CAUTIONS: Final = (
    "Walk the ground yourself that morning. Check that nobody else uses it, and that the recall signal is heard at its far edge.",
    "Everybody knows the backstop, the recall signal and what to do when lost before the first card is handed out.",
    "Count who is out. Nobody is sent on a card while the sky, the cold or the light is against it.",
    "Local rules and qualified instruction decide whether, where and with whom this is walked.",
)
PRACTICE: Final = "Stakes and closed walks of this kind are common practice of scout and military instruction (from memory)."
_DRILLS: Final = {
    "box": "Boxing an obstacle: at walking pace, once to each side, before the cards that ask for it.",
    "detour": "A detour by two sides of a triangle: once to each side, before the cards that ask for it.",
    "azimuth": "Azimuth alone in pairs: one holds the measured line, one the azimuth; then change.",
    "bias": "How to tape where one stands, along the line of stakes and off it: needed for the cards of the compass.",
}
_SAFETY_MIN: Final = 10
_COMPASS_MIN: Final = 20
_PACE_MIN: Final = 30
_DRILL_MIN: Final = 10
_DEBRIEF_MIN: Final = 20
_TAPE_M: Final = 30


def plan_rows(course: Course) -> list[Row]:
    """The day in order: from which minute, for how long, what and how."""
    found: list[tuple[int, str]] = [
        (
            _SAFETY_MIN,
            "Safety page, aloud: boundaries, backstop, recall signal, back by, what to do when lost.",
        ),
        (
            _COMPASS_MIN,
            "Compass: hold it level, dial, turn, choose a mark, walk to it. Back azimuths on paper (a drill).",
        ),
    ]
    if course.kind != "pace":
        found.append(
            (_PACE_MIN, "Pace count on a measured line of 100 m: five passes, the mean is the pace count.")
        )
    drills = [_DRILLS[name] for name in dict.fromkeys(card.drill for card in course.cards) if name in _DRILLS]
    found += [(_DRILL_MIN, words) for words in drills]
    found.append((_walk_min(course), _walk_words(course)))
    found.append((_DEBRIEF_MIN, "All in, all ticked off. Then the debriefs, one thing to practise for each."))
    rows, at = [], 0
    for minutes, words in found:
        rows.append((f"{at}", f"{minutes}", words))
        at += minutes
    return rows


def _walk_min(course: Course) -> int:
    return math.ceil(max(card.start_minute + course.expected_min(card) for card in course.cards))


def _walk_words(course: Course) -> str:
    last = max(card.start_minute for card in course.cards)
    first = {
        "field": "The cards, from stake to stake",
        "posts": "The cards, from post to post",
        "pace": "The line",
    }
    waves = f"; the last sets out at minute {last:g} of it" if last else ""
    return f"{first[course.kind]}: {course.title}{waves}. Whoever is back writes down the end and hands in."


def kit_rows(course: Course) -> list[tuple[str, str]]:
    """What is taken along: how many, and what."""
    cards = len(course.cards)
    posts = "stakes" if course.kind != "posts" else "posts"
    rows = [
        (str(len(course.posts)), f"{posts} with their labels, and a mallet"),
        ("1", f"tape of {_TAPE_M} m or more, for the {posts} and for where learners stand"),
        (str(cards), "compasses, pencils, log pages and tally cords"),
        (str(cards), "cards, and a few spare log pages"),
        ("1", "key, marking sheet and safety page; a clock and the recall signal (whistle or horn)"),
        ("1", "first-aid kit, water, warm layer, charged telephone with the number to call"),
    ]
    if any(card.drill == "azimuth" for card in course.cards):
        longest = max(leg.length_m for card in course.cards if card.drill == "azimuth" for leg in card.legs)
        rows.append(("1 a pair", f"measured line of {longest:g} m, marked every 5 m"))
    if course.kind != "pace":
        rows.append(("2", "stakes 100 m apart for the pace count, taped"))
    return rows


def say_free_ground(ground: FreeGround) -> str:
    """Say how much free ground a course needs and where.

    >>> say_free_ground(FreeGround(True, 12, 9, 90, 8))
    'Free ground needed: 12 m before the first stake, 9 m beyond the last, 90 m to the left of the base line and 8 m to its right, as seen along it from the first stake. Ordinary scatter carries learners so far.'
    """
    scatter = "Ordinary scatter carries learners so far."
    if ground.on_line:
        return (
            f"Free ground needed: {ground.before_m} m before the first stake, {ground.beyond_m} m beyond the last, "
            f"{ground.left_m} m to the left of the base line and {ground.right_m} m to its right, as seen along it from the "
            f"first stake. {scatter}"
        )
    return (
        f"Free ground needed round the outermost posts: {ground.before_m} m west, {ground.beyond_m} m east, {ground.left_m} m "
        f"north, {ground.right_m} m south. {scatter}"
    )


def say_length_of_day(rows: Sequence[Row]) -> str:
    """Say how long the day is by its plan."""
    start, minutes, _ = rows[-1]
    whole = int(start) + int(minutes)
    return f"By the plan {whole // 60} h {whole % 60:02d} min, without breaks: add them as the class needs."
