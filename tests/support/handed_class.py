"""Made-up classes as the tool takes them: a course, and what every learner handed in."""

from __future__ import annotations

import numpy as np

from pacewright.core.pace.walker import Walker
from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.course.finish import Handed
from support.made_class import PACE_M, MadeClass
from support.simulator import Route

START = "Gate"


def course_of(made: MadeClass) -> Course:
    """The cards as a course, every finish a stake of its own."""
    posts, cards = [Post(START, (0.0, 0.0), 0.1)], []
    for number, (route, slopes) in enumerate(zip(made.cards, made.slopes, strict=True), start=1):
        east, north = end_of(route)
        posts.append(Post(f"Stake {number}", (east, north), 0.1))
        legs = tuple(
            CourseLeg(float(azimuth), float(count) * PACE_M, slope=slope or None)
            for azimuth, count, slope in zip(route.azimuth_deg, route.count, slopes, strict=True)
        )
        cards.append(Card(number, START, legs, f"Stake {number}"))
    return Course("Cinder Fen practice", "field", "magnetic", tuple(posts), tuple(cards))


def end_of(route: Route) -> tuple[float, float]:
    """Where a perfect walk of a route ends, metres east and north."""
    azimuth_rad, length_m = np.radians(route.azimuth_deg), route.count * PACE_M
    return float(np.sum(length_m * np.sin(azimuth_rad))), float(np.sum(length_m * np.cos(azimuth_rad)))


def handed_by(made: MadeClass) -> list[Handed]:
    """What every learner handed in, the finish taped."""
    walker = Walker(per_100_m=100.0 / PACE_M)
    found = []
    for walk in made.walks:
        east, north = end_of(made.cards[walk.card])
        off = (float(walk.finish_m[0]) - east, float(walk.finish_m[1]) - north)
        name = made.learners[walk.learner].name
        found.append(Handed(name, walk.card + 1, None, None, off, walker=walker))
    return found
