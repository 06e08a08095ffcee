"""Misclosure of every loop and at every known point: length, ratio, is it ordinary.

Where a marker is met again, or a station is a known point, the reckoned place and the expected one
differ. The difference is laid against the scatter that the legs between ought to have.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.way.observations import Fix, Observations, Tie
from pacewright.core.way.reckoning import Reckoning

Array = NDArray[np.float64]

Verdict = Literal["ordinary", "unusual", "mistake", "no legs"]

UNUSUAL_BELOW: Final = 0.05
"""One clean closure in twenty is larger than this chance says; common practice for a first look."""
MISTAKE_BELOW: Final = 0.01
"""One clean closure in a hundred: beyond it a slip is the better explanation."""


@dataclass(frozen=True, slots=True, eq=False)
class Closure:
    """One place that the log reaches twice, or that is known beforehand.

    Attributes
    ----------
    at
        The marker's or the known point's name.
    kind
        `loop`: a marker met again; `known point`: a station whose place is known.
    from_station, to_station
        What the closure spans; a known point is closed on from the one that places are counted from.
    east, north
        Misclosure: the reckoned place less the expected one, in frame units.
    length
        Of the misclosure.
    walked
        Length of the legs between.
    ratio
        The n of 1:n, walked over misclosure; None where nothing is missed.
    covariance
        What ordinary scatter would make of the misclosure, shape (2, 2).
    mahalanobis2, p_value
        Its square in standard deviations, and how often ordinary scatter alone misses by as much or
        more: exp(-mahalanobis2 / 2).
    verdict
        `ordinary`, `unusual` (less than one time in 20), `mistake` (less than one in 100: ordinary
        scatter is a poor explanation), or `no legs` where nothing was walked between.

    References
    ----------
    Chi-square of two degrees of freedom; common practice.
    """

    at: str
    kind: Literal["loop", "known point"]
    from_station: int
    to_station: int
    east: float
    north: float
    length: float
    walked: float
    ratio: float | None
    covariance: Array
    mahalanobis2: float
    p_value: float
    verdict: Verdict

    @property
    def legs(self) -> tuple[int, int]:
        """First and last leg of the closure, numbered from 1."""
        return self.from_station + 1, self.to_station


def find_closures(log: TravelLog, reckoning: Reckoning, observations: Observations) -> tuple[Closure, ...]:
    """Every closure of a log, in the order they are reached.

    Parameters
    ----------
    log
        The log.
    reckoning
        Its stations, as written.
    observations
        Its markers met again and its known points, in the frame of the reckoning.

    Notes
    -----
    A marker met more than twice closes a loop from each visit to the next, so that every leg is judged
    in the smallest loop that holds it.
    """
    names = log.station_names()
    loops = [
        _close(tie.name, "loop", _last_visit(tie, names), tie.second, (0.0, 0.0), tie.sd, reckoning)
        for tie in observations.ties
    ]
    origin = observations.origin_station
    points = [
        _close_on_point(fix, observations, reckoning) for fix in observations.fixes if fix.station != origin
    ]
    return tuple(sorted((*loops, *points), key=lambda one: (one.to_station, one.from_station)))


def _last_visit(tie: Tie, names: Sequence[str | None]) -> int:
    before = [station for station in range(tie.first, tie.second) if names[station] == tie.name]
    return max(before, default=tie.first)


def _close_on_point(fix: Fix, observations: Observations, reckoning: Reckoning) -> Closure:
    first, last = sorted((observations.origin_station, fix.station))
    sign = 1.0 if last == fix.station else -1.0
    expected = (sign * fix.east, sign * fix.north)
    sd = math.hypot(fix.sd, observations.origin_sd)
    return _close(fix.name, "known point", first, last, expected, sd, reckoning)


def _close(
    at: str,
    kind: Literal["loop", "known point"],
    first: int,
    last: int,
    expected: tuple[float, float],
    sd: float,
    reckoning: Reckoning,
) -> Closure:
    east, north = (reckoning.place[last] - reckoning.place[first] - np.array(expected)).tolist()
    length = math.hypot(east, north)
    walked = float(reckoning.length[first:last].sum())
    covariance = reckoning.relative_covariance(first, last) + sd**2 * np.eye(2)
    mahalanobis2 = _mahalanobis2(np.array([east, north]), covariance)
    p_value = math.exp(-mahalanobis2 / 2.0)
    return Closure(
        at=at,
        kind=kind,
        from_station=first,
        to_station=last,
        east=east,
        north=north,
        length=length,
        walked=walked,
        ratio=walked / length if length > 0 else None,
        covariance=covariance,
        mahalanobis2=mahalanobis2,
        p_value=p_value,
        verdict="no legs" if walked == 0 and kind == "loop" else _verdict(p_value),
    )


def _mahalanobis2(gap: Array, covariance: Array) -> float:
    if not gap.any():
        return 0.0
    return float(gap @ np.linalg.solve(covariance, gap))


def _verdict(p_value: float) -> Verdict:
    if p_value < MISTAKE_BELOW:
        return "mistake"
    return "unusual" if p_value < UNUSUAL_BELOW else "ordinary"


def find_unexplained(closures: Sequence[Closure]) -> tuple[Closure, ...]:
    """The closures that scatter does not explain, however many there were to choose from.

    One clean closure in a hundred misses by as much as one called a mistake: of many, only those count
    whose chance stays below that times their number (Bonferroni's bound; common practice).
    """
    return tuple(closure for closure in closures if closure.p_value * len(closures) < MISTAKE_BELOW)
