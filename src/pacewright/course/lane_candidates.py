"""Orders of posts that a lane could take: all of them where they are few, else many drawn by chance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]

_MOST_LOOKS: Final = 200_000


@dataclass(frozen=True, slots=True, eq=False)
class LaneRules:
    """What order of posts makes a lane.

    Attributes
    ----------
    allowed
        Which leg may be walked, shape (posts, posts).
    starts
        Posts where a lane may begin.
    between
        Which posts a lane may visit on its way, shape (posts,); each at most once.
    finish
        The post where every lane ends; None where it may end at any of `between`.
    legs
        How many legs a lane has.
    """

    allowed: Bools
    starts: tuple[int, ...]
    between: Bools
    finish: int | None
    legs: int


def all_lanes(rules: LaneRules, most: int) -> Ints | None:
    """Every lane there is, or None where there are more than `most` or they are too many to look at.

    Returns
    -------
    array
        Posts in order, shape (lanes, legs + 1).
    """
    onward = [np.flatnonzero(row).tolist() for row in rules.allowed]
    lanes: list[tuple[int, ...]] = []
    waiting: list[tuple[int, ...]] = [(start,) for start in reversed(rules.starts)]
    looks = 0
    while waiting:
        lane = waiting.pop()
        looks += 1
        if len(lane) == rules.legs + 1:
            lanes.append(lane)
        if looks > _MOST_LOOKS or len(lanes) > most:
            return None
        if len(lane) == rules.legs + 1:
            continue
        is_last = len(lane) == rules.legs
        waiting += [
            (*lane, post) for post in reversed(onward[lane[-1]]) if _may_go(rules, lane, post, is_last)
        ]
    return np.array(lanes, dtype=np.intp).reshape(len(lanes), rules.legs + 1)


def drawn_lanes(rules: LaneRules, count: int, rng: np.random.Generator) -> Ints:
    """Draw lanes by chance, every next post with the same chance among those that may follow.

    Parameters
    ----------
    count
        How many are begun; those that run into a dead end and doubles are left out.
    rng
        Chance.

    Returns
    -------
    array
        Posts in order, shape (lanes, legs + 1), sorted, no two the same.
    """
    posts = rules.between.size
    lanes = np.empty((count, rules.legs + 1), dtype=np.intp)
    lanes[:, 0] = rng.choice(np.array(rules.starts, dtype=np.intp), size=count)
    free = np.broadcast_to(rules.between, (count, posts)).copy()
    free[np.arange(count), lanes[:, 0]] = False
    alive = np.ones(count, dtype=bool)
    for leg in range(1, rules.legs + 1):
        here = lanes[:, leg - 1]
        may = rules.allowed[here]
        if rules.finish is not None and leg == rules.legs:
            may = may & (np.arange(posts) == rules.finish)
        else:
            may = may & free
        if rules.finish is not None and leg == rules.legs - 1:
            may = may & rules.allowed[:, rules.finish]
        lanes[:, leg] = np.where(may, rng.random((count, posts)), -1.0).argmax(axis=1)
        alive &= may.any(axis=1)
        free[np.arange(count), lanes[:, leg]] = False
    return np.asarray(np.unique(lanes[alive], axis=0), dtype=np.intp)


def _may_go(rules: LaneRules, lane: tuple[int, ...], post: int, is_last: bool) -> bool:
    if rules.finish is not None and is_last:
        return post == rules.finish
    return bool(rules.between[post]) and post not in lane
