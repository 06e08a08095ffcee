"""A learner's own compass bias, pace scale, scatter, slope effect and favourite slips, over several walks.

Every figure has an interval and leans on the class as far as the learner's own walks leave it open. A walk
that more likely than not held a slip tells nothing of bias and scale, and tells of the slip.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.belief import DAY_BIAS_SD_DEG
from pacewright.core.pace_walker import SCALE_SD_LEAST_PCT
from pacewright.course.class_evidence import HABITS, ClassEvidence, find_slip_share, gather_evidence
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.course.grading import Grade, grade
from pacewright.course.marking import READY_RULES, MarkingRule
from pacewright.course.pooling import Pooled, class_mean, pool, width_shares
from pacewright.course.skill import Skill, find_skill
from pacewright.course.slip_rates import SlipRate, fit_slip_rates
from pacewright.course.walk_scatter import Habit
from pacewright.exceptions import MissingComplaint

Array = NDArray[np.float64]

PROBABILITY: Final = 0.95
"""The share of learners whose true figure lies in the stated interval."""
BEFORE: Final = Habit(0.0, 3.0, 0.0, 0.06)
"""Before the class is fitted, a slip is told from a habit by this: twice what one walker's are believed to
be, or a learner with a bias would be taken for one who slips (assumed)."""
OWN_SHARE: Final = 0.3
"""A figure of which the learner's own walks tell less than this leans on the class."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a learner.

    Attributes
    ----------
    value, sd
        In the unit of the name it stands under.
    low, high
        The interval that holds it 95 times in 100.
    own_share
        How much of it the learner's own walks tell, from 0 (it is the class's) to 1.
    """

    value: float
    sd: float
    low: float
    high: float
    own_share: float

    @property
    def shows(self) -> bool:
        """Tell whether the interval leaves out 0."""
        return self.low > 0.0 or self.high < 0.0


@dataclass(frozen=True, slots=True)
class LearnerFit:
    """What several walks tell of one learner.

    Attributes
    ----------
    learner
        The name.
    walks, clean
        Walks handed in, and those of them without a slip.
    bias_deg
        What the compass, or the way it is held, adds to every azimuth, clockwise.
    scale_pct
        How much longer a pace is than stated, in per cent.
    up_pct, down_pct
        How much longer still uphill and downhill; None where no leg was said to go up or down.
    azimuth_sd_deg, count_sd_pct
        Scatter of azimuths and of counts.
    slips
        How often each kind of slip is made, the most frequent first.
    skill
        What all of it comes to: the usual miss of a walk of one kilometre.
    more_walks
        How many more walks would tell the bias to a degree either way; 0 where it is.
    """

    learner: str
    walks: int
    clean: int
    bias_deg: Figure
    scale_pct: Figure
    up_pct: Figure | None
    down_pct: Figure | None
    azimuth_sd_deg: Figure
    count_sd_pct: Figure
    slips: tuple[SlipRate, ...]
    skill: Skill
    more_walks: int


@dataclass(frozen=True, slots=True, eq=False)
class ClassFit:
    """A class as its walks tell.

    Attributes
    ----------
    grades
        Every walk, in the order handed in.
    learners
        One for each learner, in the order first handed in.
    class_bias_deg, class_scale_pct
        What the whole class has in common: its compasses, or its lane.
    bias_width_deg, scale_width_pct
        How far learners differ in them, as a standard deviation.
    slip_share
        The share of walks with a slip that was walked.
    """

    grades: tuple[Grade, ...]
    learners: tuple[LearnerFit, ...]
    class_bias_deg: Figure
    class_scale_pct: Figure
    bias_width_deg: float
    scale_width_pct: float
    slip_share: float

    def learner(self, name: str) -> LearnerFit | None:
        """Give the learner of that name, or None."""
        return next((one for one in self.learners if one.learner == name), None)


def fit_class(handed: Sequence[Handed], course: Course, rule: MarkingRule = READY_RULES[0]) -> ClassFit:
    """Give what a class's walks of one course tell of every learner.

    Parameters
    ----------
    handed, course, rule
        All that was handed in, the course, and the rule to mark by.

    Raises
    ------
    MissingComplaint
        There is no walk, or the course lacks a card or post that was named.
    """
    return fit_walks([(one, course) for one in handed], rule)


def fit_walks(walks: Sequence[tuple[Handed, Course]], rule: MarkingRule = READY_RULES[0]) -> ClassFit:
    """Give what walks of several courses tell, each with its course, as `fit_class` does for one.

    Every walk is graded twice: what a learner's other walks tell of the habits says in the second round
    which walk held a slip.
    """
    _need_walks(len(walks))
    first = [grade(one, course, rule, habit=BEFORE) for one, course in walks]
    share = find_slip_share(first)
    habits = other_walks_habits(first, share)
    return fit_grades(
        [
            grade(one, course, rule, habit=habit, slip_share=share)
            for (one, course), habit in zip(walks, habits, strict=True)
        ]
    )


def _need_walks(walks: int) -> None:
    if not walks:
        raise MissingComplaint("no walk was handed in", "Hand in at least one")


def other_walks_habits(grades: Sequence[Grade], slip_share: float) -> list[Habit]:
    """Give for every walk what the same learner's other walks, and the class, tell of compass and pace."""
    evidence = gather_evidence(grades, slip_share)
    pooled = pool(evidence)
    number = {name: k for k, name in enumerate(evidence.learners)}
    weight = np.einsum("ng,ngab->nab", pooled.chance, pooled.told.weight)
    pull = np.einsum("ng,nga->na", pooled.chance, pooled.told.pull)
    turn2 = pooled.chance @ pooled.told.turn_rad**2
    count2 = pooled.chance @ pooled.told.count_part**2
    row_of = {int(walk): row for row, walk in enumerate(evidence.walk)}
    between = np.diag(pooled.width**2) + pooled.mean_covariance
    habits = []
    for walk, one in enumerate(grades):
        k = number[one.handed.learner]
        mine, pulled = weight[k], pull[k]
        row = row_of.get(walk)
        if row is not None:
            levers = evidence.levers[row]
            spread = (
                evidence.known[row] + turn2[k] * evidence.turning[row] + count2[k] * evidence.counting[row]
            )
            held = np.linalg.solve(spread, levers)
            mine, pulled = mine - levers.T @ held, pulled - held.T @ evidence.miss_m[row]
        covariance = np.linalg.inv(np.linalg.inv(between) + mine)
        mean = pooled.mean + covariance @ (pulled - mine @ pooled.mean)
        sd = np.sqrt(np.diag(covariance))
        habits.append(
            Habit(
                math.degrees(float(mean[0])),
                math.hypot(math.degrees(float(sd[0])), DAY_BIAS_SD_DEG),
                float(mean[1]),
                math.hypot(float(sd[1]), SCALE_SD_LEAST_PCT / 100.0),
            )
        )
    return habits


