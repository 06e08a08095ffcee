"""Learners of one class, partially pooled: what each has of his or her own, and what the class has in common.

A learner's habits are normal about the class's, and the logarithms of a learner's scatters likewise. How
wide the class is, is learnt with it. The habits are integrated exactly; the scatters over a grid; the width
of the class over a grid, habit by habit. No side of drift is assumed: the class's own mean is about 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.course.class_evidence import HABITS, ClassEvidence

Array = NDArray[np.float64]

USUAL_WIDTH: Final = (math.radians(1.5), 0.03, 0.05, 0.05)
"""How far learners of one class usually differ, habit by habit: the walker's defaults, and a twentieth for
slopes (assumed)."""
WIDTH_DOUBT: Final = 0.7
"""The logarithm of that width is known to so much (assumed): a factor of two either way."""
MEAN_SD: Final = (math.radians(1.0), 0.03, 0.10, 0.10)
"""How far a whole class may be off to one side (assumed): its compasses, its lane, its slopes."""
SCATTER_DOUBT: Final = 0.35
SCATTER_SPREAD: Final = 0.25
SPREAD_LEARNERS: Final = 3.0
"""The class's usual scatter is known to a third; one learner's differs from it by a quarter, a belief worth
three learners (assumed)."""
_TURN: Final = math.radians(CompassScatter().azimuth_sd_deg)
_COUNT: Final = CountScatter().count_sd_pct / 100.0
_STEPS: Final = np.linspace(-1.2, 1.2, 9)
_WIDTHS: Final = np.exp(np.linspace(-2.1, 1.4, 11))
_ROUNDS: Final = 8


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """What each learner's walks tell at each pair of scatters; n learners, g pairs.

    Attributes
    ----------
    weight, pull, constant
        Information (n, g, 4, 4), its pull (n, g, 4), and the log density of what it leaves (n, g).
    log_turn, log_count
        Logarithm of the azimuth and of the count scatter over the default, shape (g,).
    """

    weight: Array
    pull: Array
    constant: Array
    log_turn: Array
    log_count: Array

    @property
    def turn_rad(self) -> Array:
        """Azimuth scatter of each pair, shape (g,)."""
        scatter: Array = _TURN * np.exp(self.log_turn)
        return scatter

    @property
    def count_part(self) -> Array:
        """Count scatter of each pair, as a part of one, shape (g,)."""
        scatter: Array = _COUNT * np.exp(self.log_count)
        return scatter


@dataclass(frozen=True, slots=True, eq=False)
class Pooled:
    """A class as fitted.

    Attributes
    ----------
    told
        What the walks tell.
    chance
        Of each pair of scatters for each learner, shape (n, g).
    width
        How far learners differ, habit by habit, shape (4,).
    mean, mean_covariance
        Of the class's habits, shapes (4,) and (4, 4).
    log_mean, log_spread
        Of the logarithms of the scatters over the defaults, azimuth and count, shape (2,) each.
    """

    told: Told
    chance: Array
    width: Array
    mean: Array
    mean_covariance: Array
    log_mean: Array
    log_spread: Array


def tell(evidence: ClassEvidence) -> Told:
    """What the walks tell of each learner's habits, at each pair of scatters."""
    log_turn, log_count = (part.ravel() for part in np.meshgrid(_STEPS, _STEPS, indexing="ij"))
    n, g = len(evidence.learners), log_turn.size
    turn2, count2 = (_TURN * np.exp(log_turn)) ** 2, (_COUNT * np.exp(log_count)) ** 2
    weight, pull, constant = np.zeros((n, g, 4, 4)), np.zeros((n, g, 4)), np.zeros((n, g))
    if evidence.walk_learner.size:
        spread = evidence.known[:, None] + turn2[:, None, None] * evidence.turning[:, None]
        spread = spread + count2[:, None, None] * evidence.counting[:, None]
        inverse = np.linalg.inv(spread)
        levers, miss = evidence.levers, evidence.miss_m
        np.add.at(weight, evidence.walk_learner, np.einsum("wia,wgij,wjb->wgab", levers, inverse, levers))
        np.add.at(pull, evidence.walk_learner, np.einsum("wia,wgij,wj->wga", levers, inverse, miss))
        square = np.einsum("wi,wgij,wj->wg", miss, inverse, miss)
        left = -0.5 * (square + np.log(np.linalg.det(spread)))
        np.add.at(constant, evidence.walk_learner, left)
    if evidence.count_learner.size:
        precision = 1.0 / (count2 + evidence.count_known[:, None])
        levers, ratio = evidence.count_levers, evidence.log_ratio
        np.add.at(weight, evidence.count_learner, np.einsum("ca,cg,cb->cgab", levers, precision, levers))
        np.add.at(pull, evidence.count_learner, np.einsum("ca,cg,c->cga", levers, precision, ratio))
        left = -0.5 * (precision * ratio[:, None] ** 2 - np.log(precision))
        np.add.at(constant, evidence.count_learner, left)
    return Told(weight, pull, constant, log_turn, log_count)


