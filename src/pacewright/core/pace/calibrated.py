"""Pace trials to a walker whose name and compass are known: the fit, the ordinary class, the new figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from pacewright.core.pace.pace_table import PaceTable, TrialClass
from pacewright.core.pace.pace_trials import PaceRun
from pacewright.core.pace.pace_walker import ordinary_class, walker_from
from pacewright.core.pace.pacing import fit_pace_table
from pacewright.core.pace.walker import Evidence, Walker


@dataclass(frozen=True, slots=True)
class Calibrated:
    """What pace trials come to: the fit, the class that counts as ordinary, and the walker they make."""

    table: PaceTable
    ordinary: TrialClass
    walker: Walker


def calibrate_runs(runs: Sequence[PaceRun], ordinary: str = "", of: Walker | None = None) -> Calibrated:
    """What runs come to; `ordinary` names the class that counts so, or is empty.

    Parameters
    ----------
    runs
        As counted.
    ordinary
        Of the classes; empty for the level one with most runs.
    of
        Whose they are: name and compass stay, what was learnt of counts gives way to the trials.

    Raises
    ------
    MissingComplaint
        There is no such class, or none is level.
    """
    before = of or Walker()
    fitted = fit_pace_table(runs)
    chosen = fitted.find_class(ordinary) if ordinary else ordinary_class(fitted)
    walker = walker_from(fitted, before.name, ordinary=chosen, compass=before.compass)
    kept = {key: words for key, words in before.origin.items() if key.startswith("compass.")}
    evidence = replace(before.evidence, count_freedom=Evidence().count_freedom)
    origin = MappingProxyType({**walker.origin, **kept})
    return Calibrated(fitted, chosen, replace(walker, origin=origin, evidence=evidence))
