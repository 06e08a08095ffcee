"""A learner's own word about their scatter changes no mark."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import Walker
from pacewright.course.class_scatter import MOST_TIMES_USUAL, marked_walker
from pacewright.course.course import Fact
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from support.desk_class import field_course

WIDE = Walker(
    "Ada Moor",
    62.5,
    CompassScatter(azimuth_sd_deg=60.0, bias_sd_deg=45.0, bias_deg=30.0),
    CountScatter(count_sd_pct=80.0, scale_sd_pct=50.0, count_floor=90.0),
)


def test_the_mark_does_not_look_at_what_a_learner_says_of_their_scatter() -> None:
    course = field_course()
    far = {"finish_m": (35.0, -20.0)}
    usual = grade(Handed("Ada Moor", 1, **far, walker=Walker("Ada Moor", 62.5)), course)
    wide = grade(Handed("Ada Moor", 1, **far, walker=WIDE), course)
    assert wide.mark == usual.mark is not None
    assert wide.miss is not None and usual.miss is not None
    assert wide.miss.mahalanobis == usual.miss.mahalanobis
    assert wide.slip_chance == usual.slip_chance


def test_the_pace_count_stays_the_learners_own() -> None:
    assert marked_walker(WIDE, field_course()).per_100_m == 62.5


@pytest.mark.parametrize(("stated", "marked"), [(4.0, 4.0), (60.0, MOST_TIMES_USUAL * 2.5)])
def test_the_scatter_is_that_for_which_the_course_was_set_capped(stated: float, marked: float) -> None:
    course = replace(field_course(), facts=(Fact("assumed_azimuth_sd", stated, "deg"),))
    found = marked_walker(WIDE, course)
    assert found.compass.azimuth_sd_deg == marked
    assert found.compass.bias_deg == 0.0
    assert found.count == CountScatter()
