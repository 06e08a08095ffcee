"""Who is out, since when, when each is expected back, and who is overdue."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Final, Literal

from django.db import transaction
from django.utils import timezone

from pacewright.course.course import Course
from pacewright.desk.classes.courses import course_of
from pacewright.desk.models import Entry, Exercise

State = Literal["not out", "starts", "out", "overdue", "back"]
LATE_CLOCK: Final = timedelta(hours=12)
"""A clock that lies farther back than this is meant for the next day."""


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where a learner is, as far as the desk was told.

    Attributes
    ----------
    state
        `not out`, `starts` (the start lies ahead), `out`, `overdue` or `back`.
    out_at, due_at, back_at
        Since when, expected by when, and when seen back; None where that is not known.
    overdue_min
        Whole minutes since the learner was to be back; 0 where that lies ahead.
    """

    state: State
    out_at: datetime | None
    due_at: datetime | None
    back_at: datetime | None
    overdue_min: int = 0


def whereabouts(entry: Entry, course: Course, now: datetime) -> Whereabouts:
    """Where a learner is at a moment; who handed in is still out until seen back."""
    out_at, back_at = entry.out_at, entry.back_at
    if out_at is None:
        return Whereabouts("not out" if back_at is None else "back", None, None, back_at)
    due_at = _due_at(entry, course, out_at)
    if back_at is not None:
        return Whereabouts("back", out_at, due_at, back_at)
    if now < out_at:
        return Whereabouts("starts", out_at, due_at, None)
    late_min = math.floor((now - due_at).total_seconds() / 60.0)
    if late_min >= 1:
        return Whereabouts("overdue", out_at, due_at, None, late_min)
    return Whereabouts("out", out_at, due_at, None)


def _due_at(entry: Entry, course: Course, out_at: datetime) -> datetime:
    card = next((one for one in course.cards if one.number == entry.card), None)
    minutes = course.timing.search_min if card is None else course.expected_min(card)
    due_at = out_at + timedelta(minutes=minutes)
    return min(due_at, _clock_after(out_at, course.safety.back_by)) if course.safety.back_by else due_at


def _clock_after(moment: datetime, clock: str) -> datetime:
    """The moment at which a clock shows a time on the day of a start; past midnight, the day after."""
    hours, minutes = clock.split(":")
    day = timezone.localtime(moment)
    shown = datetime.combine(day.date(), time(int(hours), int(minutes)), tzinfo=day.tzinfo)
    return shown + timedelta(days=1) if day - shown > LATE_CLOCK else shown


def count_states(rows: Sequence[Whereabouts]) -> dict[str, int]:
    """Count the learners out, overdue (they are out as well), back and not yet out."""
    states = [row.state for row in rows]
    return {
        "out": states.count("out") + states.count("overdue"),
        "overdue": states.count("overdue"),
        "back": states.count("back"),
        "waiting": states.count("not out") + states.count("starts"),
    }


def set_out(entry: Entry) -> None:
    """Note that a learner sets out now; who was seen back is out again."""
    Entry.objects.filter(pk=entry.pk).update(out_at=timezone.now(), back_at=None)


def come_back(entry: Entry) -> None:
    """Note that a learner was seen back."""
    Entry.objects.filter(pk=entry.pk, back_at__isnull=True).update(back_at=timezone.now())


def take_back(entry: Entry) -> None:
    """Take the last of the two back: seen back, or set out."""
    with transaction.atomic():
        now = Entry.objects.select_for_update().get(pk=entry.pk)
        if now.back_at is not None:
            now.back_at = None
        else:
            now.out_at = None
        now.save(update_fields=["out_at", "back_at"])


def start_clock(exercise: Exercise) -> int:
    """Let all who have not set out start by the minutes of their cards, the first now; give how many."""
    starts = {card.number: card.start_minute for card in course_of(exercise.course).cards}
    waiting = exercise.entries.filter(out_at__isnull=True, back_at__isnull=True)
    now = timezone.now()
    started = 0
    for entry in waiting:
        at = now + timedelta(minutes=starts.get(entry.card, 0.0))
        started += Entry.objects.filter(pk=entry.pk, out_at__isnull=True).update(out_at=at)
    return started
