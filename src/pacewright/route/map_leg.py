"""A leg by map: from one place to another, in azimuth, metres, own paces and minutes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pacewright.core.compass import AzimuthReference, back_azimuth, direction_deg
from pacewright.core.pace.tally import Tally, tally_of_count, whole_count
from pacewright.core.pace.walker import Slope, Walker
from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid_text import Position
from pacewright.ground.local_grid import LocalGrid
from pacewright.ground.north import NorthRelation, convert_azimuth
from pacewright.route.travel_cost import LONGEST_WAY_M, RuleName, even_pieces, walking_time_h

LegNorth = Literal["magnetic", "true", "grid", "local"]


@dataclass(frozen=True, slots=True)
class PacedLength:
    """A length as it is walked.

    Attributes
    ----------
    metres
        On the map.
    count, tally
        In the walker's paces, and on the cord; None without a pace count.
    minutes
        By the rule asked for, without rests.
    """

    metres: float
    count: int | None
    tally: Tally | None
    minutes: float


@dataclass(frozen=True, slots=True)
class MapLeg:
    """A leg from one place to another: its azimuth by a north, and its length as it is walked."""

    azimuth_deg: float
    north: LegNorth
    length: PacedLength

    @property
    def back_azimuth_deg(self) -> float:
        """The azimuth from its end to its beginning, by the same north."""
        return back_azimuth(self.azimuth_deg)


@dataclass(frozen=True, slots=True)
class Walking:
    """How a leg is walked: who, over what, with how much climb, and by which rule it is timed.

    Attributes
    ----------
    walker, ground, slope
        Whose paces, and the class of the pace table.
    climb_m, descent_m
        Metres up and down on each leg.
    rule, off_path
        As in `walking_time_h`.
    is_bead_of_metres
        A bead of the cord is a hundred metres by the pace count, and not a hundred paces.
    """

    walker: Walker
    ground: str | None = None
    slope: Slope | None = None
    climb_m: float = 0.0
    descent_m: float = 0.0
    rule: RuleName = "naismith"
    off_path: bool = False
    is_bead_of_metres: bool = False

    @property
    def per_100_m(self) -> float | None:
        """Paces to a hundred metres on this ground; None without a pace count."""
        if self.walker.per_100_m is None:
            return None
        one = self.walker.pace_class(self.ground, self.slope)
        return self.walker.per_100_m if one is None else one.per_100_m


def paced_length(metres: float, walking: Walking) -> PacedLength:
    """A length in the walker's own paces, on the cord, and in minutes.

    Raises
    ------
    ValueComplaint
        The length is none.
    MissingComplaint
        The pace table lacks the ground.

    Examples
    --------
    >>> told = paced_length(350, Walking(Walker(per_100_m=60.0)))
    >>> told.count, told.tally, round(told.minutes)
    (210, Tally(thousands=0, hundreds=2, paces=10), 4)
    """
    if not 0 <= metres <= LONGEST_WAY_M:
        raise ValueComplaint(f"{metres:g} metres is no length to walk", f"Give 0 to {LONGEST_WAY_M:.0f}")
    per_100_m = walking.per_100_m
    count = None if per_100_m is None else whole_count(metres * per_100_m / 100)
    tally = None
    if count is not None and per_100_m is not None:
        tally = tally_of_count(count, per_100_m if walking.is_bead_of_metres else 100.0)
    pieces = even_pieces(metres, walking.climb_m, walking.descent_m)
    hours = walking_time_h(*pieces, rule=walking.rule, off_path=walking.off_path).sum()
    return PacedLength(metres, count, tally, 60.0 * float(hours))


def metres_of(count: float, walking: Walking) -> float:
    """The metres that so many paces are on this ground.

    Raises
    ------
    MissingComplaint
        The walker has no pace count.
    """
    return count * 100.0 / (walking.per_100_m or 100.0 / walking.walker.pace_m())


def map_leg(
    here: Position, there: Position, walking: Walking, norths: NorthRelation, north: AzimuthReference
) -> MapLeg:
    """The leg between two places of the Earth.

    Parameters
    ----------
    here, there
        Where it begins and ends.
    walking
        How it is walked.
    norths
        The three norths where it begins.
    north
        The north that its azimuth is counted from.

    Raises
    ------
    Complaint
        The places are the same, or too far apart for a leg.

    References
    ----------
    Distance and azimuth are those of the geodesic on WGS 84 (C. F. F. Karney, Algorithms for geodesics,
    Journal of Geodesy 87, 2013, section 4), as PROJ computes them.
    """
    start = LocalGrid(here.latitude_deg, here.longitude_deg)
    east, north_m = start.offsets_m(there.latitude_deg, there.longitude_deg)
    true_deg = _direction(east, north_m)
    azimuth_deg = convert_azimuth(true_deg, "true", north, norths).to_deg
    return MapLeg(azimuth_deg, north, paced_length(math.hypot(east, north_m), walking))


def local_leg(here: tuple[float, float], there: tuple[float, float], walking: Walking) -> MapLeg:
    """The leg between two places in metres east and north, its azimuth by their own north.

    Examples
    --------
    >>> leg = local_leg((0, 0), (300, 400), Walking(Walker(per_100_m=62.5)))
    >>> round(leg.azimuth_deg, 1), leg.length.metres, leg.length.count
    (36.9, 500.0, 313)
    """
    east, north_m = there[0] - here[0], there[1] - here[1]
    return MapLeg(_direction(east, north_m), "local", paced_length(math.hypot(east, north_m), walking))


def _direction(east: float, north_m: float) -> float:
    if math.hypot(east, north_m) < 0.01:
        raise ValueComplaint("a leg from a place to itself has no azimuth", "Give two places that differ")
    return direction_deg(east, north_m)
