"""How much free ground a course needs: where its walks lead, and where ordinary scatter carries a learner."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.walker import Walker
from pacewright.course.answer_key import KeyRow, answer_key
from pacewright.course.class_scatter import marked_walker
from pacewright.course.course import Course
from pacewright.course.ending import base_line
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]

HOLDS_SDS: Final = 2.0
"""Ground is kept free for so many standard deviations of an ordinary walk to every side."""


@dataclass(frozen=True, slots=True)
class FreeGround:
    """The ground that a course needs, in whole metres.

    Attributes
    ----------
    on_line
        True where the four are told from a base line of stakes; False where they are told from the
        course's own north.
    before_m, beyond_m
        Before the first stake and beyond the last; on no base line, west and east of all posts.
    left_m, right_m
        To the left and right of the base line as seen along it; on no base line, north and south.
    """

    on_line: bool
    before_m: int
    beyond_m: int
    left_m: int
    right_m: int


def free_ground(course: Course) -> FreeGround:
    """The ground that a course needs, its walks and their ordinary scatter within it."""
    posts = np.array([post.place_m for post in course.posts])
    try:
        line, on_line = base_line(course.posts), True
    except ValueComplaint:
        line, on_line = np.array([1.0, 0.0]), False
    to_left = np.array([-line[1], line[0]])
    along, left = [posts @ line], [posts @ to_left]
    walker = marked_walker(Walker(), course)
    for card in course.cards:
        key = answer_key(course, card.number, walker)
        starts = _last_posts(key.rows)
        for k, place in enumerate(key.places_m[1:], start=1):
            spread = key.covariance(starts[k - 1], k)
            reach = [HOLDS_SDS * math.sqrt(float(unit @ spread @ unit)) for unit in (line, to_left)]
            along.append(np.array([-reach[0], reach[0]]) + place @ line)
            left.append(np.array([-reach[1], reach[1]]) + place @ to_left)
    all_along, all_left = np.concatenate(along), np.concatenate(left)
    own_along, own_left = posts @ line, posts @ to_left
    return FreeGround(
        on_line,
        math.ceil(float(own_along.min() - all_along.min())),
        math.ceil(float(all_along.max() - own_along.max())),
        math.ceil(float(all_left.max() - own_left.max())),
        math.ceil(float(own_left.min() - all_left.min())),
    )


def _last_posts(rows: tuple[KeyRow, ...]) -> list[int]:
    """For every row, the station of the last post before it; 0 is the start."""
    starts, last = [], 0
    for k, row in enumerate(rows, start=1):
        starts.append(last)
        last = k if row.at else last
    return starts
