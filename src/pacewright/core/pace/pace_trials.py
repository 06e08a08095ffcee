"""Pace trials as they were counted, and paces, steps and metres from one to another.

Two means, and they are not the same: the mean of counts over a known distance says how many paces
a known distance takes; the mean of pace lengths says how far a known count goes. One is not a
hundred over the other, because counts scatter: the mean of pace lengths is longer by about the
square of the scatter (0.25 % at a scatter of 5 %). So each direction has its own argument here.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from pacewright.core.pace.walker import Slope
from pacewright.exceptions import MissingComplaint, ValueComplaint, Where

CountUnit = Literal["paces", "steps"]

STEPS_PER_PACE: Final = 2
"""A pace is two steps: it is counted every time the same foot lands."""

LEVEL_WITHIN_PCT: Final = 3.0
"""A slope up to this many per cent either way counts as level (assumed): Moss's step on a rise of
5 degrees is 9 % short (Manual of Military Training, 1917, par. 1887), so about 3 % short here, which is
what one run differs from the next anyway."""

STEPS_ABOVE_PER_100_M: Final = 95
"""A level count above this is more likely of steps: published level counts are of 116 to 120 steps,
58 to 60 paces (US Army SMCT 071-329-1006; common practice)."""

LEAST_PER_100_M: Final = 10
"""Fewer paces than this to a hundred metres is no walking: a pace of more than ten metres."""

MOST_PER_100_M: Final = 1000
"""More paces than this to a hundred metres is no walking: a pace of less than ten centimetres."""

MOST_DISTANCE_M: Final = 100_000
MOST_LOAD_KG: Final = 200


@dataclass(frozen=True, slots=True)
class PaceRun:
    """One walk over a measured course.

    Attributes
    ----------
    ground
        The name that a log's `[ground NAME]` uses; empty for the walker's ordinary ground.
    slope
        `up`, `level` or `down` in the direction walked, or the slope in per cent, up positive.
    load_kg
        The load carried; None where it was not noted.
    distance_m
        Length of the course in metres.
    count
        Paces (double steps) counted over it.
    line
        The line of the file it was read from.
    counted_in
        What the walker counted: `paces`, or `steps` (then `count` is half of what was written).
    """

    ground: str
    slope: Slope | float
    load_kg: float | None
    distance_m: float
    count: float
    line: int | None = None
    counted_in: CountUnit = "paces"

    def __post_init__(self) -> None:
        if not (math.isfinite(self.distance_m) and 0 < self.distance_m <= MOST_DISTANCE_M):
            raise ValueComplaint(
                f"{self.distance_m:g} is not the length of a course in metres",
                f"Write a number above 0, up to {MOST_DISTANCE_M}",
                Where(column="distance_m"),
            )
        if not (math.isfinite(self.count) and self.count > 0):
            raise ValueComplaint(
                f"{self.written_count:g} is not a count", "Write a number above 0", Where(column="count")
            )
        if not LEAST_PER_100_M <= self.per_100_m <= MOST_PER_100_M:
            raise ValueComplaint(
                f"{self.written_count:g} {self.counted_in} over {self.distance_m:g} m make a pace of "
                f"{self.pace_m:.3g} m",
                "Correct the count or the distance",
                Where(column="count"),
            )
        if self.load_kg is not None and not (
            math.isfinite(self.load_kg) and 0 <= self.load_kg <= MOST_LOAD_KG
        ):
            raise ValueComplaint(
                f"{self.load_kg:g} is not a load in kilograms",
                f"Write a number from 0 to {MOST_LOAD_KG}, or leave it empty if the load was not noted",
                Where(column="load_kg"),
            )
        if self.slope not in ("up", "level", "down"):
            _check_slope_pct(self.slope)

    @property
    def per_100_m(self) -> float:
        """Paces to a hundred metres in this run."""
        return 100.0 * self.count / self.distance_m

    @property
    def pace_m(self) -> float:
        """Length of one pace in this run, in metres."""
        return self.distance_m / self.count

    @property
    def direction(self) -> Slope:
        """`up`, `level` or `down`: the remark of a log under which this run belongs."""
        return slope_direction(self.slope)

    @property
    def slope_label(self) -> str:
        """The slope as the pace table names it."""
        return slope_label(self.slope)

    @property
    def written_count(self) -> float:
        """The count as the walker wrote it, in what the walker counted."""
        return self.count * (STEPS_PER_PACE if self.counted_in == "steps" else 1)

    @property
    def class_key(self) -> tuple[str, str, float | None]:
        """Ground, slope and load: runs alike in all three are of one class."""
        return (self.ground, self.slope_label, self.load_kg)

    @property
    def class_label(self) -> str:
        """The class as the pace table names it."""
        return class_label(*self.class_key)


def _check_slope_pct(slope: object) -> None:
    if not isinstance(slope, (int, float)) or not (math.isfinite(slope) and abs(slope) <= 200):
        raise ValueComplaint(
            f"{slope} is not a slope",
            "Write up, level or down, or the slope in per cent from -200 to 200, up positive",
            Where(column="slope"),
        )


def leave_out(runs: Sequence[PaceRun], lines: Collection[int]) -> tuple[PaceRun, ...]:
    """The runs without those of the named lines: the walker's own decision, never the tool's.

    Raises
    ------
    MissingComplaint
        A line holds no run, or no run is left.
    """
    known = {run.line for run in runs}
    for number in lines:
        if number not in known:
            raise MissingComplaint(
                f"line {number} holds no run to leave out",
                "Count lines from the top of the file, heading and all",
            )
    kept = tuple(run for run in runs if run.line not in lines)
    if not kept:
        raise MissingComplaint("no run is left", "Leave fewer runs out")
    return kept


def slope_direction(slope: Slope | float) -> Slope:
    """The remark of a log that a slope belongs to.

    >>> slope_direction(12), slope_direction(-3), slope_direction(-8.5), slope_direction("down")
    ('up', 'level', 'down', 'down')
    """
    if isinstance(slope, str):
        return slope
    if abs(slope) <= LEVEL_WITHIN_PCT:
        return "level"
    return "up" if slope > 0 else "down"


def slope_label(slope: Slope | float) -> str:
    """A slope as the pace table names it: every per cent that is not level stays its own class.

    >>> slope_label(12), slope_label(-8.5), slope_label(2), slope_label("up")
    ('up 12%', 'down 8.5%', 'level', 'up')
    """
    direction = slope_direction(slope)
    if isinstance(slope, str) or direction == "level":
        return direction
    return f"{direction} {abs(slope):g}%"


def class_label(ground: str, slope: str, load_kg: float | None) -> str:
    """The name of a class of the pace table.

    >>> class_label("brush", "up 12%", 18), class_label("", "level", None), class_label("heath", "down", 0)
    ('brush, up 12%, 18 kg', 'ordinary ground, level', 'heath, down, no load')
    """
    parts = [ground or "ordinary ground", slope]
    if load_kg is not None:
        parts.append(f"{load_kg:g} kg" if load_kg else "no load")
    return ", ".join(parts)


def mean_pace_m(per_100_m: float, run_sd_pct: float) -> float:
    """The mean pace length that goes with a mean count, in metres.

    The mean of 1/count is more than 1/(the mean of counts); to second order by one plus the square
    of the relative scatter.

    References
    ----------
    J. L. W. V. Jensen, Acta Mathematica 30 (1906), on means of convex functions.

    >>> round(mean_pace_m(62.5, 0), 3), round(mean_pace_m(62.5, 5), 3)
    (1.6, 1.604)
    """
    return 100.0 / per_100_m * (1.0 + (run_sd_pct / 100.0) ** 2)


def metres_from_paces(count: float, pace_m: float) -> float:
    """How far a counted leg went, in metres, from the mean of pace lengths.

    The count is known and the distance is what scatters, so the pace length is the quantity whose
    mean is wanted; a hundred over the mean count would be short on the average.

    >>> metres_from_paces(250, 1.6)
    400.0
    """
    return count * pace_m


def paces_from_metres(distance_m: float, per_100_m: float) -> float:
    """The count that a known distance takes, from the mean of counts per hundred metres.

    The distance is known and the count is what scatters, so the count is the quantity whose mean is
    wanted.

    >>> paces_from_metres(250, 60)
    150.0
    """
    return distance_m * per_100_m / 100.0


def looks_like_steps(per_100_m: float) -> bool:
    """Whether a level count to a hundred metres is more likely of steps than of paces.

    >>> looks_like_steps(62.5), looks_like_steps(120)
    (False, True)
    """
    return per_100_m > STEPS_ABOVE_PER_100_M


def steps_from_paces(paces: float) -> float:
    """Steps (every time either foot lands) from paces.

    >>> steps_from_paces(62.5)
    125.0
    """
    return paces * STEPS_PER_PACE


def paces_from_steps(steps: float) -> float:
    """Paces (every time the same foot lands) from steps.

    >>> paces_from_steps(121)
    60.5
    """
    return steps / STEPS_PER_PACE