def fit_grades(grades: Sequence[Grade]) -> ClassFit:
    """Give what graded walks tell of every learner.

    Raises
    ------
    MissingComplaint
        There is no walk.
    """
    _need_walks(len(grades))
    share = find_slip_share(grades)
    evidence = gather_evidence(grades, share)
    pooled = pool(evidence)
    spreads = _Spreads(pooled)
    habits = [spreads.figures(habit) for habit in range(len(HABITS))]
    turn, count = _scatters(pooled)
    rates = fit_slip_rates(grades, evidence.learners)
    skills = find_skill(pooled)
    tilted = _tilted(evidence)
    degrees, per_cent = math.degrees(1.0), 100.0
    fits = [
        LearnerFit(
            learner=name,
            walks=int(evidence.walks[k]),
            clean=int(evidence.clean[k]),
            bias_deg=_scaled(habits[0][k], degrees),
            scale_pct=_scaled(habits[1][k], per_cent),
            up_pct=_scaled(habits[2][k], per_cent) if tilted[0] else None,
            down_pct=_scaled(habits[3][k], per_cent) if tilted[1] else None,
            azimuth_sd_deg=turn[k],
            count_sd_pct=count[k],
            slips=rates[k],
            skill=skills[k],
            more_walks=_more_walks(habits[0][k], evidence, k),
        )
        for k, name in enumerate(evidence.learners)
    ]
    sd = np.sqrt(np.diag(pooled.mean_covariance))
    common = [
        _normal(float(pooled.mean[k]) * unit, float(sd[k]) * unit)
        for k, unit in ((0, degrees), (1, per_cent))
    ]
    return ClassFit(
        tuple(grades),
        tuple(fits),
        common[0],
        common[1],
        float(pooled.width[0]) * degrees,
        float(pooled.width[1]) * per_cent,
        share,
    )


def _scaled(one: Figure, unit: float) -> Figure:
    return Figure(one.value * unit, one.sd * unit, one.low * unit, one.high * unit, one.own_share)


def _normal(value: float, sd: float) -> Figure:
    return Figure(value, sd, value - 1.96 * sd, value + 1.96 * sd, 1.0)


def _tilted(evidence: ClassEvidence) -> tuple[bool, bool]:
    """Tell whether any leg was said to go up, and any down."""
    reach = np.abs(evidence.levers).sum(axis=(0, 1)) + np.abs(evidence.count_levers).sum(axis=0)
    return bool(reach[2] > 0), bool(reach[3] > 0)


