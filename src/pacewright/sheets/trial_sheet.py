"""The pace trial sheet: a row a run, and a mean worked by hand on the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from pacewright.core.pace.pace_table import PaceTable
from pacewright.core.pace.pace_trials import PaceRun
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.sheets.blocks import Block, Column, fields, heading, keep, lines, new_page, table, text, texts
from pacewright.sheets.paper import Paper, PaperName, Sheet, sheet
from pacewright.wording.pacing import pace_table_rows

BLANK_RUNS: Final[dict[PaperName, int]] = {
    "a4": 20,
    "letter": 17,
    "a5": 10,
    "pocket": 22,
    "pocket-letter": 22,
}

_MOST_ROWS_KEPT: Final = 14
"""A table of no more rows than this stays on one page."""

_HOW: Final = (
    "Measure a course (100 m or more) on each class of ground that you cross. Walk it as you walk all day, "
    "with your load. A pace is two steps: count every time the same foot lands.",
    "To 100 m: count x 100 / metres. Mean of a class: sum of its counts to 100 m, divided by its runs.",
)
_HEAD: Final = ((("walker", 2.0), ("date", 1.0)), (("course", 2.0), ("measured by", 1.0)))
_TAKEN: Final = (
    "Mean: by the sum above. Taken: what calibrate writes into the walker file; it draws the mean of few "
    "runs toward the other classes."
)
_EXAMPLE: Final = (
    PaceRun("heath", "level", 8.0, 100.0, 62.0),
    PaceRun("heath", "level", 8.0, 100.0, 64.0),
    PaceRun("heath", "level", 8.0, 200.0, 126.0),
)
"""Made up, for a page without runs of its own."""


def trial_sheet(
    paper: Paper, runs: Sequence[PaceRun] = (), heading_of: Mapping[str, str] = MappingProxyType({})
) -> Sheet:
    """The trial sheet: blank, with a made-up mean worked; or with the runs of a walker.

    Parameters
    ----------
    paper
        What it is printed on.
    runs
        As walked; the mean of the class with most runs is then the one that is worked.
    heading_of
        What is known of `walker`, `date`, `course` and `measured by`.
    """
    shown = [_run_cells(i, run) for i, run in enumerate(runs, start=1)]
    if not runs:
        shown = [[str(i), *[""] * 6] for i in range(1, BLANK_RUNS[paper.name] + 1)]
    head: list[Block] = [
        fields([[(one, heading_of.get(one, ""), share) for one, share in row] for row in _HEAD], 6.5),
        *texts(_HOW, size_em=0.9),
    ]
    for_pencil_mm = 4.6 if paper.is_card else 5.4
    rows = table(_columns(paper), shown, row_mm=0.0 if runs else for_pencil_mm, heavy_every=5)
    if not runs:
        own = keep([text("Your own:", size_em=0.9), lines(8 if paper.is_card else 3, 7.0)])
        return sheet("Pace trials", [*head, rows, *_worked(_EXAMPLE, "Worked, with a made-up walker"), own])
    fitted = fit_pace_table(runs)
    most = max(fitted.classes, key=lambda one: one.runs)
    return sheet(
        "Pace trials",
        [*head, rows, *_worked(fitted.runs_of(most), "Worked"), *_means(fitted, paper)],
    )


def _columns(paper: Paper) -> list[Column]:
    kg, metres = ("kg", "m") if paper.is_card else ("load kg", "metres")
    return [
        Column("run", mm=6 if paper.is_card else 9, align="right", size_em=0.85),
        Column("ground", 1.4),
        Column("slope", 1.13),
        Column(kg, 0.68 if paper.is_card else 1.0, align="right"),
        Column(metres, 0.9, align="right"),
        Column("count", 1.15, align="right", bold=True),
        Column("to\n100 m", 1.14, align="right", bold=True),
    ]


def _run_cells(number: int, run: PaceRun) -> list[str]:
    load = "" if run.load_kg is None else f"{run.load_kg:g}"
    # Steps were turned into paces when the trials were read.
    return [
        str(number),
        run.ground,
        run.slope_label,
        load,
        f"{run.distance_m:g}",
        f"{run.count:g}",
        f"{run.per_100_m:.1f}",
    ]


def worked_mean(runs: Sequence[PaceRun]) -> str:
    """Write the mean of runs as it is worked with a pencil.

    >>> worked_mean(_EXAMPLE)
    '(62 + 64 + 63) / 3 = 189 / 3 = 63.0 paces to 100 m'
    """
    each = [run.per_100_m for run in runs]
    mean = mean_of(runs)
    # Written to a tenth, so that whoever adds up what stands there finds the same sum.
    tenths = [round(one, 1) for one in each]
    added = " + ".join(f"{one:g}" for one in tenths)
    return f"({added}) / {len(each)} = {sum(tenths):.4g} / {len(each)} = {mean:.1f} paces to 100 m"


def _worked(runs: Sequence[PaceRun], title: str) -> list[Block]:
    one = runs[0]
    to_100 = f"{one.count:g} x 100 / {one.distance_m:g} = {one.per_100_m:.1f}"
    return [
        keep(
            [
                heading(title),
                text(f"{one.class_label}. Run 1: {to_100}.", size_em=0.95),
                text(f"Mean: {worked_mean(runs)}.", bold=True),
                text(
                    "How far largest and smallest lie apart shows how steady the count is; one that stands "
                    "out may be a miscount: walk it again.",
                    size_em=0.9,
                ),
            ]
        ),
    ]


def _means(fitted: PaceTable, paper: Paper) -> list[Block]:
    heads, rows = pace_table_rows(fitted)
    means = [mean_of(fitted.runs_of(one)) for one in fitted.classes]
    # The mean by the sum on this page comes first; what the tool takes stands beside it.
    shown = [
        (row[0], str(one.runs), f"{mean:.1f}", *row[2:])
        for row, one, mean in zip(rows, fitted.classes, means, strict=True)
    ]
    named = (*heads[:2], "mean" if paper.is_card else "mean to\n100 m", "taken", *heads[3:])
    kept = (0, 1, 2, 3, 4) if paper.is_narrow else range(len(named))
    shares = (2.0, 0.95, 1.0, 1.1, 1.6, 1.1, 1.0)
    columns = [Column(named[i], shares[i], bold=i == 2) for i in kept]
    parts: list[Block] = [
        heading("Means"),
        table(columns, [[row[i] for i in kept] for row in shown]),
        text(_TAKEN, size_em=0.9),
    ]
    if paper.is_card:
        return [new_page(), *parts]
    return parts if len(rows) > _MOST_ROWS_KEPT else [keep(parts)]


def mean_of(runs: Sequence[PaceRun]) -> float:
    """The mean of runs: the sum of their counts to 100 m over their number.

    >>> mean_of(_EXAMPLE)
    63.0
    """
    return sum(run.per_100_m for run in runs) / len(runs)
