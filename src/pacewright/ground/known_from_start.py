"""Known points that only a map can place, as metres from the log's start along grid north.

An adjustment needs them so: the start is its origin. Where the start's own place is not known, the
points do not say where it is, and the adjustment goes without them.
"""

from __future__ import annotations

from dataclasses import dataclass

from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import Frame
from pacewright.exceptions import Complaint, ValueComplaint
from pacewright.ground.declination import FieldModel
from pacewright.ground.grid import to_grid
from pacewright.ground.grid_text import Position, parse_place
from pacewright.ground.map_frame import reckon_on_grid


@dataclass(frozen=True, slots=True)
class KnownFromStart:
    """The frame of the grid, and east and north in metres from the start by name of the point."""

    frame: Frame
    placed: dict[str, tuple[float, float]]


def find_known_from_start(
    log: TravelLog, walker: Walker, model: FieldModel | None = None
) -> KnownFromStart | None:
    """Give the known points on the grid from the start; None where there are none, or no known start.

    Parameters
    ----------
    log, walker
        The log, and who walked it.
    model
        The magnetic model, used where the log names no declination and has a date.

    Raises
    ------
    MissingComplaint
        The declination is not known, or there is no pace count.
    ValueComplaint
        A known place cannot be read, or lies too far from the start.
    """
    names = {*log.station_names(), *(sighting.name for _, sighting in log.sightings())}
    written = {p.name: p.place for p in log.heading.known if p.local_m is None and p.name in names}
    positions = {name: _position(name, place) for name, place in written.items()}
    origin = positions.pop(log.heading.start or "", None)
    if origin is None or not positions:
        return None
    grid = reckon_on_grid(log, walker, model, origin)
    here = to_grid(origin.latitude_deg, origin.longitude_deg, grid.zone)
    placed = {}
    for name, position in positions.items():
        try:
            there = to_grid(position.latitude_deg, position.longitude_deg, grid.zone)
        except ValueComplaint:
            raise ValueComplaint(
                f"{name} lies too far from the start to be on one grid with it",
                "Check it for a swapped latitude and longitude, and its zone",
            ) from None
        placed[name] = (there.east_m - here.east_m, there.north_m - here.north_m)
    return KnownFromStart(grid.reckoning.frame, placed)


def _position(name: str, place: str) -> Position:
    try:
        return parse_place(place)
    except Complaint as complaint:
        raise complaint.at(column=f"heading known: {name}") from None
