"""Who is at which post when: what is taken, what is free, and the earliest that a class can be home.

Minutes are whole. A learner walks on without waiting, so that the hours at all posts follow from the start.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.course.lane_candidates import LaneRules

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Clockwork:
    """What the minutes of lanes follow from.

    Attributes
    ----------
    rules
        What makes a lane.
    minutes
        Of every leg, shape (posts, posts).
    at_post_min
        How long a learner stays at each post reached.
    window_min
        How long after one arrival (or start) nobody else may arrive, by post, shape (posts,); 0 where many
        may be at once. At a finish stated for all, many may be at once.
    leg_window_min
        How long after one sets out on a leg nobody else may set out on it, so that nobody just follows.
    """

    rules: LaneRules
    minutes: Ints
    at_post_min: int
    window_min: Ints
    leg_window_min: int = 0

    @property
    def watched(self) -> int:
        """How many of the posts of a lane, the start with them, take one learner at a time."""
        return self.rules.legs + (1 if self.rules.finish is None else 0)

    def arrivals(self, lanes: Ints) -> Ints:
        """The minutes after the start at which the posts are reached, shape (lanes, legs + 1)."""
        stays = np.concatenate([[0], np.full(self.rules.legs - 1, self.at_post_min, dtype=np.intp)])
        reached = np.cumsum(self.minutes[lanes[:, :-1], lanes[:, 1:]] + stays, axis=1)
        return np.concatenate([np.zeros((len(lanes), 1), dtype=np.intp), reached], axis=1)

    def settings_out(self, lanes: Ints) -> Ints:
        """The minutes after the start at which the legs are begun, shape (lanes, legs)."""
        stays = np.concatenate([[0], np.full(self.rules.legs - 1, self.at_post_min, dtype=np.intp)])
        return np.asarray(self.arrivals(lanes)[:, :-1] + stays, dtype=np.intp)

    def leg_numbers(self) -> Ints:
        """A number for every leg that may be walked, -1 where there is none, shape (posts, posts)."""
        number = np.full(self.rules.allowed.shape, -1, dtype=np.intp)
        number[self.rules.allowed] = np.arange(int(self.rules.allowed.sum()))
        return number

    def last_home(self, lanes: Ints, start_min: Ints) -> int:
        """When the last learner is done."""
        return int((self.arrivals(lanes)[:, -1] + start_min).max()) + self.at_post_min


class Taken:
    """The minutes at which nobody more may arrive at a post; it fills as learners are sent off."""

    __slots__ = ("_clockwork", "_number", "legs", "minutes")

    def __init__(self, clockwork: Clockwork, horizon_min: int) -> None:
        self._clockwork = clockwork
        self.minutes: Bools = np.zeros((clockwork.window_min.size, horizon_min), dtype=bool)
        self._number = clockwork.leg_numbers()
        rows = int(self._number.max()) + 1 if clockwork.leg_window_min else 0
        self.legs: Bools = np.zeros((rows, horizon_min), dtype=bool)

    def add(self, lane: Ints, start_min: int) -> None:
        """Send a learner off."""
        arrivals = self._clockwork.arrivals(lane[None])[0] + start_min
        watched = self._clockwork.watched
        for post, minute in zip(lane[:watched].tolist(), arrivals[:watched].tolist(), strict=True):
            window = int(self._clockwork.window_min[post])
            if window:
                self.minutes[post, max(0, minute - window + 1) : minute + window] = True
        window = self._clockwork.leg_window_min
        if window:
            begun = self._clockwork.settings_out(lane[None])[0] + start_min
            for leg, minute in zip(self._number[lane[:-1], lane[1:]].tolist(), begun.tolist(), strict=True):
                self.legs[leg, max(0, minute - window + 1) : minute + window] = True

    def onward(self, here: Ints, minute: Ints) -> Bools:
        """On which legs from posts nobody is too near ahead or behind, shape (lanes, posts)."""
        if not self.legs.size:
            return np.ones((here.size, self._number.shape[0]), dtype=bool)
        number = self._number[here]
        return np.asarray((number >= 0) & ~self.legs[number, minute[:, None]], dtype=np.bool_)

    def is_free(self, lanes: Ints, arrivals: Ints, start_min: int | Ints) -> Bools:
        """Which lanes can be walked from a start without meeting anyone, shape (lanes,)."""
        watched = self._clockwork.watched
        minutes = arrivals[:, :watched] + np.reshape(np.asarray(start_min), (-1, 1))
        free = ~self.minutes[lanes[:, :watched], minutes].any(axis=1)
        if self.legs.size:
            begun = self._clockwork.settings_out(lanes) + np.reshape(np.asarray(start_min), (-1, 1))
            free &= ~self.legs[self._number[lanes[:, :-1], lanes[:, 1:]], begun].any(axis=1)
        return np.asarray(free, dtype=np.bool_)

    def newly_taken(self, lanes: Ints, arrivals: Ints, start_min: int) -> Ints:
        """How many free minutes each lane would take from others, shape (lanes,)."""
        total = np.zeros(len(lanes), dtype=np.intp)
        most = int(self._clockwork.window_min.max())
        for visit in range(self._clockwork.watched):
            posts, minutes = lanes[:, visit], arrivals[:, visit] + start_min
            for off in range(1 - most, most):
                counts = (abs(off) < self._clockwork.window_min[posts]) & (minutes + off >= 0)
                total += counts & ~self.minutes[posts, np.maximum(minutes + off, 0)]
        return total


def last_home_bound(clockwork: Clockwork, learners: int, least_lane_min: int) -> int:
    """A minute before which no class of this size can be home, whatever lanes it walks.

    Parameters
    ----------
    clockwork
        Posts, minutes and windows.
    learners
        How many are sent off.
    least_lane_min
        The least time of any lane, from its start until its learner is done.
    """
    return max(_bound_by_starts(clockwork, learners, least_lane_min), _bound_by_posts(clockwork, learners))


def _bound_by_starts(clockwork: Clockwork, learners: int, least_lane_min: int) -> int:
    windows = clockwork.window_min[list(clockwork.rules.starts)]
    last_start = 0
    # How many can have started by a minute: at every start one at once and one more each window.
    while int((last_start // np.maximum(windows, 1) + 1).sum()) < learners and windows.min() > 0:
        last_start += 1
    return last_start + least_lane_min


def _bound_by_posts(clockwork: Clockwork, learners: int) -> int:
    rules = clockwork.rules
    far = np.iinfo(np.intp).max // 4
    reach = np.where(rules.allowed, clockwork.minutes, far)
    is_start = np.isin(np.arange(rules.between.size), rules.starts)
    visited = np.flatnonzero(rules.between)
    if not visited.size or clockwork.window_min[visited].min() == 0:
        return 0
    head = np.where(is_start, 0, reach.min(axis=0))[visited]
    stay = clockwork.at_post_min
    tail = np.full(visited.size, stay)
    if rules.finish is not None:
        # The next leg leads on to another post or home; either way there is a leg and another stay.
        tail = 2 * stay + reach.min(axis=1)[visited]
    own_starts = is_start[visited].any()
    needed = learners * (clockwork.watched - (0 if own_starts else 1))
    window = clockwork.window_min[visited]
    home = 0
    while True:
        room = home - head - tail
        if int(np.where(room >= 0, room // window + 1, 0).sum()) >= needed:
            return home
        home += 1
