"""A pace table in plain sentences."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.core.pace.pace_outliers import Slip
from pacewright.core.pace.pace_table import Farthest, OutlyingRun, PaceTable, TrialClass
from pacewright.core.pace.pace_trials import PaceRun, looks_like_steps, steps_from_paces
from pacewright.core.pace.student import f_exceeded
from pacewright.core.pace.walker import Walker
from pacewright.wording.numbers import say_odds, say_whole

SLIPS: Final[dict[Slip, str]] = {
    "ten_missed": "a ten left out",
    "ten_twice": "a ten counted twice",
    "hundred_missed": "a hundred left out",
    "hundred_twice": "a hundred counted twice",
    "steps_for_paces": "steps written for paces",
    "paces_for_steps": "paces written for steps",
}
"""What a slip in counting is called."""

CAUTION: Final = "Caution: tired, in the dark or in brush the count changes. Check it as you go."

_UNLIKE_BELOW: Final = 0.01
"""A class's own scatter is called unlike the others' where chance makes it so less often than this."""

_WORTH_NAMING_BELOW: Final = 0.3
"""The farthest of ordinary runs is named where chance alone puts one so far less often than this."""


def say_pace_table(table: PaceTable, ordinary: TrialClass, drop: str = "") -> list[str]:
    """What the trials make of a walker: what leaving runs out would change, the ordinary count, the rest.

    Parameters
    ----------
    table
        The fitted trials.
    ordinary
        The class to count as ordinary.
    drop
        How a run is left out, its line to follow, such as `--without`.
    """
    return [
        *[_say_one_outlying(one, drop) for one in table.outlying],
        _say_ordinary(ordinary),
        _say_scatter(table),
        *([_say_farthest(table.farthest)] if table.farthest else []),
        *[_say_borrowed(one) for one in table.classes if one.borrowed],
        *_say_unlike(table),
        *_say_steps(table),
        say_two_means(ordinary),
        CAUTION,
    ]


def say_calibration(
    table: PaceTable,
    ordinary: TrialClass,
    target_pct: float,
    left_out: Sequence[PaceRun] = (),
    drop: str = "",
) -> list[str]:
    """All that pace trials tell: what is or may be left out, the ordinary count, how many runs more, the rest.

    Parameters
    ----------
    table, ordinary
        The fitted trials, and the class to count as ordinary.
    target_pct
        The per cent to which more runs should pin the count.
    left_out
        Runs that the walker took out before.
    drop
        As in `say_pace_table`.
    """
    said = say_pace_table(table, ordinary, drop)
    first = len(table.outlying) + 1
    told = [say_left_out(left_out)] if left_out else []
    return [*told, *said[:first], say_runs_more(ordinary, target_pct), *said[first:]]


def say_two_means(one: TrialClass) -> str:
    """Say which figure serves for which direction, and why there are two."""
    return (
        f"From metres to paces, take {one.per_100_m:.1f} paces to 100 m (the mean of counts); from paces to "
        f"metres, {one.pace_m:.3f} m a pace (the mean of pace lengths). One is not quite 100 over the other, "
        "because counts scatter, and each is right on the average only in its own direction."
    )


def say_runs_more(one: TrialClass, target_pct: float) -> str:
    """Say how many more runs would pin the count.

    Raises
    ------
    ValueComplaint
        The per cent is not above 0, or too small for any number of runs.
    """
    more = one.runs_more_for(target_pct)
    if more == 0:
        return f"{one.label}: known to {target_pct:g} % already (now {one.within_pct:.1f} %)."
    runs = "1 more run" if more == 1 else f"{more} more runs"
    return (
        f"{one.label}: {runs} would pin the count to {target_pct:g} % (now {one.within_pct:.1f} %), "
        "if they scatter as so far."
    )


def say_left_out(runs: Sequence[PaceRun]) -> str:
    """Say which runs the walker left out."""
    named = "; ".join(f"line {run.line} ({run.class_label}), {_counted(run)}" for run in runs)
    return f"Left out as you asked: {named}."


def say_written(walker: Walker, path: str) -> str:
    """Say what the walker file holds beside the pace count, and where each figure came from."""
    origin = walker.origin
    return (
        f"{path}: the pace count is taken as known to {walker.count.scale_sd_pct:.1f} % "
        f"({origin['pace.scale_sd_pct']}); a leg's count scatters by {walker.count.count_sd_pct:.1f} % "
        f"({origin['pace.count_sd_pct']})." + _also(origin.get("pace.ground"))
    )


def _also(note: str | None) -> str:
    return f" {note[0].upper()}{note[1:]}." if note else ""


def pace_table_rows(table: PaceTable) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The pace table as a heading and rows of text."""
    heading: tuple[str, ...] = (
        "class",
        "runs",
        "paces to 100 m",
        f"{100 * table.probability:g} % interval",
        "run to run",
        "m a pace",
    )
    rows: list[tuple[str, ...]] = [
        (
            one.label,
            f"{one.runs}, borrowed" if one.borrowed else str(one.runs),
            f"{one.per_100_m:.1f}",
            f"{one.low:.1f} to {one.high:.1f}",
            "-" if one.run_sd_pct is None else f"{one.run_sd_pct:.1f} %",
            f"{one.pace_m:.3f}",
        )
        for one in table.classes
    ]
    return heading, rows


