"""The sheets of a plan: what is carried, what is left behind, a map at exact scale."""

from __future__ import annotations

import datetime
import math
import re

import numpy as np
import pytest

from pacewright.answers.plan import PlanAnswer, answer_plan
from pacewright.answers.plan_daylight import plan_by_day
from pacewright.drawing.plan_chart import draw_plans
from pacewright.drawing.plan_map import draw_plan_map, draw_profile
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.paper import PAPERS
from pacewright.sheets.plan_sheets import plan_sheets
from pacewright.sheets.typesetting import print_sheets
from support.made_plans import WALKER, cases


@pytest.fixture(scope="module")
def answer() -> PlanAnswer:
    case = cases(1, with_tracks=True, seed=1)[0]
    return answer_plan(case.held, WALKER, case.asked, np.random.default_rng(1))


def text_of(pdf: bytes) -> list[str]:
    import pymupdf

    with pymupdf.open(stream=pdf) as document:
        return [" ".join(page.get_text().split()) for page in document]


@pytest.mark.parametrize("paper", ["a4", "letter", "a5"])
def test_what_is_dialled_and_counted_stands_on_the_card(answer: PlanAnswer, paper: str) -> None:
    zone = datetime.timezone(datetime.timedelta(hours=-7))
    by_day = plan_by_day(answer, 37.4, -119.3, datetime.datetime(2026, 5, 14, 8, tzinfo=zone))
    sheets = plan_sheets(answer, PAPERS[paper], by_day)
    pages = text_of(print_sheets(sheets, PAPERS[paper]).pdf)
    whole = " ".join(pages)
    for one in answer.legs:
        assert str(one.length.count) in whole and str(one.too_far.count) in whole
    assert "Leg card: start to goal" in whole and "Route card to leave behind" in whole
    assert "If we are overdue" in whole and "An aid, not a promise" in whole
    last = by_day.stations[-1].turn_back_by
    assert last is not None and f"{last:%H:%M}" in whole


def test_the_map_is_at_exact_scale(answer: PlanAnswer) -> None:
    drawing, scale = draw_plan_map(answer, (190.0, 200.0), 50_000)
    assert scale == 50_000
    legs = [one.told.leg for one in answer.legs if not one.told.leg.follows]
    rings = re.findall(r'<polygon points="([^"]*)"[^>]*stroke-dasharray="1.2 1"', drawing)
    assert len(rings) == len(legs)
    for ring, leg in zip(rings, legs, strict=True):
        points = np.array([[float(x) for x in pair.split(",")] for pair in ring.split()])
        # A corridor runs from where the leg begins to where it ends, on either side.
        begin, end = (points[0] + points[-1]) / 2, (points[11] + points[12]) / 2
        assert math.dist(begin, end) == pytest.approx(leg.length_m / 50.0, abs=0.03)
        angle = math.degrees(math.atan2(end[0] - begin[0], begin[1] - end[1])) % 360.0
        assert (angle - leg.azimuth_deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1.0)


def test_every_plan_and_the_straight_line_stand_in_the_chart(answer: PlanAnswer) -> None:
    drawing = draw_plans(answer, 180.0)
    assert drawing.count("<circle") == 2 + len(answer.others)
    assert ">this plan<" in drawing and ">straight line<" in drawing
    heights = {
        name: float(re.search(rf'y="([\d.]+)"[^>]*>{name}<', drawing)[1])  # type: ignore[index]
        for name in ("this plan", "straight line")
    }
    # What is missed more often stands higher up.
    assert heights["straight line"] < heights["this plan"]


def test_the_profile_says_how_much_larger_heights_are_drawn(answer: PlanAnswer) -> None:
    assert re.search(r"heights drawn \d+\.\d times as large as lengths", draw_profile(answer, 180.0))


def test_a_plan_that_does_not_fit_at_a_scale_is_refused(answer: PlanAnswer) -> None:
    with pytest.raises(ValueComplaint):
        plan_sheets(answer, PAPERS["a5"], None, 2_000)


def test_a_plan_takes_flat_paper(answer: PlanAnswer) -> None:
    with pytest.raises(ValueComplaint, match="a plan takes flat paper"):
        plan_sheets(answer, PAPERS["pocket"])
