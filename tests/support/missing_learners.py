"""Learners who miss posts and do what the card says, one by one, step by step; for tests.

Written from the card's words alone; it shares no code with what sets courses. Each learner is somebody with a
compass and a pace count that are off by the same all day, and every metre of their ways is looked at.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from itertools import pairwise

Place = tuple[float, float]


def point_in(ring: Sequence[Place], place: Place) -> bool:
    """Whether a place lies in a ring, by the angle that it is seen to turn through."""
    turned = 0.0
    for (a_east, a_north), (b_east, b_north) in zip(ring, [*ring[1:], ring[0]], strict=True):
        one = math.atan2(a_north - place[1], a_east - place[0])
        two = math.atan2(b_north - place[1], b_east - place[0])
        turned += (two - one + math.pi) % (2 * math.pi) - math.pi
    return abs(turned) > math.pi


class Learner:
    """Somebody out on a card."""

    def __init__(self, chance: random.Random, start: Place, is_barred: Callable[[Place], bool]) -> None:
        self.chance, self.here, self.is_barred = chance, start, is_barred
        self.compass_deg = chance.gauss(0.0, 1.5)
        self.pace = math.exp(chance.gauss(0.0, 0.03))
        self.was_barred = self.missed = False

    def walk(self, to: Place, post: Place | None = None, sees_m: float = 30.0) -> bool:
        """Go straight, metre by metre; stop and go to a post that comes into sight. True at the post."""
        far = math.dist(self.here, to)
        steps = max(1, math.ceil(far))
        begin = self.here
        closest = math.inf
        for k in range(steps + 1):
            spot = tuple(a + (b - a) * k / steps for a, b in zip(begin, to, strict=True))
            off = math.inf if post is None else math.dist(spot, post)
            if post is not None and off <= sees_m and off > closest - 1e-9:
                # Abeam of it, as near as this way comes: turn off.
                return self.walk(post) or True
            closest = min(closest, off)
            self.here = (spot[0], spot[1])
            self.was_barred |= self.is_barred(self.here)
        if post is not None and closest <= sees_m:
            self.walk(post)
            return True
        return False

    def dial(self, azimuth_deg: float, metres: float) -> Place:
        """Where a dialled azimuth and a counted way really lead: 2.5 deg and 5 % of scatter, and rounding."""
        held = math.radians(azimuth_deg + self.compass_deg + self.chance.gauss(0.0, 2.5))
        far = (metres + self.chance.gauss(0.0, max(0.05 * metres, 1.5))) * self.pace
        return self.here[0] + far * math.sin(held), self.here[1] + far * math.cos(held)

    def looks(self, azimuth_deg: float, post: Place, search_m: float) -> bool:
        """Go on, once round the place, and back to it."""
        centre = self.here
        for k in range(9):
            turn = math.radians(azimuth_deg + 45.0 * k)
            if self.walk(
                (centre[0] + search_m * math.sin(turn), centre[1] + search_m * math.cos(turn)), post
            ):
                return True
        return self.walk(centre, post)

    def seeks(self, azimuth_deg: float, metres: float, post: Place, search_m: float) -> bool:
        """Walk out to where a post should stand, and look for it there."""
        return self.walk(self.dial(azimuth_deg, metres), post) or self.looks(azimuth_deg, post, search_m)


def follow_the_card(
    chance: random.Random,
    posts: Sequence[Place],
    is_barred: Callable[[Place], bool],
    search_m: float = 50.0,
    backstop: tuple[float, float] | None = None,
) -> Learner:
    """Walk a whole card by its words; backstop is an azimuth and the way to it."""
    one = Learner(chance, posts[0], is_barred)

    def goes_in() -> Learner:
        if backstop is not None:
            one.walk(one.dial(*backstop))
        return one

    for last, post in pairwise(posts):
        metres = round(math.dist(last, post))
        azimuth_deg = round(math.degrees(math.atan2(post[0] - last[0], post[1] - last[1])))
        for _ in range(2):
            if one.seeks(azimuth_deg, metres, post, search_m):
                break
            one.missed = True
            if not one.seeks(azimuth_deg + 180.0, metres, last, search_m):
                return goes_in()
        else:
            return goes_in()
    return one