class _Spreads:
    """The normals that make up what is known of each learner: a grid of scatters times one of widths."""

    def __init__(self, pooled: Pooled) -> None:
        self.pooled = pooled
        told = pooled.told
        # Pairs of scatters that no learner is likely to have cost time and change nothing.
        self.used = np.flatnonzero(pooled.chance.max(axis=0) > 1e-3)
        self.weight, self.pull = told.weight[:, self.used], told.pull[:, self.used]
        chance = pooled.chance[:, self.used]
        self.chance = chance / chance.sum(axis=1, keepdims=True)
        self.mean_weight = np.einsum("ng,ngab->nab", self.chance, self.weight)
        self.mean_pull = np.einsum("ng,nga->na", self.chance, self.pull)

    def figures(self, habit: int) -> list[Figure]:
        """Give one habit of every learner."""
        pooled = self.pooled
        widths, shares = width_shares(self.mean_weight, self.mean_pull, pooled.width, habit)
        means, sds, chances, priors = [], [], [], 0.0
        for width, share in zip(widths.tolist(), shares.tolist(), strict=True):
            if share < 1e-4:
                continue
            trial = pooled.width.copy()
            trial[habit] = width
            mean, covariance, _ = class_mean(self.mean_weight, self.mean_pull, trial)
            value, variance = self._normals(trial, mean, covariance, habit)
            means.append(value)
            sds.append(np.sqrt(variance))
            chances.append(share * self.chance)
            priors += share * (width**2 + float(covariance[habit, habit]))
        return _mixtures(
            np.concatenate(means, axis=1),
            np.concatenate(sds, axis=1),
            np.concatenate(chances, axis=1),
            priors,
        )

    def _normals(self, width: Array, mean: Array, covariance: Array, habit: int) -> tuple[Array, Array]:
        variance = width**2
        # What the class's mean still does to a learner, and what the learner's own walks do.
        leaning = np.linalg.inv(np.eye(4) + variance[:, None] * self.weight)[..., habit, :]
        value = np.einsum("ngb,ngb->ng", leaning * variance, self.pull) + leaning @ mean
        spread = leaning[..., habit] * variance[habit]
        spread = spread + np.einsum("nga,ab,ngb->ng", leaning, covariance, leaning)
        return value, spread


def _mixtures(mean: Array, sd: Array, chance: Array, prior_variance: float) -> list[Figure]:
    """Give mean, sd and interval of mixtures of normals, one a row."""
    from scipy.special import ndtr

    chance = chance / chance.sum(axis=1, keepdims=True)
    value = np.sum(chance * mean, axis=1)
    variance = np.sum(chance * (sd**2 + (mean - value[:, None]) ** 2), axis=1)
    ends = []
    for wanted in ((1.0 - PROBABILITY) / 2.0, (1.0 + PROBABILITY) / 2.0):
        low, high = value - 9.0 * np.sqrt(variance), value + 9.0 * np.sqrt(variance)
        for _ in range(40):
            middle = (low + high) / 2.0
            below = np.sum(chance * ndtr((middle[:, None] - mean) / sd), axis=1) < wanted
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        ends.append((low + high) / 2.0)
    return [
        Figure(
            float(value[k]),
            math.sqrt(float(variance[k])),
            float(ends[0][k]),
            float(ends[1][k]),
            float(np.clip(1.0 - variance[k] / prior_variance, 0.0, 1.0)),
        )
        for k in range(value.size)
    ]


def _scatters(pooled: Pooled) -> tuple[list[Figure], list[Figure]]:
    """Give the azimuth scatter in degrees and the count scatter in per cent of every learner."""
    told = pooled.told
    found = []
    for habit, (log, usual) in enumerate(
        (
            (told.log_turn, math.degrees(float(told.turn_rad[0] / np.exp(told.log_turn[0])))),
            (told.log_count, 100.0 * float(told.count_part[0] / np.exp(told.log_count[0]))),
        )
    ):
        mean = pooled.chance @ log
        # The grid is coarse: a step of it is part of what is not known.
        step = float(np.diff(np.unique(log))[0])
        sd = np.sqrt(np.maximum(pooled.chance @ log**2 - mean**2, 0.0) + step**2 / 12.0)
        before = float(pooled.log_spread[habit]) ** 2 + step**2 / 12.0
        found.append(
            [
                Figure(
                    usual * math.exp(m),
                    usual * math.exp(m) * s,
                    usual * math.exp(m - 1.96 * s),
                    usual * math.exp(m + 1.96 * s),
                    max(0.0, min(1.0, 1.0 - s**2 / before)),
                )
                for m, s in zip(mean.tolist(), sd.tolist(), strict=True)
            ]
        )
    return found[0], found[1]


def _more_walks(bias: Figure, evidence: ClassEvidence, learner: int) -> int:
    """Give how many more walks like those made would tell the bias to a degree either way."""
    wanted = math.radians(1.0) / 1.96
    if bias.sd <= wanted:
        return 0
    rows = evidence.walk_learner == learner
    of = rows if rows.any() else np.ones(rows.size, dtype=np.bool_)
    if not of.any():
        return 1
    usual = math.radians(2.5)
    spread = evidence.known[of] + usual**2 * evidence.turning[of] + 0.05**2 * evidence.counting[of]
    lever = evidence.levers[of][:, :, 0]
    information = float(np.mean(np.einsum("wi,wij,wj->w", lever, np.linalg.inv(spread), lever)))
    if information <= 0.0:
        return 1
    return max(1, math.ceil((1.0 / wanted**2 - 1.0 / bias.sd**2) / information))
