"""What an instructor asks of a course between posts whose places are known."""

from __future__ import annotations

import math
from dataclasses import dataclass

from pacewright.core.compass import AzimuthReference
from pacewright.core.pace.walker import Walker
from pacewright.course.barred_land import BarredArea
from pacewright.course.course import Post
from pacewright.course.finding_chance import Finding
from pacewright.course.leg_graph import HeightAt
from pacewright.course.safety import Safety, Timing
from pacewright.exceptions import MissingComplaint, ValueComplaint


@dataclass(frozen=True, slots=True)
class Tolerances:
    """By how much two lanes of a class may differ.

    Attributes
    ----------
    length_share
        In length, as a part of it: a twentieth (assumed; what an ordinary count strays by on one leg).
    climb_m
        In metres climbed.
    chance
        In the chance to find every post.
    """

    length_share: float = 0.05
    climb_m: float = 30.0
    chance: float = 0.05

    def __post_init__(self) -> None:
        for what, value in (
            ("length", self.length_share),
            ("climb", self.climb_m),
            ("chance", self.chance),
        ):
            if not 0.0 < value < math.inf:
                raise ValueComplaint(
                    f"lanes cannot be made equal in {what} to {value:g}", "Give a tolerance above 0"
                )


@dataclass(frozen=True, slots=True)
class ClassPace:
    """How fast a class moves, and how far apart learners are kept; whole minutes where minutes.

    Attributes
    ----------
    timing
        What walking, climbing and a post take; at a post whole minutes, to see it, copy its word and dial
        the next azimuth.
    spare_min
        More between two arrivals at one post than that (assumed).
    start_gap_min
        Between two starts at a stated start: 2 (assumed).
    apart_on_leg_min
        Between two who set out on the same leg, so that nobody just follows: 10 (assumed).
    varies_pct
        How far one learner's pace and one leg's stray from the rest, for the share of visits that meet
        somebody all the same: 10 % (assumed).
    """

    timing: Timing = Timing()
    spare_min: int = 2
    start_gap_min: int = 2
    apart_on_leg_min: int = 10
    varies_pct: float = 10.0

    def __post_init__(self) -> None:
        at_post_min = self.timing.at_post_min
        if not (
            1 <= at_post_min <= 60
            and at_post_min == int(at_post_min)
            and 0 <= self.spare_min <= 60
            and 1 <= self.start_gap_min <= 60
        ):
            raise ValueComplaint(
                "the minutes at a post, to spare or between starts cannot be",
                "Give whole minutes from 1 (to spare from 0) to 60",
            )
        if not 0 <= self.apart_on_leg_min <= 120:
            raise ValueComplaint(
                f"{self.apart_on_leg_min} minutes between two on one leg cannot be", "Give 0 to 120"
            )
        if not 0 <= self.varies_pct <= 50:
            raise ValueComplaint(f"a pace that varies by {self.varies_pct:g} % is no pace", "Give 0 to 50 %")

    @property
    def at_post_min(self) -> int:
        """Minutes at each post."""
        return int(self.timing.at_post_min)


