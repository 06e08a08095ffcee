"""What a log that can be read makes one ask."""

from __future__ import annotations

import pytest

from pacewright.core.log.questions import find_questions, other_walker
from pacewright.core.log.travel_log import Cells
from pacewright.core.log.typed_page import read_typed
from pacewright.core.pace.walker import Walker
from pacewright.core.way.retrace import retrace
from support.logs import log_of

ROUND = ((20, 240), (350, 185), (120, 330), (200, 70))


def test_a_back_azimuth_copied_forward_is_asked_about_with_its_line():
    log = log_of((20, 100), (105, 60, "[back 105]"))
    assert find_questions(log) == (
        "Leg 2 (line 6): was [back 105] read backward? It is about the azimuth of the leg itself (105); from "
        "its end, looking back, about 285 would be read.",
    )


@pytest.mark.parametrize("back", [285, 255, 315, 195, 138])
def test_a_back_azimuth_that_is_only_off_is_not_asked_about(back):
    assert find_questions(log_of((105, 60, f"[back {back}]"))) == ()


@pytest.mark.parametrize(("azimuth", "back"), [(105, 105), (105, 134), (355, 5), (5, 350)])
def test_a_back_azimuth_about_that_of_its_leg_is_asked_about(azimuth, back):
    (said,) = find_questions(log_of((azimuth, 60, f"[back {back}]")))
    assert f"was [back {back}] read backward?" in said


def test_several_back_azimuths_not_turned_are_one_question():
    log = log_of((20, 100, "[back 20]"), (105, 60, "[back 285]"), (200, 30, "[back 201]"))
    assert find_questions(log) == (
        "Legs 1 and 3 (lines 5 and 7): were their back azimuths read backward? Each is about the azimuth of "
        "its leg; from the end of leg 1, looking back, about 200 would be read and not 20.",
    )


def test_of_very_many_the_first_are_named():
    (said,) = find_questions(log_of(*((20, 100, "[back 20]"),) * 9))
    assert said.startswith("Legs 1, 2, 3, 4, 5, 6 and 3 more (lines 5, 6, 7, 8, 9 and 10): were their back")


def test_on_a_typed_page_a_leg_has_no_line():
    page = read_typed(["count: paces"], [Cells("105", "60", "[back 105]")])
    assert page.log is not None
    assert find_questions(page.log)[0].startswith("Leg 1: was [back 105] read backward?")


def test_the_log_of_the_way_back_makes_one_ask_nothing():
    assert find_questions(retrace(log_of((105, 60, "[back 285]"), (20, 50, "[back 199]")))) == ()


def test_a_log_in_mils_with_no_azimuth_above_360_asks_for_degrees():
    assert find_questions(log_of(*ROUND, azimuth="grid mils")) == (
        "Were degrees read? The heading says mils, 6400 to the circle, and none of the 4 azimuths is above "
        "360. If so, write 'azimuth: grid degrees' in the heading.",
    )


def test_degrees_taken_as_mils_are_no_back_azimuth_not_turned():
    log = log_of(*ROUND, (20, 50, "[back 200]"), azimuth="magnetic mils")
    assert [said.split("?")[0] for said in find_questions(log)] == ["Were degrees read"]


@pytest.mark.parametrize(
    "rows",
    [
        ROUND[:3],
        (*ROUND, (361, 20)),
        (*ROUND, (3100, "", "[see Tower]")),
        (*ROUND[:3], (200, 70, "[back 3400]")),
        (*ROUND[:3], ("NE", 70)),
    ],
    ids=["three legs", "an azimuth", "a bearing", "a back azimuth", "a point is no number"],
)
def test_a_log_that_may_well_be_in_mils_does_not(rows):
    assert find_questions(log_of(*rows, azimuth="magnetic mils")) == ()


def test_a_log_in_degrees_or_gon_does_not():
    for unit in ("degrees", "gon"):
        assert find_questions(log_of(*ROUND, azimuth=f"magnetic {unit}")) == ()


def test_another_name_in_the_heading_than_of_the_figures_is_told():
    log = log_of((20, 100), more=["walker: Ines Rowe"])
    assert other_walker(log, Walker(name="Bo Lind")) == (
        "the heading names Ines Rowe as the walker, and the figures are those of Bo Lind"
    )


@pytest.mark.parametrize("name", ["Ines Rowe", " ines  ROWE", "InesRowe", ""])
def test_capitals_blanks_and_a_name_left_out_make_no_other_walker(name):
    assert other_walker(log_of((20, 100), more=["walker: Ines Rowe"]), Walker(name=name)) is None
    assert other_walker(log_of((20, 100)), Walker(name=name)) is None
