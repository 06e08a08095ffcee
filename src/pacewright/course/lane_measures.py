"""How long, how steep and how hard every lane is, and how far it lies from the middle lane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.pace.walker import Walker
from pacewright.course.finding_chance import Finding, LegChances, leg_chances
from pacewright.course.leg_graph import LegGraph

Array = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class LaneMeasures:
    """What is measured of lanes.

    Attributes
    ----------
    number
        The number of the leg from one post to another, -1 where there is none, shape (posts, posts).
    length_m, climb_m
        Of every leg, shape (legs,).
    chances
        To find the post at its end.
    """

    number: Ints
    length_m: Array
    climb_m: Array
    chances: LegChances

    def of(self, lanes: Ints) -> Array:
        """Length (m), climb (m) and chance to find every post, shape (lanes, 3)."""
        legs = self.number[lanes[:, :-1], lanes[:, 1:]]
        return np.stack(
            [self.length_m[legs].sum(axis=1), self.climb_m[legs].sum(axis=1), self.chances.of_lanes(legs)],
            axis=1,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Middle:
    """The middle lane that all lanes must be near.

    Attributes
    ----------
    values
        Its length, climb and chance, shape (3,).
    tolerated
        How far a lane may lie from each, shape (3,): half of what two lanes may differ by.
    """

    values: Array
    tolerated: Array

    def deviation(self, values: Array) -> Array:
        """How far lanes lie off, the farthest of their measures, 1 where it is just tolerated."""
        return np.asarray((np.abs(values - self.values) / self.tolerated).max(axis=1), dtype=np.float64)


def lane_measures(graph: LegGraph, walker: Walker, finding: Finding) -> LaneMeasures:
    """What measures lanes: the legs that are allowed, and the chance of each."""
    begins, ends = np.nonzero(graph.allowed)
    number = np.full(graph.allowed.shape, -1, dtype=np.intp)
    number[begins, ends] = np.arange(begins.size)
    length_m, place_sd_m = graph.length_m[begins, ends], graph.place_sd_m[begins, ends]
    # There and back is one chance: each length is worked out once.
    different, which = np.unique(np.stack([length_m, place_sd_m], axis=1), axis=0, return_inverse=True)
    chances = leg_chances(different[:, 0], different[:, 1], walker, finding)
    spread = LegChances(chances.given[which.ravel()], chances.weight)
    return LaneMeasures(number, length_m, graph.climb_m[begins, ends], spread)


def middle_lane(values: Array, tolerated: Array, wanted: int, tries: int = 400) -> Middle:
    """The middle about which the candidates lie densest.

    Parameters
    ----------
    values
        Measures of the candidates, shape (lanes, 3).
    tolerated
        How far a lane may lie from each, shape (3,).
    wanted
        How many lanes should lie near it.
    tries
        How many candidates are tried as the middle, those nearest to the median.
    """
    scaled = values / tolerated
    off = np.abs(scaled - np.median(scaled, axis=0)).max(axis=1)
    tried = scaled[np.argsort(off, kind="stable")[:tries]]
    rank = min(wanted, len(scaled)) - 1
    reach = [float(np.partition(np.abs(scaled - one).max(axis=1), rank)[rank]) for one in tried]
    return Middle(np.asarray(tried[int(np.argmin(reach))] * tolerated), tolerated)
