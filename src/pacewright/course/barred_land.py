"""Danger areas and water: which legs a learner may not be sent on, with room for holding an azimuth badly.

A leg is judged by the corridor that an ordinary walker keeps to, which widens as the leg goes on and reaches
beyond its end: a straight line that just clears a cliff does not clear it for the one who walks it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pacewright.core.pace.walker import Walker
from pacewright.core.way.reckoning import walked_turn_sd_deg
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]
Place = tuple[float, float]

LEAST_CORNERS: Final = {True: 2, False: 3}


@dataclass(frozen=True, slots=True)
class BarredArea:
    """A danger area or water that no leg may cross.

    Attributes
    ----------
    name
        What it is called.
    corners_m
        East and north of its corners in order, in metres of the course; the last joins the first.
    is_line
        True for a line that must not be crossed (a stream, a road): the last corner then joins nothing.
    """

    name: str
    corners_m: tuple[Place, ...]
    is_line: bool = False

    def __post_init__(self) -> None:
        if not np.isfinite(np.array(self.corners_m, dtype=np.float64)).all():
            raise ValueComplaint(
                f"a corner of {self.name or 'a danger area'} is not a finite place", "Write plain numbers"
            )
        if len(set(self.corners_m)) < LEAST_CORNERS[self.is_line]:
            raise ValueComplaint(
                f"{self.name or 'a danger area'} has {len(set(self.corners_m))} different corners",
                "Give an area at least three and a line at least two",
            )

    def sides_m(self) -> tuple[Array, Array]:
        """Where every side begins and ends, two arrays of shape (n, 2)."""
        corners = np.array(self.corners_m, dtype=np.float64)
        if self.is_line:
            return corners[:-1], corners[1:]
        return corners, np.roll(corners, -1, axis=0)


@dataclass(frozen=True, slots=True)
class Corridor:
    """How wide a strip a leg needs.

    Attributes
    ----------
    clearance_m
        Kept on all sides, also by the posts.
    spread
        By how much the strip widens to each side, metres for each metre walked.
    beyond
        How far it reaches beyond the end of the leg, as a part of its length.
    """

    clearance_m: float
    spread: float
    beyond: float


def corridor_for(walker: Walker, clearance_m: float, drift_sds: float) -> Corridor:
    """The corridor that a walker keeps to.

    Parameters
    ----------
    walker
        How azimuths and counts scatter; the bias of the compass and of the pace count come in as well.
    clearance_m
        Kept beside all scatter.
    drift_sds
        How many standard deviations of drift it holds: 2 hold about 95 walks in 100 to either side, 0
        takes the walker to be perfect.
    """
    turn_deg = math.hypot(walked_turn_sd_deg(walker), walker.compass.bias_sd_deg)
    length_pct = math.hypot(walker.count.count_sd_pct, walker.count.scale_sd_pct)
    most_deg = min(drift_sds * turn_deg, 80.0)
    return Corridor(clearance_m, math.tan(math.radians(most_deg)), drift_sds * length_pct / 100.0)


def crosses(start_m: Place, end_m: Place, corridor: Corridor, area: BarredArea) -> bool:
    """Whether the corridor of a leg touches a barred area.

    Examples
    --------
    >>> pond = BarredArea("pond", ((40, 10), (60, 10), (60, 30), (40, 30)))
    >>> [crosses((0, 0), (100, 0), Corridor(clearance_m, 0, 0), pond) for clearance_m in (5, 15)]
    [False, True]
    """
    strip = _strip(np.array(start_m), np.array(end_m), corridor)
    begins, ends = area.sides_m()
    strip_ends = np.roll(strip, -1, axis=0)
    if _any_meet(strip, strip_ends, begins, ends):
        return True
    # No side of the one meets a side of the other: one lies wholly in the other, or they are apart.
    if _inside(begins[:1], strip, strip_ends)[0]:
        return True
    return not area.is_line and bool(_inside(strip[:1], begins, ends)[0])


def distance_to(places_m: ArrayLike, area: BarredArea) -> Array:
    """How far places lie from a barred area, 0 inside it; shape (n,)."""
    places = np.atleast_2d(np.asarray(places_m, dtype=np.float64))
    begins, ends = area.sides_m()
    nearest = distance_to_legs(places, begins, ends).min(axis=1)
    if area.is_line:
        return np.asarray(nearest, dtype=np.float64)
    return np.where(_inside(places, begins, ends), 0.0, nearest)


def distance_to_legs(places: Array, begins: Array, ends: Array) -> Array:
    """How far n places lie from m straight lines between two points, shape (n, m)."""
    run = ends - begins
    squared = np.maximum((run**2).sum(axis=1), 1e-300)
    apart = places[:, None, :] - begins[None, :, :]
    along = np.clip((apart * run).sum(axis=2) / squared, 0.0, 1.0)
    off = apart - along[:, :, None] * run
    return np.asarray(np.hypot(off[..., 0], off[..., 1]), dtype=np.float64)


def first_crossed(
    start_m: Place, end_m: Place, corridor: Corridor, areas: Sequence[BarredArea]
) -> BarredArea | None:
    """The first of the areas that the corridor of a leg touches, or None."""
    return next((area for area in areas if crosses(start_m, end_m, corridor, area)), None)


def enters(here_m: Array, to_m: Array, areas: Sequence[BarredArea]) -> NDArray[np.bool_]:
    """Which of n straight ways come into an area or cross a line, shape (n,).

    Examples
    --------
    >>> pond = BarredArea("pond", ((40, 10), (60, 10), (60, 30), (40, 30)))
    >>> enters(np.array([[0.0, 20.0], [0.0, 0.0]]), np.array([[50.0, 20.0], [100.0, 0.0]]), (pond,)).tolist()
    [True, False]
    """
    found = np.zeros(len(here_m), dtype=bool)
    least, most = np.minimum(here_m, to_m), np.maximum(here_m, to_m)
    for area in areas:
        begins, ends = area.sides_m()
        corners = np.array(area.corners_m, dtype=np.float64)
        near = ((least <= corners.max(axis=0)) & (most >= corners.min(axis=0))).all(axis=1) & ~found
        if not near.any():
            continue
        here, to = here_m[near], to_m[near]
        meets = _meet(here, to, begins, ends).any(axis=1)
        found[near] = meets if area.is_line else meets | _inside(to, begins, ends)
    return found


def _strip(start: Array, end: Array, corridor: Corridor) -> Array:
    """The four corners of a corridor, shape (4, 2)."""
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    across = np.array([along[1], -along[0]])
    keep = corridor.clearance_m
    far = length * (1.0 + corridor.beyond) + keep
    wide = keep + corridor.spread * far
    near_end, far_end = start - keep * along, start + far * along
    return np.array(
        [near_end - keep * across, near_end + keep * across, far_end + wide * across, far_end - wide * across]
    )


def _any_meet(a: Array, b: Array, c: Array, d: Array) -> bool:
    """Whether any line from a to b meets or touches one from c to d."""
    return bool(_meet(a, b, c, d).any())


def _meet(a: Array, b: Array, c: Array, d: Array) -> NDArray[np.bool_]:
    """Which of n lines from a to b meet or touch which of m lines from c to d, shape (n, m)."""
    a, b, c, d = a[:, None], b[:, None], c[None], d[None]
    boxes = np.logical_and(np.minimum(a, b) <= np.maximum(c, d), np.minimum(c, d) <= np.maximum(a, b)).all(
        axis=2
    )
    straddle = (_side(a, b, c) * _side(a, b, d) <= 0) & (_side(c, d, a) * _side(c, d, b) <= 0)
    return np.asarray(boxes & straddle, dtype=np.bool_)


def _side(a: Array, b: Array, point: Array) -> Array:
    turn: Array = np.sign(
        (b[..., 0] - a[..., 0]) * (point[..., 1] - a[..., 1])
        - (b[..., 1] - a[..., 1]) * (point[..., 0] - a[..., 0])
    )
    return turn


def _inside(places: Array, begins: Array, ends: Array) -> NDArray[np.bool_]:
    """Which places lie inside a ring: a line to the east crosses it an odd number of times."""
    east, north = places[:, :1], places[:, 1:]
    spans = (begins[:, 1] > north) != (ends[:, 1] > north)
    rise = np.where(ends[:, 1] == begins[:, 1], 1.0, ends[:, 1] - begins[:, 1])
    meets_at = begins[:, 0] + (north - begins[:, 1]) * (ends[:, 0] - begins[:, 0]) / rise
    odd: NDArray[np.bool_] = (spans & (east < meets_at)).sum(axis=1) % 2 == 1
    return odd
