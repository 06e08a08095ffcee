"""Leg cards: what stands in each row, and the way back at the foot."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pacewright.answers.way import way_back
from pacewright.core.pace.walker import Walker
from pacewright.files.known_places import open_estimate
from pacewright.sheets.leg_cards import card_legs, leg_card
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.typesetting import typeset
from support.logs import log_of
from support.pdf_pages import words

INES = Walker(name="Ines Rowe", per_100_m=62.5)
WALK = log_of(
    (305, 240),
    (38, 185, "[at Split oak] dry so far"),
    (346, "", "[see Fire tower]"),
    (52, 330, "[box right 40] pond"),
    (97, 70, "[est 15%] river"),
    (164, 1260, "[at Heron post]"),
)


def test_a_row_holds_azimuth_back_azimuth_count_and_cord():
    leg = card_legs(WALK, INES)[4]
    assert (leg.azimuth, leg.back, leg.count) == ("164", "344", "1260")
    assert (leg.tally.thousands, leg.tally.hundreds, leg.tally.paces) == (1, 2, 60)
    assert leg.to_name == "Heron post"


def test_what_to_expect_is_what_the_log_has():
    legs = card_legs(WALK, INES)
    assert legs[1].expect == "ends at Split oak; dry so far; Fire tower bears 346 from its end"
    assert legs[2].expect == "box right: 40 out, 40 back; pond"
    assert legs[3].expect == "estimated only, to 15 %; river"


def test_minutes_are_four_kilometres_in_the_hour():
    """Naismith's rule off paths; 240 paces of 1.6 m are 384 m."""
    assert card_legs(WALK, INES)[0].minutes == round(60 * 0.384 / 4)
    assert card_legs(WALK, Walker())[0].minutes is None


def test_minutes_hold_the_way_round_what_is_boxed():
    """Naismith's rule off paths; 330 paces ahead, 40 out and 40 back, of 1.6 m each, are 656 m."""
    assert card_legs(WALK, INES)[2].minutes == round(60 * 0.656 / 4)


def test_too_far_is_two_scatters_of_logging_and_walking_beyond():
    """240 paces scatter by 5 % when logged and again when walked; 1.96 of both, and a pace of rounding."""
    beyond = card_legs(WALK, INES)[0].too_far - 240
    assert beyond == math.ceil(1.96 * math.hypot(0.05 * 240, 0.05 * 240, math.sqrt(2 / 12)))


def test_the_end_of_a_leg_comes_before_too_far_39_times_in_40():
    """20,000 legs logged and walked again, each count scattering by 5 % (seed 7)."""
    chance = np.random.default_rng(7)
    late = 0
    for length in (40, 240, 900):
        logged = np.round(length * (1 + 0.05 * chance.standard_normal(20_000))).astype(int)
        comes_at = length * (1 + 0.05 * chance.standard_normal(20_000))
        limit = {count: card_legs(log_of((0, count)), INES)[0].too_far for count in set(logged.tolist())}
        late += np.mean(comes_at > np.array([limit[count] for count in logged.tolist()]))
    assert 0.02 < late / 3 < 0.03


def test_a_reading_between_two_marks_is_kept():
    legs = card_legs(log_of((305.5, 100), (20, 100)), INES)
    assert (legs[0].azimuth, legs[0].back, legs[1].azimuth) == ("305.5", "125.5", "20")


def test_an_estimated_leg_is_too_far_later_than_a_counted_one():
    counted, estimated = log_of((0, 200)), log_of((0, 200, "[est 30%]"))
    assert card_legs(estimated, INES)[0].too_far > card_legs(counted, INES)[0].too_far + 50


def test_a_log_in_steps_sets_the_cord_in_steps():
    leg = card_legs(log_of((10, 500), count="steps"), INES)[0]
    assert (leg.count, leg.tally.hundreds, leg.tally.paces) == ("500", 5, 0)
    assert leg.minutes == round(60 * 0.4 / 4)


def test_a_log_in_mils_stays_in_mils():
    told = words(
        typeset(
            [leg_card(open_estimate(log_of((1600, 100), azimuth="grid mils"), INES), PAPERS["a4"])],
            PAPERS["a4"],
        )
    )
    assert "grid mils" in told and "1600" in told and "4800" in told


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_every_leg_and_the_way_back_stand_on_every_paper(name):
    told = words(typeset([leg_card(open_estimate(WALK, INES), PAPERS[name])], PAPERS[name]))
    for leg in card_legs(WALK, INES):
        assert leg.count in told and leg.back in told and str(leg.too_far) in told
    way = way_back(WALK, INES)
    assert f"azimuth {way.azimuth_deg:.0f} deg (magnetic), {way.count} paces" in told
    assert "magnetic deg" in told and "Local rules and what qualified instruction taught you" in told


def test_a_walk_that_has_come_back_still_has_a_card():
    told = words(
        typeset([leg_card(open_estimate(log_of((0, 100), (180, 100)), INES), PAPERS["a4"])], PAPERS["a4"])
    )
    assert "there is no way to walk" in told


def test_three_hundred_legs_make_a_card():
    log = log_of(
        *((i % 360, 100 + i, "[at A very long name of a place]" if i == 7 else "") for i in range(300))
    )
    told = words(typeset([leg_card(open_estimate(log, INES), PAPERS["pocket"])], PAPERS["pocket"]))
    assert "399" in told


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_a_card_whose_legs_may_hold_a_mistake_says_so(name):
    gap = log_of((0, 900, "[at Oak]"), (90, 700), (180, 500, "[at Oak]"), (90, 200))
    told = words(typeset([leg_card(open_estimate(gap, INES), PAPERS[name])], PAPERS[name]))
    assert "Take care: this log may hold a mistake" in told
    sound = words(typeset([leg_card(open_estimate(WALK, INES), PAPERS[name])], PAPERS[name]))
    assert "may hold a mistake" not in sound
