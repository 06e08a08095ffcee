"""One made-up class with names, habits and slips, fitted: for tests of words, keys and pictures."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from pacewright.course.class_report import ClassReport, class_report
from pacewright.course.course import Course
from pacewright.course.learner_model import fit_class
from support.handed_class import course_of, handed_by
from support.made_class import draw_cards, draw_learners, walk_class

NAMES = ("Tam Orrin", "Bea Lisk", "Noor Vale", "Odd Harrow", "Pia Kestle", "Rolf Amber")


def taught_class() -> ClassReport:
    """What the class came to."""
    return taught()[1]


@lru_cache(maxsize=1)
def taught() -> tuple[Course, ClassReport]:
    """Six learners of five walks: the first reverses legs, the second drifts to the right."""
    rng = np.random.default_rng(41)
    drawn = draw_learners(rng, len(NAMES), bias_sd_deg=0.5, scale_sd=0.01)
    learners = [replace(one, name=name) for one, name in zip(drawn, NAMES, strict=True)]
    learners[0] = replace(learners[0], slips={"azimuth_reversed": 1.0})
    learners[1] = replace(learners[1], bias_deg=6.0, azimuth_sd_deg=1.5)
    cards = draw_cards(rng, 6, 6, median_m=260.0)
    slipping = walk_class(rng, learners[:1], cards, 5, slip_share=0.6)
    clean = walk_class(rng, learners[1:], cards, 5)
    handed = [*handed_by(slipping), *handed_by(clean)]
    course = course_of(clean)
    return course, class_report(fit_class(handed, course))
