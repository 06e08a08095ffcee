"""Sixty learners of ten legs on a made-up ground: how much each stage takes, and how far from the best."""

from __future__ import annotations

import time
from itertools import pairwise

import numpy as np

from pacewright.core.pace.walker import Walker
from pacewright.course.barred_land import BarredArea
from pacewright.course.class_report import class_report
from pacewright.course.course import Course, Post
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.learner_model import fit_class
from pacewright.course.posts_asked import PostsAsked
from pacewright.course.posts_setting import set_posts_course
from pacewright.course.practice_walk import MadeUpLearner, walk_card

LEARNERS, LEGS = 60, 10


def ground(posts: int, seed: int, side_m: float = 3000.0) -> tuple[Post, ...]:
    """Posts thrown on a square, none nearer to another than 250 m nor in the tarn."""
    rng = np.random.default_rng(seed)
    places: list[np.ndarray] = []
    while len(places) < posts:
        place = rng.uniform(0, side_m, 2)
        in_tarn = bool((np.abs(place - [1200, 1250]) < [260, 310]).all())
        if not in_tarn and all(np.hypot(*(place - other)) > 250 for other in places):
            places.append(place)
    return tuple(Post(f"Post {n}", (float(p[0]), float(p[1]))) for n, p in enumerate(places, start=1))


TARN = BarredArea("Cinder tarn", ((1000, 1000), (1400, 1000), (1400, 1500), (1000, 1500)))


def timed(asked: PostsAsked) -> tuple[Course, dict[str, float], float]:
    """Set a course; give it, the share of the time each stage took, and the seconds in all."""
    marks: list[tuple[str, float]] = []
    course = set_posts_course(
        asked, np.random.default_rng(asked.seed), lambda doing, _: marks.append((doing, time.process_time()))
    )
    total = marks[-1][1] - marks[0][1]
    shares: dict[str, float] = {}
    for (doing, begun), (_, ended) in pairwise(marks):
        shares[doing] = shares.get(doing, 0.0) + (ended - begun) / total
    return course, shares, total


def field_seconds() -> float:
    """Seconds of one processor to set a field course."""
    asked = FieldAsked(learners=LEARNERS, legs=LEGS, field_m=(500.0, 200.0))
    began = time.process_time()
    set_field_course(asked, np.random.default_rng(1))
    return time.process_time() - began


def grading_seconds() -> float:
    """Seconds of one processor to grade a class on a course among posts, and to advise each learner."""
    rng = np.random.default_rng(1)
    course = set_field_course(FieldAsked(learners=LEARNERS, legs=LEGS, field_m=(500.0, 200.0)), rng)
    slips = {"azimuth_reversed": 0.02, "steps_for_paces": 0.02}
    handed = []
    for card in course.cards:
        learner = MadeUpLearner(Walker(name=f"Learner {card.number}", per_100_m=62.5), slips=slips)
        handed.append(walk_card(course, card.number, learner, rng).handed)
    began = time.process_time()
    class_report(fit_class(handed, course))
    return time.process_time() - began


def main() -> None:
    asked = f"{LEARNERS} learners of {LEGS} legs"
    print(f"field: {asked} set in {field_seconds() / 20:.2f} of 20 s of one processor")
    print(f"graded: {asked} in {grading_seconds() / 5:.2f} of 5 s of one processor")
    cases = {
        "30 posts, any start": PostsAsked("a", ground(30, 1), LEARNERS, LEGS, barred=(TARN,)),
        "25 posts, any start": PostsAsked("b", ground(25, 2), LEARNERS, LEGS, barred=(TARN,)),
        "30 posts, one start and finish": PostsAsked(
            "c", ground(30, 3), LEARNERS, LEGS, starts=("Post 1",), finish="Post 1", barred=(TARN,)
        ),
    }
    for name, asked in cases.items():
        course, shares, seconds = timed(asked)
        told = ", ".join(f"{doing} {share:.0%}" for doing, share in shares.items())
        print(f"{name}: {LEARNERS} learners of {LEGS} legs in {seconds / 20:.2f} of 20 s of one processor")
        print(f"  {told}")
        for fact in ("last_home", "last_home_bound", "gap_to_bound", "visits_meeting"):
            print(f"  {fact}: {course.fact(fact):.3g}")
        for measure in ("length", "climb", "chance"):
            least, most, tolerance = (
                course.fact(f"{measure}_{part}") or 0.0 for part in ("least", "most", "tolerance")
            )
            print(
                f"  {measure}: {least:.4g} to {most:.4g}, {(most - least) / tolerance:.2f} of the tolerance"
            )


if __name__ == "__main__":
    main()
