"""The pace trial sheet: runs as walked, and a mean that a pencil can follow."""

from __future__ import annotations

import pytest

from pacewright.core.pace.pacing import fit_pace_table
from pacewright.files.bundled import bundled
from pacewright.files.trials_csv import read_trials, read_trials_heading
from pacewright.sheets.paper import PAPER_NAMES, PAPERS
from pacewright.sheets.trial_sheet import BLANK_RUNS, trial_sheet, worked_mean
from pacewright.sheets.typesetting import typeset
from support.pdf_pages import words

RUNS = read_trials(bundled("pace_trials.csv"))


def printed(name="a4", runs=()):
    return words(typeset([trial_sheet(PAPERS[name], runs)], PAPERS[name]))


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_a_blank_sheet_has_numbered_runs_and_a_worked_mean(name):
    told = printed(name)
    rows = iter(int(word) for word in told.split() if word.isdecimal())
    assert all(number in rows for number in range(1, BLANK_RUNS[name] + 1))
    # 62, 64 and 63 to 100 m make 189, a third of it 63.
    assert "(62 + 64 + 63) / 3 = 189 / 3 = 63.0 paces to 100 m" in told
    assert "A pace is two steps" in told


def test_every_run_stands_there_with_its_count_to_100_m():
    told = printed(runs=RUNS)
    for number, run in enumerate(RUNS, start=1):
        assert (
            f"{number} {run.ground} {run.slope_label} {run.load_kg:g} {run.distance_m:g} {run.count:g}"
            in told
        )
    assert "8 heath level 8 200 125 62.5" in told


def test_the_worked_mean_is_that_of_the_pace_table():
    table = fit_pace_table(RUNS)
    most = max(table.classes, key=lambda one: one.runs)
    told = worked_mean(table.runs_of(most))
    assert told.endswith(f"= {most.per_100_m:.1f} paces to 100 m")
    assert told == "(62 + 63 + 61 + 62 + 64 + 52 + 63 + 62.5) / 8 = 489.5 / 8 = 61.2 paces to 100 m"
    assert told in printed(runs=RUNS)


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_the_means_of_all_classes_stand_below_by_the_formula_on_the_page(name):
    """Sums by hand from the file: heath up (68 + 70 + 67) / 3, down (63 + 65 + 66) / 3, and so on."""
    told = printed(name, RUNS)
    below = told.partition("Means")[2]
    by_hand = (489.5 / 8, 205 / 3, 194 / 3, 288 / 4, 80 / 1, 130 / 2)
    for mean, one in zip(by_hand, fit_pace_table(RUNS).classes, strict=True):
        assert f"{one.runs} {mean:.1f} {one.per_100_m:.1f} " in below


@pytest.mark.parametrize("name", PAPER_NAMES)
def test_what_the_file_knows_is_filled_in(name):
    data = bundled("pace_trials.csv").replace(
        b"# count", b"# date: 2026-05-14\n# measured by: Tom Vale\n# count"
    )
    sheet = trial_sheet(PAPERS[name], read_trials(data), read_trials_heading(data))
    told = words(typeset([sheet], PAPERS[name]))
    for one in (
        "walker Ines Rowe",
        "date 2026-05-14",
        "course 100 m taped on the heath",
        "measured by Tom Vale",
    ):
        assert one in told
