"""A log adjusted by one of the textbook rules: each closure spread over the legs since the last.

The rules take known places and the start as exact, and use nothing else: a marker met again whose own
place is open, a bearing and a back azimuth stay out. They say nothing of how sure a station is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.traverse_rules import Traverse, TraverseRule, adjust_parts
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import MapPlaces, Observations, find_observations
from pacewright.core.way.reckoning import Reckoning, reckon

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class RuleAdjustment:
    """A log adjusted by a textbook rule.

    Attributes
    ----------
    rule
        `compass` or `transit`.
    reckoning, observations
        The log as written, and what it holds beside the legs; `unused` there says what the rule left out.
    place
        Every station, shape (n + 1, 2).
    controls
        The stations that were taken as exact, the start first.
    traverses
        The working of each stretch between two of them.
    """

    rule: TraverseRule
    reckoning: Reckoning
    observations: Observations
    place: Array
    controls: tuple[int, ...]
    traverses: tuple[Traverse, ...]

    @property
    def redundancy(self) -> int:
        """How many numbers more than needed were used."""
        return 2 * (len(self.controls) - 1)

    @property
    def residual(self) -> Array:
        """How much each leg was changed along and across its azimuth, shape (n, 2)."""
        change = np.diff(self.place - self.reckoning.place, axis=0)
        azimuth_rad = np.radians(self.reckoning.azimuth_deg)
        sine, cosine = np.sin(azimuth_rad), np.cos(azimuth_rad)
        along = change[:, 0] * sine + change[:, 1] * cosine
        return np.stack([along, change[:, 0] * cosine - change[:, 1] * sine], axis=1)


def turned_by_deg(length: Array, residual: Array) -> Array:
    """How far each leg was turned, clockwise, in degrees; shape (n,).

    Parameters
    ----------
    length
        Of every leg as counted, shape (n,).
    residual
        Changes along and across, shape (n, 2); a leg of no length is not turned.
    """
    turned: Array = np.degrees(np.arctan2(residual[:, 1], length + residual[:, 0]))
    return np.where(length > 0, turned, 0.0)


def adjust_by_rule(
    log: TravelLog,
    walker: Walker | None = None,
    frame: Frame | None = None,
    *,
    rule: TraverseRule,
    placed: MapPlaces | None = None,
) -> RuleAdjustment:
    """Adjust a log by the compass rule or the transit rule.

    Parameters
    ----------
    log, walker, frame, placed
        As for least squares.
    rule
        `compass` shares each misclosure out by the length of the legs, `transit` by their parts.

    Raises
    ------
    Complaint
        As for reckoning, or the rule has nothing to share a misclosure out by.
    """
    walker = walker or Walker()
    reckoning = reckon(log, walker, frame)
    observations = find_observations(log, walker, reckoning.frame, placed)
    goals, unused = _goals(reckoning, observations)
    place = reckoning.place.copy()
    controls, traverses = sorted(goals), []
    for first, last in pairwise(controls):
        steps = np.diff(reckoning.place[first : last + 1], axis=0)
        done = adjust_parts(
            steps[:, 0],
            steps[:, 1],
            length=reckoning.length[first:last],
            rule=rule,
            start=goals[first],
            close_on=goals[last],
        )
        traverses.append(done)
        place[first : last + 1] = np.stack([done.east, done.north], axis=1)
    end = controls[-1]
    # What was walked before the first control, and after the last, hangs on it as it is.
    begin = controls[0]
    place[:begin] += np.array(goals[begin]) - reckoning.place[begin]
    place[end:] = reckoning.place[end:] - reckoning.place[end] + np.array(goals[end])
    kept = replace(observations, unused=(*observations.unused, *unused))
    return RuleAdjustment(rule, reckoning, kept, place, tuple(controls), tuple(traverses))


def _goals(
    reckoning: Reckoning, observations: Observations
) -> tuple[dict[int, tuple[float, float]], list[str]]:
    """The stations whose place the rule may take as exact, and sentences on what it leaves out."""
    origin = observations.origin_station
    east, north = (float(part) for part in reckoning.place[origin])
    goals = {
        origin: (east, north),
        **{f.station: (east + f.east, north + f.north) for f in observations.fixes},
    }
    unused = []
    for tie in observations.ties:
        if tie.first in goals:
            goals[tie.second] = goals[tie.first]
        else:
            unused.append(f"The rule does not use that {tie.name} was met again: its own place is open.")
    for what, found in (("bearings", observations.bearings), ("back azimuths", observations.back_azimuths)):
        if found:
            unused.append(f"The rule does not use {what}.")
    return goals, unused
