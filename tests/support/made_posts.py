"""Made-up posts, and a class walked minute by minute from its cards alone, for tests."""

from __future__ import annotations

import math

import numpy as np

from pacewright.course.course import Course, Post


def thrown_posts(number: int, seed: int, side_m: float, apart_m: float = 120.0) -> tuple[Post, ...]:
    """Posts thrown on a square, none near another."""
    rng = np.random.default_rng(seed)
    places: list[np.ndarray] = []
    while len(places) < number:
        place = rng.uniform(0, side_m, 2)
        if all(np.hypot(*(place - other)) > apart_m for other in places):
            places.append(place)
    return tuple(
        Post(f"Post {n}", (float(place[0]), float(place[1]))) for n, place in enumerate(places, start=1)
    )


def walk_the_class(
    course: Course, metres_per_hour: float, at_post_min: int
) -> dict[str, list[tuple[float, float, int]]]:
    """Give, for every post, when each learner comes and goes and the learner's card.

    A start is a coming and going in one. Legs are rounded up to whole minutes.
    """
    visits: dict[str, list[tuple[float, float, int]]] = {post.name: [] for post in course.posts}
    for card in course.cards:
        now = card.start_minute
        visits[card.start].append((now, now, card.number))
        for leg in card.legs:
            now += math.ceil(60.0 * leg.length_m / metres_per_hour - 1e-9)
            visits[str(leg.ends)].append((now, now + at_post_min, card.number))
            now += at_post_min
    return visits
