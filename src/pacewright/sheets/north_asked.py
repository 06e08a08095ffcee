"""A place and a date as they are asked for, to what the declination card needs."""

from __future__ import annotations

from pacewright.files.field_model import bundled_field_model
from pacewright.ground.declination import declination_at, parse_when
from pacewright.ground.grid import grid_turn, zone_of
from pacewright.ground.grid_text import format_place, parse_place
from pacewright.sheets.north_card import NorthFound
from pacewright.wording.norths import say_pole


def find_north(place: str, when: str, height_m: float = 0.0) -> NorthFound:
    """Give the three norths at a place and a date, by the magnetic model that ships with the tool.

    Parameters
    ----------
    place
        Latitude and longitude, UTM or MGRS.
    when
        An ISO date, or a decimal year.
    height_m
        Height above the sea.

    Raises
    ------
    Complaint
        There is no such place or date, or the model does not reach it.
    """
    position = parse_place(place)
    where = (position.latitude_deg, position.longitude_deg)
    zone = position.zone or zone_of(*where)
    return NorthFound(
        place=f"{format_place(position)} ({format_place(position, 'mgrs')})",
        when=when,
        declination=declination_at(bundled_field_model(), *where, parse_when(when), height_m),
        turn=grid_turn(*where, zone),
        zone=zone,
        notes=(*(f"Note: {remark}." for remark in position.remarks), *say_pole(position.latitude_deg)),
    )
