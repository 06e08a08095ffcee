"""What a walk of a pace course tells: every pass a pace trial, and the walker that the passes make."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from pacewright.core.pace.calibrated import Calibrated, calibrate_runs
from pacewright.core.pace.pace_trials import PaceRun, paces_from_steps
from pacewright.core.pace.walker import Walker
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.exceptions import MissingComplaint, ValueComplaint

_UNITS: Final = ("paces", "steps")


@dataclass(frozen=True, slots=True)
class LinePasses:
    """What one learner's walks of a pace course come to.

    Attributes
    ----------
    learner
        The name.
    runs
        The passes, stake to stake, as pace trials, in the order walked.
    calibrated
        The pace table, the class that counts as ordinary, and the walker they make.
    """

    learner: str
    runs: tuple[PaceRun, ...]
    calibrated: Calibrated


def line_runs(handed: Handed, course: Course) -> tuple[PaceRun, ...]:
    """The passes that a learner counted as pace trials: row by row, leg by leg.

    Parameters
    ----------
    handed
        With the log of what was counted; a card that was not walked to its end tells what was walked.
    course
        A pace course.

    Raises
    ------
    MissingComplaint
        There is no log, or nothing in it.
    ValueComplaint
        The log has more rows than the card has legs, counts metres, or a count is none of so many metres.
    """
    card = course.card(handed.card)
    log = handed.log
    if log is None or not log.legs:
        raise MissingComplaint(
            f"{handed.learner} handed in no counts of the pace course", "Write a row for every pass"
        )
    if len(log.legs) > len(card.legs):
        raise ValueComplaint(
            f"{handed.learner} counted {len(log.legs)} passes and card {card.number} has {len(card.legs)}",
            "Strike out the rows that are none of the card",
        )
    unit = log.heading.count_unit
    if unit not in _UNITS:
        raise ValueComplaint(
            f"the log of {handed.learner} counts {unit}, of which no pace count can be made",
            "Write count: paces (or steps) into its heading",
        )
    runs = []
    for row, (told, leg) in enumerate(zip(log.legs, card.legs, strict=False), start=1):
        count = paces_from_steps(told.count) if unit == "steps" else told.count
        try:
            runs.append(PaceRun(leg.ground, leg.slope or "level", None, leg.length_m, count, row, unit))
        except ValueComplaint as complaint:
            raise ValueComplaint(f"{handed.learner}, pass {row}: {complaint.what}", complaint.do) from None
    return tuple(runs)


def fit_passes(handed: Iterable[Handed], course: Course) -> tuple[LinePasses, ...]:
    """Every learner's pace table and walker from all passes they walked, in the order first handed in.

    The learner's name and compass stay. Where no pass is level, the class with most passes counts as
    ordinary.

    Raises
    ------
    Complaint
        As `line_runs`.
    """
    runs: dict[str, list[PaceRun]] = {}
    before: dict[str, Walker] = {}
    for one in handed:
        runs.setdefault(one.learner, []).extend(line_runs(one, course))
        before.setdefault(one.learner, replace(one.walker, name=one.walker.name or one.learner))
    return tuple(
        LinePasses(name, tuple(walked), calibrate_runs(walked, ordinary_label(walked), before[name]))
        for name, walked in runs.items()
    )


def ordinary_label(runs: Iterable[PaceRun]) -> str:
    """The class to count as ordinary: none named where a level one is there to be chosen."""
    labels = [(run.direction, run.class_label) for run in runs]
    if any(direction == "level" for direction, _ in labels):
        return ""
    names = [label for _, label in labels]
    return max(dict.fromkeys(names), key=names.count)
