"""The grids of the world: UTM zones and the polar grids, to and from latitude and longitude.

With grid convergence and scale. All on the WGS 84 ellipsoid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.exceptions import ValueComplaint

if TYPE_CHECKING:
    from pyproj import Proj

Hemisphere = Literal["N", "S"]

BANDS: Final = "CDEFGHJKLMNPQRSTUVWX"
"""Latitude bands of 8 degrees from 80 south; the last one, X, has 12."""

UTM_SOUTH_DEG: Final = -80.0
UTM_NORTH_DEG: Final = 84.0
LEAST_EAST_M: Final = 100_000.0
MOST_EAST_M: Final = 900_000.0
MOST_NORTH_M: Final = 10_000_000.0

LEAST_POLAR_M: Final = 600_000.0
MOST_POLAR_M: Final = 3_400_000.0
"""A polar grid is used from 84 north or 80 south to the pole, and read as far as this."""

_BEYOND_DEG: Final = 1.0
_ASIDE_DEG: Final = 12.0
"""A UTM grid may be carried on over its northern and southern end, and to either side of its middle, by
as much; the widest zone has 6 degrees to a side."""


@dataclass(frozen=True, slots=True)
class GridZone:
    """A grid: a UTM zone from 1 to 60 in one hemisphere, or zone 0, the polar grid."""

    number: int
    hemisphere: Hemisphere

    def __post_init__(self) -> None:
        """Refuse a zone that is not there."""
        if not 0 <= self.number <= 60:
            raise ValueComplaint(f"{self.number} is not a UTM zone", "Give a zone from 1 to 60")

    @property
    def is_polar(self) -> bool:
        """Tell a polar grid from a UTM zone."""
        return self.number == 0

    @property
    def central_deg(self) -> float:
        """Longitude of the zone's central meridian, where grid north is true north."""
        return 0.0 if self.is_polar else 6.0 * self.number - 183.0

    def __str__(self) -> str:
        """Write the zone as it is said: `UTM zone 38 north`."""
        side = "north" if self.hemisphere == "N" else "south"
        return f"polar grid {side}" if self.is_polar else f"UTM zone {self.number} {side}"


@dataclass(frozen=True, slots=True)
class GridPoint:
    """A place on a grid, in metres east and north of the grid's own origin."""

    zone: GridZone
    east_m: float
    north_m: float


@dataclass(frozen=True, slots=True)
class GridTurn:
    """How a grid lies at a place.

    Attributes
    ----------
    convergence_deg
        From true north to grid north, east positive.
    scale
        A metre on the ground is as many metres on the grid.
    """

    convergence_deg: float
    scale: float


def refuse_no_place(latitude_deg: float, longitude_deg: float) -> None:
    """Refuse what is no latitude and longitude.

    Raises
    ------
    ValueComplaint
        One of them is not a number or lies off the Earth.
    """
    if not -90.0 <= latitude_deg <= 90.0:
        raise ValueComplaint(f"{latitude_deg:g} is not a latitude", "Write -90 to 90, north positive")
    if not -180.0 <= longitude_deg <= 360.0:
        raise ValueComplaint(f"{longitude_deg:g} is not a longitude", "Write -180 to 180, east positive")


def signed_longitude(longitude_deg: float) -> float:
    """The same longitude from -180 up to, but not including, 180.

    >>> signed_longitude(190), signed_longitude(180), signed_longitude(-357)
    (-170.0, -180.0, 3.0)
    """
    if -180.0 <= longitude_deg < 180.0:
        return float(longitude_deg)
    signed = math.remainder(longitude_deg, 360.0)
    return -180.0 if signed == 180.0 else signed


