"""A recorded track as a path on the grid: places along it, and how far it bows from a straight line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid import GridZone, project
from pacewright.ground.local_grid import FARTHEST_M
from pacewright.ground.track import Track

Array = NDArray[np.float64]

MOST_RECORDED: Final = 50_000
"""A longer record is thinned evenly to as many points: 14 hours at a point a second."""


@dataclass(frozen=True, slots=True, eq=False)
class PathPoints:
    """Places on a path; all arrays have one row, or one entry, a place.

    Attributes
    ----------
    arc
        Metres along the path from its start.
    place
        East and north in metres from the path's middle.
    sums
        Integrals of 1, e, n, ee, en, nn along the path from its start to here.
    """

    arc: Array
    place: Array
    sums: Array


@dataclass(frozen=True, slots=True, eq=False)
class TrackPath:
    """A track on the grid, thinned to where it got on.

    Attributes
    ----------
    middle_m
        What was taken from east and north to keep numbers small.
    corners
        The thinned points.
    time_s
        Of the thinned points; not a number where there is none.
    """

    middle_m: Array
    corners: PathPoints
    time_s: Array

    @property
    def length_m(self) -> float:
        """Length of the path."""
        return float(self.corners.arc[-1])

    def at(self, arc: Array) -> PathPoints:
        """The places at distances along the path."""
        arc = np.clip(arc, 0.0, self.length_m)
        corners = self.corners
        before = np.clip(np.searchsorted(corners.arc, arc, side="right") - 1, 0, len(corners.arc) - 2)
        start, end = corners.place[before], corners.place[before + 1]
        run = corners.arc[before + 1] - corners.arc[before]
        share = ((arc - corners.arc[before]) / run)[:, None]
        place = start + share * (end - start)
        return PathPoints(
            arc, place, corners.sums[before] + _sums_of(start, place, arc - corners.arc[before])
        )

    def places(self, arc: Array) -> Array:
        """East and north alone, of distances in any shape."""
        axes = [np.interp(arc, self.corners.arc, self.corners.place[:, axis]) for axis in range(2)]
        return np.stack(axes, axis=-1)

    def time_at(self, arc: Array) -> Array:
        """The times at distances along the path."""
        return np.interp(arc, self.corners.arc, self.time_s)

    def place_at_time(self, time_s: Array) -> Array:
        """East and north at times, from the path's middle."""
        axes = [np.interp(time_s, self.time_s, self.corners.place[:, axis]) for axis in range(2)]
        return np.stack(axes, axis=1)


def lay_path(track: Track, zone: GridZone, step_m: float) -> TrackPath:
    """A track as a path, points left out until it has got on by `step_m`.

    A receiver that lies still wanders about; without thinning that would count as way.

    Raises
    ------
    ValueComplaint
        The track leaves the grid, or never gets on.
    """
    every = -(-len(track.latitude_deg) // MOST_RECORDED)
    east, north = project(zone, track.latitude_deg[::every], track.longitude_deg[::every])
    place = np.stack([east, north], axis=1)
    if not np.isfinite(place).all() or np.ptp(place, axis=0).max() > FARTHEST_M:
        raise ValueComplaint(
            f"the track leaves the {zone}", "Check the track for a swapped latitude and longitude"
        )
    kept = _got_on(place.tolist(), step_m)
    if len(kept) < 2:
        raise ValueComplaint(
            f"the track never gets on by {step_m:g} m", "Give the recorded track of the walk"
        )
    middle = place[kept].mean(axis=0)
    return TrackPath(middle, _corners(place[kept] - middle), track.time_s[::every][kept])


def bow(start: Array, end: Array, start_sums: Array, end_sums: Array) -> Array:
    """The integral of squared distance between path and the straight line of its ends.

    Parameters
    ----------
    start, end
        East and north of the ends, last axis 2; they broadcast.
    start_sums, end_sums
        `PathPoints.sums` of the same, last axis 6.

    Returns
    -------
    Array
        Cubic metres; where the ends are one place, that of the distance from it.
    """
    east, north = start[..., 0], start[..., 1]
    one, e, n, ee, en, nn = np.moveaxis(end_sums - start_sums, -1, 0)
    ee = ee - 2.0 * east * e + east * east * one
    nn = nn - 2.0 * north * n + north * north * one
    en = en - east * n - north * e + east * north * one
    to_east, to_north = end[..., 0] - east, end[..., 1] - north
    chord2 = to_east**2 + to_north**2
    across = to_north**2 * ee - 2.0 * to_east * to_north * en + to_east**2 * nn
    bowed: Array = np.where(chord2 > 1.0, across / np.maximum(chord2, 1.0), ee + nn)
    return np.maximum(bowed, 0.0)


def _got_on(points: list[list[float]], step_m: float) -> list[int]:
    kept, (east, north), step2 = [0], points[0], step_m**2
    for i, (e, n) in enumerate(points):
        if (e - east) ** 2 + (n - north) ** 2 >= step2:
            kept.append(i)
            east, north = e, n
    if kept[-1] != len(points) - 1 and points[-1] != points[kept[-1]]:
        kept.append(len(points) - 1)
    return kept


def _corners(place: Array) -> PathPoints:
    run = np.hypot(*np.diff(place, axis=0).T)
    arc = np.concatenate([[0.0], np.cumsum(run)])
    steps = _sums_of(place[:-1], place[1:], run)
    return PathPoints(arc, place, np.concatenate([np.zeros((1, 6)), np.cumsum(steps, axis=0)]))


def _sums_of(start: Array, end: Array, run: Array) -> Array:
    """The integrals of 1, e, n, ee, en, nn along straight pieces, shape (k, 6)."""
    (ae, an), (be, bn) = start.T, end.T
    return np.stack(
        [
            run,
            run * (ae + be) / 2.0,
            run * (an + bn) / 2.0,
            run * (ae * ae + ae * be + be * be) / 3.0,
            run * (2.0 * ae * an + ae * bn + be * an + 2.0 * be * bn) / 6.0,
            run * (an * an + an * bn + bn * bn) / 3.0,
        ],
        axis=1,
    )
