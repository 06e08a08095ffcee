"""What is said to a learner: kind, short, in the second person, and the same as the grade says."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import pytest

from pacewright.core.slips.mistakes import NAME_ABOVE
from pacewright.core.slips.slips import SlipKind
from pacewright.course.class_report import what_to_practise
from pacewright.course.grade_kinds import BesideKind
from pacewright.course.likely_way import likely_way
from pacewright.wording import class_debrief
from pacewright.wording.class_debrief import say_your_walk
from pacewright.wording.teaching import CURE, say_advice
from support.taught_class import taught_class

REPORT = taught_class()
WALKS = [
    (one, learner, say_your_walk(one, learner, has_way=likely_way(one) is not None))
    for one in REPORT.fit.grades
    for learner in [REPORT.fit.learner(one.handed.learner)]
]


def test_every_walk_is_told_to_you_and_not_of_the_learner() -> None:
    for one, _, told in WALKS:
        said = " ".join(told.sentences)
        assert one.handed.learner not in said
        assert re.search(r"\b[Yy]ou\b", said)
        assert len(told.sentences) <= 6
        assert "the learner" not in said


def test_there_is_one_thing_to_practise_and_how() -> None:
    for _, learner, told in WALKS:
        if what_to_practise(learner) != "nothing":
            assert told.practise == say_advice(learner)
        else:
            assert told.practise.startswith("Practise this: ")
    assert any(what_to_practise(learner) != "nothing" for _, learner, _ in WALKS)


def test_a_slip_that_is_sure_is_named_and_one_that_is_not_is_asked_about() -> None:
    one = next(one for one, _, _ in WALKS if one.suspects and one.suspects[0].where == "walked")
    first = one.suspects[0]
    for chance, said in ((NAME_ABOVE + 0.05, "What most likely happened: "), (0.6, "perhaps: ")):
        walk = replace(one, suspects=(replace(first, chance=chance),))
        told = " ".join(say_your_walk(walk, None, has_way=True).slip)
        assert said in told
        assert f"on leg {first.leg} you " in told
        assert ("%" in told) == (chance > NAME_ABOVE)


def test_ordinary_scatter_is_called_no_fault_and_more_is_not() -> None:
    missed = [(one.miss.chance, told.compare) for one, _, told in WALKS if one.miss and told.compare]
    ordinary = [said for chance, said in missed if chance >= 0.05]
    rare = [said for chance, said in missed if chance < 0.05]
    assert ordinary and rare
    assert all(said.endswith("that is ordinary scatter, and no fault.") for said in ordinary)
    assert all(said.endswith("more than ordinary scatter.") for said in rare)


@pytest.mark.parametrize("kind", [*get_args(SlipKind), *(get_args(BesideKind)), "other"])
def test_every_slip_has_words_for_you_and_a_cure(kind: str) -> None:
    assert "you" in class_debrief._YOU[kind] or kind == "other"  # type: ignore[index]
    assert CURE[kind]  # type: ignore[index]
