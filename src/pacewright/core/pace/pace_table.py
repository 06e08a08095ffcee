"""A person's pace table: every class of ground, slope and load, its count and how sure it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from pacewright.core.pace.pace_outliers import Slip
from pacewright.core.pace.pace_trials import PaceRun, class_label
from pacewright.core.pace.student import student_quantile
from pacewright.core.pace.walker import Slope
from pacewright.exceptions import MissingComplaint, ValueComplaint

PIN_PCT: Final = 3.0
"""To how many per cent more runs should pin a count, unless asked otherwise (assumed)."""
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
        The interval of `per_100_m`; where runs are pointed at, it holds the count with them and without.
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
    def key(self) -> tuple[str, str, float | None]:
        """Ground, slope and load, as a run's `class_key`."""
        return (self.ground, self.slope, self.load_kg)

    @property
    def label(self) -> str:
        """Ground, slope and load together."""
        return class_label(self.ground, self.slope, self.load_kg)

    @property
    def within_pct(self) -> float:
        """Half the interval, in per cent of the count."""
        return 50.0 * (self.high - self.low) / self.per_100_m

    def runs_more_for(self, target_pct: float) -> int:
        """How many more runs bring the interval to within `target_pct` per cent of the count.

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
        """The class of that name; a beginning that only one class has will do.

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
        """The runs of a class."""
        return tuple(r for r in self.runs if r.class_key == one.key)


def _loose(label: str) -> str:
    return " ".join(label.replace(",", " ").casefold().split())
