"""The chance to find posts, against learners walked one by one by the simulator."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import Walker
from pacewright.course.finding_chance import Finding, leg_chances
from pacewright.exceptions import ValueComplaint
from support.made_searches import lane_found

LEARNERS = 60_000


def chance_of_lane(lengths_m: list[float], finding: Finding, walker: Walker | None = None) -> float:
    legs = leg_chances(np.array(lengths_m), np.zeros(len(lengths_m)), walker or Walker(), finding)
    return float(legs.of_lanes(np.arange(len(lengths_m))[None])[0])


def places(lengths_m: list[float]) -> np.ndarray:
    turned = np.radians(70.0 * np.arange(len(lengths_m)))
    steps = np.array(lengths_m)[:, None] * np.stack([np.sin(turned), np.cos(turned)], axis=1)
    return np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])


@pytest.mark.parametrize(
    ("length_m", "sighting_m", "search_m"), [(60, 10, 0), (300, 30, 50), (750, 5, 20), (1200, 30, 50)]
)
def test_the_chance_of_a_leg_is_the_share_of_made_up_learners_who_find_its_post(
    length_m: float, sighting_m: float, search_m: float
) -> None:
    chance = chance_of_lane([length_m], Finding(sighting_m, search_m))
    share = lane_found(np.random.default_rng(11), places([length_m]), LEARNERS, sighting_m, search_m)
    # Four standard deviations of the share, and what looking at 120 points only leaves out.
    assert share == pytest.approx(chance, abs=4 * np.sqrt(0.25 / LEARNERS) + 0.003)


def test_the_chance_of_a_lane_is_the_share_who_find_every_post() -> None:
    lengths_m = [450.0, 900.0, 1100.0, 600.0, 800.0]
    chance = chance_of_lane(lengths_m, Finding(20, 40))
    share = lane_found(np.random.default_rng(12), places(lengths_m), LEARNERS, 20, 40)
    assert share == pytest.approx(chance, abs=4 * np.sqrt(0.25 / LEARNERS) + 0.003)


def test_legs_of_one_compass_and_one_pace_count_are_found_or_missed_together() -> None:
    alone = chance_of_lane([1000.0], Finding())
    assert chance_of_lane([1000.0] * 6, Finding()) > 1.1 * alone**6


def test_one_who_neither_turns_nor_miscounts_finds_every_post() -> None:
    perfect = Walker(
        per_100_m=1000.0,
        compass=CompassScatter(azimuth_sd_deg=0.01, bias_sd_deg=0.0, reading_interval_deg=0.01),
        count=CountScatter(scale_sd_pct=0.0, count_sd_pct=0.1, count_floor=0.1),
    )
    assert chance_of_lane([500.0, 1200.0], Finding(), perfect) == pytest.approx(1.0, abs=1e-9)


def test_a_post_in_sight_of_the_start_is_found() -> None:
    assert chance_of_lane([25.0], Finding(sighting_m=30.0)) == pytest.approx(1.0, abs=1e-12)


def test_a_place_that_is_badly_known_is_found_less_often() -> None:
    legs = leg_chances(np.array([800.0, 800.0]), np.array([0.0, 40.0]), Walker(), Finding())
    sure, unsure = legs.of_legs()
    assert unsure < sure - 0.03


def test_a_post_that_is_never_seen_is_refused() -> None:
    with pytest.raises(ValueComplaint, match="Give a sighting distance above 0 m"):
        Finding(sighting_m=0.0)
    with pytest.raises(ValueComplaint):
        Finding(search_m=float("nan"))
