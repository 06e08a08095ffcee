"""Which pace trial strays too far from the others of its class, and which slip would explain it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.pace_trials import STEPS_PER_PACE, PaceRun
from pacewright.core.pace.student import student_two_sided

Slip = Literal[
    "ten_missed", "ten_twice", "hundred_missed", "hundred_twice", "steps_for_paces", "paces_for_steps"
]

POINTED_AT_BELOW: Final = 0.05
"""A run is pointed at where a table with no slip would show such a run less often than this."""

LEAST_RUN_SD: Final = 0.01
"""Nobody's counts scatter by less than 1 % from run to run: that is what experienced pacers reach at
best (Ghilani, as quoted on a secondary page)."""

MOST_STRAYING: Final = 100
"""So many runs at most are set aside one after the other: who has more of them has no table (assumed)."""

_SLIP_WITHIN_SD: Final = 2.5
"""A slip explains a run if, put right, the run lies within this many scatters of the others."""


@dataclass(frozen=True, slots=True)
class Straying:
    """One run, judged against the others.

    Attributes
    ----------
    index
        Of the run, in the order given.
    ratio
        The run's value less the mean of the others of its class, in their scatter.
    p_value
        The chance that the farthest of that many ordinary runs lies as far out.
    """

    index: int
    ratio: float
    p_value: float


def rank_straying(
    values: NDArray[np.float64], group: Sequence[int], most: int, least_sd: float = 0.0
) -> tuple[Straying, ...]:
    """The runs that stray farthest, the farthest first, each judged with those before it set aside.

    A run is measured against the mean of the others of its group in the scatter pooled over all
    groups, the run itself left out of both (an externally studentised residual), and the chance is
    that of the largest of them all (Bonferroni). Setting aside one after the other keeps two slips
    from hiding each other.

    Parameters
    ----------
    values
        One value a run, shape (n,).
    group
        The class of each run, n of them.
    most
        How many to judge.
    least_sd
        The scatter of the others is never taken as smaller: a few equal counts do not make a count
        that differs by one a slip.

    References
    ----------
    B. Rosner, Percentage points for a generalized ESD many-outlier procedure, Technometrics 25 (1983).
    """
    members = np.asarray(group)
    kept = np.arange(len(values))
    ranked: list[Straying] = []
    for _ in range(most):
        ratios, freedom = _studentised(values[kept], members[kept], least_sd)
        if freedom < 1 or not np.any(np.isfinite(ratios)):
            break
        at = int(np.nanargmax(np.abs(ratios)))
        chance = student_two_sided(float(ratios[at]), freedom) * int(np.isfinite(ratios).sum())
        ranked.append(Straying(int(kept[at]), float(ratios[at]), min(1.0, chance)))
        kept = np.delete(kept, at)
    return tuple(ranked)


def find_straying(
    values: NDArray[np.float64], group: Sequence[int], least_sd: float = 0.0
) -> tuple[Straying, ...]:
    """The runs that stray too far for chance, one in five or `MOST_STRAYING` at most, farthest first.

    The last step of the ranking at which the chance falls below 5 % says how many; the arguments are
    those of `rank_straying`.
    """
    ranked = rank_straying(values, group, min(max(1, len(values) // 5), MOST_STRAYING), least_sd)
    last = max((i + 1 for i, one in enumerate(ranked) if one.p_value < POINTED_AT_BELOW), default=0)
    return ranked[:last]


def _studentised(
    values: NDArray[np.float64], group: NDArray[np.int_], least_sd: float
) -> tuple[NDArray[np.float64], int]:
    """Each run's externally studentised residual (nan where it stands alone) and its freedom."""
    _, member = np.unique(group, return_inverse=True)
    sizes = np.bincount(member)
    residuals = values - (np.bincount(member, weights=values) / sizes)[member]
    runs = sizes[member].astype(np.float64)
    freedom = len(values) - len(sizes) - 1
    ratios = np.full(len(values), np.nan)
    judged = runs > 1
    if freedom < 1 or not judged.any():
        return ratios, freedom
    left = 1 - 1 / runs[judged]
    others = np.sum(residuals**2) - residuals[judged] ** 2 / left
    # Equal values leave rounding noise that is no scatter.
    scatter = np.sqrt(np.maximum(others / freedom, max(least_sd, 1e-9) ** 2))
    ratios[judged] = residuals[judged] / (scatter * np.sqrt(left))
    return ratios, freedom


def slip_that_explains(run: PaceRun, expected_per_100_m: float, run_sd: float) -> Slip | None:
    """The slip in counting which, put right, brings the run among the others; None if no one does.

    Parameters
    ----------
    run
        The run that strays.
    expected_per_100_m
        The mean of the others of its class.
    run_sd
        Their scatter, relative.
    """
    unit = STEPS_PER_PACE if run.counted_in == "steps" else 1
    written = run.written_count
    corrected: dict[Slip, float] = {
        "ten_missed": written + 10,
        "ten_twice": written - 10,
        "hundred_missed": written + 100,
        "hundred_twice": written - 100,
        "steps_for_paces": written / STEPS_PER_PACE,
        "paces_for_steps": written * STEPS_PER_PACE,
    }
    expected = expected_per_100_m * run.distance_m / 100.0 * unit
    misses = {slip: abs(count / expected - 1) for slip, count in corrected.items()}
    best = min(misses, key=misses.__getitem__)
    explains = (
        misses[best] <= _SLIP_WITHIN_SD * max(run_sd, LEAST_RUN_SD)
        and misses[best] < abs(written / expected - 1) / 2
    )
    return best if explains else None
