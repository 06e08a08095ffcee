"""Put a log on the grid: known points, declination, pace count.

One known station is enough: it says where the figure lies, the azimuths say how it is turned and the
pace count how large it is. Every further known station pulls the figure into place and makes it surer.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.holding import Hold, find_ties, hold
from pacewright.core.compass import turn_deg, unit_vectors
from pacewright.core.log.log_heading import KnownPoint
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame
from pacewright.core.way.observations import first_visits
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.core.way.regions import Region, station_region
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint
from pacewright.ground.declination import Declination, FieldModel, decimal_year, declination_at
from pacewright.ground.grid import GridTurn, GridZone, grid_turn, to_grid, unproject, zone_of
from pacewright.ground.grid_text import Position, parse_place
from pacewright.ground.local_grid import FARTHEST_M
from pacewright.ground.north import NorthRelation

Array = NDArray[np.float64]
_Places = Mapping[str, tuple[Position, KnownPoint]]


LEAST_CONTRADICTION_DEG: Final = 1.5
"""A heading's declination nearer to the model than this may well be rounded, or an older map's."""


@dataclass(frozen=True, slots=True, eq=False)
class GridReckoning:
    """A log reckoned in grid metres by grid north, from its start.

    Attributes
    ----------
    zone
        The grid.
    scale
        A metre on the ground is as many metres on the grid.
    norths
        How magnetic, true and grid north stand to each other here.
    declination
        What the magnetic model says, where it was asked; None where the heading says it, or where the
        azimuths are not magnetic.
    reckoning
        Stations from the start.
    """

    zone: GridZone
    scale: float
    norths: NorthRelation
    declination: Declination | None
    reckoning: Reckoning


@dataclass(frozen=True, slots=True, eq=False)
class PlacedLog:
    """A log on the grid.

    Attributes
    ----------
    on_grid
        The log reckoned from its start, and the grid.
    place_m, covariance_m2
        East and north of every station on the grid, shape (n + 1, 2), and their covariance.
    latitude_deg, longitude_deg
        Of every station, shape (n + 1,).
    held_by
        Names of the known points that hold it.
    only_hold
        The station that alone holds the whole figure; None where there are more.
    chance
        The chance of the known points' disagreement with the log under ordinary scatter.
    not_reached
        Known points that the log does not walk to, which place nothing here.
    remarks
        What was taken by rule in reading the places, a sentence without its full stop each.
    """

    on_grid: GridReckoning
    place_m: Array
    covariance_m2: Array
    latitude_deg: Array
    longitude_deg: Array
    held_by: tuple[str, ...]
    only_hold: int | None
    chance: float
    not_reached: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def names(self) -> tuple[str | None, ...]:
        """Name of every station or None, the start first."""
        return self.on_grid.reckoning.names

    @property
    def last(self) -> int:
        """The number of the last station."""
        return self.on_grid.reckoning.last

    def region(self, station: int, probability: float = DEFAULT_PROBABILITY) -> Region:
        """Give the region of a station on the grid, bent where it must be."""
        own = self.covariance_m2[station]
        if self.only_hold is None or station == self.only_hold:
            center = self.place_m[station]
            return Region(center, own, probability, "ellipse", center)
        # With one hold the figure is the reckoned one, moved: what is known of the hold adds to all.
        held = self.only_hold
        walked = station_region(self.on_grid.reckoning, station, probability, origin=held)
        moved = self.place_m[held] - self.on_grid.reckoning.place[held]
        covariance = walked.covariance + self.covariance_m2[held]
        return replace(
            walked, center=walked.center + moved, origin=walked.origin + moved, covariance=covariance
        )

    def shown_regions(self, probability: float = DEFAULT_PROBABILITY) -> tuple[tuple[int, Region], ...]:
        """Give the regions of the start, the named stations and the last one, each with its station."""
        shown = [k for k, name in enumerate(self.names) if name or k in (0, self.last)]
        return tuple((k, self.region(k, probability)) for k in shown)


def has_places(log: TravelLog) -> bool:
    """Tell whether the heading knows a station of the log by a place on the earth."""
    names = set(log.station_names())
    return any(point.local_m is None and point.name in names for point in log.heading.known)


def place_log(
    log: TravelLog,
    walker: Walker | None = None,
    model: FieldModel | None = None,
    *,
    start: Position | None = None,
    start_sd_m: float = 10.0,
) -> PlacedLog:
    """Give a log's stations on the grid, with what is known of them.

    Parameters
    ----------
    log, walker
        The log, and who walked it; the walker needs a pace count where paces or steps were counted.
    model
        The magnetic model, used where the log names no declination and has a date.
    start, start_sd_m
        The place of the start, if the heading does not hold it.

    Raises
    ------
    MissingComplaint
        No station's place is known, or the declination is not, or there is no pace count.
    ValueComplaint
        A known place cannot be read, or lies too far from the others.

    Notes
    -----
    To first order about the figure as reckoned. A compass that reads some 10 degrees off between two
    known points is past that, and `chance` then says that they do not agree with the log.
    """
    points = known_places(log)
    anchor = start or next(iter(points.values()), (None, None))[0]
    if anchor is None:
        raise MissingComplaint(
            "no station of the log is at a known place on the map",
            "Add '# known: Gate = 37.4521 -119.2984 +-10 m' to the heading, or give the start's place",
        )
    on_grid = reckon_on_grid(log, walker or Walker(), model, anchor)
    reckoning = on_grid.reckoning
    holds = _holds(log, on_grid, points)
    if start is not None:
        holds.insert(0, _hold_at(0, "the start", start, start_sd_m, on_grid.zone))
    ties = find_ties(reckoning)
    held = hold(reckoning, [*holds, *ties])
    if np.abs(reckoning.place).max() > FARTHEST_M:
        raise ValueComplaint(
            "the log walks farther than one grid reaches",
            "Check the counts and the pace count, or split the log",
        )
    latitude, longitude = unproject(on_grid.zone, held.place[:, 0], held.place[:, 1])
    names = set(reckoning.names)
    return PlacedLog(
        on_grid=on_grid,
        place_m=held.place,
        covariance_m2=held.covariance,
        latitude_deg=latitude,
        longitude_deg=longitude,
        held_by=tuple(dict.fromkeys(reckoning.names[one.station] or "the start" for one in holds)),
        only_hold=holds[0].station if len(holds) == 1 and not ties else None,
        chance=held.chance,
        not_reached=tuple(point.name for point in log.heading.known if point.name not in names),
        remarks=(*_remarks(points, start, start_sd_m), *_against_model(log, anchor, model)),
    )


def reckon_on_grid(log: TravelLog, walker: Walker, model: FieldModel | None, near: Position) -> GridReckoning:
    """Give a log reckoned in grid metres by grid north, from its start.

    Parameters
    ----------
    log, walker, model
        As `place_log`.
    near
        A place near the log: it says which grid, its convergence and scale, and the declination.

    Raises
    ------
    MissingComplaint
        The declination is not known, or there is no pace count.
    """
    zone = near.zone or zone_of(near.latitude_deg, near.longitude_deg)
    turn = grid_turn(near.latitude_deg, near.longitude_deg, zone)
    norths, declination = _norths(log, near, turn, model)
    frame = map_frame(log.heading, walker)
    reference = log.heading.azimuth_reference
    declination_sd_deg = norths.declination_sd_deg if reference == "magnetic" else 0.0
    frame = replace(
        frame,
        azimuth_reference="grid",
        turn_deg=norths.added_deg(reference, "grid"),
        units_per_count=frame.units_per_count * turn.scale,
        units_per_pace=frame.units_per_pace * turn.scale,
        bias_sd_deg=math.hypot(frame.bias_sd_deg, declination_sd_deg),
    )
    return GridReckoning(zone, turn.scale, norths, declination, reckon(log, walker, frame))


def known_places(log: TravelLog) -> dict[str, tuple[Position, KnownPoint]]:
    """Give the stations of a log whose place on the earth its heading knows, by name.

    Raises
    ------
    ValueComplaint
        A known place cannot be read.
    """
    names = set(log.station_names())
    places = {}
    for point in log.heading.known:
        if point.local_m is None:
            try:
                position = parse_place(point.place)
            except Complaint as complaint:
                raise complaint.at(column=f"heading known: {point.name}") from None
            if point.name in names:
                places[point.name] = (position, point)
    return places


def _norths(
    log: TravelLog, near: Position, turn: GridTurn, model: FieldModel | None
) -> tuple[NorthRelation, Declination | None]:
    heading = log.heading
    if heading.azimuth_reference != "magnetic":
        return NorthRelation(heading.declination_deg or 0.0, turn.convergence_deg), None
    if heading.declination_deg is not None:
        return NorthRelation(heading.declination_deg, turn.convergence_deg), None
    found = _modelled(log, near, model)
    relation = NorthRelation(found.declination_deg, turn.convergence_deg, found.declination_sd_deg)
    return relation, found


def _modelled(log: TravelLog, near: Position, model: FieldModel | None) -> Declination:
    reason, do = "", "Add '# declination: 5.5 E' to the heading, or a date for the magnetic model"
    if model is not None and log.heading.date is not None:
        try:
            year = decimal_year(log.heading.date)
            return declination_at(model, near.latitude_deg, near.longitude_deg, year)
        except ValueComplaint as complaint:
            reason, do = f" ({complaint.what})", "Add '# declination: 5.5 E' to the heading"
    raise MissingComplaint(f"the azimuths are magnetic and the declination is not known{reason}", do)


def _against_model(log: TravelLog, near: Position, model: FieldModel | None) -> list[str]:
    """Say where the heading's declination cannot be that of the place and the day."""
    heading = log.heading
    if heading.declination_deg is None or heading.date is None or heading.azimuth_reference != "magnetic":
        return []
    try:
        found = _modelled(log, near, model)
    except Complaint:
        return []
    off_deg = turn_deg(found.declination_deg, heading.declination_deg)
    if abs(off_deg) <= max(LEAST_CONTRADICTION_DEG, 3.0 * found.declination_sd_deg):
        return []
    written, modelled = _sided(heading.declination_deg), _sided(found.declination_deg)
    return [
        f"The heading says a declination of {written}, and {found.model} says {modelled} here on "
        f"{heading.date}: the heading was taken; check its number, its side and the date"
    ]


