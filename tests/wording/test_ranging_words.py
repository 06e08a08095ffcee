"""A range in words: how far, how sure, the rule of thumb, and a row to paste."""

from __future__ import annotations

import pytest

from pacewright.core.pace.walker import Walker
from pacewright.core.ranging.range_result import Range
from pacewright.core.ranging.ranging import range_by_base_line, range_by_right_angle, range_by_stakes
from pacewright.core.ranging.ranging_standing import range_by_mils, range_by_sound, range_by_thumb
from pacewright.wording.ranging import CAUTION, say_range

EVERY = [
    range_by_right_angle(40, 308.75, 278.75),
    range_by_base_line(75, 90, 38, 338),
    range_by_base_line(75, 90, 38, 338, goal="width"),
    range_by_stakes(60, 30, 20),
    range_by_mils(10, 10),
    range_by_thumb(50),
    range_by_sound(2.4, 15),
]


def test_a_width_is_said_with_its_region_its_frame_and_its_row():
    said = say_range(range_by_right_angle(40, 308.75, 278.75))
    assert said == [
        "Width about 69 paces, 95 times in 100 between 56 and 88 paces (own paces, own compass).",
        "On a walk of 40 paces square to the line across, the azimuth of the mark changed by 30 deg: "
        "40 / tan 30 deg = 69.",
        CAUTION,
        "Row for a log that counts in paces:",
        "309,69,[est 12%] width by a right angle from 40 paces",
    ]


def test_the_thousand_rule_is_said_to_be_1_8_per_cent_short():
    assert "would give 1000 metres, 1.8 % too short." in " ".join(say_range(range_by_mils(10, 10)))


def test_a_rule_that_holds_is_said_to_give_the_same():
    assert any(line.endswith("gives the same.") for line in say_range(range_by_stakes(60, 30, 20)))


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (range_by_stakes(40, 40, 30), "(the walk inland is the width, when the stake stands halfway) gives"),
        (range_by_stakes(60, 30, 30), "half the width, when the stake stands twice as far"),
        (range_by_stakes(24, 16, 12), ""),
        (range_by_right_angle(69, 350, 36), "would give 69 paces, 3.6 % too long"),
        (range_by_right_angle(69, 350, 45), ""),
    ],
    ids=["halfway", "two thirds", "neither", "46 degrees", "55 degrees"],
)
def test_a_rule_of_thumb_is_spoken_of_only_where_it_is_meant_for(found: Range, said: str):
    told = " ".join(say_range(found))
    assert said in told if said else "rule of thumb" not in told


@pytest.mark.parametrize("found", EVERY, ids=lambda found: f"{found.method} {found.goal}")
def test_only_a_width_carries_the_caution_about_crossing(found: Range):
    said = say_range(found)
    assert (CAUTION in said) == said[0].startswith("Width")
    assert sum(line.startswith("Caution: ") for line in said) == 1


@pytest.mark.parametrize("found", EVERY, ids=lambda found: f"{found.method} {found.goal}")
def test_every_line_but_the_row_is_a_sentence_without_brackets_or_the_word_mistake(found: Range):
    *sentences, label, row = say_range(found)
    assert all(line.endswith(".") and "[" not in line for line in sentences)
    assert label.endswith(":")
    assert row.count(",") == 2
    assert "mistake" not in " ".join([*sentences, label, row])


def test_a_missing_azimuth_is_asked_for():
    label, row = say_range(range_by_sound(2.4, 15))[-2:]
    assert label == "Row for a log that counts in metres, the azimuth to be put in front:"
    assert row.startswith(",817,[est 9%] ")


def test_the_row_follows_the_unit_of_the_log():
    said = say_range(range_by_sound(10, 0), count_unit="pace", walker=Walker(per_100_m=62.5))
    assert said[0].startswith("Distance about 3313 metres")
    assert said[-1].startswith(",2071,[est 4%]")
