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
from pacewright.core.frames import LengthUnit, class_ratio, class_ratio_sd, map_frame, walker_frame
from pacewright.core.reckoning import Reckoning, reckon, walked_covariance
from pacewright.core.regions import Region, half_widths
from pacewright.core.scatter import DEFAULT_PROBABILITY
from pacewright.core.tally import LARGEST_COUNT, Tally, tally_of_count
from pacewright.core.travel_log import TravelLog
from pacewright.core.walker import Walker
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
    tally
        The cord's setting when the count is full; None where metres are counted and the walker has no
        pace count.
    covariance
        Of where the walker will stand about the target, shape (2, 2), rows east and north.
    probability, along, across
        The region's share, and its half-widths along and across the way.
    region
        The region itself, about the target's place from the start.
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
    ratio, ratio_sd = _ground(walker, ground)
    count = round(distance / ratio)
    _check_count(count)
    walked = walked_covariance(azimuth_deg, distance, walker, reckoning.frame)
    step = np.array([east, north])
    covariance = reckoning.relative_covariance(here, to_station) + walked + ratio_sd**2 * np.outer(step, step)
    along, across = half_widths(covariance, azimuth_deg, probability)
    target = reckoning.place[to_station]
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
        tally=_tally(count, reckoning.frame.unit, walker),
        covariance=covariance,
        probability=probability,
        along=along,
        across=across,
        region=Region(target, covariance, probability, "ellipse", reckoning.place[here]),
        map_figure=_map_figure(log, walker, here, to_station, probability),
    )


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


def _ground(walker: Walker, ground: str | None) -> tuple[float, float]:
    pace_class = walker.pace_class(ground, None) if ground else None
    if pace_class is None:
        return 1.0, 0.0
    return class_ratio(pace_class, walker), class_ratio_sd(pace_class, walker)


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
