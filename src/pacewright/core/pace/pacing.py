"""Pace trials to a pace table: for every class of ground, slope and load the count and how sure it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pacewright.core.pace.pace_borrowing import lean_on_the_rest
from pacewright.core.pace.pace_outliers import LEAST_RUN_SD, find_straying, rank_straying, slip_that_explains
from pacewright.core.pace.pace_table import Farthest, OutlyingRun, PaceTable, TrialClass
from pacewright.core.pace.pace_trials import PaceRun, mean_pace_m
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY, CountScatter
from pacewright.core.pace.student import student_quantile
from pacewright.exceptions import MissingComplaint

OWN_MEAN_FROM: Final = 3
"""From this many runs on a class stands on its own mean, which a pencil can check."""

ASSUMED_FREEDOM: Final = 6
"""The default scatter of a count weighs as much as a pooled scatter from this many more runs than
classes: it is taken to be right within a factor of about two (assumed)."""

LEAST_FREEDOM: Final = 2
"""With fewer runs more than classes than this, the trials' own scatter gives way to the default."""


def fit_pace_table(runs: Sequence[PaceRun], *, probability: float = DEFAULT_PROBABILITY) -> PaceTable:
    """The pace table that a walker's trials make.

    A class's count is the mean of its runs' counts per hundred metres, every run alike whatever its
    length: what makes one run differ from the next (the day, the stride, the ground) is shared by all
    paces of a run and does not average out along it. The scatter is pooled over the classes, and the
    interval is Student's t on it. A class with one or two runs leans on what its ground, slope and
    load add up to elsewhere in the table, and says so.

    Parameters
    ----------
    runs
        At least one.
    probability
        Of the intervals.

    Raises
    ------
    MissingComplaint
        There is no run.
    """
    if not runs:
        raise MissingComplaint("there is no run in the trials", "Walk a measured course and count it")
    table = _fit(runs, probability)
    numbers = {key: i for i, key in enumerate(dict.fromkeys(r.class_key for r in runs))}
    group = [numbers[r.class_key] for r in runs]
    counts = np.log([r.per_100_m for r in runs])
    straying = find_straying(counts, group, LEAST_RUN_SD)
    if not straying:
        first = rank_straying(counts, group, 1, LEAST_RUN_SD)
        return replace(table, farthest=_farthest(table, first[0].index, first[0].p_value) if first else None)
    chances = {one.index: one.p_value for one in straying}
    for at in list(chances):
        pair = [i for i, g in enumerate(group) if g == group[at]]
        if len(pair) == 2:
            chances.update(dict.fromkeys(pair, chances[at]))
    without = _fit([run for i, run in enumerate(runs) if i not in chances], probability)
    return replace(table, classes=_spared(table, without), outlying=_outlying(table, chances, without))


def _fit(runs: Sequence[PaceRun], probability: float) -> PaceTable:
    by_class: dict[object, list[PaceRun]] = {}
    for run in runs:
        by_class.setdefault(run.class_key, []).append(run)
    scatter = _pooled_scatter(list(by_class.values()))
    classes = [_own_class(mine, scatter, probability) for mine in by_class.values()]
    if len(classes) > 1 and any(c.runs < OWN_MEAN_FROM for c in classes):
        classes = _leaning_classes(classes, scatter)
    return PaceTable(
        runs=tuple(runs),
        classes=tuple(classes),
        run_sd_pct=100 * scatter.sd,
        freedom=len(runs) - len(classes),
        scatter_assumed=scatter.assumed,
        outlying=(),
        farthest=None,
        probability=probability,
    )


@dataclass(frozen=True, slots=True)
class _Scatter:
    """The run-to-run scatter, relative, that intervals rest on."""

    sd: float
    freedom: int
    assumed: bool


def _pooled_scatter(groups: Sequence[Sequence[PaceRun]]) -> _Scatter:
    squares = 0.0
    for mine in groups:
        counts = np.array([r.per_100_m for r in mine])
        squares += float(np.sum((counts / counts.mean() - 1) ** 2))
    freedom = sum(len(mine) - 1 for mine in groups)
    # Whole counts hide scatter below half a count; a run is never known better than that.
    least = math.sqrt(np.mean([_rounding(r) ** 2 for mine in groups for r in mine]))
    sd = max(math.sqrt(squares / freedom), least) if freedom else least
    # Student's t on one degree of freedom (12.7) would say only that nothing is known.
    if freedom < LEAST_FREEDOM:
        return _Scatter(settled_scatter(sd, freedom), freedom + ASSUMED_FREEDOM, True)
    return _Scatter(sd, freedom, False)


