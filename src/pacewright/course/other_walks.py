"""What a learner's other walks, and the class, tell of compass and pace before one walk is looked at."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from pacewright.core.learn.believed_figures import DAY_BIAS_SD_DEG
from pacewright.core.pace.pace_walker import SCALE_SD_LEAST_PCT
from pacewright.course.class_evidence import gather_evidence
from pacewright.course.grading import Grade
from pacewright.course.pooling import pool
from pacewright.course.walk_scatter import Habit


def other_walks_habits(grades: Sequence[Grade], slip_share: float) -> list[Habit]:
    """For every walk, what the same learner's other walks, and the class, tell of compass and pace."""
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
