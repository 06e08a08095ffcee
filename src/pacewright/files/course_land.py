"""Lay a course on the map with the magnetic model that ships with the tool."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from pacewright.exceptions import MissingComplaint

if TYPE_CHECKING:
    from pacewright.core.compass import AzimuthReference
    from pacewright.course.leg_graph import HeightAt
    from pacewright.course.map_origin import MapOrigin
    from pacewright.ground.grid_text import Position
    from pacewright.ground.terrain import Terrain


def origin_for(reference: AzimuthReference, date: str | None) -> Callable[[Position], MapOrigin]:
    """What lays a course with azimuths of a north at a place.

    Parameters
    ----------
    reference
        The north of the course.
    date
        Of the day it is walked, for magnetic azimuths.

    Raises
    ------
    MissingComplaint
        When it is used: magnetic azimuths and no date.
    """

    from pacewright.ground.declination import parse_when

    if date is not None:
        parse_when(date)

    def lay(position: Position) -> MapOrigin:
        from pacewright.course.map_origin import MapOrigin
        from pacewright.ground.grid import grid_turn, to_grid, zone_of

        where = (position.latitude_deg, position.longitude_deg)
        zone = position.zone or zone_of(*where)
        turn = grid_turn(*where, zone)
        return MapOrigin(to_grid(*where, zone), turn.scale, _turn_deg(position, reference, date))

    return lay


def heights_on(origin: MapOrigin | None, terrain: Terrain | None) -> HeightAt | None:
    """The heights of a terrain by places of a course; None where there is no terrain.

    Parameters
    ----------
    origin
        Where the course lies; None where its posts are told in metres.
    terrain
        The land.

    Raises
    ------
    MissingComplaint
        There is a terrain, and the course lies nowhere on it.
    """
    from pacewright.course.map_origin import heights_by_place

    if terrain is None:
        return None
    if origin is None:
        raise MissingComplaint(
            "posts told in metres lie nowhere on a terrain",
            "Tell their places on the map, or leave the terrain out",
        )
    return heights_by_place(origin, terrain)


def _turn_deg(position: Position, reference: AzimuthReference, date: str | None) -> float:
    from pacewright.files.field_model import bundled_field_model
    from pacewright.ground.norths_at import norths_at

    if reference == "magnetic" and date is None:
        raise MissingComplaint(
            "places on the map become magnetic azimuths only on a stated day",
            "Give the day the course is walked, or take grid or true azimuths",
        )
    norths = norths_at(bundled_field_model(), position, date or "2026.0")
    return norths.relation.added_deg(reference, "grid")