def zone_of(latitude_deg: float, longitude_deg: float) -> GridZone:
    """The grid a place belongs to, with the wider zones of Norway and Svalbard.

    Raises
    ------
    ValueComplaint
        There is no such place.

    References
    ----------
    The Universal Grids, DMA TM 8358.1 (1990), the zones of UTM and UPS and their exceptions 32V, 31X,
    33X, 35X, 37X (from memory; compared with GeographicLib's GeoConvert).

    Examples
    --------
    >>> str(zone_of(37.4521, -119.2984)), str(zone_of(60, 4)), str(zone_of(78, 15)), str(zone_of(-85, 0))
    ('UTM zone 11 north', 'UTM zone 32 north', 'UTM zone 33 north', 'polar grid south')
    """
    refuse_no_place(latitude_deg, longitude_deg)
    hemisphere: Hemisphere = "S" if latitude_deg < 0 else "N"
    if not UTM_SOUTH_DEG <= latitude_deg < UTM_NORTH_DEG:
        return GridZone(0, hemisphere)
    longitude = signed_longitude(longitude_deg)
    number = min(60, math.floor((longitude + 180.0) / 6.0) + 1)
    if 56.0 <= latitude_deg < 64.0 and 3.0 <= longitude < 12.0:
        number = 32
    elif latitude_deg >= 72.0 and 0.0 <= longitude < 42.0:
        number = 31 + 2 * math.floor((longitude + 3.0) / 12.0)
    return GridZone(number, hemisphere)


def zone_longitudes(number: int, band: str) -> tuple[float, float] | None:
    """The western and eastern edge of a UTM zone in one band; None where there is no such zone.

    >>> zone_longitudes(32, "V"), zone_longitudes(31, "V"), zone_longitudes(32, "X")
    ((3.0, 12.0), (0.0, 3.0), None)
    """
    west = 6.0 * number - 186.0
    if band == "V" and number in (31, 32):
        return (0.0, 3.0) if number == 31 else (3.0, 12.0)
    if band == "X" and 31 <= number <= 37:
        edges = {31: (0.0, 9.0), 33: (9.0, 21.0), 35: (21.0, 33.0), 37: (33.0, 42.0)}
        return edges.get(number)
    return west, west + 6.0


def band_of(latitude_deg: float) -> str:
    """The letter of the latitude band of a place within the reach of UTM.

    >>> band_of(37.4521), band_of(-80), band_of(83.9), band_of(0)
    ('S', 'C', 'X', 'N')
    """
    return BANDS[min(19, max(0, math.floor((latitude_deg + 80.0) / 8.0)))]


def band_latitudes(band: str) -> tuple[float, float]:
    """The southern and northern edge of a latitude band.

    >>> band_latitudes("S"), band_latitudes("X")
    ((32.0, 40.0), (72.0, 84.0))
    """
    south = 8.0 * BANDS.index(band) - 80.0
    return south, UTM_NORTH_DEG if band == "X" else south + 8.0


def to_grid(latitude_deg: float, longitude_deg: float, zone: GridZone | None = None) -> GridPoint:
    """A place on its own grid, or on the grid asked for.

    Raises
    ------
    ValueComplaint
        There is no such place, or it lies too far outside the grid asked for.

    Examples
    --------
    >>> point = to_grid(37.4521, -119.2984)
    >>> str(point.zone), round(point.east_m, 2), round(point.north_m, 2)
    ('UTM zone 11 north', 296700.22, 4147507.58)
    """
    refuse_no_place(latitude_deg, longitude_deg)
    zone = zone or zone_of(latitude_deg, longitude_deg)
    if not _within_reach(zone, latitude_deg, longitude_deg):
        raise ValueComplaint(
            f"{latitude_deg:g} {longitude_deg:g} lies too far outside the {zone}", "Leave the zone out"
        )
    east, north = _projection(zone)(longitude_deg, latitude_deg)
    return GridPoint(zone, float(east), float(north))


