"""How a walk is marked: a rule that is stated, can be edited, and is the same for everyone.

A rule measures one thing and turns it into a mark by steps. Where it forgives, a miss that ordinary
scatter explains gets full marks, so that nobody is marked down for bad luck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.adjust.closure import UNUSUAL_BELOW
from pacewright.core.plausible import MARKS, MINUTES, RULE_LIMIT, check_bounds
from pacewright.exceptions import MissingComplaint, ValueComplaint

Array = NDArray[np.float64]

RuleKind = Literal["points_found", "nearest_stake", "miss_share", "miss_multiple", "length_over_error"]

MORE_IS_BETTER: Final[dict[RuleKind, bool]] = {
    "points_found": True,
    "nearest_stake": False,
    "miss_share": False,
    "miss_multiple": False,
    "length_over_error": True,
}
UNIT: Final[dict[RuleKind, str]] = {
    "points_found": "share of the points",
    "nearest_stake": "stakes nearer",
    "miss_share": "per cent of the length walked",
    "miss_multiple": "times an ordinary miss",
    "length_over_error": "length over linear error",
}
LEAST_ERROR_M: Final = 0.1
"""A smaller linear error than a hand's breadth is not told apart from none."""


@dataclass(frozen=True, slots=True)
class MarkingRule:
    """One way to mark.

    Attributes
    ----------
    name
        What the class calls it.
    kind
        What is measured. `points_found`: the share of the card's points that the learner proved;
        `nearest_stake`: how many stakes are nearer to the right one than the one named, 0 for the right
        one; `miss_share`: the miss in per cent of the length walked; `miss_multiple`: the miss in
        multiples of an ordinary one; `length_over_error`: the n of 1:n.
    full_marks
        The highest mark.
    steps
        Pairs of a limit and a mark, the best first. Where more is better, the mark is given from the
        limit up, else up to it; beyond the last it is 0. Without steps `points_found` is shared out
        evenly, `nearest_stake` gives all or nothing, and `length_over_error` is itself the mark.
    forgives
        True where a miss that more than one ordinary walk in twenty has gets full marks.
    minutes_allowed
        None where time does not count.
    off_a_minute
        Marks taken off for every minute begun beyond that.
    """

    name: str
    kind: RuleKind
    full_marks: float
    steps: tuple[tuple[float, float], ...] = ()
    forgives: bool = False
    minutes_allowed: float | None = None
    off_a_minute: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in get_args(RuleKind):
            raise ValueComplaint(
                f"nothing is called {self.kind} that a rule could measure",
                f"Use one of: {', '.join(get_args(RuleKind))}",
            )
        if not 0.0 < self.full_marks < math.inf:
            raise ValueComplaint(
                f"{self.full_marks:g} are no full marks (rule {self.name})", "Write a number above 0"
            )
        if not self.steps and self.kind in ("miss_share", "miss_multiple"):
            raise ValueComplaint(
                f"the rule {self.name} does not say what a miss is worth",
                "Give it steps of a limit and a mark",
            )
        check_bounds(self.full_marks, MARKS, f"rule {self.name}")
        self._check_steps()
        for limit, _ in self.steps:
            check_bounds(limit, RULE_LIMIT, f"rule {self.name}")
        if self.minutes_allowed is not None and not 0.0 < self.minutes_allowed < math.inf:
            raise ValueComplaint(
                f"{self.minutes_allowed:g} minutes allow nothing (rule {self.name})",
                "Write minutes above 0, or leave them out",
            )
        check_bounds(self.minutes_allowed or 0.0, MINUTES, f"rule {self.name}")
        if not 0.0 <= self.off_a_minute < math.inf:
            raise ValueComplaint(
                f"{self.off_a_minute:g} marks cannot be taken off a minute (rule {self.name})",
                "Write 0 or more",
            )
        check_bounds(self.off_a_minute, MARKS, f"rule {self.name}")

    def _check_steps(self) -> None:
        limits, marks = [limit for limit, _ in self.steps], [mark for _, mark in self.steps]
        if not all(0.0 <= limit < math.inf for limit in limits) or not all(
            0.0 <= mark <= self.full_marks for mark in marks
        ):
            raise ValueComplaint(
                f"a step of the rule {self.name} is out of bounds",
                "Write limits of 0 or more, and marks from 0 to full marks",
            )
        sense = -1.0 if MORE_IS_BETTER[self.kind] else 1.0
        if any(sense * b <= sense * a for a, b in pairwise(limits)) or any(b > a for a, b in pairwise(marks)):
            raise ValueComplaint(
                f"the steps of the rule {self.name} are out of order", "Write the best first, each limit once"
            )


