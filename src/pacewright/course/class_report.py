"""A whole class: who, how far off, which slips are common, and who is better than whom."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import fmean, median
from typing import Final, Literal

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.course.grade_kinds import GradeKind
from pacewright.course.grading import Grade
from pacewright.course.learner_figures import Figure
from pacewright.course.learner_model import ClassFit, LearnerFit
from pacewright.course.skill import Rank, rank_learners
from pacewright.course.slip_rates import SlipRate, slips_seen

Practise = Literal["slip", "compass", "pace", "azimuth", "count", "slope", "nothing"]

FAVOURITE_ABOVE: Final = 0.8
"""A slip is called a learner's own where that is so sure."""
OFTEN_SEEN: Final = 1.5
"""and where it was seen so often: one slip alone is no habit."""
RANGE_SDS: Final = 1.2816
"""Four of five lie within so many standard deviations."""
WORTH_DEG: Final = 1.0
WORTH_PCT: Final = 2.0
"""A bias of a degree (17 m a kilometre) or a pace off by two per cent (20 m) is worth practising."""
OWN_SHARE: Final = 0.3
"""A figure of which the learner's own walks tell less is the class's, and no advice to the learner."""


LEAST_OWN_SHARE: Final = 0.5
"""Where a learner's own walks tell less than half of the bias, no advice is drawn from them."""
WhyNothing = Literal["points", "slips", "too little yet", "nothing"]
"""Points were missed; slips of no one kind; the walks tell too little; or nothing stands out."""


@dataclass(frozen=True, slots=True)
class ReportRow:
    """One learner in the class.

    Attributes
    ----------
    learner
        The name.
    walks
        Handed in.
    multiple
        The middle miss of the walks, in multiples of an ordinary one; None where no finish was seen.
    mark
        The mean of the marks; None where there is none.
    mark_low, mark_high
        From where to where the mean of as many other walks would come in four cases of five.
    slips
        How many slips the walks show, each counted by its chance.
    rank
        Where the learner stands, and how sure that is.
    practise
        What to practise first.
    """

    learner: str
    walks: int
    multiple: float | None
    mark: float | None
    mark_low: float | None
    mark_high: float | None
    slips: float
    rank: Rank
    practise: Practise


@dataclass(frozen=True, slots=True, eq=False)
class ClassReport:
    """A class at a glance.

    Attributes
    ----------
    fit
        What the walks tell.
    rows
        One for each learner, the highest mark first; without a mark, the smallest usual miss.
    common_slips
        Kinds of slip, how many were seen, and by how many learners, the commonest first.
    """

    fit: ClassFit
    rows: tuple[ReportRow, ...]
    common_slips: tuple[tuple[GradeKind, float, int], ...]


def class_report(fit: ClassFit) -> ClassReport:
    """A class at a glance."""
    ranks = rank_learners([(one.learner, one.skill) for one in fit.learners])
    by_name = {one.learner: one for one in fit.learners}
    rows = []
    for rank in ranks:
        own = [one for one in fit.grades if one.handed.learner == rank.learner]
        rows.append(_row(by_name[rank.learner], own, rank))
    return ClassReport(fit, _placed(rows), _common(fit.grades))


def _placed(rows: Sequence[ReportRow]) -> tuple[ReportRow, ...]:
    """The rows by their marks, equal marks at one place; without a mark they stand last, as they came.

    A place is sure as far as the ranges of the marks do not meet.
    """
    marked = sorted((row for row in rows if row.mark is not None), key=lambda row: -(row.mark or 0.0))
    placed = []
    for row in marked:
        place = 1 + sum(1 for other in marked if (other.mark or 0.0) > (row.mark or 0.0))
        better = sum(1 for other in marked if _low(other) > _high(row))
        worse = sum(1 for other in marked if _high(other) < _low(row))
        rank = Rank(row.learner, place, min(place, 1 + better), max(place, len(marked) - worse))
        placed.append(replace(row, rank=rank))
    return (*placed, *(row for row in rows if row.mark is None))


def _low(row: ReportRow) -> float:
    return (row.mark or 0.0) if row.mark_low is None else row.mark_low


