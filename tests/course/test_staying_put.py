"""Whoever stays put earns nothing."""

from __future__ import annotations

import numpy as np
import pytest

from pacewright.core.pace.walker import Walker
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.finish import Handed
from pacewright.course.grading import grade


@pytest.mark.parametrize(
    "asked", [FieldAsked(20, seed=5), FieldAsked(12, legs=4, drills=("", "box"), seed=6)]
)
def test_a_learner_who_never_leaves_the_start_gets_no_mark(asked: FieldAsked) -> None:
    course = set_field_course(asked, np.random.default_rng(asked.seed))
    names = [post.name for post in course.posts]
    for card in course.cards:
        assert abs(names.index(card.start) - names.index(card.ends)) >= 2
        stayed = Handed("Tam Rook", card.number, None, card.start, walker=Walker(per_100_m=62.5))
        given = grade(stayed, course)
        assert given.mark == 0.0
        # Nor does the card end where the tolerance of its start reaches: that is no ordinary miss.
        assert given.miss is not None and given.miss.chance < 0.05
