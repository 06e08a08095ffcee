"""Where learners who make no mistake end: the scatter of a card, and how often it leads to a wrong stake."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthReference, normal_azimuth
from pacewright.core.pace.pace_trials import CountUnit
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import ASSUMED_PACE_M, STEPS_IN_PACE, Frame
from pacewright.core.way.reckoning import box_covariance, walked_covariance
from pacewright.course.course import DETOUR_DEG, Card, Course, CourseLeg, Post
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]

OFF_THE_LINE: Final = 0.05
"""Stakes may stand off their base line by this part of the least spacing and still be told by it."""


def walking_frame(
    walker: Walker, reference: AzimuthReference = "magnetic", count_unit: CountUnit = "paces"
) -> Frame:
    """The frame in which a learner walks a card: metres, with the compass bias and pace scale in.

    A walker without a pace count is taken to have an ordinary pace: it sizes the least scatter of a
    count and what rounding to whole counts adds, and no more.
    """
    pace_m = walker.pace_m() if walker.per_100_m else ASSUMED_PACE_M
    return Frame(
        kind="map",
        unit="metre",
        azimuth_reference=reference,
        turn_deg=0.0,
        units_per_count=pace_m if count_unit == "paces" else pace_m / STEPS_IN_PACE,
        units_per_pace=pace_m,
        bias_sd_deg=walker.compass.bias_sd_deg,
        scale_sd=walker.count.scale_sd_pct / 100.0,
    )


def walked_pieces(leg: CourseLeg) -> tuple[tuple[float, float], ...]:
    """Azimuth and metres of each piece that is walked on a leg, the way round an obstacle in it."""
    bar = leg.obstacle
    if bar is None:
        return ((leg.azimuth_deg, leg.length_m),)
    aside = 1.0 if bar.side == "right" else -1.0
    if bar.way == "box":
        round_it = [(90.0, bar.offset_m), (0.0, bar.past_m), (-90.0, bar.offset_m)]
    else:
        round_it = [(DETOUR_DEG, bar.past_m), (-DETOUR_DEG, bar.past_m)]
    turned = [(0.0, bar.at_m), *round_it, (0.0, leg.length_m - bar.at_m - bar.past_m)]
    return tuple(
        (normal_azimuth(leg.azimuth_deg + aside * turn), length) for turn, length in turned if length > 0
    )


def leg_scatter(leg: CourseLeg, walker: Walker, frame: Frame) -> Array:
    """The covariance that walking one leg adds, in metres squared, shape (2, 2).

    A box is written as one leg: its forward progress is counted as a whole, and the two offsets, out
    and back, add their own scatter. The sides of a detour are legs of their own.
    """
    bar = leg.obstacle
    if bar is not None and bar.way == "detour":
        sides: Array = np.sum(
            [walked_covariance(azimuth, length, walker, frame) for azimuth, length in walked_pieces(leg)],
            axis=0,
        )
        return sides
    own = walked_covariance(leg.azimuth_deg, leg.length_m, walker, frame)
    return own if bar is None else own + box_covariance(leg.azimuth_deg, bar.offset_m, walker, frame)


def ending_covariance(
    legs: tuple[CourseLeg, ...],
    walker: Walker,
    reference: AzimuthReference = "magnetic",
    count_unit: CountUnit = "paces",
) -> Array:
    """The covariance of where a learner who makes no mistake ends, seen from the start.

    Parameters
    ----------
    legs
        Walked one after another, with no post on the way to begin afresh from.
    walker
        The scatter.
    reference
        The north of the course.
    count_unit
        What the learner counts; it is rounded to whole counts.

    Returns
    -------
    Array
        Rows east and north, in metres squared, shape (2, 2).

    References
    ----------
    Covariance of a leg: C. D. Ghilani, Adjustment Computations, eq. 8.2.
    """
    frame = walking_frame(walker, reference, count_unit)
    east, north = np.sum([leg.step_m() for leg in legs], axis=0)
    turned, longer = np.array([north, -east]), np.array([east, north])
    own = np.sum([leg_scatter(leg, walker, frame) for leg in legs], axis=0)
    shared: Array = (
        math.radians(frame.bias_sd_deg) ** 2 * np.outer(turned, turned)
        + frame.scale_sd**2 * np.outer(longer, longer)
        + own
    )
    return shared


def wrong_stake_share(card: Card, course: Course, walker: Walker, count_unit: CountUnit = "paces") -> float:
    """How often a perfect counter, walking a card, would still end nearest to a wrong stake.

    A perfect counter makes no mistake: only ordinary scatter moves the end. Stakes stand on one line,
    so which is nearest hangs on the place along that line alone, and the share is exact.

    Parameters
    ----------
    card, course
        A card of a field course.
    walker
        The scatter of the learner.
    count_unit
        What the learner counts.

    Returns
    -------
    float
        A share from 0 to 1.

    Raises
    ------
    ValueComplaint
        The posts do not stand on one line, or there is one only.
    """
    line = base_line(course.posts)
    along = [float(np.array(post.place_m) @ line) for post in course.posts]
    origin = np.array(course.post(card.start).place_m)
    mean = float((origin + np.sum([leg.step_m() for leg in card.legs], axis=0)) @ line)
    covariance = ending_covariance(card.legs, walker, course.azimuth_reference, count_unit)
    sd = math.sqrt(float(line @ covariance @ line))
    own = float(np.array(course.post(card.ends).place_m) @ line)
    below = max((a for a in along if a < own), default=-math.inf)
    above = min((a for a in along if a > own), default=math.inf)
    too_low = normal_share(((below + own) / 2.0 - mean) / sd)
    too_high = normal_share((mean - (above + own) / 2.0) / sd)
    return too_low + too_high


def wrong_stake_most(card: Card, course: Course, walker: Walker) -> float:
    """How often at the most a perfect counter would end nearest to a wrong stake, however stakes stand.

    Stakes on one line give the share itself. Elsewhere the chances to lie beyond the middle toward each of
    the others are added up, so that the true share is smaller, if anything.
    """
    if stands_on_line(course.posts):
        return wrong_stake_share(card, course, walker)
    start = np.array(course.post(card.start).place_m)
    own = np.array(course.post(card.ends).place_m)
    mean = start + np.sum([leg.step_m() for leg in card.legs], axis=0)
    covariance = ending_covariance(card.legs, walker, course.azimuth_reference)
    found = 0.0
    for post in course.posts:
        if post.name != card.ends:
            toward = np.array(post.place_m) - own
            half = float(np.hypot(*toward)) / 2.0
            unit = toward / (2.0 * half)
            sd = math.sqrt(float(unit @ covariance @ unit))
            found += normal_share((float((mean - own) @ unit) - half) / sd)
    return min(1.0, found)


def stands_on_line(posts: tuple[Post, ...]) -> bool:
    """Whether stakes stand apart along one line."""
    try:
        base_line(posts)
    except ValueComplaint:
        return False
    return True


def base_line(posts: tuple[Post, ...]) -> Array:
    """The unit vector along the line that stakes stand on, from the first stake to the last.

    Raises
    ------
    ValueComplaint
        They do not stand on one line, or two of them on one place.
    """
    places = np.array([post.place_m for post in posts])
    reach = places[-1] - places[0]
    length = float(np.hypot(*reach))
    if length > 0:
        line: Array = reach / length
        along, off = (places - places[0]) @ line, (places - places[0]) @ np.array([-line[1], line[0]])
        spacing = float(np.diff(np.sort(along)).min())
        if spacing > 0 and float(np.abs(off).max()) <= OFF_THE_LINE * spacing:
            return line
    raise ValueComplaint(
        "these posts do not stand apart on one line",
        "Ask for the share of wrong stakes on a field course, whose stakes stand along a base line",
    )


def normal_share(z: float) -> float:
    """The share of a normal distribution that lies below `z` standard deviations.

    >>> round(normal_share(1.96), 4)
    0.975
    """
    return 0.5 * math.erfc(-z / math.sqrt(2.0))
