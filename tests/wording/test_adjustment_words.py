"""An adjusted log in sentences: what is said, and what must not be."""

from __future__ import annotations

from dataclasses import replace

from pacewright.core.adjust.adjustment import Parameter, adjust
from pacewright.core.adjust.rule_adjustment import adjust_by_rule
from pacewright.core.learn.learning import Change, Learnt
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame, walker_frame
from pacewright.wording.adjustment import (
    adjusted_leg_table,
    adjusted_station_table,
    is_finding,
    say_adjustment,
    say_learnt,
    say_rule,
)
from support.logs import log_of, walker_like

INES = walker_like()
LOOP = [(0, 100), (90, 100), (180, 104), (270, 100, "[at Gate]")]


def said_of(log, frame, **how):
    return " ".join(say_adjustment(log, adjust(log, INES, frame, **how), 0.95))


def test_an_ordinary_loop_fits_and_a_mistake_is_not_ruled_out():
    log = log_of(*LOOP)
    said = said_of(log, walker_frame(log.heading, INES))
    assert "1 marker met again: 2 numbers more than needed" in said
    assert "It fits" in said
    assert "No mistake shows; there may be one all the same" in said


def test_a_loop_that_misses_grossly_sends_the_reader_to_the_search_for_mistakes():
    log = log_of(*LOOP[:2], (180, 1104), LOOP[3])
    adjustment = adjust(log, INES, walker_frame(log.heading, INES))
    assert is_finding(adjustment)
    assert "pacewright check" in " ".join(say_adjustment(log, adjustment, 0.95))


def test_what_only_the_prior_said_is_never_called_found():
    log = log_of(*LOOP)
    said = said_of(log, map_frame(log.heading, INES))
    assert (
        "does not tell compass bias (give or take 1.5 deg; believed beforehand: 1.5 deg either way)" in said
    )
    assert "pace scale (give or take 3.0 %" in said
    assert "too low" not in said
    assert "too high" not in said


def test_what_the_log_told_is_said_with_its_doubt():
    log = log_of(*LOOP)
    adjustment = adjust(log, INES, map_frame(log.heading, INES))
    told = (Parameter("compass bias", 1.44, 0.8, 1.5), Parameter("pace scale", 0.97, 0.01, 0.03))
    said = " ".join(say_adjustment(log, replace(adjustment, parameters=told), 0.95))
    assert "azimuths read 1.4 deg too low (give or take 0.8" in said
    assert "A declination that is off looks the same" in said
    assert "the way was 3.0 % shorter than counted (give or take 1.0 %" in said
    assert "does not tell" not in said


def test_a_leg_trusted_little_is_named():
    log = log_of((0, 300, "[back 250]"), (90, 200), (200, 320), (290, 90, "[at Gate]"))
    said = said_of(log, walker_frame(log.heading, INES), robust=True)
    assert "Trusted less than half: the back azimuth of leg 1" in said


def test_the_tables_have_a_row_for_every_station_and_leg():
    log = log_of(*LOOP)
    adjustment = adjust(log, INES, walker_frame(log.heading, INES))
    heading, rows = adjusted_station_table(adjustment, 0.95)
    assert [row[0] for row in rows] == ["0", "1", "2", "3", "4"]
    assert all(len(row) == len(heading) for row in rows)
    heading, rows = adjusted_leg_table(log, adjustment)
    assert [row[0] for row in rows] == ["1", "2", "3", "4"]
    assert all(len(row) == len(heading) for row in rows)


def test_a_rule_says_what_it_spread_and_what_it_cannot_say():
    log = log_of(*LOOP)
    said = " ".join(say_rule(log, adjust_by_rule(log, INES, rule="compass")))
    assert "Legs 1 to 4, to Gate: the legs miss by 4.0 paces in 404.0 (closure 1:101)" in said
    assert "in proportion to the length of each leg" in said
    assert "does not say how sure a station is" in said


def test_learning_says_before_and_after():
    change = Change("pace count", "paces to 100 m", 62.5, 1.875, 63.21, 1.1)
    said = " ".join(say_learnt(Learnt(Walker(), (change,), ()), Walker(name="Ines Rowe")))
    assert "for Ines Rowe" in said
    assert "Pace count: 62.5 give or take 1.9 before, 63.2 give or take 1.1 now (paces to 100 m)." in said
    assert "half after 10 more logs" in said


def test_learning_nothing_says_so():
    assert "No figure changed." in say_learnt(Learnt(Walker(), (), ("The log is set aside.",)), Walker())
