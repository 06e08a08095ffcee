"""Counts of a pace course, straight into the learner's walker: the mean, its interval, ground and slope."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from pacewright.core.pace.scatter import CompassScatter
from pacewright.core.pace.walker import Walker
from pacewright.course.finish import Handed
from pacewright.course.pace_line import fit_passes, line_runs
from pacewright.course.pace_setting import PaceAsked, Stretch, set_pace_course
from pacewright.exceptions import Complaint
from support.authorities import printed, read_authority
from support.counted_line import counted, handed

FLAT = set_pace_course(PaceAsked(2, trials=5))
HILL = set_pace_course(PaceAsked(2, (Stretch(100.0, "heath"), Stretch(150.0, "brush", "up")), trials=6))


def test_five_runs_of_a_learner_make_the_mean_and_student_s_interval() -> None:
    # Mean and interval by SciPy, which shares no code with the tool.
    counts = [62.0, 64.0, 63.0, 61.0, 65.0]
    (found,) = fit_passes([handed(FLAT, counts)], FLAT)
    one = found.calibrated.ordinary
    assert one.per_100_m == pytest.approx(np.mean(counts))
    low, high = stats.t.interval(0.95, 4, np.mean(counts), stats.sem(counts))
    assert (one.low, one.high) == pytest.approx((low, high), rel=0.02)
    assert found.calibrated.walker.per_100_m == pytest.approx(63.0)
    assert found.calibrated.walker.name == "Ada Quill"


def test_a_made_up_learner_s_pace_is_found_by_ground_and_slope() -> None:
    rng = np.random.default_rng(5)
    true = {("heath", "level"): 60.0, ("brush", "up"): 75.0, ("brush", "down"): 68.0}
    inside = 0
    for _ in range(200):
        legs = HILL.card(1).legs
        counts = [
            true[leg.ground, str(leg.slope)] * leg.length_m / 100.0 * (1 + 0.03 * rng.standard_normal())
            for leg in legs
        ]
        (found,) = fit_passes([handed(HILL, counts)], HILL)
        inside += sum(
            one.low <= true[one.ground, one.direction] <= one.high for one in found.calibrated.table.classes
        )
    # 95 in 100 are promised; of 600 intervals three standard deviations are 16.
    assert inside >= 570 - 16


def test_a_card_of_the_far_end_turns_up_into_down() -> None:
    log = counted(HILL, [100.0, 61.0], card=2)
    runs = line_runs(Handed("Ada Quill", 2, log), HILL)
    assert [(run.ground, run.slope, run.distance_m) for run in runs] == [
        ("brush", "down", 150.0),
        ("heath", "level", 100.0),
    ]


def test_steps_are_halved_and_a_walk_broken_off_tells_what_was_walked() -> None:
    log = counted(FLAT, [124.0, 128.0], unit="steps")
    assert [run.count for run in line_runs(Handed("Ada Quill", 1, log), FLAT)] == [62.0, 64.0]


def test_the_compass_of_the_learner_stays() -> None:
    walker = Walker(compass=CompassScatter(azimuth_sd_deg=4.0))
    (found,) = fit_passes([handed(FLAT, [62.0, 63.0, 64.0], walker=walker)], FLAT)
    assert found.calibrated.walker.compass.azimuth_sd_deg == 4.0


def test_two_walks_of_one_learner_are_taken_together_and_two_learners_apart() -> None:
    walks = [handed(FLAT, [62.0] * 5), handed(FLAT, [70.0] * 5, "Tam Rook"), handed(FLAT, [64.0] * 5)]
    found = fit_passes(walks, FLAT)
    assert [(one.learner, round(one.calibrated.ordinary.per_100_m, 6)) for one in found] == [
        ("Ada Quill", 63.0),
        ("Tam Rook", 70.0),
    ]


def test_a_line_with_no_level_ground_still_gives_a_count() -> None:
    slope = set_pace_course(PaceAsked(1, (Stretch(100.0, "", "up"),), trials=5))
    (found,) = fit_passes([handed(slope, [70.0, 62.0, 71.0, 63.0, 69.0])], slope)
    assert found.calibrated.ordinary.direction == "up"


def test_as_many_trials_as_are_published_are_enough_for_a_count_of_one_s_own() -> None:
    # University of Washington, FE 345, pacing exercise.
    trials = int(printed(read_authority("pace_course_trials.csv")[0]["trials"]))
    (found,) = fit_passes([handed(FLAT, [62.0, 64.0, 63.0, 61.0, 65.0][:trials])], FLAT)
    assert not found.calibrated.ordinary.borrowed


@pytest.mark.parametrize(
    ("counts", "unit", "said"),
    [
        ([], "paces", "handed in no counts"),
        ([62.0] * 6, "paces", "counted 6 passes and card 1 has 5"),
        ([62.0, 6200.0], "paces", "Ada Quill, pass 2: 6200 paces over 100 m"),
        ([100.0], "metres", "counts metres"),
    ],
)
def test_what_makes_no_pace_count_is_told(counts: list[float], unit: str, said: str) -> None:
    log = counted(FLAT, counts, unit=unit) if counts else None
    with pytest.raises(Complaint, match=said):
        fit_passes([Handed("Ada Quill", 1, log)], FLAT)
