"""Legs from place to place by map, each in azimuth, own paces and time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from pacewright.core.compass import AzimuthReference
from pacewright.exceptions import Complaint, MissingComplaint, ValueComplaint
from pacewright.ground.declination import FieldModel
from pacewright.ground.grid import grid_turn
from pacewright.ground.grid_text import Position, parse_place
from pacewright.ground.local_grid import LocalGrid
from pacewright.ground.north import NorthRelation
from pacewright.ground.norths_at import norths_at
from pacewright.route.map_leg import MapLeg, Walking, local_leg, map_leg


@dataclass(frozen=True, slots=True)
class LegsAsked:
    """Which legs are asked for.

    Attributes
    ----------
    places
        As typed: a place of the Earth, `local EAST NORTH`, or a name of `known`.
    walking
        How they are walked.
    known
        Places by name.
    north
        The north of the azimuths; local places have their own.
    when
        Date of the declination, ISO or a decimal year.
    declination_deg
        Taken in place of the model's, east positive.
    """

    places: Sequence[str]
    walking: Walking
    known: Mapping[str, str]
    north: AzimuthReference
    when: str
    declination_deg: float | None = None


def answer_map_legs(model: FieldModel, asked: LegsAsked) -> list[MapLeg]:
    """The legs from each place to the next.

    Raises
    ------
    Complaint
        There are fewer than two places, one cannot be read, some are local and some are not, or the
        model does not hold there and then.
    """
    if len(asked.places) < 2:
        raise MissingComplaint("there is no place to go to", "Give two places or more")
    by_name = {name.casefold(): place for name, place in asked.known.items()}
    texts = [by_name.get(name.strip().casefold(), name) for name in asked.places]
    are_local = [text.strip().casefold().startswith("local") for text in texts]
    # Metres east and north are read by way of a grid that lies anywhere.
    grid = LocalGrid(0.0, 0.0)
    positions = [_position(name, text, grid) for name, text in zip(asked.places, texts, strict=True)]
    if any(are_local) and not all(are_local):
        raise ValueComplaint("some of these places are local and some on the Earth", "Give all of one kind")
    if all(are_local):
        points = [grid.offsets_m(one.latitude_deg, one.longitude_deg) for one in positions]
        return [local_leg(here, there, asked.walking) for here, there in pairwise(points)]
    return [
        map_leg(here, there, asked.walking, _norths(model, here, asked), asked.north)
        for here, there in pairwise(positions)
    ]


def _position(name: str, text: str, grid: LocalGrid) -> Position:
    try:
        return parse_place(text, grid)
    except Complaint as complaint:
        where = "" if name == text else f"{name}: "
        raise type(complaint)(f"{where}{complaint.what}", complaint.do) from None


def _norths(model: FieldModel, here: Position, asked: LegsAsked) -> NorthRelation:
    if asked.declination_deg is not None or asked.north != "magnetic":
        turn = grid_turn(here.latitude_deg, here.longitude_deg, here.zone)
        return NorthRelation(asked.declination_deg or 0.0, turn.convergence_deg)
    return norths_at(model, here, asked.when).relation
