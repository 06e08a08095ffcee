"""The card of the way back says what the commands say, and its drawing is to scale."""

from __future__ import annotations

import math
import re

import pytest

from pacewright.answers.way import aim_off, way_back
from pacewright.core.pace.tally import tally_of_count
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.search_pattern import expanding_square, overshoot
from pacewright.drawing.search_diagram import draw_search
from pacewright.exceptions import ValueComplaint
from pacewright.files.field_model import open_norths
from pacewright.files.known_places import open_estimate
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.typesetting import typeset
from pacewright.sheets.way_back_card import WayBackAsked, way_back_card
from pacewright.wording.numbers import say_tally
from support.logs import log_of
from support.made_sheets import INES as MADE
from support.made_sheets import made_log
from support.pdf_pages import opened, words

INES = Walker(name="Ines Rowe", per_100_m=62.5)
WALK = log_of(
    (305, 240), (38, 185, "[at Split oak]"), (52, 330, "[box right 40] pond"), (164, 260, "[at Heron post]")
)


def printed(asked=None, name="a4", log=WALK, walker=INES):
    return words(typeset([way_back_card(open_estimate(log, walker), PAPERS[name], asked)], PAPERS[name]))


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_figures_are_those_of_the_way_back(name):
    told, way = printed(name=name), way_back(WALK, INES)
    turn = overshoot(way)
    figures = f"{way.azimuth_deg:.0f} {way.count} {turn.look_from} {turn.stop_at}"
    assert figures in told
    assert f"Look for it from {turn.look_from} on. Stop at {turn.stop_at}; do not walk on." in told
    assert "Local rules and what qualified instruction taught you" in told


@pytest.mark.parametrize("name", ["a4", "pocket"])
def test_the_search_and_the_legs_back_are_there(name):
    told = printed(WayBackAsked(sighting_distance=20.0), name)
    square = expanding_square(way_back(WALK, INES), 20.0)
    for i, leg in enumerate(square.legs, start=1):
        assert f"{i} {leg.azimuth_deg:.0f} {leg.length:.0f} {leg.total:.0f}" in told
    rows = ("1 344 260", "2 232 330 ends at Split oak; box left: 40 out, 40 back", "4 125 240 ends at Gate")
    for row in rows:
        assert row in told


def test_a_sighting_distance_that_nobody_gave_is_said_to_be_taken():
    assert "20 paces off (taken so; nothing was said of it)" in printed()
    assert "taken so" not in printed(WayBackAsked(sighting_distance=20.0))


def test_a_way_that_is_aimed_off_is_the_one_to_walk():
    told, aim, way = (
        printed(WayBackAsked(line_azimuth_deg=100.0)),
        aim_off(WALK, INES, 4, 0, 100.0),
        way_back(WALK, INES),
    )
    assert f"{aim.azimuth_deg:.0f} {aim.count} {aim.line_from} {aim.line_by}" in told
    assert "The search starts where you meet the line." in told
    assert f"(The direct way, not to be walked: {way.azimuth_deg:.0f} deg, {way.count} paces.)" in told
    assert "On the map:" not in told and "aiming off" not in printed()


def test_a_part_without_an_answer_leaves_the_rest():
    way = way_back(WALK, INES)
    told = printed(WayBackAsked(line_azimuth_deg=way.azimuth_deg, sighting_distance=0.001))
    assert "No aiming off:" in told and "No search:" in told
    assert f"{way.count} paces" in told


def test_between_two_named_stations():
    told = printed(WayBackAsked(from_station=4, to_station=2))
    assert "Way back: Heron post to Split oak" in told


def test_the_same_station_twice_is_refused():
    with pytest.raises(ValueComplaint, match="both the start and the goal"):
        printed(WayBackAsked(from_station=0, to_station=0))


def test_a_walk_that_has_come_back_still_has_a_card():
    assert "There is no way to walk" in printed(log=log_of((0, 100), (180, 100, "[at Gate]")))


def test_the_search_is_drawn_to_scale():
    """Sides S, S, 2S, 2S, ... (IAMSAR Manual, Vol. II, ch. 5) against the drawing's own scale bar."""
    way = way_back(WALK, INES)
    square = expanding_square(way, 20.0)
    drawn = draw_search(way, overshoot(way), square)
    search = re.search(r'<polyline points="([^"]+)"[^>]*class="search"', drawn)[1]
    corners = [tuple(map(float, pair.split(","))) for pair in search.split()]
    bar = re.search(r'<line x1="6" y1="114" x2="([\d.]+)" y2="114"', drawn)
    length = float(re.search(r">(\d+) paces<", drawn)[1])
    mm_per_pace = (float(bar[1]) - 6.0) / length
    for leg, start, end in zip(square.legs, corners, corners[1:], strict=False):
        assert math.dist(start, end) == pytest.approx(leg.length * mm_per_pace, abs=0.05)
        azimuth = math.degrees(math.atan2(end[0] - start[0], start[1] - end[1])) % 360
        assert abs((azimuth - leg.azimuth_deg + 180) % 360 - 180) < 0.3


@pytest.mark.parametrize("count", [3, 100_000])
def test_very_short_and_very_long_ways_have_a_card(count):
    assert f"{count} paces" in printed(log=log_of((90, count)))


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_card_warns_where_the_legs_may_hold_a_mistake(name):
    gap = log_of((0, 900, "[at Oak]"), (90, 700), (180, 500, "[at Oak]"), (90, 200))
    assert "this log may hold a mistake" in printed(name=name, log=gap)
    assert "may hold a mistake" not in printed(name=name)


def test_a_log_of_steps_is_walked_back_in_steps_the_cord_included():
    """Two steps are a pace (FM 3-25.26, from memory); nothing on the card is in another unit."""
    log = log_of((305, 480), (38, 370, "[at Split oak]"), (52, 660), count="steps")
    told, way = printed(log=log), way_back(log, INES)
    turn = overshoot(way)
    assert f"{way.azimuth_deg:.0f} {2 * way.count} {2 * turn.look_from} {2 * turn.stop_at}" in told
    assert "Cord: 1 lower bead = 100 steps" in told and "40 steps off (taken so" in told
    assert f"The cord then shows {say_tally(tally_of_count(2 * way.count), 'step')}." in told


@pytest.mark.parametrize(("name", "legs"), [("a4", 4), ("a4", 6), ("letter", 4)])
def test_a_way_back_of_a_few_legs_is_one_page(name, legs):
    log = made_log(legs)
    assert (
        opened(typeset([way_back_card(open_estimate(log, MADE), PAPERS[name])], PAPERS[name])).page_count == 1
    )


def test_the_card_says_whose_it_is_and_what_it_takes_for_granted():
    pdf = typeset(
        [way_back_card(open_estimate(made_log(4), MADE), PAPERS["a4"])], PAPERS["a4"], "", "2026-05-15"
    )
    told = words(pdf)
    norths = open_norths("37.4521 -119.2984", "2026-05-14")
    assert "Ines Rowe; log Cinder Fen, 2026-05-14. 62.5 paces to 100 m" in told
    assert f"declination {norths.found.declination_deg:.1f} deg east (WMM" in told
    assert "printed 2026-05-15, page 1 of 1" in told


def test_the_card_counts_on_the_ground_that_is_asked_for():
    boggy = Walker(name="Ines Rowe", per_100_m=62.5, classes=(PaceClass("bog", None, None, 80.0, 0.1),))
    way = way_back(WALK, boggy, ground="bog")
    assert f"{way.azimuth_deg:.0f} {way.count} " in printed(WayBackAsked(ground="bog"), walker=boggy)
    assert way.count != way_back(WALK, boggy).count
