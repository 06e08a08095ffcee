"""The pace card: paces for metres and metres for paces on each class of ground."""

from __future__ import annotations

import math

import pytest

from pacewright.core.walker import PaceClass, Walker
from pacewright.exceptions import MissingComplaint
from pacewright.sheets.pace_card import LENGTHS, pace_card
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import words

INES = Walker(
    name="Ines Rowe",
    per_100_m=62.5,
    classes=(PaceClass("brush", None, 8.0, 71.0), PaceClass("", "up", 8.0, 68.0)),
)


def printed(walker=INES, name="a4"):
    return words(typeset([pace_card(walker, PAPERS[name])], PAPERS[name]))


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_paces_and_metres_are_worked_by_the_rule_of_three(name):
    told = printed(name=name)
    for length in LENGTHS:
        by = [length * per_100_m / 100 for per_100_m in (62.5, 71.0, 68.0)]
        of = [length * 100 / per_100_m for per_100_m in (62.5, 71.0, 68.0)]
        for cells in (by, of):
            assert f"{length} " + " ".join(str(math.floor(cell + 0.5)) for cell in cells) in told


def test_the_card_runs_from_ten_to_a_thousand():
    assert (LENGTHS[0], LENGTHS[-1]) == (10, 1000)


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_many_classes_of_ground_are_all_there(name):
    grounds = tuple(PaceClass(f"ground{i}", None, None, 60.0 + i) for i in range(20))
    told = printed(Walker(per_100_m=60.0, classes=grounds), name)
    for i in range(20):
        assert f"ground{i}" in told


def test_a_walker_without_a_pace_count_is_told_what_to_do():
    with pytest.raises(MissingComplaint, match="pacewright calibrate"):
        printed(Walker())


def test_a_half_goes_up_and_the_bead_keeps_it():
    told = printed(Walker(per_100_m=62.5))
    assert "100 63 200 125" in told and "300 188" in told and "500 313" in told
    assert "slide one every 62.5 paces" in told
