"""What is said of a mistake: where to look, how sure, and what would not show."""

from __future__ import annotations

import re

import numpy as np
import pytest

from pacewright.core.slips.advice import advise, best_of_each
from pacewright.core.slips.mistakes import find_mistakes
from pacewright.core.slips.place_mixture import find_islands
from pacewright.core.slips.plan_checks import plan_checks
from pacewright.core.slips.reading_slips import READING_KINDS
from pacewright.core.slips.slip_pairs import find_pairs
from pacewright.core.slips.slips import KIND_WEIGHT, PAGE_MISREAD
from pacewright.files.log_csv import read_log
from pacewright.wording.findings import (
    CAUSE,
    CAUTION,
    say_advice,
    say_findings,
    say_islands,
    say_pairs,
    say_plan,
    say_unseen,
)
from pacewright.wording.suspects import LEAST_SHOWN, say_suspect, suspect_table
from support.logs import log_of, walker_like
from support.made_logs import draw_log

TWO_SUSPECTS = ((0, 900), (90, 700), (180, 500), (270, 700, "[at Gate]"))
ONE_SUSPECT = ((0, 600), (90, 500), (180, 600), (90, 500, "[back 90] [at Gate]"))


def test_below_nine_in_ten_rows_are_to_be_checked_first():
    findings = find_mistakes(log_of(*TWO_SUSPECTS))
    assert max(chance.probability for chance in findings.by_leg) < 0.9
    said = " ".join(say_findings(findings))
    assert said.startswith("A mistake is very likely (")
    assert re.search(r"Look here first: leg [13] \(line .*; leg [13] \(line ", said)
    assert re.search(r"If there is a mistake, it is in one of these 2 \(\d\d %\)\.", said)
    assert " is wrong" not in said


def test_above_nine_in_ten_a_row_is_called_wrong():
    findings = find_mistakes(log_of(*ONE_SUSPECT))
    assert findings.by_leg[0].probability > 0.9
    said = " ".join(say_findings(findings))
    assert "Leg 4 (line 8: 90,500) is wrong (over 99 %)." in said
    assert "Look here first" not in said


def test_a_chance_is_never_told_without_what_was_taken_beforehand():
    for rows in (TWO_SUSPECTS, ONE_SUSPECT, ((0, 500), (180, 505, "[at Gate]"))):
        said = " ".join(say_findings(find_mistakes(log_of(*rows), prior=0.3)))
        assert "taking 30 in 100 of such logs to hold one" in said


def test_a_clean_log_is_not_accused():
    said = say_findings(find_mistakes(log_of((0, 500), (90, 400), (180, 500), (270, 400, "[at Gate]"))))
    assert len(said) == 1
    assert said[0].startswith("No mistake shows (")


def test_a_log_of_which_nothing_was_observed_is_said_to_hide_every_slip():
    findings = find_mistakes(log_of((0, 500), (90, 400)))
    assert "so no slip can show in this log, of whatever kind." in " ".join(say_findings(findings))
    assert say_unseen(findings) == []


def test_what_would_not_show_is_named():
    made = draw_log(np.random.default_rng(6), "loop", 24, mistake=False)
    said = " ".join(say_unseen(find_mistakes(read_log(made.text.encode()), walker_like())))
    assert "lost tally of 100" in said
    assert "declination applied the wrong way" in said
    assert said.endswith("would not show in this log, on whatever leg.")


def test_a_suspect_says_what_was_written_what_may_have_been_and_why():
    findings = find_mistakes(log_of(*TWO_SUSPECTS))
    said = [say_suspect(suspect, findings.posterior.log) for suspect in findings.suspects]
    assert "leg 1 (line 5: 0,900) may have been 0,800: a hundred was tallied twice." in said
    assert "leg 3 (line 7: 180,500) may have been 0,500: " in " ".join(said)
    assert "Every azimuth may have been 6 deg more: the declination was applied the wrong way." in said
    (missing,) = [one for one in said if "never written" in one]
    assert re.match(
        r"A leg of about \d+ deg, \d+ paces may be missing somewhere along legs 1 to 4: ", missing
    )