def _sided(declination_deg: float) -> str:
    return f"{abs(declination_deg):.1f} {'W' if declination_deg < 0 else 'E'}"


def _holds(log: TravelLog, on_grid: GridReckoning, points: _Places) -> list[Hold]:
    first = first_visits(on_grid.reckoning.names)
    holds = [
        _hold_at(first[name], name, position, point.sd_m, on_grid.zone)
        for name, (position, point) in points.items()
    ]
    start = next((point for point in log.heading.known if point.name == log.heading.start), None)
    origin_m = start.local_m if start is not None else None
    for point in log.heading.known:
        if point.local_m is None or first.get(point.name, 0) == 0:
            continue
        east, north, sd = *point.local_m, point.sd_m
        if start is not None and origin_m is not None:
            east, north, sd = east - origin_m[0], north - origin_m[1], math.hypot(sd, start.sd_m)
        east, north = _turned(east, north, on_grid.reckoning.frame.turn_deg, on_grid.scale)
        holds.append(Hold(first[point.name], east, north, sd, seen_from=0))
    return holds


def _hold_at(station: int, name: str, position: Position, sd_m: float, zone: GridZone) -> Hold:
    try:
        point = to_grid(position.latitude_deg, position.longitude_deg, zone)
    except ValueComplaint:
        raise ValueComplaint(
            f"{name} lies too far from the other known points to be on one grid with them",
            "Check it for a swapped latitude and longitude, and its zone",
        ) from None
    return Hold(station, point.east_m, point.north_m, math.hypot(sd_m, _coarse_sd_m(position)))


def _remarks(points: _Places, start: Position | None, start_sd_m: float) -> list[str]:
    given = [(name, position, point.sd_m) for name, (position, point) in points.items()]
    if start is not None:
        given.insert(0, ("the start", start, start_sd_m))
    remarks: list[str] = []
    for name, position, sd_m in given:
        remarks += position.remarks
        if _coarse_sd_m(position) > sd_m:
            remarks.append(
                f"{name} is written to {position.precision_m:.0f} m only, and taken to be no surer than "
                "that; write more digits if it is"
            )
    return remarks


def _coarse_sd_m(position: Position) -> float:
    """Give what a place is unsure by for the digits it is written to: an even spread over the last one."""
    return position.precision_m / math.sqrt(12.0)


def _turned(east: float, north: float, turn_deg: float, scale: float) -> tuple[float, float]:
    sine, cosine = (float(part) for part in unit_vectors(turn_deg))
    return scale * (east * cosine + north * sine), scale * (north * cosine - east * sine)