@dataclass(frozen=True, slots=True)
class PostsAsked:
    """A course between posts whose places are known.

    Attributes
    ----------
    title
        For the sheets.
    posts
        Taped, paced or from the map, places in metres along the course's own north.
    learners, legs
        How many lanes, and how many legs each.
    starts
        Names of the posts where lanes may begin, kept for that; none given, any post will do.
    finish
        The post where every lane ends (it may be a start); none given, any post will do.
    azimuth_reference
        The north of the places.
    barred
        Danger areas and water.
    clearance_m, drift_sds
        What a leg keeps off them: a clearance, and as many standard deviations of an ordinary
        learner's drift.
    leg_m, lane_m
        Shortest and longest leg and lane: 300 to 1,200 m and 2,700 to 11,000 m (FM 3-25.26, app. F).
    height
        Heights of the land, for the climb (see `terrain_heights`); none given, the land is level.
    walker, finding
        The ordinary learner, and when a post counts as found.
    safety
        The strip that every learner carries; the backstop is where somebody lost goes.
    most_barred_share
        The chance to enter barred land, missing posts and following the rule of the card, at the most on
        any lane: 1 in 100 (assumed).
    wanted_chance
        The chance to find every post that lanes are to have, as near as the tolerance; None, any will do.
    tolerances, pace
        How equal the lanes are to be, and how fast the class moves.
    seed
        What chance was started with, to be kept with the course.
    candidates
        How many lanes to draw before choosing.
    """

    title: str
    posts: tuple[Post, ...]
    learners: int
    legs: int
    starts: tuple[str, ...] = ()
    finish: str | None = None
    azimuth_reference: AzimuthReference = "magnetic"
    barred: tuple[BarredArea, ...] = ()
    clearance_m: float = 20.0
    drift_sds: float = 2.0
    leg_m: tuple[float, float] = (300.0, 1200.0)
    lane_m: tuple[float, float] = (2700.0, 11000.0)
    height: HeightAt | None = None
    walker: Walker = Walker()
    finding: Finding = Finding()
    safety: Safety = Safety()
    most_barred_share: float = 0.01
    wanted_chance: float | None = None
    tolerances: Tolerances = Tolerances()
    pace: ClassPace = ClassPace()
    seed: int = 0
    candidates: int = 20_000

    def __post_init__(self) -> None:
        for what, value, most in (
            ("learners", self.learners, 500),
            ("legs", self.legs, 60),
            ("candidates", self.candidates, 100_000),
        ):
            if not 1 <= value <= most:
                raise ValueComplaint(f"{value} {what} make no course", f"Ask for 1 to {most}")
        for what, (least, most_m) in (("leg", self.leg_m), ("lane", self.lane_m)):
            if not 0.0 < least <= most_m <= 1e5:
                raise ValueComplaint(
                    f"no {what} is between {least:g} and {most_m:g} m long",
                    "Give the shortest first, above 0 m, and the longest",
                )
        if not (0.0 <= self.clearance_m < 1e5 and 0.0 <= self.drift_sds <= 5.0):
            raise ValueComplaint(
                f"a clearance of {self.clearance_m:g} m and {self.drift_sds:g} standard deviations cannot be",
                "Give metres from 0 and standard deviations from 0 to 5",
            )
        if not 0.0 < self.most_barred_share <= 1.0:
            raise ValueComplaint(
                f"{100 * self.most_barred_share:g} % is no bound on the chance to enter barred land",
                "Give more than 0 and at most 100 %",
            )
        if self.wanted_chance is not None and not 0.0 < self.wanted_chance <= 1.0:
            raise ValueComplaint(
                f"{100 * self.wanted_chance:g} % is no chance to find every post",
                "Give more than 0 and at most 100 %, or leave it out",
            )
        self._check_names()
        self._check_number_of_posts()

    def _check_names(self) -> None:
        names = [post.name for post in self.posts]
        for name in names:
            if names.count(name) > 1:
                raise ValueComplaint(f"there are two posts called {name}", "Give each its own name")
        for name in (*self.starts, *([] if self.finish is None else [self.finish])):
            if name not in names:
                raise MissingComplaint(
                    f"the course has no post called {name} to start or finish at",
                    f"Use one of: {', '.join(names) or 'none given'}",
                )
        if self.finish is not None and self.legs < 2:
            raise ValueComplaint(
                "one leg to a stated finish is the same lane for everyone at one start",
                "Ask for two legs or more, or state no finish",
            )

    def _check_number_of_posts(self) -> None:
        free = len([post for post in self.posts if self.is_between(post.name)])
        needed = self.legs + (0 if self.starts else 1) - (0 if self.finish is None else 1)
        if free < needed:
            raise MissingComplaint(
                f"lanes of {self.legs} legs need {needed} posts beside stated starts and finish,"
                f" and there are {free}",
                "Set more posts, or ask for fewer legs",
            )

    def is_between(self, name: str) -> bool:
        """Whether a post is one to find on the way, not a stated start or finish."""
        return name not in self.starts and name != self.finish
