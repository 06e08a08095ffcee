"""Set a pace course: a measured line on which learners find their pace count, ground by ground."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.core.compass import AzimuthReference, back_azimuth, unit_vectors
from pacewright.core.pace.scatter import CountScatter
from pacewright.core.pace.walker import Slope
from pacewright.course.course import Card, Course, CourseLeg, Fact, Post
from pacewright.exceptions import ValueComplaint

LEAST_LINE_M: Final = 100.0
MOST_LINE_M: Final = 600.0
"""A pace course is 100 to 600 m long, on ground like that to be walked (TC 3-25.26, 2013, 5-20)."""
USUAL_TRIALS: Final = 5
"""Trials a learner walks (University of Washington, FE 345, pacing exercise)."""
MOST_TRIALS: Final = 50
TAPE_SD_PER_100_M: Final = 0.1
"""How well a hundred metres are taped over rough ground (assumed)."""
_TURNED: Final[dict[Slope | None, Slope | None]] = {"up": "down", "down": "up"}


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the line on one class of ground.

    Attributes
    ----------
    length_m
        From stake to stake.
    ground
        The class of ground as the learner's pace table will name it; empty for ordinary ground.
    slope
        Its lie, seen from the first stake of the line.
    """

    length_m: float = 100.0
    ground: str = ""
    slope: Slope | None = "level"


@dataclass(frozen=True, slots=True)
class PaceAsked:
    """What is asked of a pace course.

    Attributes
    ----------
    learners
        One card each; every other one starts at the far end, so that no two count in step.
    stretches
        Of the line, from its first stake on, in one direction.
    azimuth_deg
        Of the line.
    trials
        How often each learner walks the whole line, out and back in turn.
    start_minutes
        Between two learners at one end.
    count
        The scatter of counts assumed of every learner.
    azimuth_reference, title
        Kept with the course.
    """

    learners: int
    stretches: tuple[Stretch, ...] = (Stretch(),)
    azimuth_deg: float = 90.0
    trials: int = USUAL_TRIALS
    start_minutes: float = 2.0
    count: CountScatter = CountScatter()
    azimuth_reference: AzimuthReference = "magnetic"
    title: str = "Pace course"

    def __post_init__(self) -> None:
        if not 1 <= self.learners <= 1000:
            raise ValueComplaint(f"{self.learners} learners cannot be asked for", "Write from 1 to 1000")
        if not 1 <= self.trials <= MOST_TRIALS:
            raise ValueComplaint(f"{self.trials} trials cannot be asked for", f"Write 1 to {MOST_TRIALS}")
        if not 0.0 <= self.start_minutes <= 600.0:
            raise ValueComplaint(
                f"{self.start_minutes:g} minutes between learners cannot be asked for", "Write from 0 to 600"
            )
        if not all(stretch.length_m > 0 for stretch in self.stretches):
            raise ValueComplaint("a stretch of the line has no length", "Write metres above 0")
        length_m = math.fsum(stretch.length_m for stretch in self.stretches)
        if not LEAST_LINE_M <= length_m <= MOST_LINE_M:
            raise ValueComplaint(
                f"the line is {length_m:g} m long and a pace course is from {LEAST_LINE_M:g}"
                f" to {MOST_LINE_M:g} m",
                "Lengthen or shorten its stretches, or lay two lines",
            )


def set_pace_course(asked: PaceAsked) -> Course:
    """Set a pace course: stakes at known distances along a line, walked out and back.

    Parameters
    ----------
    asked
        The line and the class.

    Returns
    -------
    Course
        Of kind `pace`. Each card holds all passes of one learner, each leg from stake to stake. Its
        facts say how well that many trials settle a pace count.

    Raises
    ------
    ValueComplaint
        The line's azimuth is none.

    References
    ----------
    TC 3-25.26, Map Reading and Land Navigation (2013), 5-20.
    """
    at_m = [0.0, *np.cumsum([stretch.length_m for stretch in asked.stretches]).tolist()]
    posts = tuple(_post(asked, k, at) for k, at in enumerate(at_m))
    names = [post.name for post in posts]
    out = tuple(
        CourseLeg(asked.azimuth_deg, stretch.length_m, ends=name, ground=stretch.ground, slope=stretch.slope)
        for stretch, name in zip(asked.stretches, names[1:], strict=True)
    )
    back = tuple(
        CourseLeg(
            back_azimuth(leg.azimuth_deg), leg.length_m, name, leg.ground, _TURNED.get(leg.slope, leg.slope)
        )
        for leg, name in zip(out[::-1], names[-2::-1], strict=True)
    )
    return Course(
        title=asked.title,
        kind="pace",
        azimuth_reference=asked.azimuth_reference,
        posts=posts,
        cards=tuple(_card(asked, number, out, back) for number in range(1, asked.learners + 1)),
        facts=(
            Fact("line_length", at_m[-1], "m"),
            Fact("trials", float(asked.trials), "count"),
            Fact("pace_count_sd", asked.count.count_sd_pct / math.sqrt(asked.trials), "pct"),
        ),
    )


def _post(asked: PaceAsked, k: int, at_m: float) -> Post:
    east, north = (float(part) * at_m for part in unit_vectors(asked.azimuth_deg))
    beyond = asked.stretches[k] if k < len(asked.stretches) else None
    note = "" if beyond is None or not beyond.ground else f"{beyond.ground} from here"
    return Post(f"{at_m:g} m", (east, north), TAPE_SD_PER_100_M * at_m / 100.0, note)


def _card(asked: PaceAsked, number: int, out: tuple[CourseLeg, ...], back: tuple[CourseLeg, ...]) -> Card:
    first, second = (out, back) if number % 2 else (back, out)
    legs = tuple(leg for k in range(asked.trials) for leg in (second if k % 2 else first))
    start, ends = str(second[-1].ends), str(legs[-1].ends)
    return Card(number, start, legs, ends, "pace", (number - 1) // 2 * asked.start_minutes)
