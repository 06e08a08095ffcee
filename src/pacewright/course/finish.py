"""Where a learner stood at the end, and how well that is known.

A taped finish is known as well as its stake. A stake alone tells less: the learner went to it because it
was the nearest, and may have ended anywhere between it and its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.plausible import MINUTES, TAPED_M, check_bounds
from pacewright.course.course import Card, Course, Post
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]

TAPE_SD_M: Final = 0.5
"""How well an offset is taped across rough ground (assumed)."""
SIGHT_SD_M: Final = 2.0
"""How near a learner comes to a post that can be seen before turning to the next leg (assumed)."""


@dataclass(frozen=True, slots=True)
class Handed:
    """What one learner handed in after one walk.

    Attributes
    ----------
    learner
        The learner's name.
    card
        The number of the card walked.
    log
        The learner's own log; None where none was kept.
    finished_at
        The stake or post where the learner stood at the end; None where it was none.
    finish_m
        The taped place where the learner stood, metres east and north of `finished_at`, or of the post
        where the card ends where `finished_at` is None; None where nothing was taped.
    words
        What the learner copied at each post, by the post's name.
    walker
        The learner's own pace count and scatter.
    minutes
        How long it took; None where nobody looked.
    """

    learner: str
    card: int
    log: TravelLog | None = None
    finished_at: str | None = None
    finish_m: tuple[float, float] | None = None
    words: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    walker: Walker = Walker()
    minutes: float | None = None

    def __post_init__(self) -> None:
        if self.finish_m is not None and not all(map(math.isfinite, self.finish_m)):
            raise ValueComplaint(
                f"the taped finish of {self.learner} is not a place", "Write metres east and metres north"
            )
        if self.minutes is not None and not 0.0 <= self.minutes < math.inf:
            raise ValueComplaint(
                f"{self.minutes:g} is not how many minutes {self.learner} walked", "Write 0 or more"
            )
        for part in self.finish_m or ():
            check_bounds(part, TAPED_M, f"the finish of {self.learner}")
        check_bounds(self.minutes or 0.0, MINUTES, f"the walk of {self.learner}")


@dataclass(frozen=True, slots=True, eq=False)
class Finish:
    """Where a walk ended.

    Attributes
    ----------
    place_m
        East and north, shape (2,).
    covariance
        How well it is known, square metres, shape (2, 2).
    taped
        True where it was taped, False where only a stake was named.
    """

    place_m: Array
    covariance: Array
    taped: bool


def find_finish(handed: Handed, course: Course, reach_m: float) -> Finish | None:
    """Where a learner stood, or None where nothing tells it.

    Parameters
    ----------
    handed, course
        What was handed in, and the course.
    reach_m
        How far a learner would go to a stake at the most: where a stake has no neighbour to one side.

    Raises
    ------
    MissingComplaint
        There is no such post or card.
    """
    card = course.card(handed.card)
    if handed.finish_m is not None:
        post = course.post(handed.finished_at or card.ends)
        known = (post.sd_m**2 + TAPE_SD_M**2) * np.eye(2)
        return Finish(np.array(post.place_m) + np.array(handed.finish_m), known, True)
    told = _named_or_told(handed, course, card)
    if told is None:
        return None
    spread = SIGHT_SD_M**2 * np.eye(2)
    if course.kind == "field":
        spread = cell_moment(told, course.posts, reach_m)
    return Finish(np.array(told.place_m), spread + told.sd_m**2 * np.eye(2), False)


def _named_or_told(handed: Handed, course: Course, card: Card) -> Post | None:
    """The post named as the finish, or the one whose word was copied there."""
    if handed.finished_at is not None:
        return course.post(handed.finished_at)
    copied = handed.words.get(card.ends, "")
    told = [post for post in course.posts if post.word and _same_word(copied, post.word)]
    return told[0] if len(told) == 1 else None


def cell_moment(post: Post, posts: tuple[Post, ...], reach_m: float) -> Array:
    """The mean square offset from a post of all places that are nearer to it than to any other.

    Parameters
    ----------
    post, posts
        The post, and all of the course.
    reach_m
        Where no other post bounds its neighbourhood, it ends here.

    Returns
    -------
    array, shape (2, 2)
        Rows east and north, square metres.
    """
    angle_rad = np.arange(144) * (2.0 * np.pi / 144)
    unit = np.stack([np.sin(angle_rad), np.cos(angle_rad)], axis=1)
    reach = np.full(144, reach_m)
    others = np.array([p.place_m for p in posts if p.name != post.name]).reshape(-1, 2) - post.place_m
    if others.size:
        # The place half way to another post is as near to the one as to the other.
        toward = unit @ others.T
        half = np.sum(others**2, axis=1) / 2.0
        with np.errstate(divide="ignore", invalid="ignore"):
            bound = np.where(toward > 1e-9, half / toward, np.inf)
        reach = np.minimum(reach, bound.min(axis=1))
    moment: Array = np.einsum("a,ai,aj->ij", reach**4 / 4.0, unit, unit) / np.sum(reach**2 / 2.0)
    return moment


def posts_nearer(place_m: Array, target: Post, posts: tuple[Post, ...]) -> NDArray[np.int64]:
    """For places, how many posts are nearer to the target than the post nearest to each place.

    Parameters
    ----------
    place_m
        Shape (n, 2).

    Returns
    -------
    array, shape (n,)
        0 where the nearest post is the target itself.
    """
    all_m = np.array([post.place_m for post in posts])
    from_target = np.hypot(*(all_m - target.place_m).T)
    nearer = np.searchsorted(np.sort(from_target), from_target - 1e-6).astype(np.int64)
    off = place_m[:, None, :] - all_m
    rank: NDArray[np.int64] = nearer[np.argmin(np.einsum("npi,npi->np", off, off), axis=1)]
    return rank


def points_found(handed: Handed, course: Course, card: Card) -> tuple[tuple[str, bool], ...]:
    """The posts of a card in order, each with whether the learner proved to have been there.

    A post that has a word is proved by the word, any other by being the named finish.
    """
    names = [leg.ends for leg in card.legs[:-1] if leg.ends] + [card.ends]
    return tuple((name, _proved(handed, course.post(name))) for name in names)


def _proved(handed: Handed, post: Post) -> bool:
    if post.word and handed.words:
        return _same_word(handed.words.get(post.name, ""), post.word)
    return handed.finished_at == post.name and (handed.finish_m is None or not any(handed.finish_m))


def _same_word(copied: str, written: str) -> bool:
    return " ".join(copied.split()).casefold() == " ".join(written.split()).casefold()
