"""A log reckoned on the grid of a map: its norths and scale, and the places that its heading knows."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from pacewright.core.compass import turn_deg
from pacewright.core.log.log_heading import KnownPoint
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import map_frame
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint
from pacewright.ground.declination import Declination, FieldModel, decimal_year, declination_at
from pacewright.ground.grid import GridTurn, GridZone, grid_turn, to_grid, zone_of
from pacewright.ground.grid_text import Position, parse_place
from pacewright.ground.north import NorthRelation

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
        How magnetic, true and grid north stand to each other here; of magnetic north nothing where
        `knows_magnetic` is False.
    declination
        What the magnetic model says, where it was asked; None where the heading says it, or where
        azimuths that are not magnetic have no date.
    knows_magnetic
        False where the azimuths are not magnetic and neither heading nor model says the declination.
    reckoning
        Stations from the start.
    """

    zone: GridZone
    scale: float
    norths: NorthRelation
    declination: Declination | None
    reckoning: Reckoning
    knows_magnetic: bool = True


def has_places(log: TravelLog) -> bool:
    """Whether the heading knows a station of the log by a place on the earth."""
    names = set(log.station_names())
    return any(point.local_m is None and point.name in names for point in log.heading.known)


def reckon_on_grid(log: TravelLog, walker: Walker, model: FieldModel | None, near: Position) -> GridReckoning:
    """A log reckoned in grid metres by grid north, from its start.

    Parameters
    ----------
    log, walker
        The log, and who walked it.
    model
        The magnetic model, used where the log names no declination and has a date.
    near
        A place near the log: it says which grid, its convergence and scale, and the declination.

    Raises
    ------
    MissingComplaint
        The declination is not known, or there is no pace count.
    """
    zone = near.zone or zone_of(near.latitude_deg, near.longitude_deg)
    turn = grid_turn(near.latitude_deg, near.longitude_deg, zone)
    relation, declination = _norths(log, near, turn, model)
    norths = relation or NorthRelation(0.0, turn.convergence_deg)
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
    reckoning = reckon(log, walker, frame)
    return GridReckoning(zone, turn.scale, norths, declination, reckoning, relation is not None)


def known_places(log: TravelLog) -> dict[str, tuple[Position, KnownPoint]]:
    """The points whose place on the earth the heading of a log knows, by name.

    Raises
    ------
    ValueComplaint
        A known place cannot be read.
    """
    places = {}
    for point in log.heading.known:
        if point.local_m is None:
            try:
                places[point.name] = (parse_place(point.place), point)
            except Complaint as complaint:
                raise complaint.at(column=f"heading known: {point.name}") from None
    return places


def place_on_grid(
    position: Position, sd_m: float, zone: GridZone, corner_m: tuple[float, float] = (0.0, 0.0)
) -> tuple[float, float, float] | None:
    """East and north of a place, in metres from a corner of a grid, and how far it is off; None beyond that.

    Parameters
    ----------
    position, sd_m
        The place, and how well it is known.
    zone, corner_m
        The grid, and what is counted from on it.
    """
    try:
        at = to_grid(position.latitude_deg, position.longitude_deg, zone)
    except ValueComplaint:
        return None
    off_m = math.hypot(sd_m, coarse_sd_m(position))
    return at.east_m - corner_m[0], at.north_m - corner_m[1], off_m


def coarse_sd_m(position: Position) -> float:
    """What a place is unsure by for the digits it is written to: an even spread over the last one."""
    return position.precision_m / math.sqrt(12.0)


def _norths(
    log: TravelLog, near: Position, turn: GridTurn, model: FieldModel | None
) -> tuple[NorthRelation | None, Declination | None]:
    heading = log.heading
    if heading.declination_deg is not None:
        return NorthRelation(heading.declination_deg, turn.convergence_deg), None
    try:
        found = _modelled(log, near, model)
    except MissingComplaint:
        if heading.azimuth_reference == "magnetic":
            raise
        # Azimuths of a map need no magnetic north; none is said then.
        return None, None
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


def say_against_model(log: TravelLog, near: Position, model: FieldModel | None) -> list[str]:
    """Say where the heading's declination cannot be that of the place and the day; else nothing."""
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
