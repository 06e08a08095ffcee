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

from pacewright.core.learn.believed_figures import DAY_BIAS_SD_DEG
from pacewright.core.pace.scatter import CompassScatter
from pacewright.course.class_evidence import ClassEvidence, find_slip_share, gather_evidence
from pacewright.course.course import Course
from pacewright.course.finish import Handed
from pacewright.course.grading import Grade, grade
from pacewright.course.learner_figures import Figure, Spreads, class_figure, scatter_figures
from pacewright.course.marking import READY_RULES, MarkingRule
from pacewright.course.missed_skill import with_missed
from pacewright.course.other_walks import other_walks_habits
from pacewright.course.pooling import pool
from pacewright.course.skill import WALK_LEGS, Skill, find_skill
from pacewright.course.slip_rates import SlipRate, fit_slip_rates
from pacewright.course.walk_scatter import Habit
from pacewright.exceptions import MissingComplaint

Array = NDArray[np.float64]

BEFORE: Final = Habit(0.0, 3.0, 0.0, 0.06)
"""Before the class is fitted, a slip is told from a habit by this: twice what one walker's are believed to
be, or a learner with a bias would be taken for one who slips (assumed)."""
MOST_WALKS: Final = 999
"""More walks than anybody makes to learn of a compass."""
USUAL_SD_DEG: Final = CompassScatter().azimuth_sd_deg


@dataclass(frozen=True, slots=True)
class LearnerFit:
    """What several walks tell of one learner.

    Attributes
    ----------
    learner
        The name.
    walks, clean
        Walks handed in, and those of them without a slip.
    points, missed
        Points of all cards walked, and those of them not found.
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
        What all of it comes to, posts missed among it: the usual miss of a walk of one kilometre.
    more_walks
        How many more walks would tell the bias to a degree either way; 0 where it is told so well, and
        `MOST_WALKS` where such walks hardly tell it.
    """

    learner: str
    walks: int
    clean: int
    points: int
    missed: int
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
        """The learner of that name, or None."""
        return next((one for one in self.learners if one.learner == name), None)


def fit_class(handed: Sequence[Handed], course: Course, rule: MarkingRule = READY_RULES[0]) -> ClassFit:
    """What a class's walks of one course tell of every learner.

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
    """What walks of several courses tell, each with its course, as `fit_class` does for one.

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


def fit_grades(grades: Sequence[Grade]) -> ClassFit:
    """What graded walks tell of every learner.

    Raises
    ------
    MissingComplaint
        There is no walk.
    """
    _need_walks(len(grades))
    share = find_slip_share(grades)
    evidence = gather_evidence(grades, share)
    pooled = pool(evidence)
    spreads = Spreads(pooled)
    bias_told = spreads.mean_weight[:, 0, 0]
    degrees, per_cent = math.degrees(1.0), 100.0
    bias, scale = spreads.figures(0), spreads.figures(1)
    up, down = (
        spreads.figures(habit) if told else None
        for habit, told in zip((2, 3), _tilted(evidence), strict=True)
    )
    turn, count = scatter_figures(pooled)
    rates = fit_slip_rates(grades, evidence.learners)
    asked = {
        name: [
            found
            for one in grades
            if one.handed.learner == name and len(one.points) > 1
            for _, found in one.points
        ]
        for name in evidence.learners
    }
    skills = find_skill(pooled)
    fits = [
        LearnerFit(
            learner=name,
            walks=int(evidence.walks[k]),
            clean=int(evidence.clean[k]),
            points=len(asked[name]),
            missed=asked[name].count(False),
            bias_deg=bias[k].times(degrees),
            scale_pct=scale[k].times(per_cent),
            up_pct=up[k].times(per_cent) if up else None,
            down_pct=down[k].times(per_cent) if down else None,
            azimuth_sd_deg=turn[k],
            count_sd_pct=count[k],
            slips=rates[k],
            skill=with_missed(skills[k], [one for one in grades if one.handed.learner == name]),
            more_walks=_more_walks(bias[k], evidence, bias_told, float(pooled.width[0]), k),
        )
        for k, name in enumerate(evidence.learners)
    ]
    return ClassFit(
        tuple(grades),
        tuple(fits),
        class_figure(pooled, 0).times(degrees),
        class_figure(pooled, 1).times(per_cent),
        float(pooled.width[0]) * degrees,
        float(pooled.width[1]) * per_cent,
        share,
    )


def _tilted(evidence: ClassEvidence) -> tuple[bool, bool]:
    """Whether any leg was said to go up, and any down."""
    reach = np.abs(evidence.levers).sum(axis=(0, 1)) + np.abs(evidence.count_levers).sum(axis=0)
    return bool(reach[2] > 0), bool(reach[3] > 0)


def _more_walks(bias: Figure, evidence: ClassEvidence, told: Array, width_rad: float, learner: int) -> int:
    """How many more walks like those made would tell the bias to a degree either way.

    Parameters
    ----------
    told
        What the clean walks of each learner tell of the bias: one over its variance, shape (n,).
    width_rad
        How far learners differ in it.
    """
    wanted = math.radians(1.0) / 1.96
    if bias.sd <= wanted:
        return 0
    walks = np.bincount(evidence.walk_learner, minlength=told.size)
    own = int(walks[learner])
    if own:
        a_walk = float(told[learner]) / own
    elif walks.any():
        a_walk = float(told.sum() / walks.sum())
    elif evidence.clean[learner] < evidence.walks[learner]:
        # Without a slip they would have told something: as much as an ordinary walk straight on.
        a_walk = 1.0 / math.radians(math.hypot(USUAL_SD_DEG / math.sqrt(WALK_LEGS), DAY_BIAS_SD_DEG)) ** 2
    else:
        return MOST_WALKS
    lacking = wanted**-2 - width_rad**-2
    if a_walk * (MOST_WALKS + own) <= lacking:
        return MOST_WALKS
    return max(1, math.ceil(lacking / a_walk - own))
