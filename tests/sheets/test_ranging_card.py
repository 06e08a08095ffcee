"""The ranging card: every method with its drawing and a table that can be checked with a formula."""

from __future__ import annotations

import math
import typing

import pytest

from pacewright.core.pace.walker import Walker
from pacewright.core.ranging.range_result import RangeMethod
from pacewright.core.ranging.ranging import range_by_base_line, range_by_right_angle, range_by_stakes
from pacewright.core.ranging.ranging_standing import range_by_mils, range_by_sound, range_by_thumb
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.ranging_card import METHODS, ranging_card
from pacewright.sheets.typesetting import typeset
from pacewright.wording.ranging import CAUTION
from support.pdf_pages import tags, words

ROWS = {method.example(Walker()).method: method.rows for method in METHODS}


def close(printed: str, value: float) -> bool:
    """Whether a value prints as that text, a half rounded either way."""
    decimals = len(printed.partition(".")[2])
    return abs(float(printed) - value) <= 0.5 * 10**-decimals + 1e-9


def test_every_method_of_the_tool_is_on_the_card():
    assert set(ROWS) == set(typing.get_args(RangeMethod))


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_each_method_has_its_drawing_and_its_table(name):
    made = typeset([ranging_card(Walker(), PAPERS[name])], PAPERS[name])
    told = words(made)
    assert tags(made)["Figure"] == len(METHODS) == tags(made)["H2"]
    for method in METHODS:
        assert method.title in told
        for row in method.rows:
            assert " ".join(row) in told
    assert CAUTION in told


def test_the_right_angle_table_gives_the_tools_own_distances():
    for turn, factor in ROWS["right_angle"]:
        assert close(factor, range_by_right_angle(100, 0, 360 - float(turn)).distance / 100)


def test_the_base_line_table_gives_the_tools_own_distances():
    for at_a, *factors in ROWS["base_line"]:
        for at_b, factor in zip((60, 70, 80), factors, strict=True):
            if factor == "-":
                assert float(at_a) + at_b >= 175
                continue
            far = range_by_base_line(1000, 90, (90 - float(at_a)) % 360, 270 + at_b, base_sd=0.1)
            assert close(factor, far.distance / 1000)


def test_the_stakes_table_gives_the_tools_own_distances():
    for ratio, factor in ROWS["stakes"]:
        assert range_by_stakes(10 * float(ratio), 10, 30).distance == pytest.approx(30 * float(factor))


def test_the_mil_table_gives_the_tools_own_distances():
    for mils, *far in ROWS["mils"]:
        for size, printed in zip((1.8, 5.0, 10.0), far, strict=True):
            assert close(printed, range_by_mils(size, float(mils), angle_sd_mil=0.1).distance)


def test_the_mil_table_is_near_the_rule_of_a_thousand():
    """A thousand times the size over the mils is 1.9 % short (6400 mils against 2000 pi)."""
    for mils, far, *_ in ROWS["mils"][3:7]:
        assert 1800 / float(mils) / float(far) == pytest.approx(2 * math.pi * 1000 / 6400, rel=0.005)


def test_the_thumb_table_gives_the_tools_own_distances():
    for jump, far in ROWS["thumb"]:
        assert close(far, range_by_thumb(float(jump)).distance)


def test_the_sound_table_gives_the_tools_own_distances():
    for seconds, *far in ROWS["sound"]:
        for warmth, printed in zip((-10.0, 10.0, 30.0), far, strict=True):
            assert close(printed, range_by_sound(float(seconds), warmth, delay_sd_s=0.01).distance)
