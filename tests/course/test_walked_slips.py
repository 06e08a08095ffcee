"""What a finish says of slips that were walked, and what is believed before it is looked at."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.course.answer_key import AnswerKey
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.finish import Handed
from pacewright.course.grading import grade
from pacewright.course.walked_slips import weigh_walked_slips


@pytest.fixture(scope="module")
def key() -> AnswerKey:
    course = set_field_course(FieldAsked(2), np.random.default_rng(4))
    return grade(Handed("Tam Rook", 1, walker=Walker(per_100_m=62.5)), course).key


def test_a_finish_that_tells_nothing_leaves_what_was_believed(key: AnswerKey) -> None:
    """One walk in five with a slip, and of twenty slips one that is none of the known, both assumed."""
    told = weigh_walked_slips(key, np.zeros(2), 1e14 * np.eye(2))
    assert told.clean_probability == pytest.approx(1 - 1 / 5, abs=1e-4)
    assert told.other_probability == pytest.approx(1 / 5 / 20, abs=1e-4)
    assert sum(slip.probability for slip in told.slips) == pytest.approx(1 / 5 * 19 / 20, abs=1e-4)
    assert told.bayes_factor == pytest.approx(1.0, abs=1e-3)


def test_at_half_the_length_walked_an_unknown_slip_is_likelier_than_an_ordinary_walk(key: AnswerKey) -> None:
    length_m = key.card.length_m
    there = weigh_walked_slips(key, np.array([0.5 * length_m, 0.0]), np.eye(2))
    assert there.other_probability > 100 * there.clean_probability
    nowhere = weigh_walked_slips(key, np.array([50.0 * length_m, 0.0]), np.eye(2))
    assert nowhere.other_probability == pytest.approx(1.0, abs=1e-6)
