"""The marks of an exercise, by the rule that its instructor chose; reckoned anew when something changed."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pacewright.course.class_report import ClassReport, class_report
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.course.grading import Grade
from pacewright.course.learner_model import LearnerFit, fit_walks
from pacewright.course.marking import MarkingRule, ready_rule, usual_rule
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.grading import HandedEntry, handed_of
from pacewright.desk.classes.handing_in import changed_since, handed_log
from pacewright.desk.models import Entry, Exercise, Group
from pacewright.exceptions import Complaint
from pacewright.files.marking_toml import read_rule, write_rule

MOST_KEPT: Final = 40
LONGEST_RULE: Final = 4_000


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """What an exercise, or several of a group, came to.

    Attributes
    ----------
    handed
        What was handed in, exercise by exercise.
    report
        The class at a glance; None while nothing was handed in, or where it cannot be marked.
    complaint
        Why it cannot be marked.
    """

    handed: tuple[HandedEntry, ...]
    report: ClassReport | None = None
    complaint: str = ""

    def grade_of(self, entry: Entry) -> Grade | None:
        """The grade of one entry."""
        if self.report is None:
            return None
        found = [one.entry.pk for one in self.handed]
        return self.report.fit.grades[found.index(entry.pk)] if entry.pk in found else None

    def learner_of(self, grade: Grade) -> LearnerFit | None:
        """What all walks of a grade's learner tell."""
        return None if self.report is None else self.report.fit.learner(grade.handed.learner)


def rule_of(exercise: Exercise) -> MarkingRule:
    """The rule that an exercise is marked by; the first ready one until another is chosen.

    Raises
    ------
    Complaint
        What is kept is no rule.
    """
    toml = exercise.rule.get("toml")
    return read_rule(str(toml).encode("utf-8")) if toml else usual_rule(exercise.course.kind)


def rule_text(exercise: Exercise) -> str:
    """The rule of an exercise as it can be edited."""
    toml = exercise.rule.get("toml")
    return str(toml) if toml else write_rule(usual_rule(exercise.course.kind)).decode("utf-8")


def choose_rule(exercise: Exercise, form: Mapping[str, Any]) -> None:
    """Mark an exercise by a ready rule, or by one that was written.

    Raises
    ------
    Complaint
        It is no rule.
    """
    if form.get("do") == "ready":
        toml = write_rule(ready_rule(str(form.get("ready", "")))).decode("utf-8")
    else:
        toml = str(form.get("rule", "")).replace("\r\n", "\n")[:LONGEST_RULE]
        read_rule(toml.encode("utf-8"))
    exercise.rule = {"toml": toml}
    exercise.save(update_fields=["rule"])


def marks_of(exercise: Exercise) -> Marks:
    """The marks of an exercise as things stand."""
    return _KEPT.marks(exercise.pk, [exercise])


def group_marks(group: Group) -> Marks:
    """What all exercises of a group tell of its learners, each walk held against its own course."""
    return _KEPT.marks(group.pk, _marked_of(group))


def _marked_of(group: Group) -> list[Exercise]:
    """The exercises of a group that are marked: on a pace course nobody is."""
    return list(group.exercises.exclude(course__kind="pace").select_related("course").order_by("made_at"))


class _KeptMarks:
    """Marks lately reckoned; many learners who look at once wait for one reckoning."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: dict[uuid.UUID, tuple[Any, Marks]] = {}

    def marks(self, identity: uuid.UUID, exercises: Sequence[Exercise]) -> Marks:
        """The marks of exercises taken together."""
        with self._lock:
            stamp = [_stamp(one) for one in exercises]
            kept = self._kept.get(identity)
            if kept is not None and kept[0] == stamp:
                return kept[1]
            found = _reckoned(exercises)
            if len(self._kept) >= MOST_KEPT:
                self._kept.clear()
            self._kept[identity] = (stamp, found)
            return found


_KEPT: Final = _KeptMarks()


def _stamp(exercise: Exercise) -> Any:
    """All that marks depend on."""
    entries = exercise.entries.select_related("log__walker", "member").order_by("pk")
    return (
        exercise.pk,
        exercise.rule,
        exercise.course_id,
        [
            (
                *(entry.pk, entry.member.name, entry.handed_at, entry.ends_at, entry.along_m, entry.off_m),
                *(entry.words, entry.minutes, entry.card, _handed(entry), changed_since(entry)),
            )
            for entry in entries
        ],
    )


def _handed(entry: Entry) -> Any:
    log = handed_log(entry)
    return log and (log.revision, log.heading, log.rows, log.walker and log.walker.toml)


def _reckoned(exercises: Sequence[Exercise]) -> Marks:
    walks: list[tuple[Handed, Course]] = []
    handed: list[HandedEntry] = []
    try:
        for exercise in exercises:
            course = course_of(exercise.course)
            found = handed_of(exercise)
            handed += found
            walks += [(one.handed, course) for one in found]
        if not walks:
            return Marks(())
        rule = rule_of(exercises[-1])
        return Marks(tuple(handed), class_report(fit_walks(walks, rule)))
    except Complaint as complaint:
        return Marks(tuple(handed), None, complaint.sentence)
