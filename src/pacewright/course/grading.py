"""One walk against the key: how far off, what explains it, the mark, and how sure the mark is.

The miss is told in metres and in paces, and in multiples of what ordinary scatter makes of such a walk:
1 is the usual miss of an ordinary counter who made no mistake.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.answer_key import AnswerKey, answer_key
from pacewright.course.beside_slips import LEAST_UNLIKE, STAYS_SD_M, as_walked, beside_slips
from pacewright.course.class_scatter import marked_walker
from pacewright.course.course import Course
from pacewright.course.finding_chance import Finding
from pacewright.course.finish import Handed, points_found
from pacewright.course.mark_luck import MarkLuck, points_luck, walk_luck
from pacewright.course.marking import READY_RULES, MarkingRule, Measured, give_marks, measured_by
from pacewright.course.miss import Miss, Seen, measure, measure_places, miss_of, see_finish
from pacewright.course.suspects import Suspected, list_suspects, weigh_seen
from pacewright.course.walk_scatter import Habit, stated_habit
from pacewright.course.walked_slips import SLIP_SHARE, Beside, WalkedPosterior
from pacewright.course.written_slips import WrittenComparison, compare_written

Array = NDArray[np.float64]

UNTOLD_M: Final = 1e6
"""A finish known no better than this tells nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Grade:
    """What one walk comes to.

    Attributes
    ----------
    handed, key, rule
        What was handed in, what it was held against, and how it was marked.
    seen
        The finish against the key; None where nobody saw where the learner ended.
    miss
        How far off that is; None likewise.
    points
        The posts of the card in order, each with whether the learner proved to have been there.
    written
        The log beside the card; None without a log.
    suspects
        Slips, the likeliest first; a written one is certain to be there.
    walked
        What the finish says of slips that were walked; None where it does not tell.
    measured
        What the rule measures; None where it cannot be.
    mark
        The mark; None likewise.
    luck
        What the mark would be were the same learner to walk again; None likewise.
    said
        What the reader must see, such as a pace that was assumed.
    reach_m
        How far off a post is still seen or found by searching, as the course has it.
    """

    handed: Handed
    key: AnswerKey
    rule: MarkingRule
    seen: Seen | None
    miss: Miss | None
    points: tuple[tuple[str, bool], ...]
    written: WrittenComparison | None
    suspects: tuple[Suspected, ...]
    walked: WalkedPosterior | None
    measured: float | None
    mark: float | None
    luck: MarkLuck | None
    said: tuple[str, ...]
    reach_m: float = Finding().reach_m

    @property
    def slip_chance(self) -> float | None:
        """The chance that a slip was walked; None where the finish does not tell."""
        return None if self.walked is None else 1.0 - self.walked.clean_probability

    @property
    def points_share(self) -> float:
        """The share of the card's points that was found."""
        return sum(found for _, found in self.points) / len(self.points)


def grade(
    handed: Handed,
    course: Course,
    rule: MarkingRule = READY_RULES[0],
    *,
    habit: Habit | None = None,
    slip_share: float = SLIP_SHARE,
) -> Grade:
    """Grade one walk.

    Parameters
    ----------
    handed, course, rule
        What a learner handed in, the course, and the rule to mark by.
    habit
        What other walks told of the learner's compass and pace, to tell a slip from a habit; the miss and
        the mark do not look at it.
    slip_share
        The share of walks with a slip, before looking.

    Raises
    ------
    MissingComplaint
        The course has no such card or post.
    """
    given, handed = handed, as_walked(handed, course)
    key = answer_key(course, handed.card, marked_walker(handed.walker, course))
    points = points_found(handed, course, key.card)
    seen = see_finish(handed, course, key, dict(points))
    to_posts = course.kind != "field"
    written = compare_written(handed.log, key, counted_to_posts=to_posts) if handed.log else None
    beside = _beside(given, course, key, seen, written)
    posterior = weigh_seen(seen, key, written, to_posts, habit, slip_share, beside)
    measured = measure(course, key, points, seen)
    stayed = course.kind == "field" and seen is not None and _is_at_start(seen, key)
    slipped = posterior is not None and posterior.clean_probability < 0.5
    value, mark, luck = _marked(handed, course, rule, key, points, seen, measured, slipped=slipped)
    if stayed and mark is not None:
        mark, luck = 0.0, None
    return Grade(
        given,
        key,
        rule,
        seen,
        None if seen is None else miss_of(seen, key),
        points,
        written,
        list_suspects(key, written, posterior),
        posterior,
        value,
        mark,
        luck,
        (
            *_say_swapped(given, handed),
            *_said(handed, key, written, seen, mark),
            *(["The walk ended where it began: that earns no mark."] if stayed else []),
        ),
        (course.finding or Finding()).reach_m,
    )


