"""The pace card: paces for metres and metres for paces on each class of ground."""

from __future__ import annotations

import math

import pytest

from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.exceptions import MissingComplaint
from pacewright.sheets.pace_card import LENGTHS, pace_card
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import MM_PER_PT, opened, words

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


@pytest.mark.parametrize("grounds", [0, 1, 3])
@pytest.mark.parametrize("name", ["pocket", "pocket-letter"])
def test_a_pocket_card_fills_its_panels_in_large_figures(name, grounds):
    classes = tuple(PaceClass(f"scrub {i}", "up" if i else None, None, 60.0 + i) for i in range(grounds))
    page, panel = (
        opened(typeset([pace_card(Walker(per_100_m=62.5, classes=classes), PAPERS[name])], PAPERS[name]))[0],
        PAPERS[name].panel,
    )
    placed = [word for word in page.get_text("words") if word[4] == "1000"]
    top_mm = (PAPERS[name].height_mm - panel.down * panel.height_mm) / 2
    lowest = sorted(MM_PER_PT * word[3] - top_mm for word in placed)[-2:]
    # The last row of both tables, on the first row of panels, stands in the lowest fifth of its panel.
    assert all(0.8 * panel.height_mm < low < panel.height_mm - panel.pad_mm for low in lowest)
    assert all(MM_PER_PT * (word[3] - word[1]) > 3.0 for word in placed)
