"""A walk against its plan: who walked as planned is told so, and a leg that went elsewhere is named."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pacewright.answers.hand_plan import HandLeg
from pacewright.answers.plan import prove_by_hand
from pacewright.answers.plan_kept import plan_kept
from pacewright.answers.plan_question import MapHeld, Named, PlanAsked, PlanNorth
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.core.way.reckoning import reckon
from pacewright.exceptions import MissingComplaint
from pacewright.files.log_csv import read_log
from pacewright.files.plan_files import write_plan_log
from pacewright.route.planning.walking import walk_plan
from pacewright.wording.plan_kept import plan_kept_table, say_plan_kept

WALKER = Walker()
PLAN = [(20.0, 210.0), (75.0, 340.0), (130.0, 180.0), (160.0, 260.0), (210.0, 300.0), (300.0, 420.0)]


def log_of(legs: list[tuple[float, float]], more: str = "") -> TravelLog:
    rows = "\n".join(f"{azimuth:.0f},{count:.0f}," for azimuth, count in legs)
    head = f"# azimuth: magnetic degrees\n# count: paces\n{more}azimuth,count,notes\n"
    return read_log((head + rows + "\n").encode(), "walk.csv")


def kept(legs: list[tuple[float, float]]):  # type: ignore[no-untyped-def]
    log = log_of(legs)
    return plan_kept(log, log_of(PLAN), WALKER, walker_frame(log.heading, WALKER))


def test_a_walk_as_planned_differs_nowhere() -> None:
    found = kept(PLAN)
    assert not any(one.differs for one in found.legs) and found.legs[-1].off == pytest.approx(0.0, abs=1e-9)
    assert say_plan_kept(found)[0] == "Every leg was walked as planned, within what this walker scatters."


def test_a_lost_hundred_and_a_wrong_azimuth_are_named_and_only_they() -> None:
    walked = [*PLAN]
    walked[3], walked[4] = (160.0, 160.0), (228.0, 300.0)
    found = kept(walked)
    assert [one.leg for one in found.legs if one.differs] == [4, 5]
    said = say_plan_kept(found)
    assert said[:3] == [
        "2 legs differ from the plan beyond scatter.",
        "Leg 4 was counted 100 less than planned.",
        "Leg 5 was walked 18 deg to the right of the plan.",
    ]
    # 100 paces against 160 degrees, then 300 paces turned by 18 degrees: by hand from the parts.
    lost = 100.0 * np.array([-np.sin(np.radians(160.0)), -np.cos(np.radians(160.0))])
    turned = 300.0 * np.subtract(
        [np.sin(np.radians(228.0)), np.cos(np.radians(228.0))],
        [np.sin(np.radians(210.0)), np.cos(np.radians(210.0))],
    )
    assert found.legs[-1].off == pytest.approx(float(np.hypot(*(lost + turned))), abs=0.01)
    assert [row[6] for row in plan_kept_table(found)[1]] == ["", "", "", "yes", "yes", ""]


def test_a_walk_noted_in_mils_is_told_in_mils() -> None:
    # 6400 mils a circle (FM 21-26, ch. 6): 18 degrees are 320 mils, 210 degrees 3733.
    turned = [(228.0 if azimuth == 210.0 else azimuth, count) for azimuth, count in PLAN]
    plan, log = (
        read_log(
            ("# azimuth: magnetic mils\n# count: paces\nazimuth,count,notes\n"
             + "".join(f"{azimuth * 6400 / 360:.1f},{count:.0f},\n" for azimuth, count in legs)).encode(),
            "walk.csv",
        )
        for legs in (PLAN, turned)
    )  # fmt: skip
    found = plan_kept(log, plan, WALKER, walker_frame(log.heading, WALKER))
    assert "Leg 5 was walked 320 mils to the right of the plan." in say_plan_kept(found)
    assert plan_kept_table(found)[1][4][1:3] == ("3733 mils", "4053 mils")


def test_what_is_common_to_all_legs_is_told_and_no_leg_blamed_for_it() -> None:
    found = kept([(azimuth + 11.0, 0.85 * count) for azimuth, count in PLAN])
    assert not any(one.differs for one in found.legs)
    assert found.common_turn_deg == pytest.approx(11.0)
    assert found.common_longer == pytest.approx(-0.15, abs=0.01)
    said = " ".join(say_plan_kept(found))
    assert "All azimuths together lie 11 deg to the right of the plan" in said
    assert "All counts together are 15 % shorter than the plan" in said


def test_walks_that_kept_the_plan_are_rarely_blamed() -> None:
    # 400 made walks of six legs; 5 in 100 may have a leg named. Azimuth 2.5 deg, count 5 %, scale 3 %.
    rng, blamed = np.random.default_rng(6), 0
    for _ in range(400):
        scale = 1.0 + 0.03 * rng.standard_normal()
        walked = [
            (azimuth + 2.5 * rng.standard_normal(), count * (scale + 0.05 * rng.standard_normal()))
            for azimuth, count in PLAN
        ]
        blamed += any(one.differs for one in kept(walked).legs)
    assert 0.01 <= blamed / 400 <= 0.09


def test_a_plan_of_other_legs_is_refused() -> None:
    with pytest.raises(MissingComplaint, match="the plan has 6 legs and the log 5"):
        kept(PLAN[:5])


def test_a_plan_written_as_a_log_is_as_sure_as_its_made_walkers() -> None:
    # Four legs that nothing ends: the error propagation of the log's reckoning against 20,000 walks.
    hand = [HandLeg(azimuth, 400.0, "", k) for k, azimuth in enumerate((0.0, 50.0, 350.0, 20.0), 1)]
    goal = Named("Heron post", (400.0, 1500.0))
    asked = PlanAsked(Named("Gate", (0.0, 0.0)), goal, north=PlanNorth("magnetic", 0.0))
    walker = Walker(name="Ines Rowe", per_100_m=62.5)
    answer = prove_by_hand(MapHeld(None), walker, asked, hand, np.random.default_rng(2))
    assert answer.plan is not None
    legs = [replace(leg, ends="count") for leg in answer.plan.legs]
    spread = (225.0, 0.0, 225.0)
    crowd = walk_plan(answer.land, answer.figures, legs, spread, np.random.default_rng(3), 20_000)
    walked = np.cov(crowd.places_m[-1].T) - np.diag([225.0, 225.0])
    log = read_log(write_plan_log(answer), "plan.csv")
    reckoned = reckon(log, walker, map_frame(log.heading, walker)).covariance(len(log.legs))
    assert np.sqrt(np.linalg.eigvalsh(walked)) == pytest.approx(
        np.sqrt(np.linalg.eigvalsh(reckoned)), rel=0.04
    )
