"""What a recorded track says of the walker of a log: its own evidence, without what was believed before.

A log laid along a track shows every leg's true azimuth and length, so it tells the pace count on each
ground walked, the compass bias, and how both scatter. How well, the track says itself: what its
receiver scatters, and where a station may lie along a straight stretch, must be out of these already.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.learn.evidence import LogEvidence, Scattered, Told
from pacewright.core.pace.pace_walker import SCALE_SD_LEAST_PCT
from pacewright.core.pace.walker import Walker

Array = NDArray[np.float64]

LEAST_LEGS: Final = 3.0
"""Fewer legs than this on a class of ground say more of those legs than of the ground: as with pace
trials, a class stands on its own from three runs."""

LEAST_FREEDOM: Final = 0.5
"""A scatter that a track tells less of than half a number's worth is left as it was."""


@dataclass(frozen=True, slots=True, eq=False)
class TrackedWalk:
    """A log beside its track, as far as the track alone tells: nothing believed before is in these.

    Attributes
    ----------
    fits
        False where log and track hardly belong to one walk.
    counts_paces
        False for a log counted in metres, which says nothing of paces.
    turn
        Clockwise from the azimuths as reckoned to those walked, in radians; its mean over the legs.
    grounds
        Names under which each ground's error is shared; the first is the ordinary ground, with no name.
    legs_on
        How many counted legs, long enough and hardly mistakes, lie on each, shape (k,).
    length, length_covariance
        Of each ground: logarithm of the true length over the reckoned, shapes (k,) and (k, k).
    azimuth, count
        Logarithms of the scatter of azimuths and of counts over those believed.
    legs
        Legs in all.
    """

    fits: bool
    counts_paces: bool
    turn: Told
    grounds: tuple[str, ...]
    legs_on: Array
    length: Array
    length_covariance: Array
    azimuth: Told
    count: Told
    legs: int


def find_track_evidence(tracked: TrackedWalk, walker: Walker) -> LogEvidence:
    """What a log beside its track tells of its walker.

    Parameters
    ----------
    tracked
        The log, compared with this walker.
    walker
        The walker as believed until now.

    Notes
    -----
    A walk that keeps to one class of ground cannot tell whether the walker's pace or that ground was
    off: it then tells the ground, with the doubt of the pace count added, and leaves the pace count.
    Instrument and handling turn all legs alike, so only their sum is told.
    """
    scale, grounds = _lengths(tracked, walker) if tracked.counts_paces else (None, {})
    weight = 1.0 / tracked.turn.variance
    compass = walker.compass
    rounding = compass.reading_interval_deg**2 / 12.0
    usual = compass.azimuth_sd_deg**2
    azimuth = _scattered(tracked.azimuth, tracked.legs, 1)
    # The figures believed hold what rounding to the dial adds; the track told the rest alone.
    squares = (azimuth.squares * usual + azimuth.freedom * rounding) / (usual + rounding)
    return LogEvidence(
        scale=scale,
        bias=tracked.turn,
        bias_weight=np.full((2, 2), weight),
        bias_pull=np.full(2, weight * tracked.turn.value),
        grounds=grounds,
        azimuth=Scattered(squares, azimuth.freedom),
        count=_scattered(tracked.count, tracked.legs, int((tracked.legs_on > 0).sum())),
        sighting=Scattered(0.0, 0.0),
    )


def ordinary_length(tracked: TrackedWalk) -> Told | None:
    """The logarithm of true over reckoned length on ordinary ground; None where it hardly shows."""
    if not tracked.counts_paces or tracked.legs_on[0] < LEAST_LEGS:
        return None
    return Told(float(tracked.length[0]), float(tracked.length_covariance[0, 0]))


def _lengths(tracked: TrackedWalk, walker: Walker) -> tuple[Told | None, dict[str, Told]]:
    """The pace scale, and each class of ground beside it."""
    scale = ordinary_length(tracked)
    covariance, grounds = tracked.length_covariance, {}
    for k, name in enumerate(tracked.grounds):
        if not name or tracked.legs_on[k] < LEAST_LEGS:
            continue
        if scale is None:
            off = float(tracked.length[k])
            variance = float(covariance[k, k]) + (_scale_sd_pct(walker) / 100.0) ** 2
        else:
            off = float(tracked.length[k] - tracked.length[0])
            variance = float(covariance[k, k] + covariance[0, 0] - 2.0 * covariance[0, k])
        factor = math.exp(off)
        grounds[name] = Told(factor - 1.0, factor**2 * variance)
    return scale, grounds


def _scale_sd_pct(walker: Walker) -> float:
    return max(walker.count.scale_sd_pct, SCALE_SD_LEAST_PCT)


def _scattered(told: Told, legs: int, means: int) -> Scattered:
    """A scatter as squares over freedom, the means that were fitted to the same legs taken out.

    The logarithm of a scatter that rests on f numbers has the variance 1/2f.
    """
    freedom = 0.5 / told.variance
    if freedom < LEAST_FREEDOM or legs <= means:
        return Scattered(0.0, 0.0)
    return Scattered(freedom * math.exp(2.0 * told.value), freedom * (1.0 - means / legs))
