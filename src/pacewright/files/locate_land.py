"""The land of a search, read no further than starts and walks can reach."""

from __future__ import annotations

from pacewright.answers.locate import land_to_search
from pacewright.files.elevation import read_terrain
from pacewright.files.prior_area import AreaAsked, bounds_of
from pacewright.ground.terrain import Terrain

REACH_M = 15_000.0
"""How far beyond the ground on which a walk can have begun land is read: few logs lead farther."""


def open_land(path: str, area: AreaAsked) -> Terrain:
    """Read the land that a search needs, on the cells that it works on."""
    if not (area.near or area.inside):
        return land_to_search(read_terrain(path))
    crs = read_terrain(path, most_cells=250_000).crs
    bounds = bounds_of(area, crs)
    if bounds is None:
        return land_to_search(read_terrain(path))
    west, south, east, north = bounds
    wide = (west - REACH_M, south - REACH_M, east + REACH_M, north + REACH_M)
    return land_to_search(read_terrain(path, wide))
