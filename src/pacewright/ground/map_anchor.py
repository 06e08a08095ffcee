"""Where a log is held on the map: the place that all its known places are counted from.

That is its start, if the heading or the asker says where it lies, else the first station walked to whose
place is known, and else the start again, where bearings to known things cross.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from pacewright.core.adjust.standing import with_a_pace
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import Frame, FrameKind, map_frame
from pacewright.core.way.observations import MapPlaces, find_observations, first_visits
from pacewright.exceptions import ValueComplaint
from pacewright.ground.declination import FieldModel
from pacewright.ground.grid import to_grid
from pacewright.ground.grid_text import Position
from pacewright.ground.map_frame import (
    GridReckoning,
    coarse_sd_m,
    known_places,
    place_on_grid,
    reckon_on_grid,
    say_against_model,
)
from pacewright.ground.start_by_bearings import start_by_bearings

THE_START: Final = "the start"
PRIOR_SDS: Final = 5.0
"""A start that only bearings tell begins so many times less sure than they make it: they are weighed once,
and its beginning adds a twenty-fifth of what they say at most."""


@dataclass(frozen=True, slots=True, eq=False)
class MapAnchor:
    """Where a log is held on the map, and what else a map tells of it.

    Attributes
    ----------
    on_grid
        The log reckoned from its start, and the grid.
    name, station
        What holds it: its name, and the number of the station.
    east_m, north_m, sd_m
        Its place on the grid, and how well that is known.
    placed
        The other known places, from there.
    remarks
        What was taken by rule in reading the places, a sentence without its full stop each.
    """

    on_grid: GridReckoning
    name: str
    station: int
    east_m: float
    north_m: float
    sd_m: float
    placed: MapPlaces
    remarks: tuple[str, ...]

    @property
    def frame(self) -> Frame:
        """The frame of the grid."""
        return self.on_grid.reckoning.frame


def find_anchor(
    log: TravelLog,
    walker: Walker,
    model: FieldModel | None = None,
    *,
    start: Position | None = None,
    start_sd_m: float = 10.0,
) -> MapAnchor | None:
    """Where a log is held on the map; None where no station's place is known or tells itself.

    Parameters
    ----------
    log, walker
        The log, and who walked it; the walker has a pace count.
    model
        The magnetic model, used where the log names no declination and has a date.
    start, start_sd_m
        The place of the start, where the heading does not hold it.

    Raises
    ------
    MissingComplaint
        The declination is not known.
    ValueComplaint
        A known place cannot be read, or lies too far from the others.
    """
    points = known_places(log)
    first = first_visits(log.station_names())
    prior_sd_m: float | None = None
    met = sorted((first[name], name) for name in points if name in first)
    if start is not None:
        station, name, position, sd_m = 0, log.heading.start or THE_START, start, start_sd_m
        points.pop(name, None)
    elif met:
        station, name = met[0]
        position, point = points.pop(name)
        sd_m = point.sd_m
    else:
        seen = start_by_bearings(log, walker, model, points)
        if seen is None:
            return None
        # Where they cross is no known place: the bearings are to tell it.
        station, name, position = 0, log.heading.start or THE_START, seen.position
        sd_m, prior_sd_m = seen.sd_m, PRIOR_SDS * seen.sd_m
    grid = reckon_on_grid(log, walker, model, position)
    here = to_grid(position.latitude_deg, position.longitude_deg, grid.zone)
    remarks = _say_position(name, position, sd_m)
    places = {}
    for other, (there, point) in points.items():
        place = place_on_grid(there, point.sd_m, grid.zone, (here.east_m, here.north_m))
        if place is not None:
            remarks += _say_position(other, there, point.sd_m)
            places[other] = place
        elif other in first:
            raise _too_far(other)
        else:
            remarks.append(f"{other} lies too far from {name} to be on one grid with it, and is not used")
    sd_m = math.hypot(sd_m, coarse_sd_m(position))
    return MapAnchor(
        on_grid=grid,
        name=name,
        station=station,
        east_m=here.east_m,
        north_m=here.north_m,
        sd_m=sd_m,
        placed=MapPlaces(
            places, None if station == 0 else name, prior_sd_m or sd_m, is_origin_seen=prior_sd_m is not None
        ),
        remarks=(*remarks, *say_against_model(log, position, model)),
    )


def frame_told_by_places(
    log: TravelLog, walker: Walker, kind: FrameKind | None, anchor: MapAnchor | None = None
) -> Frame | None:
    """The map frame of a walker without a pace count, where places that are walked to or seen tell the pace.

    None where there is a count, where the walker's own frame is asked for, or where no place tells it.
    """
    measured, is_assumed = with_a_pace(log, walker)
    if not is_assumed or kind == "walker" or not log.heading.known:
        return None
    frame = map_frame(log.heading, measured) if anchor is None else anchor.frame
    placed = None if anchor is None else anchor.placed
    found = find_observations(log, measured, frame, placed)
    # The same that the one estimate goes by: places walked to, or seen from stations.
    is_told = found.fixes or any(one.landmark is not None for one in found.bearings)
    return frame if is_told else None


def _too_far(name: str) -> ValueComplaint:
    return ValueComplaint(
        f"{name} lies too far from the other known points to be on one grid with them",
        "Check it for a swapped latitude and longitude, and its zone",
    )


def _say_position(name: str, position: Position, sd_m: float) -> list[str]:
    """Say what was taken by rule in reading a place."""
    if coarse_sd_m(position) <= sd_m:
        return list(position.remarks)
    return [
        *position.remarks,
        f"{name} is written to {position.precision_m:.0f} m only, and taken to be no surer than that; "
        "write more digits if it is",
    ]
