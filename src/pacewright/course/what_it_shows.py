"""What a course can teach: how small a compass bias, pace error or scatter its walks show of one learner.

What shows is what the class's own fit says: a figure whose interval, leaning on what learners usually are,
leaves out the usual. Four learners of five who are off by so much are to be found out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.learn.believed_figures import DAY_BIAS_SD_DEG
from pacewright.core.pace.pace_walker import SCALE_SD_LEAST_PCT
from pacewright.core.pace.walker import Walker
from pacewright.course.answer_key import AnswerKey, answer_key
from pacewright.course.class_scatter import marked_walker
from pacewright.course.course import Course, Drill
from pacewright.course.finish import TAPE_SD_M, cell_moment
from pacewright.course.pooling import SCATTER_SPREAD, USUAL_WIDTH
from pacewright.course.walk_scatter import Walk, finish_covariance, key_walk, shared_levers, stated_habit

Array = NDArray[np.float64]

WALKS: Final = (1, 2, 4)
"""Of one learner, each another card."""
_OUT: Final = 1.959964
"""An interval leaves out what lies so many standard deviations off."""
_FOUND: Final = 0.841621
"""Four of five lie above so many standard deviations below their mean."""
DOUBTS: Final = 1.1
"""That scatters are not known and small slips may hide makes it so much more: measured on made classes."""
MOST_BIAS_DEG: Final = 20.0
MOST_SCALE_PCT: Final = 40.0
MOST_TIMES: Final = 5.0
"""What must be larger than this to show does not show: nobody walks so."""


@dataclass(frozen=True, slots=True)
class Shows:
    """What so many walks of a learner show.

    Attributes
    ----------
    drill
        Of the cards; empty for plain ones.
    walks
        Each of another card of this kind.
    bias_deg, scale_pct
        The smallest compass bias, and the smallest error of the pace count, that shows in four learners of
        five; None where none that anybody has would.
    scatter_times
        By how many times the usual a scatter of azimuths or counts must be; None likewise.
    bias_by_stake_deg
        As `bias_deg`, where the end is told by the nearest stake alone and not taped.
    """

    drill: Drill
    walks: int
    bias_deg: float | None
    scale_pct: float | None
    scatter_times: float | None
    bias_by_stake_deg: float | None


def what_it_shows(course: Course, walker: Walker | None = None) -> tuple[Shows, ...]:
    """What the walks of a course show, for every kind of card on it and 1, 2 and 4 walks of a learner.

    Parameters
    ----------
    course
        A course of any kind. Among posts learners find their way back to the card at every post, so that
        only counts tell; on a pace line likewise.
    walker
        The ordinary learner; without one the class's assumed scatter.
    """
    made = marked_walker(walker or Walker(), course)
    drills = tuple(dict.fromkeys(card.drill for card in course.cards))
    return tuple(_shows(course, made, drill, walks) for drill in drills for walks in WALKS)


def _shows(course: Course, walker: Walker, drill: Drill, walks: int) -> Shows:
    cards = [card for card in course.cards if card.drill == drill]
    if course.kind != "field":
        legs = float(np.mean([len(card.legs) for card in cards]))
        return _of_counts(walker, drill, walks, legs, is_line=course.kind == "pace")
    keys = [answer_key(course, card.number, walker) for card in cards]
    taped = np.mean([_told(course, key, by_tape=True) for key in keys], axis=0)
    by_stake = np.mean([_told(course, key, by_tape=False) for key in keys], axis=0)
    counted = drill != "azimuth"
    return Shows(
        drill,
        walks,
        _bias(taped, walks),
        _scale(taped, walks) if counted else None,
        _times(walks),
        _bias(by_stake, walks),
    )


def _told(course: Course, key: AnswerKey, *, by_tape: bool) -> Array:
    """What one walk of a card tells of bias (radians) and scale: information, shape (2, 2)."""
    walk: Walk = key_walk(key)
    post = course.post(key.card.ends)
    start = course.post(key.card.start)
    known = (post.sd_m**2 + start.sd_m**2 + TAPE_SD_M**2) * np.eye(2)
    if not by_tape:
        ordinary = finish_covariance(walk, stated_habit(key.walker))
        reach_m = 3.0 * math.sqrt(float(np.linalg.eigvalsh(ordinary)[-1]))
        known = known + cell_moment(post, course.posts, reach_m)
    levers = shared_levers(walk)
    told: Array = levers.T @ np.linalg.inv(walk.own.sum(axis=0) + known) @ levers
    return told


def _alone(told: Array, walks: int, habit: int) -> float:
    """How well walks tell one habit, the other known as it usually is; a standard deviation."""
    other = 1 - habit
    held = walks * told
    rest = held[other, other] + 1.0 / USUAL_WIDTH[other] ** 2
    left = held[habit, habit] - held[habit, other] ** 2 / rest
    return math.inf if left <= 0.0 else 1.0 / math.sqrt(left)


def _bias(told: Array, walks: int) -> float | None:
    sd = math.hypot(_alone(told, walks, 0), math.radians(DAY_BIAS_SD_DEG) / math.sqrt(walks))
    return _least(math.degrees(sd), math.degrees(USUAL_WIDTH[0]), MOST_BIAS_DEG)


def _scale(told: Array, walks: int) -> float | None:
    day = SCALE_SD_LEAST_PCT / math.sqrt(walks)
    return _least(math.hypot(100.0 * _alone(told, walks, 1), day), 100.0 * USUAL_WIDTH[1], MOST_SCALE_PCT)


def _times(walks: float) -> float | None:
    """How many times the usual a scatter must be; a walk tells of each scatter by one number."""
    found = _least(1.0 / math.sqrt(2.0 * walks), SCATTER_SPREAD, math.log(MOST_TIMES))
    return None if found is None else math.exp(found)


def _least(sd: float, usual: float, most: float) -> float | None:
    """What shows in four of five, told to `sd` and leaning on a usual one of nothing to `usual`."""
    if not math.isfinite(sd):
        return None
    found = DOUBTS * sd * (_OUT * math.hypot(1.0, sd / usual) + _FOUND)
    return found if found <= most else None


def _of_counts(walker: Walker, drill: Drill, walks: int, legs: float, *, is_line: bool) -> Shows:
    """What counts from post to post, or from stake to stake, show: nothing of the compass.

    A pace line's count stands on its own passes, leaning on nothing.
    """
    numbers = walks * legs
    sd, usual = walker.count.count_sd_pct / math.sqrt(numbers), math.inf
    if not is_line:
        sd, usual = math.hypot(sd, SCALE_SD_LEAST_PCT / math.sqrt(walks)), 100.0 * USUAL_WIDTH[1]
    scale = _least(sd, usual, MOST_SCALE_PCT)
    return Shows(drill, walks, None, scale, _times(max(1.0, numbers - 1.0)), None)
