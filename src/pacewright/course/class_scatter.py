"""Whose scatter a walk is marked by: the class's, for which the course was set, not the learner's word."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from pacewright.core.pace.scatter import CompassScatter, CountScatter
from pacewright.core.pace.walker import Walker
from pacewright.course.course import Course

MOST_TIMES_USUAL: Final = 2.0
"""A class scatters at most so many times the usual figures: beyond that nothing would be a miss."""


def marked_walker(walker: Walker, course: Course) -> Walker:
    """The walker that a walk is marked by: the learner's pace counts, the class's scatter.

    A learner who says of themselves that they hold an azimuth to 60 degrees would otherwise always have
    walked well; and a bias that they state would turn the key.

    Parameters
    ----------
    walker
        The learner.
    course
        States for which scatter it was set; the usual figures stand where it does not.
    """
    compass, count = CompassScatter(), CountScatter()
    return replace(
        walker,
        compass=replace(
            compass,
            azimuth_sd_deg=_capped(course.fact("assumed_azimuth_sd"), compass.azimuth_sd_deg),
            bias_sd_deg=_capped(course.fact("assumed_bias_sd"), compass.bias_sd_deg),
        ),
        count=replace(
            count,
            count_sd_pct=_capped(course.fact("assumed_count_sd"), count.count_sd_pct),
            scale_sd_pct=_capped(course.fact("assumed_scale_sd"), count.scale_sd_pct),
            count_floor=_capped(course.fact("assumed_count_floor"), count.count_floor),
        ),
    )


def _capped(stated: float | None, usual: float) -> float:
    return usual if stated is None else min(stated, MOST_TIMES_USUAL * usual)
