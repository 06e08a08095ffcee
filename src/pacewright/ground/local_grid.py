"""A local grid: metres east and north from a known place, along any north."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pacewright.core.compass import normal_azimuth, unit_vectors
from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid import refuse_no_place, signed_longitude

if TYPE_CHECKING:
    from pyproj import Geod

FARTHEST_M: Final = 1_000_000.0
"""Beyond it a flat figure is no picture of the ground."""


@dataclass(frozen=True, slots=True)
class LocalGrid:
    """Metres east and north from an origin, distance and azimuth from it being those of the ground.

    Attributes
    ----------
    latitude_deg, longitude_deg
        Where local 0 0 lies.
    turn_deg
        From true north to the grid's own north, east positive: the declination where the grid follows
        a compass, the convergence where it follows a map's grid, 0 where it follows true north.
    """

    latitude_deg: float
    longitude_deg: float
    turn_deg: float = 0.0

    def __post_init__(self) -> None:
        """Refuse an origin off the Earth."""
        refuse_no_place(self.latitude_deg, self.longitude_deg)
        if not math.isfinite(self.turn_deg):
            raise ValueComplaint(f"{self.turn_deg} is not an angle", "Give a number of degrees")

    def place(self, east_m: float, north_m: float) -> tuple[float, float]:
        """Latitude and longitude of a place on the grid, in degrees.

        Raises
        ------
        ValueComplaint
            It lies more than 1000 km away.
        """
        distance_m = math.hypot(east_m, north_m)
        self._refuse_far(distance_m)
        azimuth_deg = normal_azimuth(math.degrees(math.atan2(east_m, north_m)) + self.turn_deg)
        longitude, latitude, _ = _ellipsoid().fwd(
            self.longitude_deg, self.latitude_deg, azimuth_deg, distance_m
        )
        return float(latitude), signed_longitude(float(longitude))

    def offsets_m(self, latitude_deg: float, longitude_deg: float) -> tuple[float, float]:
        """How far east and north on the grid a place lies.

        Raises
        ------
        ValueComplaint
            There is no such place, or it lies more than 1000 km away.
        """
        refuse_no_place(latitude_deg, longitude_deg)
        azimuth_deg, _, distance_m = _ellipsoid().inv(
            self.longitude_deg, self.latitude_deg, longitude_deg, latitude_deg
        )
        self._refuse_far(distance_m)
        east, north = unit_vectors(azimuth_deg - self.turn_deg)
        return distance_m * float(east), distance_m * float(north)

    def _refuse_far(self, distance_m: float) -> None:
        if not distance_m <= FARTHEST_M:
            raise ValueComplaint(
                f"{distance_m / 1000:.0f} km is too far for a local grid",
                "Give a place within 1000 km of its origin",
            )


def _ellipsoid() -> Geod:
    from pyproj import Geod

    return Geod(ellps="WGS84")