def pool(evidence: ClassEvidence) -> Pooled:
    """Fit a class: the scatters and the class's width in turn, until both rest."""
    told = tell(evidence)
    n = len(evidence.learners)
    width = np.array(USUAL_WIDTH)
    mean, mean_covariance = np.zeros(4), np.diag(np.array(MEAN_SD) ** 2)
    log_mean, log_spread = np.zeros(2), np.full(2, SCATTER_SPREAD)
    nodes = np.stack([told.log_turn, told.log_count])
    chance = np.zeros(told.constant.shape)
    observed = [habit for habit in range(len(HABITS)) if told.weight[..., habit, habit].any()]
    for _ in range(_ROUNDS):
        off = (nodes - log_mean[:, None]) / log_spread[:, None]
        log_chance = log_likelihood(told, width, mean) - 0.5 * np.sum(off**2, axis=0)
        chance = np.exp(log_chance - log_chance.max(axis=1, keepdims=True))
        chance /= chance.sum(axis=1, keepdims=True)
        expected = chance @ nodes.T
        log_mean = expected.sum(axis=0) / (n + (log_spread / SCATTER_DOUBT) ** 2)
        square = np.einsum("ng,kng->nk", chance, (nodes[:, None, :] - log_mean[:, None, None]) ** 2)
        total = SPREAD_LEARNERS * SCATTER_SPREAD**2 + square.sum(axis=0)
        log_spread = np.sqrt(total / (SPREAD_LEARNERS + n))
        weight = np.einsum("ng,ngab->nab", chance, told.weight)
        pull = np.einsum("ng,nga->na", chance, told.pull)
        for habit in observed:
            widths = weigh_widths(weight, pull, width, habit)
            width[habit] = math.exp(float(np.log(widths.width[:, habit]) @ widths.likely))
        mean, mean_covariance, _ = class_mean(weight, pull, width)
    return Pooled(told, chance, width, mean, mean_covariance, log_mean, log_spread)


def log_likelihood(told: Told, width: Array, mean: Array) -> Array:
    """The log likelihood of each pair of scatters, habits integrated, shape (n, g)."""
    variance = width**2
    inner = np.eye(4) + told.weight * variance
    solved = np.linalg.solve(inner, told.pull[..., None])[..., 0]
    held = np.linalg.solve(inner, told.weight)
    likelihood: Array = told.constant - 0.5 * np.linalg.slogdet(inner)[1]
    likelihood += 0.5 * np.sum(told.pull * variance * solved, axis=-1) + solved @ mean
    likelihood -= 0.5 * np.einsum("a,ngab,b->ng", mean, held, mean)
    return likelihood


def class_mean(weight: Array, pull: Array, width: Array) -> tuple[Array, Array, Array]:
    """The class's mean habits, their covariance, and the log evidence for each width.

    Parameters
    ----------
    weight, pull
        Of each learner, shapes (n, 4, 4) and (n, 4).
    width
        Shape (..., 4).

    Returns
    -------
    mean, covariance, evidence
        Shapes (..., 4), (..., 4, 4) and (...).

    References
    ----------
    Normal hierarchy with known variances: Gelman et al., Bayesian Data Analysis, sec. 5.4 (from memory).
    """
    variance = width[..., None, :] ** 2
    inner = np.eye(4) + weight * variance[..., None, :]
    solved = np.linalg.solve(inner, np.broadcast_to(pull, inner.shape[:-1])[..., None])[..., 0]
    held = np.linalg.solve(inner, np.broadcast_to(weight, inner.shape))
    precision = np.diag(1.0 / np.array(MEAN_SD) ** 2) + held.sum(axis=-3)
    covariance = np.linalg.inv(precision)
    total = solved.sum(axis=-2)
    mean = np.einsum("...ab,...b->...a", covariance, total)
    square = np.sum(pull * variance * solved, axis=(-2, -1)) + np.sum(total * mean, axis=-1)
    log_size = np.linalg.slogdet(inner)[1].sum(axis=-1) + np.linalg.slogdet(precision)[1]
    evidence: Array = 0.5 * (square - log_size)
    return mean, covariance, evidence


@dataclass(frozen=True, slots=True, eq=False)
class Widths:
    """How far learners may differ in one habit, the others as they are; t widths.

    Attributes
    ----------
    width
        All four habits' widths, shape (t, 4).
    likely
        How likely each is, shape (t,).
    safe
        How much each counts in an interval that is to hold whatever the width is, shape (t,).
    mean, mean_covariance
        Of the class's habits with that width, shapes (t, 4) and (t, 4, 4).
    """

    width: Array
    likely: Array
    safe: Array
    mean: Array
    mean_covariance: Array


def weigh_widths(weight: Array, pull: Array, width: Array, habit: int) -> Widths:
    """Weigh each width of the class in one habit.

    Believed to be so likely in the logarithm, widths make intervals that hold on the mean over all classes
    and too seldom in a usual one of some twenty learners: one taken too small costs more than one taken too
    large gains. Where the belief is instead a density of the width's square, intervals hold at each width
    that is not far below the usual, and hold more often there.

    References
    ----------
    C. N. Morris, Parametric empirical Bayes inference: theory and applications, Journal of the American
    Statistical Association 78, 1983, and M. Ganesh and P. Lahiri, A new class of average moment matching
    priors, Biometrika 95, 2008: a flat density of the variance (both from memory).
    """
    trial = np.tile(width, (_WIDTHS.size, 1))
    trial[:, habit] = USUAL_WIDTH[habit] * _WIDTHS
    mean, covariance, evidence = class_mean(weight, pull, trial)
    likely = evidence - 0.5 * (np.log(_WIDTHS) / WIDTH_DOUBT) ** 2
    return Widths(trial, _shares(likely), _shares(likely + 2.0 * np.log(_WIDTHS)), mean, covariance)


def _shares(log: Array) -> Array:
    share = np.exp(log - log.max())
    part: Array = share / share.sum()
    return part