def _high(row: ReportRow) -> float:
    return (row.mark or 0.0) if row.mark_high is None else row.mark_high


def _row(learner: LearnerFit, grades: Sequence[Grade], rank: Rank) -> ReportRow:
    multiples = [one.miss.multiple for one in grades if one.miss is not None]
    marks = [one.mark for one in grades if one.mark is not None]
    low, high = _mean_range(grades)
    return ReportRow(
        learner.learner,
        learner.walks,
        median(multiples) if multiples else None,
        fmean(marks) if marks else None,
        low,
        high,
        sum(sum(slips_seen(one).values()) for one in grades),
        rank,
        what_to_practise(learner),
    )


def _mean_range(grades: Sequence[Grade]) -> tuple[float | None, float | None]:
    """From where to where the mean mark of as many other walks would come, slips and all.

    The marks themselves say how much they vary, and what luck alone makes of one counts as one more mark.
    """
    marks = [one.mark for one in grades if one.mark is not None]
    lucks = [one.luck for one in grades if one.luck is not None]
    if not marks or not lucks:
        return None, None
    mean, full = fmean(marks), grades[0].rule.full_marks
    by_luck = fmean(luck.high - luck.low for luck in lucks) / (2.0 * RANGE_SDS)
    variance = (sum((mark - mean) ** 2 for mark in marks) + by_luck**2) / len(marks)
    reach = RANGE_SDS * math.sqrt(variance / len(marks))
    return max(0.0, mean - reach), min(full, mean + reach)


def favourite_slip(learner: LearnerFit) -> SlipRate | None:
    """The slip that is the learner's own, the surest, or None."""
    known = [one for one in learner.slips if one.kind != "other"]
    own = [one for one in known if one.favourite >= FAVOURITE_ABOVE and one.seen >= OFTEN_SEEN]
    return max(own, key=lambda one: one.favourite, default=None)


def what_to_practise(learner: LearnerFit) -> Practise:
    """What makes most of a learner's misses, if it shows at all: slips first, then habits."""
    if favourite_slip(learner) is not None:
        return "slip"
    bias, scale, skill = learner.bias_deg, learner.scale_pct, learner.skill
    found: list[tuple[float, Practise]] = []
    if _is_own(bias, WORTH_DEG):
        found.append((skill.bias_share, "compass"))
    if _is_own(scale, WORTH_PCT):
        found.append((skill.scale_share, "pace"))
    for slope in (learner.up_pct, learner.down_pct):
        if slope is not None and _is_own(slope, WORTH_PCT):
            found.append((skill.scale_share, "slope"))
    if learner.azimuth_sd_deg.low > CompassScatter().azimuth_sd_deg:
        found.append((skill.azimuth_share, "azimuth"))
    if learner.count_sd_pct.low > CountScatter().count_sd_pct:
        found.append((skill.count_share, "count"))
    return max(found)[1] if found else "nothing"


def why_nothing(learner: LearnerFit) -> WhyNothing:
    """Why nothing of a learner's habits is to be practised first."""
    if learner.missed:
        return "points"
    slipped = learner.walks - learner.clean
    if slipped >= 2 and 2 * slipped >= learner.walks:
        return "slips"
    if learner.more_walks > 0 and learner.bias_deg.own_share < LEAST_OWN_SHARE:
        return "too little yet"
    return "nothing"


def _is_own(figure: Figure, worth: float) -> bool:
    """Whether a figure shows, is worth practising, and is the learner's more than the class's."""
    return figure.shows and abs(figure.value) >= worth and figure.own_share >= OWN_SHARE


def _common(grades: Sequence[Grade]) -> tuple[tuple[GradeKind, float, int], ...]:
    seen: dict[GradeKind, float] = {}
    by: dict[GradeKind, set[str]] = {}
    for one in grades:
        for kind, count in slips_seen(one).items():
            seen[kind] = seen.get(kind, 0.0) + count
            if count >= 0.5:
                by.setdefault(kind, set()).add(one.handed.learner)
    found = [(kind, count, len(by.get(kind, ()))) for kind, count in seen.items()]
    return tuple(sorted(found, key=lambda one: -one[1]))
