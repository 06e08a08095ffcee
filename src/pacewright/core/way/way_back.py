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
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.tally import LARGEST_COUNT, Tally, tally_of_count
from pacewright.core.pace.walker import PaceClass, Walker
from pacewright.core.way.frames import (
    LengthUnit,
    class_error_name,
    class_ratio,
    class_ratio_sd,
    map_frame,
    walker_frame,
)
from pacewright.core.way.reckoning import Reckoning, reckon, walked_covariance, walked_turn_sd_deg
from pacewright.core.way.regions import Region, exact_own, half_widths, is_coarse, own_between
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
        Their numbers.
    from_name, to_name
        Their names, or None.
    unit
        What is counted: paces, or metres where the log counts metres.
    azimuth_reference
        The north of the azimuth: the log's own.
    azimuth_deg, distance
        To walk, unrounded.
    count
        To count, whole units, on the ground of the way back.
    counts_per_unit
        Counts on that ground for one unit of distance on ordinary ground.
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
    to_station: int
    from_name: str | None
    to_name: str | None
    unit: LengthUnit
    azimuth_reference: AzimuthReference
    azimuth_deg: float
    distance: float
    count: int
    counts_per_unit: float
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


def way_back(
    log: TravelLog,
    walker: Walker | None = None,
    *,
    from_station: int | None = None,
    to_station: int = 0,
    probability: float = DEFAULT_PROBABILITY,
    ground: str | None = None,
) -> WayBack:
    """Give azimuth and count from one station of a log to another.

    Parameters
    ----------
    log, walker
        The log, and the one who walked it and walks back.
    from_station
        By default the last station.
    to_station
        By default the start.
    probability
        Share of walks that the stated region holds.
    ground
        Class of the pace table that the way back crosses; by default ordinary ground.

    Raises
    ------
    ValueComplaint
        The two stations are the same number, or the count passes a million.
    MissingComplaint
        The pace table lacks a class that is named.
    """
    walker = walker or Walker()
    reckoning = reckon(log, walker, walker_frame(log.heading, walker))
    here = reckoning.last if from_station is None else from_station
    if here == to_station:
        raise ValueComplaint(
            f"station {here} is both the start and the goal of the way", "Give two stations that differ"
        )
    here, to_station = _surest_visits(reckoning, here, to_station)
    east, north = reckoning.place[to_station] - reckoning.place[here]
    distance, azimuth_deg = math.hypot(east, north), direction_deg(east, north)
    on_ground = walker.pace_class(ground, None) if ground else None
    counts_per_unit = 1.0 if on_ground is None else 1.0 / class_ratio(on_ground, walker)
    count = round(distance * counts_per_unit)
    _check_count(count)
    covariance = _out_and_back(reckoning, here, to_station, walker, on_ground)
    covariance = covariance + walked_covariance(azimuth_deg, distance, walker, reckoning.frame)
    shift, more = _wide_azimuths(reckoning, here, to_station, walker, covariance)
    covariance = covariance + more
    along, across = half_widths(covariance, azimuth_deg, probability)
    center = reckoning.place[to_station] + shift
    return WayBack(
        from_station=here,
        to_station=to_station,
        from_name=reckoning.names[here],
        to_name=reckoning.names[to_station],
        unit=reckoning.frame.unit,
        azimuth_reference=log.heading.azimuth_reference,
        azimuth_deg=azimuth_deg,
        distance=distance,
        count=count,
        counts_per_unit=counts_per_unit,
        tally=_tally(count, reckoning.frame.unit, walker),
        covariance=covariance,
        probability=probability,
        along=along,
        across=across,
        region=Region(center, covariance, probability, "ellipse", reckoning.place[here]),
        map_figure=_map_figure(log, walker, here, to_station, probability),
    )


def _wide_azimuths(
    reckoning: Reckoning, here: int, there: int, walker: Walker, covariance: Array
) -> tuple[Array, Array]:
    """Give what widely scattered azimuths add: where the walker stands on average, and covariance."""
    step = reckoning.place[there] - reckoning.place[here]
    turn_rad2 = np.array([math.radians(walked_turn_sd_deg(walker)) ** 2])
    if not is_coarse(step, covariance, float(turn_rad2[0])):
        return np.zeros(2), np.zeros((2, 2))
    low, high = sorted((here, there))
    out_pull, out = own_between(reckoning, low, high)
    azimuth_deg, distance = direction_deg(*step), math.hypot(*step)
    walked = walked_covariance(azimuth_deg, distance, walker, reckoning.frame)
    back_pull, back = exact_own(np.array([azimuth_deg]), np.array([distance]), walked[None], turn_rad2)
    more: Array = out - (reckoning.own_sum[high] - reckoning.own_sum[low]) + back - walked
    return (out_pull if there > here else -out_pull) - back_pull, more


def _surest_visits(reckoning: Reckoning, here: int, there: int) -> tuple[int, int]:
    """Give the visits of two places between which the legs scatter least.

    A marker met several times is one place, so the way may be reckoned from any of its visits.
    """
    if reckoning.names[here] is not None and reckoning.names[here] == reckoning.names[there]:
        return here, there
    pairs = [(j, k) for j in _visits(reckoning, here) for k in _visits(reckoning, there)]
    return min(pairs, key=lambda pair: float(np.trace(reckoning.relative_covariance(*pair))))


def _visits(reckoning: Reckoning, station: int) -> list[int]:
    name = reckoning.names[station]
    others = [k for k, other in enumerate(reckoning.names) if other == name and k != station] if name else []
    return [station, *others]


def _out_and_back(
    reckoning: Reckoning, here: int, there: int, walker: Walker, on_ground: PaceClass | None
) -> Array:
    """Give the covariance of the legs out, and of the pace count of the ground walked back on.

    What that pace count is off cancels as far as the legs out crossed the same ground.
    """
    covariance = reckoning.relative_covariance(here, there)
    if on_ground is None:
        return covariance
    step = reckoning.place[there] - reckoning.place[here]
    name, variance = class_error_name(on_ground), class_ratio_sd(on_ground, walker) ** 2
    same = np.zeros(2)
    for term in reckoning.shared:
        if term.name == name:
            same = term.lever[there] - term.lever[here]
    left: Array = covariance + variance * (np.outer(step - same, step - same) - np.outer(same, same))
    return left


def _check_count(count: int) -> None:
    if count > LARGEST_COUNT:
        raise ValueComplaint(
            f"the way back of {count} is too long to be counted", "Check the counts of the log"
        )


def _tally(count: int, unit: LengthUnit, walker: Walker) -> Tally | None:
    if unit == "pace":
        return tally_of_count(count)
    if walker.per_100_m is None:
        return None
    return tally_of_count(count / walker.pace_m(), walker.per_100_m)


def _map_figure(
    log: TravelLog, walker: Walker, here: int, target: int, probability: float
) -> MapFigure | None:
    if walker.per_100_m is None and log.heading.count_unit != "metres":
        return None
    reckoning: Reckoning = reckon(log, walker, map_frame(log.heading, walker))
    east, north = reckoning.place[target] - reckoning.place[here]
    azimuth_deg = direction_deg(east, north)
    along_m, across_m = half_widths(reckoning.relative_covariance(here, target), azimuth_deg, probability)
    return MapFigure(
        azimuth_deg, reckoning.frame.azimuth_reference, math.hypot(east, north), along_m, across_m
    )
