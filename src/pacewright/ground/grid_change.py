"""From one grid to another: places, and how much an azimuth turns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.compass import direction_deg, turn_deg
from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid import GridZone, unproject

Array = NDArray[np.float64]

_STEP_M = 100.0


@dataclass(frozen=True, slots=True)
class GridChange:
    """From a world grid to the grid of a terrain.

    Attributes
    ----------
    zone
        The grid come from.
    crs
        The coordinate system gone to, such as `EPSG:32611`.
    """

    zone: GridZone
    crs: str

    def moved(self, points: ArrayLike) -> Array:
        """Points, shape (m, 2) east and north in metres, on the other grid.

        Raises
        ------
        ValueComplaint
            The other grid does not reach that far.
        """
        from pyproj import Transformer

        east, north = np.atleast_2d(np.asarray(points, dtype=np.float64)).T
        latitude, longitude = unproject(self.zone, east, north)
        there = Transformer.from_crs("EPSG:4326", self.crs, always_xy=True).transform(longitude, latitude)
        moved = np.stack(there, axis=1)
        if not np.isfinite(moved).all():
            raise ValueComplaint(
                f"the walk lies outside the grid of the terrain ({self.crs})", "Give another terrain"
            )
        return moved

    def turn_deg(self, east_m: float, north_m: float) -> float:
        """What is added to an azimuth there to make it one of the other grid."""
        foot, head = self.moved([(east_m, north_m), (east_m, north_m + _STEP_M)])
        return turn_deg(0.0, direction_deg(*(head - foot)))
