"""Rules to mark by."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.course.marking import (
    READY_RULES,
    MarkingRule,
    Measured,
    give_marks,
    length_over_error,
    measured_by,
    ready_rule,
)
from pacewright.exceptions import MissingComplaint, ValueComplaint
from support.authorities import close_to_printed, printed, read_authority


def seen(**values: float) -> Measured:
    usual = {"points_share": 1.0, "stakes_nearer": 0.0, "miss_m": 10.0, "multiple": 1.0, "chance": 0.5}
    arrays = {name: np.array([values.get(name, value)]) for name, value in usual.items()}
    return Measured(**arrays, walked_m=values.get("walked_m", 1000.0))


def mark(rule: MarkingRule, minutes: float | None = None, **values: float) -> float:
    return float(give_marks(rule, seen(**values), minutes)[0])


@pytest.mark.parametrize(
    "name", ["traverse_navy.csv", "traverse_purdue_totals.csv", "traverse_model_exam_totals.csv"]
)
def test_the_foresters_score_is_the_ratio_that_published_loops_print(name: str) -> None:
    # Length over linear error, as the foresters' conclave scores a compass traverse.
    values = {row["quantity"]: row["printed"] for row in read_authority(name)}
    score = float(length_over_error(printed(values["perimeter"]), printed(values["misclosure"])))
    ratio = values.get("ratio") or "2771"
    assert close_to_printed(score, ratio)
    contest = replace(ready_rule("length over error"), full_marks=5000.0)
    assert mark(
        contest, walked_m=printed(values["perimeter"]), miss_m=printed(values["misclosure"])
    ) == pytest.approx(score)


def test_no_error_at_all_is_full_marks_and_not_infinite() -> None:
    assert mark(ready_rule("length over error"), miss_m=0.0) == 1000.0


def test_an_ordinary_miss_is_not_marked_down_and_one_beyond_is() -> None:
    fair = READY_RULES[0]
    assert fair.forgives
    assert mark(fair, multiple=1.73, chance=0.0502) == fair.full_marks
    assert mark(fair, multiple=1.9, chance=0.027) == 8.0
    assert mark(fair, multiple=9.0, chance=0.0) == 0.0
    strict = replace(ready_rule("miss in per cent"), forgives=False)
    assert (mark(strict, miss_m=40.0), mark(ready_rule("miss in per cent"), miss_m=40.0)) == (6.0, 10.0)


def test_three_points_of_four_in_three_hours_pass_and_a_minute_more_does_not() -> None:
    # Three of four points in three hours: medtrng.com, the day course of the medical badge.
    rule = ready_rule("three of four in three hours")
    assert mark(rule, 180.0, points_share=0.75) == 1.0
    assert mark(rule, 180.5, points_share=0.75) == 0.0
    assert mark(rule, 100.0, points_share=0.5) == 0.0


@pytest.mark.parametrize(("nearer", "marks"), [(0.0, 10.0), (1.0, 7.0), (2.0, 4.0), (3.0, 0.0)])
def test_the_nearest_stake_loses_marks_stake_by_stake(nearer: float, marks: float) -> None:
    assert mark(ready_rule("nearest stake"), stakes_nearer=nearer) == marks


def test_points_without_steps_are_shared_out_evenly() -> None:
    assert mark(ready_rule("points found"), points_share=0.6) == pytest.approx(60.0)


def test_a_rule_measures_what_it_says() -> None:
    share = ready_rule("miss in per cent")
    assert float(measured_by(share, seen(miss_m=25.0))[0]) == pytest.approx(2.5)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"full_marks": float("nan")}, "no full marks"),
        ({"steps": ((5.0, 8.0), (2.0, 9.0))}, "out of order"),
        ({"steps": ((2.0, 11.0),)}, "out of bounds"),
        ({"steps": ()}, "does not say what a miss is worth"),
        ({"kind": "guess"}, "nothing is called guess"),
        ({"minutes_allowed": 0.0}, "0 minutes allow nothing"),
        ({"off_a_minute": float("inf")}, "cannot be taken off"),
    ],
)
def test_a_rule_that_cannot_mark_is_refused(change: dict[str, object], says: str) -> None:
    with pytest.raises(ValueComplaint, match=says):
        replace(READY_RULES[0], **change)  # type: ignore[arg-type]


def test_an_unknown_rule_names_the_known_ones() -> None:
    with pytest.raises(MissingComplaint, match="points found, three of four"):
        ready_rule("by eye")
