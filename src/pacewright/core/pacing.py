"""Pace trials to a pace table: for every class of ground, slope and load the count and how sure it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pacewright.core.pace_borrowing import lean_on_the_rest
from pacewright.core.pace_outliers import Slip, find_straying, rank_straying, slip_that_explains
from pacewright.core.pace_trials import PaceRun, class_label, mean_pace_m
from pacewright.core.scatter import DEFAULT_PROBABILITY, CountScatter
from pacewright.core.student import student_quantile
from pacewright.core.walker import Slope
from pacewright.exceptions import MissingComplaint, ValueComplaint

OWN_MEAN_FROM: Final = 3
"""From this many runs on a class stands on its own mean, which a pencil can check."""

ASSUMED_FREEDOM: Final = 6
"""The default scatter of a count weighs as much as a pooled scatter from this many more runs than
classes: it is taken to be right within a factor of about two (assumed)."""

MOST_RUNS: Final = 1000
"""No more runs than this are ever asked for."""


@dataclass(frozen=True, slots=True)
class TrialClass:
    """One class of the pace table.

    Attributes
    ----------
    ground, slope, load_kg
        As in the trials; `slope` keeps its per cent (`up 12%`).
    direction
        The remark of a log under which it belongs.
    runs
        Its own runs.
    per_100_m
        Mean count in paces per hundred metres: what a known distance takes.
    pace_m
        Mean pace length in metres: how far a known count goes.
    own_per_100_m
        The plain mean of its own runs; differs from `per_100_m` where strength was borrowed.
    run_sd_pct
        Scatter of its own runs in per cent; None with one run.
    sd_pct
        Standard error of `per_100_m` in per cent.
    low, high
        The interval of `per_100_m`.
    borrowed
        True where it has one or two runs and leans on the rest of the table.
    own_share
        The weight of its own runs in `per_100_m`, 1 where nothing was borrowed.
    scatter_pct, freedom, probability
        The run-to-run scatter and the degrees of freedom that the interval rests on; its probability.
    """

    ground: str
    slope: str
    load_kg: float | None
    direction: Slope
    runs: int
    per_100_m: float
    pace_m: float
    own_per_100_m: float
    run_sd_pct: float | None
    sd_pct: float
    low: float
    high: float
    borrowed: bool
    own_share: float
    scatter_pct: float
    freedom: int
    probability: float

    @property
    def label(self) -> str:
        """Ground, slope and load together."""
        return class_label(self.ground, self.slope, self.load_kg)

    @property
    def within_pct(self) -> float:
        """Half the interval, in per cent of the count."""
        return 50.0 * (self.high - self.low) / self.per_100_m

    def runs_more_for(self, target_pct: float) -> int:
        """Give how many more runs bring the interval to within `target_pct` per cent of the count.

        Counted as if the scatter stayed what it is now, so it is an estimate and not a promise: with
        few runs so far, the scatter itself is poorly known.

        Raises
        ------
        ValueComplaint
            The per cent is not above 0, or so small that even a thousand runs would not do.
        """
        if not (math.isfinite(target_pct) and target_pct > 0):
            raise ValueComplaint(f"{target_pct:g} % is nothing to pin a count to", "Give a per cent above 0")
        if self.within_pct <= target_pct:
            return 0
        for more in range(1, MOST_RUNS + 1):
            t = student_quantile((1 + self.probability) / 2, self.freedom + more)
            if t * self.scatter_pct / math.sqrt(self.runs + more) <= target_pct:
                return more
        raise ValueComplaint(
            f"more than {MOST_RUNS} runs would be needed to pin the count to {target_pct:g} %",
            "Ask for a larger per cent",
        )


@dataclass(frozen=True, slots=True)
class OutlyingRun:
    """A run that strays too far from the others of its class: kept in the mean, and pointed at.

    Attributes
    ----------
    run
        As counted.
    label
        Its class.
    others_per_100_m
        The mean count of the others of its class.
    p_value
        The chance that the farthest of so many ordinary runs lies as far out.
    slip
        The slip in counting that would explain it, if one does.
    per_100_m, per_100_m_without
        The class's count with all runs, and with the runs pointed at set aside.
    run_sd_pct, run_sd_pct_without
        The run-to-run scatter of the whole table with and without them.
    one_of_two
        True where its class has only two runs: they disagree, and either may be the one.
    """

    run: PaceRun
    label: str
    others_per_100_m: float
    p_value: float
    slip: Slip | None
    per_100_m: float
    per_100_m_without: float
    run_sd_pct: float
    run_sd_pct_without: float
    one_of_two: bool


@dataclass(frozen=True, slots=True)
class Farthest:
    """The run that lies farthest from the others although chance alone would do it."""

    run: PaceRun
    label: str
    others_per_100_m: float
    p_value: float


@dataclass(frozen=True, slots=True)
class PaceTable:
    """A person's pace table.

    Attributes
    ----------
    runs
        Every run, in order, none left out.
    classes
        In order of first appearance.
    run_sd_pct
        Run-to-run scatter pooled over the classes, in per cent.
    freedom
        Runs less classes.
    scatter_assumed
        True where so few runs repeat a class that the default scatter of a count fills in.
    outlying
        The runs pointed at.
    farthest
        The farthest run where none is pointed at; None where no class has runs to compare.
    probability
        Of the intervals.
    """

    runs: tuple[PaceRun, ...]
    classes: tuple[TrialClass, ...]
    run_sd_pct: float
    freedom: int
    scatter_assumed: bool
    outlying: tuple[OutlyingRun, ...]
    farthest: Farthest | None
    probability: float

    def find_class(self, label: str) -> TrialClass:
        """Give the class of that name; a beginning that only one class has will do.

        Raises
        ------
        MissingComplaint
            No class, or more than one, goes by that name.
        """
        wanted = _loose(label)
        exact = [c for c in self.classes if _loose(c.label) == wanted]
        found = exact or [c for c in self.classes if _loose(c.label).startswith(wanted)]
        if len(found) == 1:
            return found[0]
        known = "; ".join(c.label for c in (found or self.classes))
        what = f"{label!r} fits several classes of the trials" if found else f"no class is called {label!r}"
        raise MissingComplaint(what, f"Name one of: {known}")

    def runs_of(self, one: TrialClass) -> tuple[PaceRun, ...]:
        """Give the runs of a class."""
        return tuple(r for r in self.runs if r.class_label == one.label)


def fit_pace_table(runs: Sequence[PaceRun], *, probability: float = DEFAULT_PROBABILITY) -> PaceTable:
    """Give the pace table that a walker's trials make.

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
    numbers = {label: i for i, label in enumerate(dict.fromkeys(r.class_label for r in runs))}
    group = [numbers[r.class_label] for r in runs]
    counts = np.log([r.per_100_m for r in runs])
    straying = find_straying(counts, group)
    if not straying:
        first = rank_straying(counts, group, 1)
        return replace(table, farthest=_farthest(table, first[0].index, first[0].p_value) if first else None)
    chances = {one.index: one.p_value for one in straying}
    for at in list(chances):
        pair = [i for i, g in enumerate(group) if g == group[at]]
        if len(pair) == 2:
            chances.update({i: chances[at] for i in pair})
    return replace(table, outlying=_outlying(table, chances, probability))


