"""A learner over weeks: what the walks of each day tell, day by day, like courses beside like ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from pacewright.core.pace.pace_table import TrialClass
from pacewright.course.course import Course, CourseKind
from pacewright.course.grade_kinds import GradeKind
from pacewright.course.learner_figures import Figure
from pacewright.course.learner_model import ClassFit, LearnerFit
from pacewright.course.slip_rates import slips_seen

SEEN_ABOVE: Final = 0.5
_SURE_SDS: Final = 1.959964
Change = Literal["better", "worse", "not sure"]


@dataclass(frozen=True, slots=True)
class Day:
    """What one day's walks of one course tell of a learner.

    Attributes
    ----------
    date, course, kind
        When, and on which course.
    fit
        What the day's walks tell, leaning on the class of that day; None on a pace line.
    slips
        Kinds of slip likelier there than not.
    pace
        The count of a pace line; None elsewhere.
    """

    date: str
    course: str
    kind: CourseKind
    fit: LearnerFit | None
    slips: tuple[GradeKind, ...] = ()
    pace: TrialClass | None = None


@dataclass(frozen=True, slots=True)
class Progress:
    """How one figure changed from a learner's first day on a kind of course to the last.

    Attributes
    ----------
    kind, figure
        Of the courses, and which figure: `bias`, `scale` or `miss`.
    first, last
        The days.
    change
        Nearer to nothing, farther from it, or no change that is sure.
    """

    kind: CourseKind
    figure: Literal["bias", "scale", "miss"]
    first: Day
    last: Day
    change: Change


def day_of(date: str, course: Course, fit: ClassFit, learner: str) -> Day | None:
    """What a day's class tells of one learner; None where the learner was not there."""
    own = fit.learner(learner)
    if own is None:
        return None
    seen: dict[GradeKind, float] = {}
    for one in fit.grades:
        if one.handed.learner == learner:
            for kind, chance in slips_seen(one).items():
                seen[kind] = seen.get(kind, 0.0) + chance
    kinds = tuple(kind for kind, chance in seen.items() if chance >= SEEN_ABOVE)
    return Day(date, course.title, course.kind, own, kinds)


def find_progress(days: Sequence[Day]) -> tuple[Progress, ...]:
    """What changed from the first day to the last, each kind of course by itself.

    Parameters
    ----------
    days
        In order.
    """
    found: list[Progress] = []
    for kind in dict.fromkeys(day.kind for day in days):
        like = [day for day in days if day.kind == kind and day.fit is not None]
        if len(like) < 2:
            continue
        first, last = like[0], like[-1]
        if first.fit is None or last.fit is None:
            continue
        if kind == "field":
            found.append(Progress(kind, "bias", first, last, _nearer(first.fit.bias_deg, last.fit.bias_deg)))
        found.append(Progress(kind, "scale", first, last, _nearer(first.fit.scale_pct, last.fit.scale_pct)))
        found.append(Progress(kind, "miss", first, last, _smaller(first.fit, last.fit)))
    return tuple(found)


def _nearer(first: Figure, last: Figure) -> Change:
    """Whether a habit came nearer to nothing, by more than both intervals leave open."""
    if abs(last.value - first.value) <= _SURE_SDS * math.hypot(first.sd, last.sd):
        return "not sure"
    return "better" if abs(last.value) < abs(first.value) else "worse"


def _smaller(first: LearnerFit, last: LearnerFit) -> Change:
    gap = math.log(last.skill.miss_m / first.skill.miss_m)
    if abs(gap) <= _SURE_SDS * math.hypot(first.skill.log_sd, last.skill.log_sd):
        return "not sure"
    return "better" if gap < 0.0 else "worse"
