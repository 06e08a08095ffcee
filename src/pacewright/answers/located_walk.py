"""A log made ready to be searched for on a terrain: its figure on the terrain's grid, and what it says."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from pacewright.core.adjust.adjustment import adjust_reckoning
from pacewright.core.log.log_heading import KnownPoint
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.observations import find_observations
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint
from pacewright.ground.declination import FieldModel
from pacewright.ground.grid import to_grid, zone_of
from pacewright.ground.grid_change import GridChange
from pacewright.ground.grid_text import Position, parse_place
from pacewright.ground.locate.chances import Doubt
from pacewright.ground.locate.ground_said import find_ground_said
from pacewright.ground.locate.known_things import KnownThing
from pacewright.ground.locate.search import Told
from pacewright.ground.locate.sights import Sight
from pacewright.ground.locate.walk import Walk, as_adjusted, walk_of
from pacewright.ground.map_frame import reckon_on_grid
from pacewright.ground.terrain import Terrain


def told_walk(
    log: TravelLog,
    walker: Walker,
    land: Terrain,
    model: FieldModel | None,
    doubt: Doubt,
    slip_chance: float,
) -> tuple[Told, list[str]]:
    """A log as a search takes it, and sentences on what was assumed.

    Raises
    ------
    MissingComplaint
        The log says nothing of the ground, or the declination is not known.
    """
    said = find_ground_said(log)
    if not said.count and not log.heading.known:
        raise MissingComplaint(
            "this log says nothing of the ground, so that it would fit anywhere",
            "Write what you saw: [up] [level] [down] of legs, [faces NE] [on ridge] [alt 512 m] of stations",
        )
    reckoning = _on_the_grid_of(log, walker, land, model)
    walk = _with_observed(walk_of(log, reckoning, slip_chance), log, walker, reckoning)
    known = _known_things(log, walker, land, reckoning)
    return Told(walk, said, doubt, reckoning.frame.turn_deg, known), list(reckoning.remarks)


def _known_things(
    log: TravelLog, walker: Walker, land: Terrain, reckoning: Reckoning
) -> tuple[KnownThing, ...]:
    """What the log knows by a place on the earth: stations, and things that bearings were taken to."""
    frame, compass = reckoning.frame, walker.compass
    sd_deg = math.hypot(compass.sighting_sd_deg, frame.bias_sd_deg)
    sightings, names = list(log.sightings()), log.station_names()
    found = []
    for point, east, north in _placed(log, land.crs):
        for station, name in enumerate(names):
            if name == point.name:
                found.append(KnownThing(station, east, north, point.sd_m))
        for station, seen in sightings:
            if seen.name == point.name:
                azimuth_deg = seen.azimuth_deg + frame.sighting_turn_deg
                found.append(KnownThing(station, east, north, point.sd_m, azimuth_deg, sd_deg))
    return tuple(found)


def known_sights(log: TravelLog, crs: str) -> list[Sight]:
    """The things whose place the heading knows, to take bearings to."""
    return [Sight(point.name, east, north) for point, east, north in _placed(log, crs)]


def _placed(log: TravelLog, crs: str) -> list[tuple[KnownPoint, float, float]]:
    """The points of the heading with a place on the earth, and where they lie on a grid."""
    from pyproj import Transformer

    transform = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform
    found = []
    for point in log.heading.known:
        if point.local_m is not None:
            continue
        try:
            place = parse_place(point.place)
        except Complaint as complaint:
            raise complaint.at(column=f"heading known: {point.name}") from None
        east, north = transform(place.longitude_deg, place.latitude_deg)
        found.append((point, float(east), float(north)))
    return found


def _on_the_grid_of(log: TravelLog, walker: Walker, land: Terrain, model: FieldModel | None) -> Reckoning:
    """Reckon the log in metres along the north of the terrain's own grid, as it lies in its middle."""
    west, south, east, north = land.bounds
    middle = ((west + east) / 2.0, (south + north) / 2.0)
    near = position_at(land.crs, *middle)
    on_grid = reckon_on_grid(log, walker, model, near)
    frame = on_grid.reckoning.frame
    if log.heading.azimuth_reference == "grid":
        # The azimuths of a map are those of the map that the terrain is.
        return on_grid.reckoning
    zone = zone_of(near.latitude_deg, near.longitude_deg)
    change = GridChange(zone, land.crs)
    point = to_grid(near.latitude_deg, near.longitude_deg, zone)
    turn_deg = change.turn_deg(point.east_m, point.north_m)
    return reckon(log, walker, replace(frame, turn_deg=frame.turn_deg + turn_deg))


def _with_observed(walk: Walk, log: TravelLog, walker: Walker, reckoning: Reckoning) -> Walk:
    """Bring in back azimuths and markers met again."""
    found = find_observations(log, walker, reckoning.frame)
    found = replace(found, fixes=(), bearings=())
    if not (found.ties or found.back_azimuths):
        return walk
    try:
        adjusted = adjust_reckoning(reckoning, found, walker.compass.bias_sd_deg)
    except Complaint:
        # What does not settle on one figure stands as written; a slip may be why, and is searched for.
        return walk
    return as_adjusted(walk, adjusted.place, adjusted.covariances())


def position_at(crs: str, east_m: float, north_m: float) -> Position:
    """The place on the earth of a point on a terrain's grid.

    Raises
    ------
    ValueComplaint
        The grid is not known, or does not reach there.
    """
    from pyproj import Transformer
    from pyproj.exceptions import ProjError

    try:
        turned = Transformer.from_crs(crs, "EPSG:4326", always_xy=True).transform(east_m, north_m)
    except ProjError:
        raise ValueComplaint(
            f"the terrain's grid ({crs[:60]}) is not one that is known here", "Save it on a UTM grid"
        ) from None
    longitude, latitude = float(turned[0]), float(turned[1])
    if not (np.isfinite(longitude) and np.isfinite(latitude)):
        raise ValueComplaint("the terrain lies outside its own grid", "Save it on the UTM grid of its place")
    return Position(latitude, (longitude + 180.0) % 360.0 - 180.0)
