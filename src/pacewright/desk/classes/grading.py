"""What a class handed in, as the grader takes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.plausible import MINUTES, TAPED_M
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.course.taping import taped_offset
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.entries import finish_doubts, typed_number
from pacewright.desk.classes.handing_in import WHAT_COUNTS, changed_since, handed_log
from pacewright.desk.classes.told_apart import told_apart
from pacewright.desk.models import Entry, Exercise, KeptLog
from pacewright.desk.notebook.page_reading import read_page, walker_of
from pacewright.desk.photographs.reading import is_from_paper
from pacewright.exceptions import Complaint


@dataclass(frozen=True, slots=True)
class HandedEntry:
    """One learner's entry, read.

    Attributes
    ----------
    entry
        As it is kept.
    handed
        As the grader takes it.
    doubts
        What of it is not understood, and so counts for nothing.
    """

    entry: Entry
    handed: Handed
    doubts: tuple[str, ...]


def handed_of(exercise: Exercise) -> tuple[HandedEntry, ...]:
    """Every entry that was handed in, read for the grader, by the number of the card.

    The grader knows learners by name: two of one name are told apart as on every page.
    """
    course = course_of(exercise.course)
    entries = list(
        exercise.entries.filter(handed_at__isnull=False)
        .select_related("member", "log__walker")
        .annotate(from_paper=is_from_paper())
        .order_by("card")
    )
    names = told_apart(entry.member for entry in entries)
    return tuple(read_entry(entry, course, names[entry.member_id]) for entry in entries)


def read_entry(entry: Entry, course: Course, name: str = "") -> HandedEntry:
    """One entry, read for the grader."""
    changed = changed_since(entry)
    doubts = [*finish_doubts(entry), *changed, *((WHAT_COUNTS,) if changed else ())]
    log = handed_log(entry)
    walker = _walker(log, doubts)
    handed = Handed(
        learner=name or entry.member.name,
        card=entry.card,
        log=_log(log, doubts),
        finished_at=entry.ends_at or None,
        finish_m=_finish_m(entry, course),
        words=dict(entry.words),
        walker=walker,
        minutes=_minutes(entry),
    )
    return HandedEntry(entry, handed, tuple(doubts))


def _log(log: KeptLog | None, doubts: list[str]) -> TravelLog | None:
    if log is None:
        return None
    page = read_page(log)
    if page.heading_complaint is not None:
        doubts.append(f"The heading of the log is not understood: {page.heading_complaint.sentence}")
    elif not page.is_whole:
        doubts.append(f"The log is understood up to row {page.understood}; the rows below count for nothing.")
    return page.log if page.log is not None and page.log.legs else None


def _walker(log: KeptLog | None, doubts: list[str]) -> Walker:
    if log is None:
        return Walker()
    try:
        return walker_of(log)
    except Complaint as complaint:
        doubts.append(f"The walker's figures are not understood: {complaint.sentence}")
        return Walker()


def _finish_m(entry: Entry, course: Course) -> tuple[float, float] | None:
    along, off = typed_number(entry.along_m), typed_number(entry.off_m)
    if along is None or off is None or not (TAPED_M.holds(along) and TAPED_M.holds(off)):
        return None
    return taped_offset(course, along, off)


def _minutes(entry: Any) -> float | None:
    minutes = typed_number(entry.minutes)
    # That it is none was said among the doubts of the finish.
    return minutes if minutes is not None and MINUTES.holds(minutes) else None