def _is_at_start(seen: Seen, key: AnswerKey) -> bool:
    """Whether a learner stood where the card starts: nobody is marked for staying there."""
    return float(np.hypot(*(seen.finish.place_m - key.places_m[0]))) < STAYS_SD_M


def _beside(
    given: Handed, course: Course, key: AnswerKey, seen: Seen | None, written: WrittenComparison | None
) -> tuple[Beside, ...]:
    """The slips of no leg; where log or words told the card, the finish is not asked for another."""
    # Whoever wrote the rows of this card held it, and no other.
    reads_own = written is not None and len(written.counted) >= LEAST_UNLIKE and not written.slips
    told = reads_own or given.card != key.card.number
    found = () if seen is None else beside_slips(course, key)
    out = {"card_swapped"} if told else set()
    # Whoever stands at another stake did not stay at the first.
    if seen is not None and not seen.finish.taped and given.finished_at not in (None, key.card.start):
        out.add("never_left")
    return tuple(one for one in found if one.kind not in out)


def _say_swapped(given: Handed, walked: Handed) -> list[str]:
    if walked.card == given.card:
        return []
    return [
        f"What {given.learner} wrote down is card {walked.card}, not card {given.card}:"
        f" it is marked by card {walked.card}."
    ]


def _marked(
    handed: Handed,
    course: Course,
    rule: MarkingRule,
    key: AnswerKey,
    points: Sequence[tuple[str, bool]],
    seen: Seen | None,
    measured: Measured,
    *,
    slipped: bool,
) -> tuple[float | None, float | None, MarkLuck | None]:
    """What the rule measures, the mark, and how much luck is in it."""
    value = float(measured_by(rule, measured)[0])
    if math.isnan(value):
        return None, None, None
    mark = float(give_marks(rule, measured, handed.minutes)[0])
    if rule.kind == "points_found" or seen is None:
        return value, mark, points_luck(rule, [found for _, found in points], handed.minutes)

    def marks_of(off_m: Array) -> Array:
        again = measure_places(course, key, seen, off_m, measured.points_share)
        return give_marks(rule, again, handed.minutes)

    # What a slip did to the finish tells nothing of the learner's compass and pace.
    known = seen.known + (UNTOLD_M**2 * np.eye(2) if slipped else 0.0)
    luck = walk_luck(seen.walk, stated_habit(key.walker), seen.off_m, known, marks_of)
    return value, mark, luck


def _said(
    handed: Handed, key: AnswerKey, written: WrittenComparison | None, seen: Seen | None, mark: float | None
) -> tuple[str, ...]:
    said = list(written.said) if written else []
    if key.assumed_pace:
        said.append(f"There is no pace count of {handed.learner}: a pace of {key.pace_m:g} m was assumed.")
    if seen is None and not handed.words:
        said.append(f"Nobody wrote down where {handed.learner} ended.")
    elif mark is None:
        said.append("The rule looks at the place of the finish, which nobody wrote down: there is no mark.")
    return tuple(said)
