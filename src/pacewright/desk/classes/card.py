"""A learner's card on a page: legs, the learner's own counts, and what to write down at the end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Q
from django.utils import timezone

from pacewright.core.pace.walker import Walker
from pacewright.course.answer_key import answer_key
from pacewright.course.course import Card, Course
from pacewright.course.ending import stands_on_line
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.entries import finish_doubts, next_free_card, proved_posts
from pacewright.desk.classes.out import whereabouts
from pacewright.desk.classes.told_apart import with_shown
from pacewright.desk.models import Entry, Exercise, KeptLog, Member
from pacewright.desk.notebook.page_reading import walker_of
from pacewright.exceptions import Complaint
from pacewright.wording.course_cards import (
    CARD_CAUTION,
    COUNT_RULE,
    say_barred,
    say_dialled,
    say_drill,
    say_ground,
    say_metres,
    say_obstacle,
    say_start,
    say_task,
)
from pacewright.wording.safety_words import say_expected, strip_fields


@dataclass(frozen=True, slots=True)
class CardRow:
    """One leg of a card.

    Attributes
    ----------
    number, azimuth, metres
        The leg as it stands on paper.
    counts
        In the learner's own paces, part by part where an obstacle bars the leg; empty without a pace count.
    told
        What bars the leg, and its ground.
    """

    number: int
    azimuth: str
    metres: str
    counts: str
    told: tuple[str, ...]


def card_rows(course: Course, card: Card, walker: Walker) -> list[CardRow]:
    """The legs of a card."""
    counts: dict[int, list[str]] = {}
    # On a line of known length the count is what is looked for.
    if walker.per_100_m is not None and course.kind != "pace":
        for row in answer_key(course, card.number, walker).rows:
            counts.setdefault(row.leg, []).append(str(row.count))
    return [
        CardRow(
            number,
            say_dialled(leg),
            say_metres(leg),
            ", ".join(counts.get(number, ())),
            tuple(words for words in (say_obstacle(leg), say_ground(leg)) if words),
        )
        for number, leg in enumerate(card.legs, start=1)
    ]


def entry_context(member: Member, log: KeptLog) -> dict[str, Any]:
    """What the page of a log shows beside it where it belongs to a card; nothing where it does not."""
    entry = log.entries.select_related("exercise__course", "member").first()
    if entry is None or (entry.member != member and entry.exercise.owner != member):
        return {}
    course = course_of(entry.exercise.course)
    try:
        card = course.card(entry.card)
        walker = walker_of(log)
    except Complaint as complaint:
        return {"entry": entry, "entry_trouble": complaint.sentence}
    is_instructor = entry.exercise.owner == member
    with_shown([entry.member])
    return {
        "entry": entry,
        "card": {
            "rows": card_rows(course, card, walker),
            "start": say_start(card),
            "expected": say_expected(course, card),
            "barred": say_barred(course),
            "strip": strip_fields(course),
            "where": whereabouts(entry, course, timezone.now()),
            "task": [*say_drill(card), *say_task(course, card)],
            "reference": course.azimuth_reference,
            "pace_count": entry.pace_typed or ("" if walker.per_100_m is None else f"{walker.per_100_m:g}"),
            "has_count": walker.per_100_m is not None,
            "is_pace": course.kind == "pace",
            "rule": "" if course.kind == "pace" else COUNT_RULE,
            "caution": CARD_CAUTION,
        },
        "finish": _finish(entry, course, card),
        "is_instructor": is_instructor,
    }


def learner_home(member: Member) -> dict[str, Any]:
    """The exercises that a learner may take part in or took part in; nothing for the owner."""
    if member.is_owner:
        return {}
    entries = list(member.entries.select_related("exercise", "log").order_by("-exercise__made_at"))
    taken = {entry.exercise_id for entry in entries}
    found = Exercise.objects.filter(is_open=True).exclude(pk__in=taken).select_related("course")
    if member.group_id is not None:
        found = found.filter(Q(group__isnull=True) | Q(group_id=member.group_id))
    is_out = any(entry.exercise.is_open and entry.handed_at is None for entry in entries)
    return {
        "entries": entries,
        "open_exercises": [] if is_out else [(one, next_free_card(one)) for one in found],
        "is_learner": bool(entries or found),
    }


def _finish(entry: Entry, course: Course, card: Card) -> dict[str, Any]:
    names = [post.name for post in course.posts]
    words = [(leg, entry.words.get(name, "")) for name, leg in proved_posts(course, card).items()]
    asks, along, off = _asks(course.posts[0].name, course.posts[-1].name)
    if course.kind == "posts" or not stands_on_line(course.posts):
        asks = "The last post you reached" if course.kind == "posts" else asks
        along, off = "Metres east of it", "Metres north of it"
    return {
        "posts": sorted(names) if course.kind == "posts" else names,
        "asks": asks,
        "words": words,
        "along": along,
        "off": off,
        "doubts": finish_doubts(entry),
    }


def _asks(first: str, last: str) -> tuple[str, str, str]:
    return (
        "The stake nearest to where you ended",
        f"Metres along the base line, towards {last}",
        f"Metres off it, to the right as seen from {first}",
    )
