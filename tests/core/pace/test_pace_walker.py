"""A pace table to a walker."""

from __future__ import annotations

import math

import pytest

from pacewright.core.pace.pace_trials import PaceRun
from pacewright.core.pace.pace_walker import (
    COUNT_SD_LEAST_PCT,
    SCALE_SD_LEAST_PCT,
    ordinary_class,
    walker_from,
)
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.exceptions import MissingComplaint


def runs_of(counts, ground="heath", slope="level", load_kg=None):
    return [PaceRun(ground, slope, load_kg, 100, count) for count in counts]


LEVEL = runs_of((62, 63, 62, 64))
UP = runs_of((70, 71, 69), slope="up")
BRUSH = runs_of((72, 73, 71), "brush")


def test_the_level_class_with_most_runs_is_ordinary():
    table = fit_pace_table([*BRUSH, *LEVEL, *UP])
    assert ordinary_class(table).label == "heath, level"
    assert walker_from(table, "Ines Rowe").per_100_m == 62.75


def test_without_level_runs_the_ordinary_class_must_be_named():
    table = fit_pace_table(UP)
    with pytest.raises(MissingComplaint, match="no run is on level ground"):
        walker_from(table, "Ines Rowe")
    walker = walker_from(table, "Ines Rowe", ordinary=table.classes[0])
    assert walker.per_100_m == 70
    assert walker.pace_class(None, "up").per_100_m == 70


def test_a_log_finds_its_classes_in_the_walker():
    walker = walker_from(fit_pace_table([*LEVEL, *UP, *BRUSH]), "Ines Rowe")
    assert walker.pace_class(None, None) is None
    assert walker.pace_class(None, "level") is None
    assert walker.pace_class(None, "up").per_100_m == 70
    assert walker.pace_class("heath", "level").per_100_m == 62.75
    assert walker.pace_class("brush", None).per_100_m == 72


def test_the_per_cents_of_one_direction_are_one_class_of_the_walker():
    table = fit_pace_table([*LEVEL, *runs_of((68, 68, 68), slope=8), *runs_of((80, 80, 80), slope=25)])
    up = walker_from(table, "").pace_class(None, "up")
    assert (up.per_100_m, up.runs) == (74, 6)


def test_few_runs_leave_the_scatter_near_the_default_and_many_bring_it_down_to_the_least():
    one = walker_from(fit_pace_table(runs_of((62,))), "").count
    assert (one.count_sd_pct, one.scale_sd_pct) == (5.0, round(math.hypot(5, SCALE_SD_LEAST_PCT), 2))
    few = walker_from(fit_pace_table(LEVEL), "").count
    many = walker_from(fit_pace_table(runs_of((62, 63) * 200)), "").count
    assert 3 < few.count_sd_pct < 5
    assert many.count_sd_pct == COUNT_SD_LEAST_PCT
    assert SCALE_SD_LEAST_PCT <= many.scale_sd_pct < few.scale_sd_pct


def test_the_walker_says_where_its_figures_came_from():
    walker = walker_from(fit_pace_table([*LEVEL, *runs_of((66, 67, 68), load_kg=18)]), "Ines Rowe")
    assert walker.origin["pace.per_100_m"] == "4 runs on heath, level"
    assert walker.origin["pace.count_sd_pct"] == "5 repeated runs, with the default 5 % weighed in"
    assert walker.origin["pace.ground"] == "one load to a walker file; left out: heath, level, 18 kg"
    assert "compass.bias_sd_deg" not in walker.origin


def test_a_walker_made_of_one_borrowed_run_says_that_it_leans():
    table = fit_pace_table([*UP, *runs_of((62,))])
    walker = walker_from(table, "")
    assert walker.origin["pace.per_100_m"] == "1 run on heath, level, leaning on the other classes"
    assert walker.count.scale_sd_pct >= SCALE_SD_LEAST_PCT
