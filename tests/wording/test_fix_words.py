"""Fixes in words: where, how sure, what the crossing is worth, and what is wrong."""

from __future__ import annotations

import numpy as np

from pacewright.core.bearings.fix_entries import parse_bearing_from, parse_bearing_to
from pacewright.core.bearings.intersection import intersect
from pacewright.core.bearings.resection import resect
from pacewright.core.compass import direction_deg
from pacewright.wording.fixes import Terms, say_intersection, say_resection, say_taken_places

FOUR = np.array([[0, 800], [700, 100], [-300, -600], [-650, 250]], dtype=float)
NAMES = ["Fire tower", "Water tank", "Cairn", "Old mill"]


def towards(place, known):
    return np.array([direction_deg(*(one - np.array(place))) for one in known])


def test_a_fix_says_where_how_sure_and_what_the_crossing_is_worth():
    fix = resect([[0, 500], [500, 0]], [0, 90], 2.0)
    said = say_resection(fix, NAMES[:2])
    assert said[0].startswith("You are 0 ")
    assert said[0].endswith("from 2 bearings by their azimuths: Fire tower and Water tank.")
    assert said[1].startswith("Give or take 43 metres along azimuth ")
    assert said[2] == "The lines of sight cross at 90 deg at best: a good fix."
    assert len(said) == 3


def test_a_poor_crossing_says_what_to_do():
    tree = say_intersection(intersect([[0, 0], [100, 0]], [350, 330], 2.0), ["A", "B"], name="The tree")
    assert tree[2].endswith(": a poor fix. Sight something that crosses at 60 deg or more.")
    parallel = say_intersection(intersect([[0, 0], [10, 0]], [0, 356], 2.0), ["A", "B"])
    assert "as good as parallel: the far end of the region is open" in parallel[2]


def test_a_compass_that_is_off_is_said_with_how_sure_that_is():
    read = towards((0, 0), FOUR)
    off = say_resection(resect(FOUR, read - 8, 1.0, bias_sd_deg=10.0), NAMES)
    assert off[3].startswith("All bearings together read 8.0 deg too low (give or take 0.")
    right = say_resection(resect(FOUR, read, 1.0, bias_sd_deg=10.0), NAMES)
    assert right[3].startswith("The bearings together show no compass that is off (")


def test_the_danger_circle_is_named():
    turn = np.deg2rad([20, 100, 160, 290])
    *known, here = 500 * np.stack([np.sin(turn), np.cos(turn)], axis=1)
    said = say_resection(resect(known, towards(here, known), 1.0, bias_sd_deg=1.0), NAMES[:3])
    assert any("(the danger circle)" in sentence for sentence in said)


def test_the_bearing_that_contradicts_the_rest_is_named_with_the_place_without_it():
    read = towards((0, 0), FOUR)
    known = FOUR.copy()
    known[1] += [0, 350]
    said = say_resection(resect(known, read, 1.5, bias_sd_deg=1.0), NAMES)
    assert said[-2].startswith("These bearings contradict each other: scatter alone sets them so far apart ")
    assert said[-1].startswith("Without Water tank the rest agree, at a place 0 ")
    assert said[-1].endswith("look at the bearing and the place of Water tank first.")


def test_three_bearings_that_contradict_each_other_blame_none_and_offer_the_angles():
    read = towards((0, 0), FOUR[:3]) + np.array([0, 20, 0])
    said = say_resection(resect(FOUR[:3], read, 1.5, bias_sd_deg=1.0), NAMES[:3])
    assert said[-1].startswith("Which one it is cannot be told from these.")
    assert "fix by the angles alone" in said[-1]


def test_a_place_is_said_in_the_terms_asked_for():
    terms = Terms("pace", "mils", "Gate")
    assert terms.place(np.array([100.0, -100.0]), np.eye(2)) == (
        "100 east and 100 south of Gate (141 paces on azimuth 2400 mils)"
    )
    # What is no whole pace away has no direction.
    assert terms.place(np.array([0.2, -0.3]), np.eye(2)) == "0 east and 0 south of Gate"


def test_how_sure_places_were_taken_to_be_is_said_only_where_it_was_not_written():
    for one in (parse_bearing_to("A=local 1 2=3"), parse_bearing_from("local 1 2=3")):
        assert say_taken_places([one]) == [
            "Places without +- are taken as known to 10 m; +-0 m behind the place makes it exact."
        ]
    assert say_taken_places([parse_bearing_to("A=local 1 2 +-3 m=3")]) == []
