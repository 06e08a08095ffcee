"""How often learners meet at a post all the same, because nobody walks at the pace of the timetable."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.course.sending_off import Sent
from pacewright.course.timetable import Clockwork

Floats = NDArray[np.float64]

_CLASSES: Final = 200


def meeting_share(clockwork: Clockwork, sent: Sent, varies: float, rng: np.random.Generator) -> float:
    """The share of visits at which a learner meets another, over many simulated classes.

    Parameters
    ----------
    clockwork, sent
        The timetable.
    varies
        Standard deviation, as a part of one, of each learner's pace and again of each leg's.
    rng
        Chance.
    """
    watched, stay = clockwork.watched, clockwork.at_post_min
    minutes = clockwork.minutes[sent.lanes[:, :-1], sent.lanes[:, 1:]].astype(np.float64)
    posts = sent.lanes[:, 1:watched].ravel()
    visited = clockwork.window_min[posts] > 0
    if not visited.any():
        return 0.0
    met = 0.0
    for _ in range(_CLASSES):
        own = np.exp(varies * rng.standard_normal((len(minutes), 1)))
        each = np.exp(varies * rng.standard_normal(minutes.shape))
        reached = np.cumsum(minutes * own * each + stay, axis=1) - stay + sent.start_min[:, None]
        met += _met(posts[visited], reached[:, : watched - 1].ravel()[visited], stay)
    return met / _CLASSES


def _met(posts: NDArray[np.intp], reached: Floats, stay: int) -> float:
    order = np.lexsort((reached, posts))
    follows = np.diff(posts[order]) == 0
    too_near = follows & (np.diff(reached[order]) < stay)
    return float((np.append(too_near, False) | np.append(False, too_near)).mean())
