"""A learner over weeks: what changed is told where it is sure, and unlike courses are not mixed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.course import progress
from pacewright.course.learner_model import fit_class
from pacewright.course.pace_line import fit_passes
from pacewright.course.pace_setting import PaceAsked, set_pace_course
from pacewright.course.progress import Day, day_of, find_progress
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.progress_sheet import progress_sheet
from pacewright.sheets.typesetting import typeset
from pacewright.wording.progress import day_tables, say_progress
from support.counted_line import handed as counted
from support.habit_class import class_of, course_with, ordinary_class
from support.pdf_pages import opened, words

NAME = "Ada Quill"


def field_day(date: str, bias_deg: float, seed: int, walks: int = 6) -> Day:
    course, rng = course_with("", "bias", "azimuth"), np.random.default_rng(seed)
    truths = ordinary_class(rng, 7) | {NAME: (bias_deg, 1.0)}
    day = day_of(date, course, fit_class(class_of(rng, course, "bias", walks, truths), course), NAME)
    assert day is not None
    return day


def pace_day(date: str) -> Day:
    course = set_pace_course(PaceAsked(2, trials=5))
    (found,) = fit_passes([counted(course, [62.0, 64.0, 63.0, 61.0, 65.0])], course)
    return Day(date, "Line", "pace", None, pace=found.calibrated.ordinary)


@pytest.fixture(scope="module")
def weeks() -> list[Day]:
    return [field_day("2026-05-14", 8.0, 1), pace_day("2026-05-20"), field_day("2026-06-02", 0.0, 2)]


def test_a_compass_that_came_right_is_called_better(weeks: list[Day]) -> None:
    (bias,) = [one for one in find_progress(weeks) if one.figure == "bias"]
    assert (bias.first.date, bias.last.date, bias.change) == ("2026-05-14", "2026-06-02", "better")
    worse = [one for one in find_progress(weeks[::-1]) if one.figure == "bias"]
    assert worse[0].change == "worse"


def test_the_same_learner_twice_is_no_change_that_is_sure() -> None:
    changes = find_progress([field_day("2026-05-14", 1.0, 3), field_day("2026-05-21", 1.0, 4)])
    assert {one.change for one in changes} == {"not sure"}


def test_the_interval_of_each_day_holds_the_truth(weeks: list[Day]) -> None:
    for day, true in ((weeks[0], 8.0), (weeks[2], 0.0)):
        assert day.fit is not None
        assert day.fit.bias_deg.low <= true <= day.fit.bias_deg.high


def test_kinds_of_course_stand_apart_and_nothing_is_averaged_over_them(weeks: list[Day]) -> None:
    tables = day_tables(weeks)
    assert [name for name, _ in tables] == ["On fields of stakes", "On pace lines"]
    assert [len(rows) for _, (_, rows) in tables] == [2, 1]
    assert tables[1][1][1][0][3] == "63.0"
    assert all("pace line" not in said.lower() for said in say_progress(find_progress(weeks)))


def test_one_day_tells_no_change() -> None:
    assert find_progress([field_day("2026-05-14", 1.0, 5)]) == ()


def test_who_was_not_there_has_no_day() -> None:
    course, rng = course_with("", "bias", "azimuth"), np.random.default_rng(1)
    fit = fit_class(class_of(rng, course, "bias", 1, ordinary_class(rng, 3)), course)
    assert day_of("2026-05-14", course, fit, NAME) is None


@pytest.mark.parametrize("name", ["a4", "letter"])
def test_a_learner_over_weeks_is_one_page(weeks: list[Day], name: str) -> None:
    paper = PAPERS[name]  # type: ignore[index]
    pdf = typeset([progress_sheet(NAME, weeks * 2, paper)], paper)
    assert len(opened(pdf)) == 1
    assert "On pace lines" in words(pdf)
    assert math.isfinite(weeks[0].fit.skill.miss_m if weeks[0].fit else math.nan)


@pytest.mark.parametrize(("chances", "is_told"), [((0.49,), False), ((0.51,), True), ((0.3, 0.3), True)])
def test_a_slip_is_told_of_a_day_where_half_a_one_was_seen(
    monkeypatch: pytest.MonkeyPatch, chances: tuple[float, ...], is_told: bool
) -> None:
    course, rng = course_with("", "bias", "azimuth"), np.random.default_rng(5)
    handed = class_of(rng, course, "bias", 2, ordinary_class(rng, 2) | {NAME: (0.0, 1.0)})
    fit, seen = fit_class(handed, course), iter([*chances, 0.0, 0.0])
    monkeypatch.setattr(progress, "slips_seen", lambda _: {"tally_lost": next(seen)})
    day = day_of("2026-05-14", course, fit, NAME)
    assert day is not None
    assert day.slips == (("tally_lost",) if is_told else ())
