"""A learner over weeks at the desk: every exercise that was handed in, by its date."""

from __future__ import annotations

from django.utils import timezone

from pacewright.course.pace_line import fit_passes
from pacewright.course.progress import Day, day_of
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.grading import read_entry
from pacewright.desk.classes.marks import marks_of
from pacewright.desk.models import Entry, Member
from pacewright.exceptions import Complaint


def days_of(member: Member) -> list[Day]:
    """What each exercise of a learner tells, the first first; what cannot be marked is left out."""
    entries = member.entries.filter(handed_at__isnull=False).select_related("exercise__course", "member")
    found = [_day(entry) for entry in entries.order_by("exercise__made_at")]
    return [day for day in found if day is not None]


def _day(entry: Entry) -> Day | None:
    date = timezone.localtime(entry.exercise.made_at).date().isoformat()
    try:
        course = course_of(entry.exercise.course)
        if course.kind == "pace":
            (passes,) = fit_passes([read_entry(entry, course).handed], course)
            return Day(date, entry.exercise.title, "pace", None, pace=passes.calibrated.ordinary)
    except Complaint:
        return None
    found = marks_of(entry.exercise)
    grade = found.grade_of(entry)
    if grade is None or found.report is None:
        return None
    return day_of(date, course, found.report.fit, grade.handed.learner)
