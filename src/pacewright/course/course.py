"""A practice course: posts whose places are known, a card for every learner, and what setting it found.

Places are east and north in metres along the course's own azimuth reference, so that a leg of azimuth
a and length L moves by L times (sin a, cos a).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthReference, unit_vectors
from pacewright.core.pace.walker import Slope
from pacewright.course.barred_land import BarredArea
from pacewright.course.finding_chance import Finding
from pacewright.course.safety import Safety, Timing
from pacewright.exceptions import MissingComplaint, ValueComplaint

CourseKind = Literal["field", "posts", "pace"]
Drill = Literal["", "box", "detour", "pace", "azimuth", "bias"]
"""`azimuth`: lengths by a measured line, not by count; `bias`: far along the line, to show the compass."""
Side = Literal["right", "left"]
Array = NDArray[np.float64]

CLOSES_WITHIN_M: Final = 0.5
"""How far the legs of a card may come out from the post they end at, unless the course states another."""
LONGEST_LEG_M: Final = 100_000.0
DETOUR_DEG: Final = 60.0
"""A detour is an equilateral triangle: aside by this much, then as much to the other side; what is
walked on either side is what the detour comes forward (common practice)."""


@dataclass(frozen=True, slots=True)
class Post:
    """A stake or post whose place is known.

    Attributes
    ----------
    name
        What it is called, one of a kind on the course.
    place_m
        East and north in metres.
    sd_m
        How well the place is known.
    note
        A few words for the instructor.
    word
        What is written on it; the learner copies it as proof.
    """

    name: str
    place_m: tuple[float, float]
    sd_m: float = 1.0
    note: str = ""
    word: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ValueComplaint("a post has no name", "Name every post")
        _finite(f"the place of {self.name}", self.place_m)
        if not 0.0 <= self.sd_m < math.inf:
            raise ValueComplaint(
                f"{self.sd_m:g} m is not how well the place of {self.name} is known",
                "Write a number of metres, 0 or more",
            )


@dataclass(frozen=True, slots=True)
class Obstacle:
    """An imagined obstacle on a leg and the way round it.

    Attributes
    ----------
    way
        `box`: square offset out, past the obstacle, square offset back. `detour`: two sides of an
        equilateral triangle.
    side
        To which side it is walked round.
    at_m
        Metres walked on the leg when it bars the way.
    past_m
        Metres of the leg that it takes up: what is come forward on the way round.
    offset_m
        The offset of a box; 0 for a detour, whose sides are as long as `past_m`.
    """

    way: Literal["box", "detour"]
    side: Side
    at_m: float
    past_m: float
    offset_m: float = 0.0

    def __post_init__(self) -> None:
        if self.way not in ("box", "detour") or self.side not in ("right", "left"):
            raise ValueComplaint(
                f"there is no way round an obstacle called {self.way} {self.side}",
                "Write box or detour, and right or left",
            )
        _finite("an obstacle", (self.at_m, self.past_m, self.offset_m))
        if self.at_m < 0 or self.past_m <= 0 or (self.offset_m > 0) != (self.way == "box"):
            raise ValueComplaint(
                "this obstacle has no way round",
                "Give a box its offset and a detour none, and both a part of the leg that they take up",
            )


@dataclass(frozen=True, slots=True)
class CourseLeg:
    """One leg of a card.

    Attributes
    ----------
    azimuth_deg, length_m
        The leg; round an obstacle, its forward progress.
    ends
        The post's name where the leg ends at a post, None on open ground.
    ground, slope
        The class of ground and the lie, where the course tells them apart.
    obstacle
        What bars the leg, in a drill.
    """

    azimuth_deg: float
    length_m: float
    ends: str | None = None
    ground: str = ""
    slope: Slope | None = None
    obstacle: Obstacle | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.azimuth_deg < 360.0:
            raise ValueComplaint(
                f"{self.azimuth_deg:g} is not the azimuth of a leg", "Write degrees from 0 to less than 360"
            )
        if not 0.0 < self.length_m <= LONGEST_LEG_M:
            raise ValueComplaint(
                f"{self.length_m:g} m is not the length of a leg",
                f"Write metres above 0, up to {LONGEST_LEG_M:.0f}",
            )
        if self.slope is not None and self.slope not in get_args(Slope):
            raise ValueComplaint(f"{self.slope} is not a lie of a leg", "Write up, level or down")
        bar = self.obstacle
        if bar is not None and bar.at_m + bar.past_m > self.length_m:
            raise ValueComplaint(
                f"the obstacle reaches to {bar.at_m + bar.past_m:g} m of a leg of {self.length_m:g} m",
                "Let the obstacle end before the leg does",
            )

    def step_m(self) -> Array:
        """East and north of the leg, shape (2,)."""
        return np.array([float(part) * self.length_m for part in unit_vectors(self.azimuth_deg)])


@dataclass(frozen=True, slots=True)
class Card:
    """What one learner walks.

    Attributes
    ----------
    number
        From 1.
    start, ends
        The posts where it starts and where a perfect walk ends.
    legs
        At least one.
    drill
        What it trains beside azimuth and count, or nothing.
    start_minute
        Minutes after the first learner.
    climb_m
        What is climbed on the way, where the land is known.
    """

    number: int
    start: str
    legs: tuple[CourseLeg, ...]
    ends: str
    drill: Drill = ""
    start_minute: float = 0.0
    climb_m: float = 0.0

    def __post_init__(self) -> None:
        if self.number < 1:
            raise ValueComplaint(f"{self.number} is not the number of a card", "Count cards from 1")
        if not self.legs:
            raise ValueComplaint(f"card {self.number} has no legs", "Give it at least one")
        if self.drill not in get_args(Drill):
            raise ValueComplaint(
                f"there is no drill called {self.drill} (card {self.number})",
                f"Write {', '.join(filter(None, get_args(Drill)))}, or leave it out",
            )
        if not 0.0 <= self.start_minute < math.inf:
            raise ValueComplaint(
                f"card {self.number} starts at minute {self.start_minute:g}", "Write minutes, 0 or more"
            )
        if not 0.0 <= self.climb_m < math.inf:
            raise ValueComplaint(f"card {self.number} climbs {self.climb_m:g} m", "Write metres, 0 or more")
        if self.legs[-1].ends not in (None, self.ends):
            raise ValueComplaint(
                f"card {self.number} ends at {self.ends} and its last leg at {self.legs[-1].ends}",
                "Let both name one post",
            )

    @property
    def length_m(self) -> float:
        """The length of all legs, ways round obstacles not counted."""
        return math.fsum(leg.length_m for leg in self.legs)


@dataclass(frozen=True, slots=True)
class Fact:
    """A figure that setting the course found and that its sheet must say.

    Attributes
    ----------
    name, value, unit
        Such as `wrong_stake_share_most`, 0.012, `share`.
    """

    name: str
    value: float
    unit: str

    def __post_init__(self) -> None:
        _finite(self.name or "a fact", (self.value,))


@dataclass(frozen=True, slots=True)
class Course:
    """A practice course.

    Attributes
    ----------
    title
        For the sheets.
    kind
        `field` (stakes along a base line), `posts` (posts in the land) or `pace` (a measured line).
    azimuth_reference
        The north of every azimuth and place.
    posts, cards
        At least one of each.
    seed
        What chance was started with.
    facts
        What setting found, each name once.
    tolerance_m
        How far the legs between two posts may come out from the second.
    barred
        Danger areas and water that the legs keep off; every learner must know of them.
    safety
        The strip that every learner carries.
    timing
        When a learner is to be expected back.
    finding
        How far a post is seen and searched for, where the course asks for that.
    """

    title: str
    kind: CourseKind
    azimuth_reference: AzimuthReference
    posts: tuple[Post, ...]
    cards: tuple[Card, ...]
    seed: int = 0
    facts: tuple[Fact, ...] = ()
    tolerance_m: float = CLOSES_WITHIN_M
    barred: tuple[BarredArea, ...] = ()
    safety: Safety = Safety()
    timing: Timing = Timing()
    finding: Finding | None = None

    def __post_init__(self) -> None:
        if self.kind not in get_args(CourseKind) or self.azimuth_reference not in get_args(AzimuthReference):
            raise ValueComplaint(
                f"there is no {self.kind} course with {self.azimuth_reference} azimuths",
                "Write field, posts or pace, and magnetic, true or grid",
            )
        if not self.posts or not self.cards:
            raise ValueComplaint("a course needs a post and a card", "Set one with pacewright course set")
        if not 0.0 < self.tolerance_m < math.inf:
            raise ValueComplaint(f"{self.tolerance_m:g} m is no tolerance", "Write metres above 0")
        _once("post", (post.name for post in self.posts))
        _once("card", (str(card.number) for card in self.cards))
        _once("fact", (fact.name for fact in self.facts))
        for card in self.cards:
            self._walk(card)

    def post(self, name: str) -> Post:
        """The post of that name.

        Raises
        ------
        MissingComplaint
            There is none.
        """
        post = self._find_post(name)
        if post is not None:
            return post
        raise MissingComplaint(
            f"the course has no post called {name}",
            f"Use one of: {', '.join(post.name for post in self.posts)}",
        )

    def card(self, number: int) -> Card:
        """The card of that number.

        Raises
        ------
        MissingComplaint
            There is none.
        """
        for card in self.cards:
            if card.number == number:
                return card
        raise MissingComplaint(
            f"the course has no card {number}",
            f"Use one of: {', '.join(str(card.number) for card in self.cards)}",
        )

    def fact(self, name: str) -> float | None:
        """The value of a fact, or None where setting did not find it."""
        return next((fact.value for fact in self.facts if fact.name == name), None)

    def expected_min(self, card: Card) -> int:
        """After how many minutes of walking a learner with this card is to be back."""
        posts = sum(1 for leg in card.legs[:-1] if leg.ends is not None) + 1
        return self.timing.expected_min(card.length_m, card.climb_m, posts)

    def places_m(self, card: Card) -> Array:
        """Where a perfect walk of a card starts and where each leg ends, shape (n + 1, 2).

        A leg that ends at a post ends at the post's own place.
        """
        return np.array(self._walk(card))

    def _walk(self, card: Card) -> list[Array]:
        places = [np.array(self._known_post(card, card.start).place_m)]
        for number, leg in enumerate(card.legs, start=1):
            reached = places[-1] + leg.step_m()
            name = card.ends if number == len(card.legs) else leg.ends
            if name is not None:
                target = np.array(self._known_post(card, name).place_m)
                self._closes(card, name, float(np.hypot(*(reached - target))))
                reached = target
            places.append(reached)
        return places

    def _find_post(self, name: str) -> Post | None:
        return next((post for post in self.posts if post.name == name), None)

    def _known_post(self, card: Card, name: str) -> Post:
        post = self._find_post(name)
        if post is not None:
            return post
        raise ValueComplaint(
            f"card {card.number} names a post {name} that the course does not have",
            "Correct the name or add the post",
        )

    def _closes(self, card: Card, name: str, off_m: float) -> None:
        if off_m > self.tolerance_m + 1e-9:
            raise ValueComplaint(
                f"the legs of card {card.number} come out {off_m:.1f} m from {name},"
                f" more than {self.tolerance_m:g} m",
                "Correct its azimuths and lengths, or the place of the post",
            )


def _finite(what: str, numbers: Iterable[float]) -> None:
    for number in numbers:
        if not math.isfinite(number):
            raise ValueComplaint(f"{number:g} is not a number of {what}", "Write a plain number")


def _once(what: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise ValueComplaint(f"there are two {what}s called {name}", "Give each its own name")
        seen.add(name)
