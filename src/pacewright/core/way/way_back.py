"""Azimuth and count back, and the region where the walker will then stand.

The way back is computed in the walker's frame: the same walker with the same compass repeats the
same pace count and the same compass bias, so these cancel. What remains is the scatter of the legs,
the ground, the detours, and the scatter of walking back.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthReference, direction_deg
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.tally import LARGEST_COUNT, Tally, tally_of_count, whole_count
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import CountedUnit, LengthUnit
from pacewright.core.way.ground_of_way import GroundOfWay
from pacewright.core.way.lead import Lead, WalkedLeg
from pacewright.core.way.reckoning import Reckoning, walked_covariance, walked_turn_sd_deg
from pacewright.core.way.regions import Region, exact_own, half_widths, is_coarse
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class MapFigure:
    """The same way in the map frame, metres and the map frame's north, not to be walked by count.

    Attributes
    ----------
    azimuth_deg, length_m
        From station to target.
    azimuth_reference
        Its north.
    along_m, across_m
        Half-widths of the region of the target as seen from the station.
    """

    azimuth_deg: float
    azimuth_reference: AzimuthReference
    length_m: float
    along_m: float
    across_m: float


@dataclass(frozen=True, slots=True, eq=False)
class WayBack:
    """One azimuth and one count that lead from a station to another, in the walker's frame.

    Attributes
    ----------
    from_station, to_station
        Their numbers; None for a goal that is no station of the log.
    from_name, to_name
        Their names, or None.
    unit
        What is counted: paces, or metres where the log counts metres; steps where it was put so.
    azimuth_reference
        The north of the azimuth: the log's own.
    azimuth_deg, distance
        To walk, unrounded.
    count
        To count, whole units, on the ground of the way back.
    counts_per_unit
        Counts on that ground for one unit of distance on ordinary ground.
    ground
        The classes of the pace table that the count is for, with the share of the way on each; empty
        where the walker's ordinary count stands.
    other_counts
        What would be counted on the walker's other classes of ground, by name.
    legs
        The legs that the step rests on.
    tally
        The cord's setting when the count is full; None where metres are counted and the walker has no
        pace count.
    covariance
        Of where the walker will stand about the target, shape (2, 2), rows east and north.
    probability, along, across
        The region's share, and its half-widths along and across the way.
    region
        The region itself, about the target's place from the start; where azimuths scatter widely, its
        middle lies a little aside of the target.
    map_figure
        The same in the map frame, where a pace count is known.
    """

    from_station: int
    to_station: int | None
    from_name: str | None
    to_name: str | None
    unit: CountedUnit
    azimuth_reference: AzimuthReference
    azimuth_deg: float
    distance: float
    count: int
    counts_per_unit: float
    ground: tuple[tuple[str, float], ...]
    other_counts: tuple[tuple[str, int], ...]
    legs: tuple[WalkedLeg, ...]
    tally: Tally | None
    covariance: Array
    probability: float
    along: float
    across: float
    region: Region
    map_figure: MapFigure | None

    @property
    def is_there(self) -> bool:
        """True where the log itself says that the two stations are one marker."""
        return self.from_station == self.to_station or (
            self.from_name is not None and self.from_name == self.to_name
        )


def way_along(
    lead: Lead,
    reckoning: Reckoning,
    walker: Walker,
    ground: GroundOfWay,
    probability: float = DEFAULT_PROBABILITY,
    origin: Array | None = None,
    map_figure: MapFigure | None = None,
) -> WayBack:
    """Azimuth and count that lead from one place to another.

    Parameters
    ----------
    lead
        How the goal lies from where the walker stands.
    reckoning
        The log as written, in the walker's frame.
    walker
        Who walks.
    ground
        What the way crosses.
    probability
        Share of walks that the stated region holds.
    origin
        Where the walker stands from the start, shape (2,); by default as the legs are written.
    map_figure
        The same in the map frame.

    Raises
    ------
    ValueComplaint
        The count passes a million.
    """
    frame, step = reckoning.frame, lead.step
    distance, azimuth_deg = math.hypot(*step), direction_deg(*step)
    count = whole_count(distance * ground.counts_per_unit)
    _check_count(count)
    covariance = _after_walking(lead, ground)
    covariance = covariance + walked_covariance(azimuth_deg, distance, walker, frame)
    shift, more = _wide_azimuths(lead, reckoning, walker, covariance)
    covariance = covariance + more
    along, across = half_widths(covariance, azimuth_deg, probability)
    here = reckoning.place[lead.from_station] if origin is None else origin
    return WayBack(
        from_station=lead.from_station,
        to_station=lead.to_station,
        from_name=lead.from_name,
        to_name=lead.to_name,
        unit=frame.unit,
        azimuth_reference=frame.azimuth_reference,
        azimuth_deg=azimuth_deg,
        distance=distance,
        count=count,
        counts_per_unit=ground.counts_per_unit,
        ground=ground.shares,
        other_counts=tuple((name, whole_count(distance * per)) for name, per in ground.others),
        legs=lead.legs,
        tally=tally_on_way(count, frame.unit, walker),
        covariance=covariance,
        probability=probability,
        along=along,
        across=across,
        region=Region(here + step + shift, covariance, probability, "ellipse", here),
        map_figure=map_figure,
    )


def _wide_azimuths(
    lead: Lead, reckoning: Reckoning, walker: Walker, covariance: Array
) -> tuple[Array, Array]:
    """What widely scattered azimuths add: where the walker stands on average, and covariance."""
    turn_rad2 = np.array([math.radians(walked_turn_sd_deg(walker)) ** 2])
    if not lead.is_written or not is_coarse(lead.step, covariance, float(turn_rad2[0])):
        return np.zeros(2), np.zeros((2, 2))
    index = np.array([one.leg - 1 for one in lead.legs], dtype=np.intp)
    turned = np.array([180.0 if one.is_back else 0.0 for one in lead.legs])
    out_pull, out = exact_own(
        reckoning.azimuth_deg[index] + turned,
        reckoning.length[index],
        reckoning.own[index],
        reckoning.turn_variance_rad2[index],
    )
    azimuth_deg, distance = direction_deg(*lead.step), math.hypot(*lead.step)
    walked = walked_covariance(azimuth_deg, distance, walker, reckoning.frame)
    back_pull, back = exact_own(np.array([azimuth_deg]), np.array([distance]), walked[None], turn_rad2)
    more: Array = out - reckoning.own[index].sum(axis=0) + back - walked
    return out_pull - back_pull, more


def _after_walking(lead: Lead, ground: GroundOfWay) -> Array:
    """The covariance of the step, and of the pace counts of the ground walked back on.

    What those are off cancels as far as the legs out crossed the same ground.
    """
    covariance, step = lead.covariance, lead.step
    for name, share, variance in ground.errors:
        crossed = share * np.outer(lead.with_ground.get(name, np.zeros(2)), step)
        covariance = covariance + share**2 * variance * np.outer(step, step) - crossed - crossed.T
    return covariance


def _check_count(count: int) -> None:
    if count > LARGEST_COUNT:
        raise ValueComplaint(
            f"the way back of {count} is too long to be counted", "Check the counts of the log"
        )


def tally_on_way(count: int, unit: LengthUnit, walker: Walker) -> Tally | None:
    """The cord's setting when a count is full; None where metres are counted without a pace count."""
    if unit == "pace":
        return tally_of_count(count)
    if walker.per_100_m is None:
        return None
    return tally_of_count(count / walker.pace_m(), walker.per_100_m)
