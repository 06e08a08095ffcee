"""A pace table in plain sentences."""

from __future__ import annotations

import pytest

from pacewright.core.pace.pace_trials import PaceRun
from pacewright.core.pace.pace_walker import ordinary_class, walker_from
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.wording.pacing import (
    CAUTION,
    pace_table_rows,
    say_left_out,
    say_pace_table,
    say_runs_more,
    say_written,
)


def table_of(counts, **more):
    first = more.pop("first_line", 2)
    runs = [PaceRun("heath", "level", None, 100, c, line=first + i, **more) for i, c in enumerate(counts)]
    return fit_pace_table(runs)


def said(table):
    return say_pace_table(table, ordinary_class(table))


def test_the_ordinary_count_comes_first_and_the_caution_last():
    sentences = said(table_of([62, 69, 63, 64]))
    assert sentences[0] == (
        "heath, level counts as ordinary: 64.5 paces to 100 m (129 steps), between 59.6 and 69.4 "
        "(95 in 100), from 4 runs."
    )
    assert (
        sentences[1]
        == "4 runs in 1 class: from run to run a count scatters by 4.8 %, pooled over the classes."
    )
    assert sentences[-1] == CAUTION


def test_the_farthest_of_ordinary_runs_is_named_with_its_chance():
    assert (
        "No run is out of the ordinary. The farthest is line 3 (heath, level): 69.0 where the others make "
        "63.0; with as many runs chance alone does that 15 times in 100."
    ) in said(table_of([62, 69, 63, 64]))
    assert "No run is out of the ordinary." in said(table_of([62, 63, 63, 64]))


def test_an_outlying_run_is_a_question_with_figures_with_and_without_it():
    assert said(table_of([62, 63, 62, 61.5, 63.5, 52, 62.5]))[0] == (
        "Without line 7 heath, level is 62.4 paces to 100 m, with it 60.9: 52 paces over 100 m, 52.0 to "
        "100 m, where the others make 62.4. A miscount? A ten left out would explain it. It is kept until "
        "you leave it out; the scatter from run to run is 6.6 % with it, 1.2 % without."
    )


def test_one_slip_does_not_widen_the_interval_until_it_says_nothing():
    """Three runs, one of them counted in steps."""
    (one,) = table_of([62, 63, 125]).classes
    assert 55 < one.low < 62 and 83 < one.high < 95
    assert one.runs_more_for(3) < 20


def test_both_means_are_said_with_their_directions():
    assert (
        "From metres to paces, take 64.5 paces to 100 m (the mean of counts); from paces to metres, 1.553 m "
        "a pace (the mean of pace lengths). One is not quite 100 over the other, because counts scatter, and "
        "each is right on the average only in its own direction."
    ) in said(table_of([62, 69, 63, 64]))


def test_a_borrowed_class_says_by_how_much_and_what_its_own_run_says():
    runs = [PaceRun("heath", "level", None, 100, c) for c in (62, 63, 64, 63)]
    table = fit_pace_table([*runs, PaceRun("brush", "level", None, 100, 75)])
    one = table.classes[1]
    (sentence,) = [s for s in said(table) if s.startswith("brush, level: ")]
    assert f"{one.per_100_m:.1f} paces to 100 m" in sentence
    assert sentence.endswith("With only 1 run it is drawn toward the other classes (its own run says 75.0).")


def test_an_assumed_scatter_is_said_to_be_assumed():
    assert said(table_of([62]))[1] == (
        "1 run in 1 class: too few repeat a class to tell how counts scatter from run to run; 5.0 % is "
        "assumed until more are walked."
    )


def test_a_class_that_scatters_unlike_the_others_is_said_to():
    steady = [PaceRun("heath", "level", None, 100, c) for c in (62, 62.5, 63, 62.5, 62, 63)]
    wild = [PaceRun("brush", "level", None, 100, c) for c in (68, 78, 70, 80, 66, 76)]
    sentences = said(fit_pace_table([*steady, *wild]))
    assert [s[:13] for s in sentences if "is too narrow" in s] == ["brush, level "]


# common practice: 116 to 120 steps to 100 m on the level; a count like that is of steps.
@pytest.mark.parametrize(("count", "warned"), [(62, 0), (120, 1)])
def test_a_count_that_looks_like_steps_is_questioned(count, warned):
    sentences = said(table_of([count, count + 1, count + 2]))
    assert sum("looks like steps" in s for s in sentences) == warned


def test_steps_are_told_as_they_were_written():
    assert say_left_out([PaceRun("heath", "up", 8, 100, 62.5, line=4, counted_in="steps")]) == (
        "Left out as you asked: line 4 (heath, up, 8 kg), 125 steps over 100 m."
    )


def test_the_runs_still_wanted_are_said():
    (one,) = table_of([60, 62, 64, 62]).classes
    assert say_runs_more(one, 2).startswith(
        "heath, level: 6 more runs would pin the count to 2 % (now 4.2 %)"
    )
    assert say_runs_more(one, 9) == "heath, level: known to 9 % already (now 4.2 %)."


def test_the_table_has_a_row_a_class():
    heading, rows = pace_table_rows(table_of([62, 69, 63, 64]))
    assert heading[:4] == ("class", "runs", "paces to 100 m", "95 % interval")
    assert rows == [("heath, level", "4", "64.5", "59.6 to 69.4", "4.8 %", "1.553")]


def test_a_written_walker_says_where_its_scatter_came_from():
    table = table_of([62, 69, 63, 64])
    assert say_written(walker_from(table, "Ines Rowe"), "w.toml") == (
        "w.toml: the pace count is taken as known to 2.9 % (2.5 % from the trials and 1.5 % for another "
        "day); a leg's count scatters by 4.9 % (3 repeated runs, with the default 5 % weighed in)."
    )
