"""The three norths at one place on one day: all that a page on them needs."""

from __future__ import annotations

from dataclasses import dataclass

from pacewright.ground.declination import Declination, FieldModel, declination_at, parse_when
from pacewright.ground.grid import GridTurn, GridZone, grid_turn, zone_of
from pacewright.ground.grid_text import Position
from pacewright.ground.north import NorthRelation


@dataclass(frozen=True, slots=True)
class NorthsAt:
    """The norths at a place.

    Attributes
    ----------
    position, when
        The place, and the date as it was written.
    found
        The declination.
    zone, turn
        The grid, its convergence and its scale there.
    relation
        How the three stand to each other.
    """

    position: Position
    when: str
    found: Declination
    zone: GridZone
    turn: GridTurn
    relation: NorthRelation


def norths_at(model: FieldModel, position: Position, when: str, height_m: float = 0.0) -> NorthsAt:
    """Declination, convergence and grid-magnetic angle at a place.

    Parameters
    ----------
    model
        The magnetic model.
    position
        The place.
    when
        `2026-05-14`, or a decimal year.
    height_m
        Above the sea.

    Raises
    ------
    Complaint
        The date is none, or the model does not hold there and then.
    """
    where = (position.latitude_deg, position.longitude_deg)
    found = declination_at(model, *where, parse_when(when), height_m)
    zone = position.zone or zone_of(*where)
    turn = grid_turn(*where, zone)
    relation = NorthRelation(found.declination_deg, turn.convergence_deg, found.declination_sd_deg)
    return NorthsAt(position, when, found, zone, turn, relation)
