"""What speaks for and against a station lying at a place of a track, by itself."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.ground.track_path import TrackPath

Array = NDArray[np.float64]

NEAR_END_M: Final = 20.0
"""As often as not a record begins and ends with the log, within this; else it begins anywhere before
and ends anywhere after (assumed)."""

TURN_WITHIN_M: Final = 30.0
"""The tip of a sharp turn is looked for within this to either side of a station."""

TIME_SD_S: Final = 90.0
"""A time is noted to the minute, and not on the minute (assumed)."""

_ROUGH_AT: Final = 1_000
_MOST_OVERSHOT: Final = 6.0
_MOST_LATE: Final = 100.0


def station_costs(path: TrackPath, arc: Array, time_s: Array) -> Array:
    """What it costs to lay each station at each of its places, shape (n + 1, m).

    Parameters
    ----------
    path, arc
        The track, and how far along it the places lie: shape (n + 1, m), or (m,) where all stations have
        the same places.
    time_s
        Of every station in the track's time, shape (n + 1,); not a number where it is not known.
    """
    overshot = np.minimum(_overshoot_m(path, arc) / _roughness_m(path), _MOST_OVERSHOT) ** 2
    places = np.broadcast_to(arc, (len(time_s), arc.shape[-1]))
    cost = np.broadcast_to(overshot, places.shape).copy()
    cost[0] = _rest_cost(places[0], path.length_m)
    cost[-1] = _rest_cost(path.length_m - places[-1], path.length_m)
    timed = np.flatnonzero(np.isfinite(time_s))
    if timed.size:
        late = (path.time_at(places[timed]) - time_s[timed, None]) / TIME_SD_S
        cost[timed] += np.minimum(late**2, _MOST_LATE)
    return cost


def _roughness_m(path: TrackPath) -> float:
    """How far a track runs to and fro where nobody turns."""
    usual = _overshoot_m(path, np.linspace(0.0, path.length_m, _ROUGH_AT))
    return max(2.0, float(np.median(usual)) / 0.6745)


def _overshoot_m(path: TrackPath, arc: Array) -> Array:
    """How far short of the tip of a sharp turn places on the track lie; the shape of `arc`.

    Where the walker turns back the track runs on to the tip and comes back beside itself: it bows from
    neither leg, and short of the tip both legs are too short.
    """
    here = path.places(arc)
    overshoot = np.zeros(arc.shape)
    for side in (1.0, -1.0):
        came = here - path.places(arc - side * TURN_WITHIN_M)
        came /= np.maximum(np.hypot(came[..., 0], came[..., 1]), 1.0)[..., None]
        farthest = end = np.zeros(arc.shape)
        for on in np.linspace(0.0, TURN_WITHIN_M, 7)[1:]:
            end = ((path.places(arc + side * on) - here) * came).sum(axis=-1)
            farthest = np.maximum(farthest, end)
        overshoot = np.maximum(overshoot, farthest - np.maximum(end, 0.0))
    return overshoot


def _rest_cost(rest: Array, length_m: float) -> Array:
    """What it costs to leave so much of the track before the start, or after the end."""
    near = np.exp(-((rest / NEAR_END_M) ** 2) / 2.0) * length_m / NEAR_END_M
    cost: Array = -2.0 * np.log((1.0 + near) / (1.0 + length_m / NEAR_END_M))
    return cost
