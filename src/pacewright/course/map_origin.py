"""Where a course lies on the map: from a place on the earth to metres along the course's own north."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import unit_vectors
from pacewright.course.leg_graph import HeightAt
from pacewright.ground.grid import GridPoint, GridZone, to_grid
from pacewright.ground.grid_change import GridChange
from pacewright.ground.grid_text import Position
from pacewright.ground.terrain import Terrain, height_at

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MapOrigin:
    """The course's place (0, 0) on the grid, and how its north lies there.

    Attributes
    ----------
    point
        On the grid.
    scale
        Of the grid there: metres on the grid to one on the ground.
    turn_deg
        Azimuth of the course's north on the grid.
    """

    point: GridPoint
    scale: float
    turn_deg: float

    @property
    def zone(self) -> GridZone:
        """The zone of the grid; all places of a course are told in one."""
        return self.point.zone

    def course_m(self, position: Position) -> tuple[float, float]:
        """A place in metres east and north on the course, on the ground and not on the grid.

        Raises
        ------
        ValueComplaint
            The place lies too far from the zone of the origin.
        """
        there = to_grid(position.latitude_deg, position.longitude_deg, self.zone)
        east = (there.east_m - self.point.east_m) / self.scale
        north = (there.north_m - self.point.north_m) / self.scale
        north_east, north_north = (float(part) for part in unit_vectors(self.turn_deg))
        return east * north_north - north * north_east, east * north_east + north * north_north

    def grid_m(self, east_m: Array, north_m: Array) -> Array:
        """Places of the course on the grid, shape (n, 2)."""
        north_east, north_north = (float(part) for part in unit_vectors(self.turn_deg))
        east = self.point.east_m + self.scale * (east_m * north_north + north_m * north_east)
        north = self.point.north_m + self.scale * (north_m * north_north - east_m * north_east)
        return np.stack([np.ravel(east), np.ravel(north)], axis=1)


def heights_by_place(origin: MapOrigin, terrain: Terrain) -> HeightAt:
    """The heights of a terrain by places of a course that lies on the map.

    Parameters
    ----------
    origin
        Where the course lies.
    terrain
        The land, in any coordinate system that measures metres.
    """
    change = GridChange(origin.zone, terrain.crs)

    def height(east_m: Array, north_m: Array) -> Array:
        there = change.moved(origin.grid_m(np.asarray(east_m), np.asarray(north_m)))
        found: Array = height_at(terrain, there[:, 0], there[:, 1]).reshape(np.shape(east_m))
        return found

    return height
