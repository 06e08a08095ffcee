"""Slips that are not of a leg: the neighbour's stake, another's card, or never having left.

Another card is told for certain by the log that was written on the way, or by the words copied at its posts;
from the finish alone it has a chance like any other slip.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.answer_key import AnswerKey, answer_key
from pacewright.course.class_scatter import marked_walker
from pacewright.course.course import Card, Course
from pacewright.course.finish import Handed, points_found
from pacewright.course.grade_kinds import OWN_START_SHARE
from pacewright.course.miss import miss_of, see_finish
from pacewright.course.walk_scatter import own_scatter
from pacewright.course.walked_slips import Beside
from pacewright.course.written_slips import compare_written

Array = NDArray[np.float64]

STAYS_SD_M: Final = 3.0
"""Who never left stands so near the start."""
LEAST_UNLIKE: Final = 2
"""Of a log that reads another card, so many rows do not read one's own; fewer may be slips."""
AGREES_ABOVE: Final = 1e-4
"""A finish rarer than this by the other card says that its log was copied and the card not walked."""


def beside_slips(course: Course, key: AnswerKey) -> tuple[Beside, ...]:
    """The slips of no leg that could explain a finish on a field; none on a course of another kind."""
    if course.kind != "field":
        return ()
    card, ordinary = key.card, key.reckoning.own.sum(axis=0)
    start, ends = (np.array(course.post(name).place_m) for name in (card.start, card.ends))
    found = [Beside("never_left", card.start, start - ends, STAYS_SD_M**2 * np.eye(2), 1.0)]
    names = [post.name for post in course.posts]
    at = names.index(card.start)
    sides = [names[k] for k in (at - 1, at + 1) if 0 <= k < len(names)]
    for name in sides:
        moved = np.array(course.post(name).place_m) - start
        found.append(Beside("start_wrong", name, moved, ordinary, 1.0 / len(sides)))
    others = [other for other in course.cards if other.number != card.number]
    for other, own in zip(others, _own_scatters(others, key), strict=True):
        there = np.array(course.post(other.ends).place_m)
        elsewhere = np.array(course.post(other.start).place_m) - start
        ways = [(there - ends, OWN_START_SHARE), (there - ends - elsewhere, 1.0 - OWN_START_SHARE)]
        if not elsewhere.any():
            ways = [(there - ends, 1.0)]
        found += [
            Beside("card_swapped", str(other.number), moved, own, share / len(others))
            for moved, share in ways
        ]
    return tuple(found)


def _own_scatters(cards: Sequence[Card], key: AnswerKey) -> Array:
    """The own scatter of other cards' walks, obstacles as if they were not there, shape (n, 2, 2)."""
    legs = [leg for card in cards for leg in card.legs]
    if not legs:
        return np.zeros((0, 2, 2))
    azimuth_rad = np.radians([leg.azimuth_deg for leg in legs])
    unit = np.stack([np.sin(azimuth_rad), np.cos(azimuth_rad)], axis=1)
    length_m = np.array([leg.length_m for leg in legs])
    spread = own_scatter(unit, length_m, key.walker, key.reckoning.frame)
    firsts = np.cumsum([0, *(len(card.legs) for card in cards[:-1])])
    return np.asarray(np.add.reduceat(spread, firsts, axis=0), dtype=np.float64)


def as_walked(handed: Handed, course: Course) -> Handed:
    """What was handed in under the card that was walked, by the log or the words; as it was otherwise.

    Raises
    ------
    MissingComplaint
        The course has no such card or post.
    """
    card = course.card(handed.card)
    tried = [_under(handed, card, other) for other in course.cards if other.number != card.number]
    found = [one for one in tried if _reads_better(one, handed, course)]
    return found[0] if len(found) == 1 else handed


def _under(handed: Handed, card: Card, other: Card) -> Handed:
    # What was taped was taped from where one's own card ends.
    at = handed.finished_at or (card.ends if handed.finish_m is not None else None)
    return replace(handed, card=other.number, finished_at=at)


def _reads_better(one: Handed, own: Handed, course: Course) -> bool:
    """Whether log and words are those of another card, and the finish does not say no."""
    told = [
        _row_tells(one, own, course) if own.log is not None else None,
        _words_tell(one, own, course) if own.words else None,
    ]
    said = [answer for answer in told if answer is not None]
    return bool(said) and all(said) and _finish_agrees(one, course)


def _row_tells(one: Handed, own: Handed, course: Course) -> bool | None:
    if own.log is None or not own.log.legs:
        return None
    to_posts = course.kind != "field"
    legs = len(own.log.legs)
    azimuths = [leg.azimuth_deg for leg in own.log.legs]
    other = [leg.azimuth_deg for leg in course.card(one.card).legs]
    if not _begins_alike(azimuths, other):
        return False
    mine = compare_written(own.log, _key(own, course), counted_to_posts=to_posts)
    theirs = compare_written(own.log, _key(one, course), counted_to_posts=to_posts)
    unlike = max(LEAST_UNLIKE, (legs + 1) // 2)
    return len(mine.slips) >= unlike and not theirs.slips


def _begins_alike(azimuths: Sequence[float | None], other: Sequence[float]) -> bool:
    """Look quickly: most cards differ in the first azimuth already."""
    first = azimuths[0]
    return first is not None and abs((first - other[0] + 180.0) % 360.0 - 180.0) <= 3.0


def _words_tell(one: Handed, own: Handed, course: Course) -> bool | None:
    """Whether all words copied are those of the other card, and hardly any of one's own."""
    if course.kind != "posts":
        return None
    mine = points_found(own, course, course.card(own.card))
    theirs = points_found(one, course, course.card(one.card))
    copied = sum(1 for word in own.words.values() if word.strip())
    if copied < LEAST_UNLIKE:
        return None
    proved = sum(found for _, found in theirs)
    return proved == copied and 2 * sum(found for _, found in mine) < proved


def _finish_agrees(one: Handed, course: Course) -> bool:
    key = _key(one, course)
    seen = see_finish(one, course, key, dict(points_found(one, course, key.card)))
    return seen is None or miss_of(seen, key).chance > AGREES_ABOVE


def _key(handed: Handed, course: Course) -> AnswerKey:
    return answer_key(course, handed.card, marked_walker(handed.walker, course))
