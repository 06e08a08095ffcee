"""A finish that no known slip explains is not blamed on one."""

import numpy as np

from pacewright.core.pace.walker import Walker
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.wording.teaching import say_grade


def test_a_finish_far_from_every_slip_is_left_open() -> None:
    course = set_field_course(FieldAsked(2), np.random.default_rng(4))
    # Three times the whole length of the card away: no slip on one of its legs leads there.
    away = 3.0 * course.cards[0].length_m
    one = grade(Handed("Tam Rook", 1, None, None, (away, away), walker=Walker(per_100_m=62.5)), course)
    assert one.walked is not None
    assert one.walked.other_probability > 0.9
    assert not one.suspects
    assert any("no single slip that is known does: ask what happened" in said for said in say_grade(one))
