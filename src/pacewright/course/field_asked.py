"""What is asked of a field course: learners, stakes, legs, the field, and how sure its ends must be."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final, Literal, get_args

from pacewright.core.compass import AzimuthReference
from pacewright.core.pace.walker import Walker
from pacewright.course.course import Drill, Side
from pacewright.exceptions import ValueComplaint

STAKE_NAMES: Final = (
    *("Alder", "Beech", "Cedar", "Dogwood", "Elm", "Fir", "Gorse", "Hazel", "Ivy", "Juniper", "Larch"),
    *("Maple", "Nettle", "Oak", "Pine", "Quince", "Rowan", "Spruce", "Thorn", "Vine", "Willow", "Yew"),
)
"""One for each stake, so called out that no two are misheard; the first letter goes on the stake."""

Shape = Literal["line", "ring", "grid"]
ASK_FOR: Final = "Ask for box, detour, azimuth or bias"
LEAST_STAKES: Final = 3
MOST_WAVES: Final = 10
"""Learners who start at one stake, one after another; more than this and a lesson is spent waiting."""
MOST_LEGS: Final = 20
MOST_OPTIONS: Final = 100_000
"""Azimuths times lengths that a leg may be drawn from."""
MOST_FIELD_M: Final = 10_000.0


@dataclass(frozen=True, slots=True)
class FieldAsked:
    """What is asked of a course on a field.

    Attributes
    ----------
    learners
        One card each.
    stakes
        Along the base line.
    legs
        Of every card.
    field_m
        The open ground: along the base line, and deep from it. The base line lies in the middle.
    field_side
        The side of the base line, seen along it, on which the field lies.
    base_azimuth_deg
        Of the base line, from the first stake.
    spacing_m
        Between stakes; None lets the course choose it from the scatter.
    shortest_leg_m, longest_leg_m, length_step_m, azimuth_step_deg
        What legs are drawn from.
    drills
        Given to the learners in turn: `box`, `detour`, `azimuth` (lengths by a measured line), `bias` (far
        along the base line), or an empty text for a plain card.
    shape
        How the stakes stand: in a `line` along one side of the field, a `ring`, or a `grid`.
    most_wrong_share
        How often at the most a perfect counter may end at a wrong stake, on any card.
    gap_sds
        By how many standard deviations, of the two ends' difference, neighbours' ends must differ.
    wave_minutes
        Between learners who start at the same stake.
    walker
        The scatter assumed of every learner; what their compasses may be off is in its standard deviation.
    azimuth_reference
        The north of the azimuths told.
    title, seed
        Kept with the course. The generator is made from the seed by whoever asks.
    """

    learners: int
    stakes: int = 10
    legs: int = 4
    field_m: tuple[float, float] = (210.0, 110.0)
    field_side: Side = "left"
    base_azimuth_deg: float = 90.0
    spacing_m: float | None = None
    shortest_leg_m: float = 30.0
    longest_leg_m: float = 60.0
    length_step_m: float = 5.0
    azimuth_step_deg: int = 5
    drills: tuple[Drill, ...] = ()
    shape: Shape = "line"
    most_wrong_share: float = 0.05
    gap_sds: float = 3.0
    wave_minutes: float = 5.0
    walker: Walker = Walker()
    azimuth_reference: AzimuthReference = "magnetic"
    title: str = "Field course"
    seed: int = 0

    def __post_init__(self) -> None:
        _from_to("learners", self.learners, 1, 1000)
        _from_to("stakes", self.stakes, LEAST_STAKES, len(STAKE_NAMES))
        _from_to("legs", self.legs, 2, MOST_LEGS)
        _from_to("metres of field along the base line", self.field_m[0], 1.0, MOST_FIELD_M)
        _from_to("metres of field deep", self.field_m[1], 1.0, MOST_FIELD_M)
        _from_to("degrees of the base line's azimuth", self.base_azimuth_deg, 0.0, 360.0)
        _from_to("metres between stakes", 1.0 if self.spacing_m is None else self.spacing_m, 1.0, 1000.0)
        _from_to("metres of a length step", self.length_step_m, 0.1, 100.0)
        _from_to("metres of the shortest leg", self.shortest_leg_m, 1.0, MOST_FIELD_M)
        _from_to("metres of the longest leg", self.longest_leg_m, self.shortest_leg_m, MOST_FIELD_M)
        _from_to("share of wrong stakes", self.most_wrong_share, 0.0001, 0.5)
        _from_to("standard deviations between ends", self.gap_sds, 0.5, 10.0)
        _from_to("minutes between learners", self.wave_minutes, 0.0, 600.0)
        if self.azimuth_step_deg not in range(1, 91) or 360 % self.azimuth_step_deg:
            raise ValueComplaint(
                f"a step of {self.azimuth_step_deg} degrees does not go round the compass",
                "Write a whole number of degrees that divides 360, up to 90: 1, 2, 5 or 10",
            )
        if self.field_side not in get_args(Side):
            raise ValueComplaint(f"a base line has no side called {self.field_side}", "Write right or left")
        if self.shape not in get_args(Shape):
            raise ValueComplaint(f"stakes do not stand in a {self.shape}", "Ask for a line, a ring or a grid")
        for unknown in (drill for drill in self.drills if drill not in get_args(Drill)):
            raise ValueComplaint(f"there is no drill called {unknown}", ASK_FOR)
        if "pace" in self.drills:
            raise ValueComplaint(
                "a pace course is a line of its own, not a drill on a field",
                f"{ASK_FOR}, and set a pace course beside it",
            )
        self._can_serve()

    def _can_serve(self) -> None:
        if self.learners > MOST_WAVES * self.stakes:
            raise ValueComplaint(
                f"{self.learners} learners on {self.stakes} stakes would start"
                f" {math.ceil(self.learners / self.stakes)} times over",
                f"Set at least {math.ceil(self.learners / MOST_WAVES)} stakes, or set two courses",
            )
        if not self.lengths_m:
            raise ValueComplaint(
                f"no multiple of {self.length_step_m:g} m lies from {self.shortest_leg_m:g}"
                f" to {self.longest_leg_m:g} m",
                "Widen the lengths or take a smaller step",
            )
        if len(self.lengths_m) * 360 // self.azimuth_step_deg > MOST_OPTIONS:
            raise ValueComplaint(
                "there are too many lengths and azimuths to draw from", "Take a larger step of length"
            )
        if set(self.drills) & {"box", "detour"} and self.lengths_m[-1] < 3 * self.length_step_m:
            raise ValueComplaint(
                f"legs of {self.lengths_m[-1]:g} m are too short for an obstacle in the middle",
                f"Allow legs of {3 * self.length_step_m:g} m or more",
            )

    @property
    def lengths_m(self) -> tuple[float, ...]:
        """The lengths that a leg may have."""
        first = math.ceil(self.shortest_leg_m / self.length_step_m - 1e-9)
        last = math.floor(self.longest_leg_m / self.length_step_m + 1e-9)
        return tuple(k * self.length_step_m for k in range(first, last + 1))

    @property
    def sds_to_wrong_stake(self) -> float:
        """How many standard deviations half a spacing must be, so that wrong stakes stay rare enough."""
        return NormalDist().inv_cdf(1.0 - self.most_wrong_share / 2.0)


def _from_to(what: str, value: float, least: float, most: float) -> None:
    if not least <= value <= most:
        raise ValueComplaint(
            f"{value:g} {what} cannot be asked of a field course",
            f"Write a number from {least:g} to {most:g}",
        )
