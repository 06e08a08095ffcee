"""A graded walk, a learner and a class as the keys of --json."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

from pacewright.course.class_report import ClassReport, ReportRow
from pacewright.course.grading import Grade
from pacewright.course.learner_model import LearnerFit


def grade_keys(one: Grade, says: Callable[[Grade], list[str]]) -> dict[str, Any]:
    """A graded walk as keys; `says` writes its sentences."""
    handed = one.handed
    return {
        "learner": handed.learner,
        "card": handed.card,
        "finished_at": handed.finished_at,
        "minutes": handed.minutes,
        "miss": None
        if one.miss is None
        else {**dataclasses.asdict(one.miss), "length_m": one.miss.length_m, "length": one.miss.length},
        "points": [{"post": name, "found": found} for name, found in one.points],
        "slip_chance": one.slip_chance,
        "suspects": [
            {
                "leg": slip.leg,
                "kind": slip.kind,
                "chance": slip.chance,
                "where": slip.where,
                "asked": _entry(slip.asked),
                "instead": _entry(slip.instead),
                "walked_chance": slip.walked_chance,
            }
            for slip in one.suspects
        ],
        "rule": one.rule.name,
        "measured": one.measured,
        "mark": one.mark,
        "full_marks": one.rule.full_marks,
        "luck": None if one.luck is None else dataclasses.asdict(one.luck),
        "key": [dataclasses.asdict(row) for row in one.key.rows],
        "assumed_pace": one.key.assumed_pace,
        "says": says(one),
    }


def _entry(entry: tuple[float, float] | None) -> dict[str, float] | None:
    return None if entry is None else {"azimuth_deg": entry[0], "count": entry[1]}


def learner_keys(learner: LearnerFit, says: Callable[[LearnerFit], str]) -> dict[str, Any]:
    """What several walks tell of a learner as keys; `says` writes the paragraph."""
    return {**dataclasses.asdict(learner), "says": says(learner)}


def report_keys(
    report: ClassReport,
    says_grade: Callable[[Grade], list[str]],
    says_learner: Callable[[LearnerFit], str],
) -> dict[str, Any]:
    """A whole class as keys: the class, its learners in order of skill, and every walk."""
    fit = report.fit
    by_name = {one.learner: one for one in fit.learners}
    return {
        "class_bias_deg": dataclasses.asdict(fit.class_bias_deg),
        "class_scale_pct": dataclasses.asdict(fit.class_scale_pct),
        "bias_width_deg": fit.bias_width_deg,
        "scale_width_pct": fit.scale_width_pct,
        "slip_share": fit.slip_share,
        "common_slips": [
            {"kind": kind, "seen": seen, "learners": learners} for kind, seen, learners in report.common_slips
        ],
        "learners": [
            {**_row_keys(row), **learner_keys(by_name[row.learner], says_learner)} for row in report.rows
        ],
        "walks": [grade_keys(one, says_grade) for one in fit.grades],
    }


def _row_keys(row: ReportRow) -> dict[str, Any]:
    return {
        "place": row.rank.place,
        "place_low": row.rank.low,
        "place_high": row.rank.high,
        "multiple": row.multiple,
        "mark": row.mark,
        "mark_low": row.mark_low,
        "mark_high": row.mark_high,
        "slips_seen": row.slips,
        "practise": row.practise,
    }