def _fit(runs: Sequence[PaceRun], probability: float) -> PaceTable:
    by_label: dict[str, list[PaceRun]] = {}
    for run in runs:
        by_label.setdefault(run.class_label, []).append(run)
    counts = [np.array([r.per_100_m for r in mine]) for mine in by_label.values()]
    means = np.array([c.mean() for c in counts])
    sizes = np.array([float(len(c)) for c in counts])
    freedom = len(runs) - len(counts)
    squares = sum(float(np.sum((c / m - 1) ** 2)) for c, m in zip(counts, means, strict=True))
    # Whole counts hide scatter below half a count; a run is never known better than that.
    least = math.sqrt(np.mean([_rounding(r) ** 2 for r in runs]))
    own_sd = max(math.sqrt(squares / freedom), least) if freedom else least
    assumed = freedom < 2
    used_freedom = freedom + ASSUMED_FREEDOM if assumed else freedom
    used_sd = settled_scatter(own_sd, freedom) if assumed else own_sd
    t = student_quantile((1 + probability) / 2, used_freedom)
    drafts = [
        TrialClass(
            ground=mine[0].ground,
            slope=mine[0].slope_label,
            load_kg=mine[0].load_kg,
            direction=mine[0].direction,
            runs=len(mine),
            per_100_m=float(mean),
            pace_m=float(np.mean([r.pace_m for r in mine])),
            own_per_100_m=float(mean),
            run_sd_pct=100 * float(np.std(c / mean, ddof=1)) if len(mine) > 1 else None,
            sd_pct=100 * used_sd / math.sqrt(len(mine)),
            low=float(mean) * max(0.0, 1 - t * used_sd / math.sqrt(len(mine))),
            high=float(mean) * (1 + t * used_sd / math.sqrt(len(mine))),
            borrowed=False,
            own_share=1.0,
            scatter_pct=100 * used_sd,
            freedom=used_freedom,
            probability=probability,
        )
        for mine, c, mean in zip(by_label.values(), counts, means, strict=True)
    ]
    if len(drafts) > 1 and any(d.runs < OWN_MEAN_FROM for d in drafts):
        leaning = lean_on_the_rest(drafts, np.log(means), sizes, used_sd)
        drafts = [
            d
            if d.runs >= OWN_MEAN_FROM
            else replace(
                d,
                per_100_m=math.exp(lean.mean),
                pace_m=mean_pace_m(math.exp(lean.mean), 100 * used_sd),
                sd_pct=100 * lean.sd,
                low=math.exp(lean.mean - t * lean.sd),
                high=math.exp(lean.mean + t * lean.sd),
                borrowed=True,
                own_share=lean.own_share,
            )
            for d, lean in zip(drafts, leaning, strict=True)
        ]
    return PaceTable(
        runs=tuple(runs),
        classes=tuple(drafts),
        run_sd_pct=100 * used_sd,
        freedom=freedom,
        scatter_assumed=assumed,
        outlying=(),
        farthest=None,
        probability=probability,
    )


def settled_scatter(own_sd: float, freedom: int) -> float:
    """Give a relative scatter with the default weighed in; the more runs, the less it counts.

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
    """Give the scatter that writing whole counts alone makes, relative to the run's count."""
    written = run.written_count
    step = 1.0 if written == int(written) else 0.5
    return step / written / math.sqrt(12)


def _outlying(table: PaceTable, chances: dict[int, float], probability: float) -> tuple[OutlyingRun, ...]:
    kept = [r for i, r in enumerate(table.runs) if i not in chances]
    without = _fit(kept, probability)
    left = {c.label: c for c in without.classes}
    found = []
    for at, chance in chances.items():
        run = table.runs[at]
        one = table.find_class(run.class_label)
        others = _others(table, at)
        rest = left.get(one.label)
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
    label = table.runs[at].class_label
    return float(
        np.mean([r.per_100_m for i, r in enumerate(table.runs) if i != at and r.class_label == label])
    )


def _loose(label: str) -> str:
    return " ".join(label.replace(",", " ").casefold().split())
