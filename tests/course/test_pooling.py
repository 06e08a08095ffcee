"""How wide a class is, weighed by the likelihood of all that its learners walked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import multivariate_normal

from pacewright.course.class_evidence import ClassEvidence, gather_evidence
from pacewright.course.grading import grade
from pacewright.course.learner_figures import Spreads
from pacewright.course.pooling import MEAN_SD, USUAL_WIDTH, WIDTH_DOUBT, class_mean, pool, weigh_widths
from support.handed_class import course_of, handed_by
from support.made_class import draw_cards, draw_learners, walk_class

Floats = NDArray[np.float64]
TURN_RAD, COUNT_PART = np.radians(2.5), 0.05


def made_evidence(learners: int, walks: int, seed: int) -> ClassEvidence:
    rng = np.random.default_rng(seed)
    made = walk_class(rng, draw_learners(rng, learners), draw_cards(rng, 4, 6), walks)
    course = course_of(made)
    return gather_evidence([grade(one, course, slip_share=1e-9) for one in handed_by(made)], 1e-9)


def told_at_usual_scatter(evidence: ClassEvidence) -> tuple[Floats, Floats, Floats]:
    """Information and pull of each learner, and the scatter of each miss."""
    n = len(evidence.learners)
    spread = evidence.known + TURN_RAD**2 * evidence.turning + COUNT_PART**2 * evidence.counting
    weight, pull = np.zeros((n, 4, 4)), np.zeros((n, 4))
    for who, lever, own, miss in zip(
        evidence.walk_learner, evidence.levers, spread, evidence.miss_m, strict=True
    ):
        weight[who] += lever.T @ np.linalg.solve(own, lever)
        pull[who] += lever.T @ np.linalg.solve(own, miss)
    return weight, pull, spread


def test_a_width_is_as_likely_as_all_misses_together_are_with_it() -> None:
    # Against the density of all misses at once as one long normal, by scipy.
    evidence = made_evidence(5, 3, 1)
    weight, pull, spread = told_at_usual_scatter(evidence)
    same = evidence.walk_learner[:, None] == evidence.walk_learner[None]
    logs, dense = [], []
    for width in (np.array(USUAL_WIDTH) * part for part in (0.3, 1.0, 2.5)):
        logs.append(float(class_mean(weight, pull, width)[2]))
        shared = np.where(
            same[..., None, None], np.diag(width**2) + np.diag(MEAN_SD) ** 2, np.diag(MEAN_SD) ** 2
        )
        covariance = np.einsum("wia,wvab,vjb->wivj", evidence.levers, shared, evidence.levers)
        for k, own in enumerate(spread):
            covariance[k, :, k, :] += own
        size = evidence.miss_m.size
        dense.append(multivariate_normal.logpdf(evidence.miss_m.ravel(), cov=covariance.reshape(size, size)))
    assert np.diff(logs) == pytest.approx(np.diff(dense), abs=1e-6)


def test_in_an_interval_a_width_counts_by_its_square_besides() -> None:
    weight, pull, _ = told_at_usual_scatter(made_evidence(6, 3, 2))
    widths = weigh_widths(weight, pull, np.array(USUAL_WIDTH), 0)
    ratio = widths.safe / widths.likely / widths.width[:, 0] ** 2
    assert ratio == pytest.approx(ratio[0])
    # With nothing walked, what is likely is what is believed: half as wide and twice as wide alike.
    nothing = weigh_widths(0.0 * weight, 0.0 * pull, np.array(USUAL_WIDTH), 0)
    log = np.log(nothing.width[:, 0] / USUAL_WIDTH[0])
    assert np.log(nothing.likely / nothing.likely.max()) == pytest.approx(-0.5 * (log / WIDTH_DOUBT) ** 2)


@pytest.mark.parametrize("part", [0.5, 1.0, 2.0])
def test_intervals_hold_in_classes_more_alike_and_less_alike_than_usual(part: float) -> None:
    # The cards of a made-up class, walked anew by the model itself: 800 learners a width, one standard
    # error 0.8 in a hundred. In a class more alike than believed they hold more often, never less.
    rng = np.random.default_rng(3)
    evidence, held = made_evidence(20, 1, 10), []
    for _ in range(40):
        cards = rng.integers(20, size=80)
        who = np.repeat(np.arange(20), 4)
        habit = rng.normal(0.0, part * np.array(USUAL_WIDTH[:2]), (20, 2))
        turn, count = (usual * np.exp(0.25 * rng.standard_normal(20)) for usual in (TURN_RAD, COUNT_PART))
        spread = evidence.known[cards] + (turn**2)[who, None, None] * evidence.turning[cards]
        spread += (count**2)[who, None, None] * evidence.counting[cards]
        miss = np.einsum("wia,wa->wi", evidence.levers[cards][..., :2], habit[who])
        miss += np.einsum("wij,wj->wi", np.linalg.cholesky(spread), rng.standard_normal((80, 2)))
        drawn = replace(
            evidence,
            walk=np.arange(80),
            walk_learner=who,
            miss_m=miss,
            levers=evidence.levers[cards],
            turning=evidence.turning[cards],
            counting=evidence.counting[cards],
            known=evidence.known[cards],
        )
        spreads = Spreads(pool(drawn))
        for k in (0, 1):
            figures = spreads.figures(k)
            held += [one.low <= true <= one.high for one, true in zip(figures, habit[:, k], strict=True)]
    assert 0.93 <= np.mean(held) <= (0.97 if part >= 1.0 else 0.99)