def test_every_kind_has_its_words():
    assert set(CAUSE) == {*KIND_WEIGHT, *READING_KINDS, PAGE_MISREAD}


def test_the_table_numbers_suspects_as_they_are_accepted():
    findings = find_mistakes(log_of(*TWO_SUSPECTS))
    heading, rows = suspect_table(findings)
    assert heading[0] == "no."
    shown = [one for one in findings.suspects[:8] if one.probability > LEAST_SHOWN]
    assert [row[0] for row in rows] == [str(n) for n in range(1, len(shown) + 1)]
    assert len(rows) > 1
    assert all(len(row) == len(heading) for row in rows)
    assert rows[0][2] == f"leg {findings.suspects[0].legs[0]}"


def test_advice_names_the_station_and_no_bits():
    findings = find_mistakes(log_of(*TWO_SUSPECTS))
    (said,) = say_advice(best_of_each(advise(findings.posterior)), findings.posterior.log)
    assert re.search(r"walk straight from Gate to station [12] by azimuth and count", said)
    assert "bit" not in said
    assert say_advice((), findings.posterior.log) == []


def test_islands_tell_a_way_each():
    findings = find_mistakes(log_of(*TWO_SUSPECTS))
    (said,) = say_islands(find_islands(findings.posterior, 2), findings.posterior.log, 2, "pace")
    assert said.count("Gate is ") >= 2
    assert said.startswith("Where station 2 lies depends on where the mistake is: ")


def test_one_slip_needs_no_word_about_two():
    findings = find_mistakes(log_of(*ONE_SUSPECT))
    assert say_pairs(find_pairs(findings.posterior), findings.posterior.log) == []


def test_a_plan_is_told_where_to_look():
    log = log_of((0, 500), (60, 500), (120, 500), (180, 500), (240, 500), (300, 500, "[at Gate]"))
    said = say_plan(plan_checks(log), log)
    assert said[-1].startswith("Let a station be a place the map knows: station ")
    assert "bit" not in " ".join(said)


def test_the_caution_defers_to_rules_and_instruction():
    assert "Local rules" in CAUTION
    assert "qualified instruction" in CAUTION


@pytest.mark.parametrize("unit", ["degrees", "mils", "gon"])
def test_a_missing_leg_is_told_in_the_units_of_the_log(unit):
    log = log_of((10, 500), (20, 400, "[at Gate]"), azimuth=f"magnetic {unit}")
    suspects = find_mistakes(log).suspects
    said = next(say_suspect(one, log) for one in suspects if one.kind == "leg_missing")
    assert (" deg, " if unit == "degrees" else f" {unit}, ") in said


SQUARE = ((0, 300, "[at Elm]"), (90, 300), (180, 300), (270, 300, "[at Gate]"))


def square_with(azimuth):
    log = log_of(*SQUARE[:2], (azimuth, "", "[see Elm]"), *SQUARE[2:])
    return log, find_mistakes(log)


def test_a_wrong_bearing_is_named():
    _, findings = square_with(90)
    assert "The bearing to Elm from station 2 is wrong (over 99 %)." in say_findings(findings)


def test_a_bearing_that_was_turned_round_is_shown_as_a_bearing_and_not_as_a_back_reading():
    _, findings = square_with(90)
    instead = {row[4] for row in suspect_table(findings)[1] if row[2] == "bearing, Elm"}
    assert "270" in instead
    assert not any(text.startswith("[back") for text in instead)


def test_of_a_bearing_that_agrees_nothing_is_said():
    _, findings = square_with(270)
    assert not any("bearing" in one for one in say_findings(findings))


def test_a_leg_missing_at_one_place_and_one_of_which_nothing_is_told_read_well():
    log, findings = square_with(90)
    beside = next(one for one in findings.suspects if one.after_legs == (1, 2))
    assert beside.entries[0].count == 0
    assert say_suspect(beside, log).startswith(
        "A leg may be missing before or after leg 2; nothing here tells how it ran"
    )
    assert "not told" in {row[4] for row in suspect_table(findings)[1]}
