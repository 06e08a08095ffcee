"""What is asked of a plan, and what its map holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import AzimuthReference
from pacewright.ground.landmarks import STREAM_KM2
from pacewright.ground.terrain import Bounds, Terrain
from pacewright.route.planning.figures import SEEN_M
from pacewright.route.planning.lines import Line
from pacewright.route.planning.obstacles import STEEPEST_DEG
from pacewright.route.travel_cost import RuleName

Array = NDArray[np.float64]
Place = tuple[float, float]

_ROUND_ABOUT_M: Final = 2000.0


@dataclass(frozen=True, slots=True)
class Named:
    """A place with its name, metres east and north on the plan's grid."""

    name: str
    place_m: Place


@dataclass(frozen=True, slots=True, eq=False)
class MapHeld:
    """What the map of a plan holds, on one grid.

    Attributes
    ----------
    terrain
        Heights on square cells; None without a map.
    lines, points
        The user's own.
    barred
        Areas to keep off: name, and corners, shape (n, 2).
    """

    terrain: Terrain | None
    lines: tuple[Line, ...] = ()
    points: tuple[Named, ...] = ()
    barred: tuple[tuple[str, Array], ...] = ()


@dataclass(frozen=True, slots=True)
class PlanNorth:
    """The north that a plan is dialled by: its name, what is added to make it the grid's, and how sure."""

    name: AzimuthReference | str = "magnetic"
    added_deg: float = 0.0
    sd_deg: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class PlanAsked:
    """What is asked of a plan.

    Attributes
    ----------
    start, goal, via
        From where, to where, and through which places in turn.
    start_spread
        Variance east, covariance, variance north of the start; None for one who stands at it.
    start_mistake
        The chance of a mistake in the log that says where the start is; None where none is likely.
    miss
        The chance of missing that is allowed.
    most_min
        Minutes that are allowed, rests included; the chance is then the least there is.
    north
        What is dialled by.
    rule, rest_min
        How the time is reckoned, and minutes of rest in an hour.
    seen_m
        How far a sight at the end of a leg is seen.
    steepest_deg, with_level, with_streams, with_ridges, stream_km2
        What of the terrain is kept off, and what lines are taken from it.
    """

    start: Named
    goal: Named
    via: tuple[Named, ...] = ()
    start_spread: tuple[float, float, float] | None = None
    start_mistake: float | None = None
    miss: float = 0.05
    most_min: float | None = None
    north: PlanNorth = PlanNorth()
    rule: RuleName = "naismith"
    rest_min: float = 10.0
    seen_m: float = SEEN_M
    steepest_deg: float = STEEPEST_DEG
    with_level: bool = True
    with_streams: bool = True
    with_ridges: bool = False
    stream_km2: float = STREAM_KM2


def rest_share(asked: PlanAsked) -> float:
    """The time with rests over the time without."""
    return 60.0 / (60.0 - asked.rest_min)


def ground_bounds(places: Sequence[Place], beyond_m: float | None = None) -> Bounds:
    """West, south, east and north of the ground that a plan between places may use."""
    points = np.array(places, dtype=np.float64)
    low, high = points.min(axis=0), points.max(axis=0)
    room = max(_ROUND_ABOUT_M, 0.35 * float(np.hypot(*(high - low)))) if beyond_m is None else beyond_m
    return float(low[0] - room), float(low[1] - room), float(high[0] + room), float(high[1] + room)
