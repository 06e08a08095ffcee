"""The start of a log on the map by bearings alone: to known things, from any of its stations."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import unit_vectors
from pacewright.core.log.log_heading import KnownPoint
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.observations import Bearing, MapPlaces, find_observations
from pacewright.ground.declination import FieldModel
from pacewright.ground.grid import to_grid, unproject
from pacewright.ground.grid_text import Position
from pacewright.ground.map_frame import place_on_grid, reckon_on_grid

Array = NDArray[np.float64]

LEAST_CROSSING_DEG: Final = 15.0
"""Lines of sight that cross at a flatter angle tell too little (assumed)."""
_ROUNDS: Final = 5


@dataclass(frozen=True, slots=True)
class StartByBearings:
    """Where the start lies, and how well bearings tell it."""

    position: Position
    sd_m: float


def start_by_bearings(
    log: TravelLog,
    walker: Walker,
    model: FieldModel | None,
    points: Mapping[str, tuple[Position, KnownPoint]],
) -> StartByBearings | None:
    """Where lines of sight to known things cross, carried back to the start; None where they do not.

    Parameters
    ----------
    log, walker
        The log, and who walked it; the walker has a pace count.
    model
        The magnetic model, used where the log names no declination and has a date.
    points
        The known places, by name.

    Raises
    ------
    MissingComplaint
        The declination is not known.
    """
    seen = [name for name in dict.fromkeys(one.name for _, one in log.sightings()) if name in points]
    if not seen:
        return None
    near = points[seen[0]][0]
    grid = reckon_on_grid(log, walker, model, near)
    corner = to_grid(near.latitude_deg, near.longitude_deg, grid.zone)
    corner_m = corner.east_m, corner.north_m
    found = {name: place_on_grid(points[name][0], points[name][1].sd_m, grid.zone, corner_m) for name in seen}
    places = {name: place for name, place in found.items() if place is not None}
    # Counted from the first thing seen, wherever the start may lie.
    bearings = find_observations(log, walker, grid.reckoning.frame, MapPlaces(places)).bearings
    known = [one for one in bearings if one.landmark is not None]
    crossed = _crossing(known, grid.reckoning.place) if len(known) > 1 else None
    if crossed is None:
        return None
    start, sd_m = crossed
    latitude, longitude = unproject(grid.zone, corner.east_m + start[0], corner.north_m + start[1])
    return StartByBearings(Position(float(latitude), float(longitude), zone=grid.zone), sd_m)


def _crossing(bearings: list[Bearing], place: Array) -> tuple[Array, float] | None:
    """Where lines of sight cross, and its sd; `place` is that of the stations as walked.

    Each line is one linear equation of the start: how far that lies beside it. Its weight is by how far the
    scatter of a reading is off at the thing seen, which settles in a few rounds.
    """
    along = np.array([unit_vectors(one.azimuth_deg) for one in bearings])
    across = np.stack([along[:, 1], -along[:, 0]], axis=1)
    from_start = np.array([one.landmark[:2] for one in bearings if one.landmark is not None])
    from_start = from_start - place[[one.station for one in bearings]]
    off = np.einsum("kd,kd->k", across, from_start)
    sd_rad = np.radians([one.sd_deg for one in bearings])
    away, start, covariance = np.ones(len(bearings)), np.zeros(2), np.eye(2)
    for _ in range(_ROUNDS):
        weight = 1.0 / np.square(sd_rad * away)
        # Half the angle between two lines of one weight: its squared sine is the smaller share.
        least = np.linalg.eigvalsh((weight[:, None] * across).T @ across)[0] / weight.sum()
        if least < math.sin(math.radians(LEAST_CROSSING_DEG / 2.0)) ** 2:
            return None
        covariance = np.linalg.inv((weight[:, None] * across).T @ across)
        start = covariance @ (across.T @ (weight * off))
        ahead = np.einsum("kd,kd->k", from_start - start, along)
        away = np.maximum(np.abs(ahead), 1.0)
    # A reading that was not turned round still lies on its line; most must look the right way.
    if 2 * np.count_nonzero(ahead > 0) <= ahead.size:
        return None
    return start, math.sqrt(float(np.linalg.eigvalsh(covariance)[-1]))