def _own_class(mine: Sequence[PaceRun], scatter: _Scatter, probability: float) -> TrialClass:
    """A class on its own mean alone."""
    counts = np.array([r.per_100_m for r in mine])
    mean = float(counts.mean())
    sd = scatter.sd / math.sqrt(len(mine))
    half = student_quantile((1 + probability) / 2, scatter.freedom) * sd
    return TrialClass(
        ground=mine[0].ground,
        slope=mine[0].slope_label,
        load_kg=mine[0].load_kg,
        direction=mine[0].direction,
        runs=len(mine),
        per_100_m=mean,
        pace_m=float(np.mean([r.pace_m for r in mine])),
        own_per_100_m=mean,
        run_sd_pct=100 * float(np.std(counts / mean, ddof=1)) if len(mine) > 1 else None,
        sd_pct=100 * sd,
        low=mean * max(0.0, 1 - half),
        high=mean * (1 + half),
        borrowed=False,
        own_share=1.0,
        scatter_pct=100 * scatter.sd,
        freedom=scatter.freedom,
        probability=probability,
    )


def _leaning_classes(classes: Sequence[TrialClass], scatter: _Scatter) -> list[TrialClass]:
    """The classes with those of one or two runs leaning on the rest."""
    leaning = lean_on_the_rest(
        classes,
        np.log([c.own_per_100_m for c in classes]),
        np.array([float(c.runs) for c in classes]),
        scatter.sd,
    )
    t = student_quantile((1 + classes[0].probability) / 2, scatter.freedom)
    return [
        one
        if one.runs >= OWN_MEAN_FROM
        else replace(
            one,
            per_100_m=math.exp(lean.mean),
            pace_m=mean_pace_m(math.exp(lean.mean), 100 * scatter.sd),
            sd_pct=100 * lean.sd,
            low=math.exp(lean.mean - t * lean.sd),
            high=math.exp(lean.mean + t * lean.sd),
            borrowed=True,
            own_share=lean.own_share,
        )
        for one, lean in zip(classes, leaning, strict=True)
    ]


def settled_scatter(own_sd: float, freedom: int) -> float:
    """A relative scatter with the default weighed in; the more runs, the less it counts.

    A weighted mean of variances, the default's weight being `ASSUMED_FREEDOM` degrees of freedom: the
    estimate under a scaled inverse chi-square prior.

    References
    ----------
    A. Gelman et al., Bayesian Data Analysis, 2nd ed. (2004), sec. 2.7 (from memory).

    >>> round(settled_scatter(0.02, 0), 3), round(settled_scatter(0.02, 60), 3)
    (0.05, 0.024)
    """
    assumed = CountScatter().count_sd_pct / 100
    return math.sqrt((ASSUMED_FREEDOM * assumed**2 + freedom * own_sd**2) / (ASSUMED_FREEDOM + freedom))


def _rounding(run: PaceRun) -> float:
    """The scatter that writing whole counts alone makes, relative to the run's count."""
    written = run.written_count
    step = 1.0 if written == int(written) else 0.5
    return step / written / math.sqrt(12)


def _spared(table: PaceTable, without: PaceTable) -> tuple[TrialClass, ...]:
    """The classes with intervals that hold the count with the runs pointed at and without them.

    Around either the scatter is that of the other runs: one slip says nothing of how far honest counts
    lie apart, and would widen every interval until it says nothing at all.
    """
    left = {one.key: one for one in without.classes}
    others = without.classes[0]
    spared = []
    for one in table.classes:
        half = student_quantile((1 + one.probability) / 2, others.freedom) * others.scatter_pct / 100
        half *= one.sd_pct / one.scatter_pct
        rest = left.get(one.key)
        spared.append(
            replace(
                one,
                low=min(one.per_100_m * max(0.0, 1 - half), rest.low if rest else math.inf),
                high=max(one.per_100_m * (1 + half), rest.high if rest else 0.0),
                scatter_pct=others.scatter_pct,
                freedom=others.freedom,
            )
        )
    return tuple(spared)


def _outlying(table: PaceTable, chances: dict[int, float], without: PaceTable) -> tuple[OutlyingRun, ...]:
    all_in = {c.key: c for c in table.classes}
    left = {c.key: c for c in without.classes}
    found = []
    for at, chance in chances.items():
        run = table.runs[at]
        one = all_in[run.class_key]
        others = _others(table, at)
        rest = left.get(one.key)
        found.append(
            OutlyingRun(
                run=run,
                label=one.label,
                others_per_100_m=others,
                p_value=chance,
                slip=slip_that_explains(run, others, without.run_sd_pct / 100),
                per_100_m=one.per_100_m,
                per_100_m_without=rest.per_100_m if rest else others,
                run_sd_pct=table.run_sd_pct,
                run_sd_pct_without=without.run_sd_pct,
                one_of_two=one.runs == 2,
            )
        )
    return tuple(found)


def _farthest(table: PaceTable, at: int, chance: float) -> Farthest:
    run = table.runs[at]
    return Farthest(run, run.class_label, _others(table, at), chance)


def _others(table: PaceTable, at: int) -> float:
    key = table.runs[at].class_key
    return float(np.mean([r.per_100_m for i, r in enumerate(table.runs) if i != at and r.class_key == key]))
