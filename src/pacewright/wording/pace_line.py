"""What the passes of a pace course come to, said to the class and to the learner."""

from __future__ import annotations

from pacewright.course.pace_line import LinePasses
from pacewright.wording.pacing import say_pace_table


def say_passes(one: LinePasses) -> list[str]:
    """Say what a learner's passes make of the pace count, and what to look at."""
    first, *rest = say_pace_table(one.calibrated.table, one.calibrated.ordinary)
    return [f"{one.learner}: {first}", *rest]


def say_own_count(one: LinePasses) -> str:
    """Say to a learner which pace count now stands with them."""
    ordinary = one.calibrated.ordinary
    return (
        f"Your pace count is {ordinary.per_100_m:.1f} paces to 100 m on {ordinary.label}, between {ordinary.low:.1f} and "
        f"{ordinary.high:.1f}, from {ordinary.runs} run{'' if ordinary.runs == 1 else 's'}. It now stands with your figures."
    )