def from_grid(point: GridPoint) -> tuple[float, float]:
    """Latitude and longitude of a place on a grid, in degrees.

    Raises
    ------
    ValueComplaint
        The grid does not reach that far.
    """
    _refuse_off_grid(point)
    longitude, latitude = _projection(point.zone)(point.east_m, point.north_m, inverse=True)
    if not (math.isfinite(latitude) and _within_reach(point.zone, latitude, longitude)):
        raise ValueComplaint(
            f"{point.east_m:.0f} {point.north_m:.0f} lies outside the {point.zone}",
            "Check the zone, and that the east number comes before the north one",
        )
    return float(latitude), signed_longitude(float(longitude))


def project(
    zone: GridZone, latitude_deg: ArrayLike, longitude_deg: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Many places on one grid, east and north in metres; infinite where the grid does not reach."""
    longitude, latitude = (np.asarray(given, dtype=np.float64) for given in (longitude_deg, latitude_deg))
    east, north = _projection(zone)(longitude, latitude)
    return east, north


def unproject(
    zone: GridZone, east_m: ArrayLike, north_m: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Latitudes and longitudes of many places on one grid; infinite where the grid does not reach."""
    east, north = (np.asarray(given, dtype=np.float64) for given in (east_m, north_m))
    longitude, latitude = _projection(zone)(east, north, inverse=True)
    return latitude, longitude


def grid_turn(latitude_deg: float, longitude_deg: float, zone: GridZone | None = None) -> GridTurn:
    """The grid convergence and the scale at a place, on its own grid or on the one asked for.

    Raises
    ------
    ValueComplaint
        As `to_grid`.

    Examples
    --------
    >>> turn = grid_turn(37.4521, -119.2984)
    >>> round(turn.convergence_deg, 5), round(turn.scale, 6)
    (-1.39813, 1.000109)
    """
    point = to_grid(latitude_deg, longitude_deg, zone)
    if point.zone.is_polar:
        # At the pole itself a derivative has no direction, and the rule is exact everywhere.
        north_up = point.zone.hemisphere == "N"
        convergence = signed_longitude(longitude_deg if north_up else -longitude_deg)
        latitude = max(-89.999999, min(89.999999, latitude_deg))
        return GridTurn(
            convergence, _projection(point.zone).get_factors(longitude_deg, latitude).parallel_scale
        )
    factors = _projection(point.zone).get_factors(longitude_deg, latitude_deg)
    return GridTurn(float(factors.meridian_convergence), float(factors.meridional_scale))


def _within_reach(zone: GridZone, latitude_deg: float, longitude_deg: float) -> bool:
    north = latitude_deg if zone.hemisphere == "N" else -latitude_deg
    if zone.is_polar:
        return north >= 75.0
    # UTM as the poles see it: a zone in the wrong hemisphere would have northings below 0.
    limit = UTM_NORTH_DEG if zone.hemisphere == "N" else -UTM_SOUTH_DEG
    aside = abs(signed_longitude(longitude_deg - zone.central_deg))
    return -1e-9 <= north <= limit + _BEYOND_DEG and aside <= _ASIDE_DEG


def _refuse_off_grid(point: GridPoint) -> None:
    if point.zone.is_polar:
        east, north = (LEAST_POLAR_M, MOST_POLAR_M), (LEAST_POLAR_M, MOST_POLAR_M)
    else:
        east, north = (LEAST_EAST_M, MOST_EAST_M), (0.0, MOST_NORTH_M)
    for value, (least, most), what in ((point.east_m, east, "east"), (point.north_m, north, "north")):
        if not least <= value <= most:
            raise ValueComplaint(
                f"{value:.0f} is not a number {what} on a {'polar' if point.zone.is_polar else 'UTM'} grid",
                f"Write {what} from {least:.0f} to {most:.0f} metres, east before north",
            )


def _projection(zone: GridZone) -> Proj:
    # Made anew each time (0.2 ms): these objects must not be shared between threads.
    from pyproj import Proj

    south = " +south" if zone.hemisphere == "S" else ""
    kind = "+proj=ups" if zone.is_polar else f"+proj=utm +zone={zone.number}"
    return Proj(f"{kind}{south} +ellps=WGS84")
