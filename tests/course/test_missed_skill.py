"""Posts that were missed tell of a learner's usual miss, against made learners of known scatter."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import numpy as np

from pacewright.core.pace.walker import Walker
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.finish import Handed
from pacewright.course.learner_model import fit_class
from pacewright.course.missed_skill import with_missed

WORDS = ("GORSE", "HERON", "ALDER", "BROOM", "CURLEW", "DUNNOCK", "ERMINE")
PLACES = ((0, 0), (0, 400), (400, 400), (400, 0), (800, 0), (800, 400), (1200, 400))
POSTS = tuple(
    Post(f"Post {k}", (float(east), float(north)), word=word)
    for k, ((east, north), word) in enumerate(zip(PLACES, WORDS, strict=True))
)


def lane() -> Course:
    legs = []
    for here, there in pairwise(POSTS):
        east, north = (b - a for a, b in zip(here.place_m, there.place_m, strict=True))
        azimuth = math.degrees(math.atan2(east, north)) % 360.0
        legs.append(CourseLeg(azimuth, math.hypot(east, north), there.name))
    return Course("Fen", "posts", "magnetic", POSTS, (Card(1, "Post 0", tuple(legs), "Post 6"),))


def handed(name: str, found: list[int]) -> Handed:
    words = {f"Post {k}": WORDS[k] for k in found}
    return Handed(name, 1, None, None, None, words, Walker(per_100_m=62.5))


def test_who_misses_posts_is_said_to_end_farther_off_than_who_finds_all() -> None:
    walks = [handed("Ada Quill", [1, 2, 3, 4, 5, 6]), handed("Tam Rook", [1, 4]), handed("Bo Lind", [])]
    fit = fit_class(walks, lane())
    ada, tam, bo = (fit.learner(name) for name in ("Ada Quill", "Tam Rook", "Bo Lind"))
    assert ada is not None and tam is not None and bo is not None
    assert ada.skill.miss_m < tam.skill.miss_m < bo.skill.miss_m
    for one in (ada, tam, bo):
        assert one.skill.low_m < one.skill.miss_m < one.skill.high_m


def test_the_usual_miss_follows_the_truth_of_made_learners() -> None:
    # Each leg ends round its post by a normal scatter; found within the 80 m that the course assumes.
    chance, told = random.Random(6), {}
    for usual_m in (30.0, 120.0):
        walks = []
        for k in range(8):
            sd = usual_m / math.sqrt(2.0)
            off = [math.hypot(chance.gauss(0.0, sd), chance.gauss(0.0, sd)) for _ in range(6)]
            walks.append(
                handed(f"Learner {usual_m:g} {k}", [n for n, one in enumerate(off, 1) if one <= 80.0])
            )
        fit = fit_class(walks, lane())
        told[usual_m] = np.median([one.skill.miss_m for one in fit.learners])
    assert told[120.0] > 1.5 * told[30.0]


def test_a_field_of_stakes_is_not_touched_by_it() -> None:
    one = handed("Ada Quill", [1, 2])
    course = Course(
        "Field", "field", "magnetic", POSTS[:2], (Card(1, "Post 0", (CourseLeg(0.0, 400.0),), "Post 1"),)
    )
    walked = Handed("Ada Quill", 1, None, None, (5.0, 5.0), walker=one.walker)
    fit = fit_class([walked], course)
    assert with_missed(fit.learners[0].skill, fit.grades) == fit.learners[0].skill