def calibration_rows(table: PaceTable, target_pct: float) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The pace table with a last column: how many more runs would pin each class."""
    heading, rows = pace_table_rows(table)
    more = [str(one.runs_more_for(target_pct)) for one in table.classes]
    asked = f"more runs for {target_pct:g} %"
    return (*heading, asked), [(*row, runs) for row, runs in zip(rows, more, strict=True)]


def _say_ordinary(one: TrialClass) -> str:
    return (
        f"{one.label} counts as ordinary: {one.per_100_m:.1f} paces to 100 m "
        f"({say_whole(steps_from_paces(one.per_100_m))} steps), between "
        f"{one.low:.1f} and {one.high:.1f} ({say_odds(one.probability)}), from {_runs(one.runs)}."
    )


def _say_scatter(table: PaceTable) -> str:
    made = f"{_runs(len(table.runs))} in {len(table.classes)} " + (
        "class" if len(table.classes) == 1 else "classes"
    )
    if table.scatter_assumed:
        return (
            f"{made}: too few repeat a class to tell how counts scatter from run to run; "
            f"{table.run_sd_pct:.1f} % is assumed until more are walked."
        )
    return f"{made}: from run to run a count scatters by {table.run_sd_pct:.1f} %, pooled over the classes."


def _say_borrowed(one: TrialClass) -> str:
    own = "its own run says" if one.runs == 1 else "its own runs say"
    return (
        f"{one.label}: {one.per_100_m:.1f} paces to 100 m, between {one.low:.1f} and {one.high:.1f} "
        f"({say_odds(one.probability)}). With only {_runs(one.runs)} it is drawn toward the other classes ({own} "
        f"{one.own_per_100_m:.1f})."
    )


def _say_one_outlying(one: OutlyingRun, drop: str) -> str:
    guess = f" {SLIPS[one.slip][0].upper()}{SLIPS[one.slip][1:]} would explain it." if one.slip else ""
    against = "the other run makes" if one.one_of_two else "the others make"
    which = " One of the two is off; nothing tells which." if one.one_of_two else ""
    how = f" ({drop} {one.run.line})" if drop and one.run.line is not None else ""
    return (
        f"Without {_named(one.run).lower()}{how} {one.label} is {one.per_100_m_without:.1f} paces to 100 m, "
        f"with it {one.per_100_m:.1f}: {_counted(one.run)}, {one.run.per_100_m:.1f} to 100 m, where {against} "
        f"{one.others_per_100_m:.1f}. A miscount?{guess}{which} It is kept until you leave it out; the scatter "
        f"from run to run is {one.run_sd_pct:.1f} % with it, {one.run_sd_pct_without:.1f} % without."
    )


def _say_farthest(one: Farthest) -> str:
    if one.p_value >= _WORTH_NAMING_BELOW:
        return "No run is out of the ordinary."
    return (
        f"No run is out of the ordinary. The farthest is {_named(one.run).lower()} ({one.label}): "
        f"{one.run.per_100_m:.1f} where the others make {one.others_per_100_m:.1f}; with as many runs chance "
        f"alone does that {100 * one.p_value:.0f} times in 100."
    )


def _say_unlike(table: PaceTable) -> list[str]:
    """Say where a class scatters unlike the others, so that the pooled scatter does not fit it."""
    said = []
    for one in table.classes:
        others = [c for c in table.classes if c is not one and c.run_sd_pct]
        freedom = sum(c.runs - 1 for c in others)
        if not one.run_sd_pct or freedom < 2 or table.outlying:
            continue
        pooled = sum((c.runs - 1) * (c.run_sd_pct or 0) ** 2 for c in others) / freedom
        if f_exceeded(one.run_sd_pct**2 / pooled, one.runs - 1, freedom) < _UNLIKE_BELOW:
            said.append(
                f"{one.label} scatters by {one.run_sd_pct:.1f} % from run to run, the other classes by "
                f"{pooled**0.5:.1f} %: its interval, made from the pooled scatter, is too narrow."
            )
    return said


def _say_steps(table: PaceTable) -> list[str]:
    return [
        f"{one.label}: {say_whole(one.own_per_100_m)} to 100 m looks like steps. If so, write the heading line "
        "'# count: steps' above the column names; a pace is two steps."
        for one in table.classes
        if one.direction == "level" and looks_like_steps(one.own_per_100_m)
    ]


def _named(run: PaceRun) -> str:
    return f"Line {run.line}" if run.line is not None else "One run"


def _counted(run: PaceRun) -> str:
    return f"{run.written_count:g} {run.counted_in} over {run.distance_m:g} m"


def _runs(number: int) -> str:
    return "1 run" if number == 1 else f"{number} runs"
