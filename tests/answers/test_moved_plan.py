"""Ends of legs set on the map: a line or a sight where an end was put ends the leg, and all is walked."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from pacewright.answers.plan import prove_through
from pacewright.answers.plan_question import MapHeld, Named, PlanAsked
from pacewright.exceptions import ValueComplaint
from pacewright.route.planning.lines import Line
from pacewright.wording.planning import plan_table, say_plan
from support.made_plans import WALKER

TRACK = Line("track", np.array([(-3000.0, 1500.0), (3000.0, 1500.0)]))
ASKED = PlanAsked(Named("Gate", (0.0, 0.0)), Named("Heron post", (0.0, 1500.0)))


def proved(*ends: tuple[float, float, bool]):  # type: ignore[no-untyped-def]
    return prove_through(MapHeld(None, (TRACK,)), WALKER, ASKED, ends, np.random.default_rng(1))


def test_an_end_on_a_line_and_a_line_followed_to_the_goal_are_as_planned() -> None:
    answer = proved((160.0, 1480.0, False), (0.0, 1500.0, True))
    first, second = (one.told.leg for one in answer.legs)
    assert first.ends == "line" and first.dial_deg == 6.0 and first.to_m[1] == pytest.approx(1500.0)
    assert second.follows and second.length_m == pytest.approx(first.to_m[0])
    # Two standard deviations beside the goal: by one side of the normal distribution a few in 100 miss.
    assert answer.by_hand and 0.005 < 1.0 - answer.plan.chance < 0.08


def test_an_end_where_nothing_is_ends_by_count_and_the_goal_is_then_missed_more() -> None:
    answer = proved((300.0, 900.0, False), (0.0, 1500.0, False))
    first, second = (one.told.leg for one in answer.legs)
    assert first.ends == "count" and second.ends == "sight"
    assert answer.plan.chance < 0.6 and not answer.holds
    # Where nothing marks the end the count alone ends the leg: nothing is too far.
    heading, rows = plan_table(answer)
    assert [row[heading.index("too far")] == "" for row in rows] == [True, False]
    assert "walked by 4000 made walkers; 5 in 100 was asked." in say_plan(answer)[0]


def test_along_a_line_from_where_the_start_is_in_doubt_the_goal_is_looked_for_over_all_of_it() -> None:
    doubt_m = 80.0
    asked = replace(
        ASKED, start=Named("Gate", (-600.0, 1500.0)), start_spread=(doubt_m**2, 0.0, 30.0**2)
    )  # fmt: skip
    answer = prove_through(
        MapHeld(None, (TRACK,)), WALKER, asked, [(0.0, 1500.0, True)], np.random.default_rng(1)
    )
    (only,) = (one.told.leg for one in answer.legs)
    assert only.follows and only.length_m - only.look_m > 2.0 * doubt_m
    # Who stands so far beside the track that it is not seen is lost: 50 m are seen.
    assert answer.plan.walked.missed == pytest.approx(2.0 * norm.sf(50.0 / 30.0), abs=0.03)


def test_a_leg_of_no_length_is_refused() -> None:
    with pytest.raises(ValueComplaint, match="leg 1 has no length"):
        proved((1.0, 1.0, False), (0.0, 1500.0, False))


@pytest.mark.parametrize(("far_m", "missed"), [(3000.0, 0.0076), (14_000.0, 0.0003)])
def test_on_a_long_way_a_line_is_looked_for_longer(far_m: float, missed: float) -> None:
    # One leg square onto a track, and then on. By the normal distribution 0.0076 meet it before 2.5 standard
    # deviations or after 3, and 0.0003 before 3.5 or after 4: on a long way many lines are met.
    asked = replace(ASKED, goal=Named("Heron post", (0.0, far_m)))
    ends = [(0.0, 1500.0, False), (0.0, far_m, False)]
    answer = prove_through(MapHeld(None, (TRACK,)), WALKER, asked, ends, np.random.default_rng(1))
    first = answer.legs[0].told.leg
    sd = math.hypot(15.0, 1500.0 * answer.figures.length_sd)
    sds = (first.length_m - first.look_m) / sd, (first.stop_m - first.length_m) / sd
    assert norm.cdf(-sds[0]) + norm.sf(sds[1]) == pytest.approx(missed, abs=0.0003)
    # 4000 walkers: a standard error of 0.0014.
    assert answer.plan.walked.by_leg[0] == pytest.approx(missed, abs=0.005)
