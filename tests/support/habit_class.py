"""Classes on a field of stakes of known compass and pace; walked as people walk, without the tool."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from pacewright.core.pace.walker import Walker
from pacewright.course.course import Card, Course
from pacewright.course.field_asked import FieldAsked
from pacewright.course.field_setting import set_field_course
from pacewright.course.finish import Handed

PACE_M = 1.6
OWN = Walker(per_100_m=100.0 / PACE_M)


@lru_cache(maxsize=4)
def course_with(*drills: str) -> Course:
    asked = FieldAsked(12, drills=drills, seed=2)  # type: ignore[arg-type]
    return set_field_course(asked, np.random.default_rng(2))


def end_of(
    rng: np.random.Generator, course: Course, card: Card, bias_deg: float, scale: float
) -> tuple[float, float]:
    """Walk a plain card as an ordinary person does, and tape where it ended: east and north of the stake."""
    day_deg = bias_deg + rng.normal(0.0, 1.0)
    stride = scale * math.exp(rng.normal(0.0, 0.015))
    east, north = course.post(card.start).place_m
    for leg in card.legs:
        paces = round(leg.length_m / PACE_M)
        if card.drill == "azimuth":
            metres = leg.length_m + rng.normal(0.0, 0.2)
        else:
            metres = (paces + rng.normal(0.0, max(1.0, 0.05 * paces))) * PACE_M * stride
        held = math.radians(leg.azimuth_deg + day_deg + rng.normal(0.0, 2.5))
        east, north = east + metres * math.sin(held), north + metres * math.cos(held)
    post = course.post(card.ends).place_m
    return east - post[0] + rng.normal(0.0, 0.5), north - post[1] + rng.normal(0.0, 0.5)


def class_of(
    rng: np.random.Generator, course: Course, drill: str, walks: int, truths: dict[str, tuple[float, float]]
) -> list[Handed]:
    cards = [card for card in course.cards if card.drill == drill]
    return [
        Handed(name, card.number, None, card.ends, end_of(rng, course, card, bias, scale), walker=OWN)
        for name, (bias, scale) in truths.items()
        for card in (cards[int(k)] for k in rng.choice(len(cards), walks, replace=walks > len(cards)))
    ]


def ordinary_class(rng: np.random.Generator, learners: int) -> dict[str, tuple[float, float]]:
    return {f"Learner {k}": (rng.normal(0.0, 1.5), math.exp(rng.normal(0.0, 0.03))) for k in range(learners)}