READY_RULES: Final[tuple[MarkingRule, ...]] = (
    MarkingRule("ordinary scatter", "miss_multiple", 10.0, ((1.73, 10), (2.5, 8), (4, 5), (6, 2)), True),
    MarkingRule("points found", "points_found", 100.0),
    MarkingRule("three of four in three hours", "points_found", 1.0, ((0.75, 1.0),), False, 180.0, 1.0),
    MarkingRule("nearest stake", "nearest_stake", 10.0, ((0, 10), (1, 7), (2, 4))),
    MarkingRule("miss in per cent", "miss_share", 10.0, ((1, 10), (2, 9), (3, 8), (5, 6), (10, 3)), True),
    MarkingRule("length over error", "length_over_error", 1000.0),
)
"""Rules to start from, each to be edited. The first is fair to an unlucky learner. Three points of four in
three hours is a common standard of day courses (medtrng.com, a course of the medical badge); length over
linear error scores the foresters' contest (rules of the Society of American Foresters' conclaves); the
steps are assumed."""


def usual_rule(kind: str) -> MarkingRule:
    """The rule to mark a course of a kind by where none is named.

    On a course among posts the last post says nothing of the others: the posts found are what counts.
    """
    return ready_rule("points found") if kind == "posts" else READY_RULES[0]


def ready_rule(name: str) -> MarkingRule:
    """The ready rule of that name.

    Raises
    ------
    MissingComplaint
        There is none.
    """
    for rule in READY_RULES:
        if rule.name == name:
            return rule
    raise MissingComplaint(
        f"there is no ready rule called {name}", f"Use one of: {', '.join(rule.name for rule in READY_RULES)}"
    )


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """What a rule may look at, for one walk or for many at once; every array of shape (n,).

    Attributes
    ----------
    points_share
        Of the card's points.
    stakes_nearer
        How many stakes are nearer to the right one than the one named.
    miss_m
        Length of the miss.
    multiple
        The miss in multiples of an ordinary one.
    chance
        How often an ordinary counter misses by as much.
    walked_m
        Length of the card.
    """

    points_share: Array
    stakes_nearer: Array
    miss_m: Array
    multiple: Array
    chance: Array
    walked_m: float


def measured_by(rule: MarkingRule, measured: Measured) -> Array:
    """What a rule measures, before it is turned into a mark; shape (n,).

    The share of the points, stakes, per cent, multiples, or the n of 1:n, as the kind of the rule says.
    """
    match rule.kind:
        case "points_found":
            return measured.points_share
        case "nearest_stake":
            return measured.stakes_nearer
        case "miss_share":
            share: Array = 100.0 * measured.miss_m / measured.walked_m
            return share
        case "miss_multiple":
            return measured.multiple
        case "length_over_error":
            return length_over_error(measured.walked_m, measured.miss_m)


def length_over_error(walked: float, error: ArrayLike) -> Array:
    """The n of 1:n, length over linear error, in any unit; an error below 0.1 counts as 0.1.

    >>> float(length_over_error(1000.0, 20.0))
    50.0
    """
    ratio: Array = walked / np.maximum(np.asarray(error, dtype=np.float64), LEAST_ERROR_M)
    return ratio


def give_marks(rule: MarkingRule, measured: Measured, minutes: float | None = None) -> Array:
    """The marks of one walk, or of many at once, shape (n,).

    Parameters
    ----------
    rule, measured
        The rule, and what it may look at.
    minutes
        How long the walk took; None where nobody looked, so that nothing is taken off.
    """
    value = measured_by(rule, measured)
    marks = _by_steps(rule, value) if rule.steps else _without_steps(rule, value)
    if rule.forgives and rule.kind != "points_found":
        marks = np.where(measured.chance >= UNUSUAL_BELOW, rule.full_marks, marks)
    over = 0.0
    if rule.minutes_allowed is not None and minutes is not None:
        over = max(0.0, math.ceil(minutes - rule.minutes_allowed)) * rule.off_a_minute
    given: Array = np.clip(marks - over, 0.0, rule.full_marks)
    return given


def _by_steps(rule: MarkingRule, value: Array) -> Array:
    marks = np.zeros(value.shape)
    more = MORE_IS_BETTER[rule.kind]
    for limit, mark in reversed(rule.steps):
        # A value that is the limit but for the last bit of a float reaches it.
        reached = value >= limit - 1e-9 if more else value <= limit + 1e-9
        marks = np.where(reached, mark, marks)
    return marks


def _without_steps(rule: MarkingRule, value: Array) -> Array:
    if rule.kind == "points_found":
        return rule.full_marks * value
    if rule.kind == "nearest_stake":
        return np.where(value < 0.5, rule.full_marks, 0.0)
    return np.minimum(value, rule.full_marks)
