"""Any grid that has an EPSG code: a place to its metres east and north, and back.

The codes are those of the EPSG dataset, as PROJ carries it. Nothing is fetched: where a change of datum
needs a table that is not there, the plain change is taken, and how good it is is said.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Final

from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid_letters import find_letters

if TYPE_CHECKING:
    from pyproj import CRS, Transformer

WGS84: Final = "EPSG:4326"
_CODE: Final = re.compile(r"EPSG:(\d{4,6})", re.IGNORECASE)
_FAR_DEG: Final = 1.0
"""So far outside the area for which a grid is made, a place is none of it any more."""


@dataclass(frozen=True, slots=True)
class OnGrid:
    """A place on a grid: metres east and north, the convergence there, how good the change of datum is.

    `accuracy_m` is None where nobody states it, `letters` where there are none or their library is missing.
    """

    code: str
    name: str
    east_m: float
    north_m: float
    convergence_deg: float
    accuracy_m: float | None
    letters: str | None = None

    def __str__(self) -> str:
        """Write the place as `parse_place` reads it."""
        return f"{self.code} {self.east_m:.0f} {self.north_m:.0f}"


def check_code(text: str) -> str:
    """The code of a grid in metres, as `EPSG:27700`.

    Raises
    ------
    ValueComplaint
        It is none, or its grid is not in metres east and north.
    """
    match = _CODE.fullmatch(text.strip())
    if match is None:
        raise ValueComplaint(f"{text[:40] or 'nothing'} is not the code of a grid", "Write it as EPSG:27700")
    code = f"EPSG:{match[1]}"
    _crs(code)
    return code


def on_grid(code: str, latitude_deg: float, longitude_deg: float) -> OnGrid:
    """A place of WGS 84 on the grid of a code.

    Raises
    ------
    ValueComplaint
        The code is none of a grid in metres, or the grid does not reach the place.
    """
    from pyproj import Proj

    crs = _crs(code)
    _refuse_far(code, crs, latitude_deg, longitude_deg)
    change = _change(WGS84, code)
    east_m, north_m = change.transform(longitude_deg, latitude_deg)
    if not (math.isfinite(east_m) and math.isfinite(north_m)):
        raise _not_there(code, crs)
    factors = Proj(crs).get_factors(longitude_deg, latitude_deg)
    # Which of several changes of datum holds at a place is known once it is changed.
    stated_m = change.get_last_used_operation().accuracy
    accuracy_m = stated_m if stated_m is not None and stated_m >= 0 else None
    convergence_deg = float(factors.meridian_convergence)
    letters = find_letters(code, east_m, north_m)
    return OnGrid(code, crs.name, float(east_m), float(north_m), convergence_deg, accuracy_m, letters)


def from_any_grid(code: str, east_m: float, north_m: float) -> tuple[float, float]:
    """Latitude and longitude on WGS 84 of a place on the grid of a code.

    Raises
    ------
    ValueComplaint
        As `on_grid`.
    """
    crs = _crs(code)
    longitude_deg, latitude_deg = _change(code, WGS84).transform(east_m, north_m)
    if not (math.isfinite(longitude_deg) and math.isfinite(latitude_deg)):
        raise _not_there(code, crs)
    _refuse_far(code, crs, latitude_deg, longitude_deg)
    return float(latitude_deg), float(longitude_deg)


@lru_cache(maxsize=16)
def _crs(code: str) -> CRS:
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    try:
        crs = CRS.from_user_input(code)
    except CRSError:
        raise ValueComplaint(
            f"{code} is not known", "Look the code of your map's grid up in its margin"
        ) from None
    if not crs.is_projected or any(axis.unit_conversion_factor != 1.0 for axis in crs.axis_info):
        raise ValueComplaint(f"{code} ({crs.name}) is no grid in metres", "Give the code of a grid in metres")
    return crs


@lru_cache(maxsize=16)
def _change(source: str, target: str) -> Transformer:
    from pyproj import Transformer

    return Transformer.from_crs(source, target, always_xy=True)


def _refuse_far(code: str, crs: CRS, latitude_deg: float, longitude_deg: float) -> None:
    area = crs.area_of_use
    if area is None:
        return
    wide = area.east >= area.west
    aside = area.west - _FAR_DEG <= longitude_deg <= area.east + _FAR_DEG
    if not (area.south - _FAR_DEG <= latitude_deg <= area.north + _FAR_DEG) or (wide and not aside):
        raise _not_there(code, crs)


def _not_there(code: str, crs: CRS) -> ValueComplaint:
    area = f", which is for {crs.area_of_use.name.rstrip('.')}" if crs.area_of_use else ""
    return ValueComplaint(
        f"the place lies outside {code} ({crs.name}){area}"[:300], "Check the code and the place"
    )
