"""Which bearings an adjustment can use, and about where the things seen lie."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.network import Solution
from pacewright.core.adjust.network_equations import Network, map_lever, turn_and_scale
from pacewright.core.adjust.network_setup import Setup, is_unknown, unknown_landmarks
from pacewright.core.compass import unit_vectors
from pacewright.core.way.observations import LEAST_STATIONS, Bearing, Observations

Array = NDArray[np.float64]

LEAST_SPREAD: Final = 1e-4
"""Bearings to a landmark of unknown place must part by about half a degree (its square in radians is
this) to say where it lies."""


CLEAR_OF: Final = 2.0
"""A bearing is of use where its target lies further off than so many standard deviations of the station."""


GONE: Final = 100.0
"""A landmark so many times further off than the whole walk reaches is not placed by its bearings."""


DRAWN_IN: Final = 0.05
"""A bearing whose range shrinks to less than this share has drawn its station into what it looks at."""


def find_seen(
    observations: Observations, place: Array
) -> tuple[Observations, dict[str, tuple[float, float]]]:
    """About where the landmarks of unknown place lie, without those whose bearings do not meet.

    Parameters
    ----------
    observations
        All observations.
    place
        Every station as far as it is known without bearings, shape (n + 1, 2).
    """
    seen, said = {}, []
    for name in unknown_landmarks(observations):
        bearings = [b for b in observations.bearings if b.name == name]
        where = _meeting(bearings, place)
        if where is None:
            said.append(_do_not_meet(name))
        else:
            seen[name] = where
    lost = set(unknown_landmarks(observations)) - seen.keys()
    kept = tuple(b for b in observations.bearings if b.name not in lost)
    return replace(observations, bearings=kept, unused=(*observations.unused, *said)), seen


def leave_out_near(
    observations: Observations, setup: Setup, rough: Solution, seen: Mapping[str, tuple[float, float]]
) -> Observations:
    """Leave out bearings to what is so near that the station may as well lie on its other side.

    Parameters
    ----------
    observations
        All observations.
    setup, rough
        The log adjusted without its bearings.
    seen
        About where the landmarks of unknown place lie.
    """
    if not observations.bearings:
        return observations
    junctions = setup.network.chains.junctions
    figure = np.concatenate([np.zeros((1, 2)), rough.figure])
    origin = figure[setup.network.origin_node + 1]
    own = np.searchsorted(junctions, [b.station for b in observations.bearings])
    target = np.searchsorted(junctions, [b.target_station or 0 for b in observations.bearings])
    covariance = rough.difference_covariance(own - 1, target - 1)
    dropped, said = [], []
    for k, bearing in enumerate(observations.bearings):
        here, spread = figure[own[k]], covariance[k]
        if bearing.target_station is not None:
            towards = figure[target[k]] - here
        elif bearing.landmark is None:
            towards = np.array(seen[bearing.name]) - here
        else:
            towards, of_landmark = _known_landmark(bearing.landmark, observations.origin_sd, rough)
            towards = towards + origin
            towards, spread = towards - here, spread + of_landmark
        if not _clear(towards, spread):
            dropped.append(bearing)
            said.append(
                f"The bearing to {bearing.name} from station {bearing.station} is not used: the station is "
                "not sure enough to tell on which side of it that lies."
            )
    return leave_out(observations, dropped, said)


def leave_out_gone(
    observations: Observations, setup: Setup, solution: Solution, begun: Array
) -> Observations:
    """Leave out bearings that have lost their meaning in the solution.

    A landmark of unknown place may have gone off into the distance: its bearings run parallel. A station
    may have been drawn into what it looks at: any direction fits there.

    Parameters
    ----------
    observations
        All observations; given back as they are where nothing is lost.
    setup, solution
        The log adjusted with them.
    begun
        Where the nodes were before, shape (nodes, 2).
    """
    network = setup.network
    far = GONE * (1.0 + float(np.abs(network.chains.legs.place).max()))
    gone = [
        name
        for name in unknown_landmarks(observations)
        if np.hypot(*solution.figure[setup.node_of_landmark[name]]) > far
    ]
    dropped = [one for one in observations.bearings if one.name in gone]
    said = [_do_not_meet(name) for name in gone]
    for k in np.flatnonzero(_ranges(network, solution.figure) < DRAWN_IN * _ranges(network, begun)):
        if observations.bearings[k] not in dropped:
            dropped.append(observations.bearings[k])
            said.append(does_not_settle(observations.bearings[k]))
    return leave_out(observations, dropped, said) if dropped else observations


def _ranges(network: Network, figure: Array) -> Array:
    at = np.concatenate([figure, np.zeros((1, 2))])
    ranges: Array = np.hypot(*(at[network.bearing_nodes[:, 1]] - at[network.bearing_nodes[:, 0]]).T)
    return ranges


def does_not_settle(bearing: Bearing) -> str:
    """Say that a bearing is left out because no one figure goes with it."""
    return (
        f"The bearing to {bearing.name} from station {bearing.station} is not used: with it the log does not "
        "settle on one figure."
    )


def _do_not_meet(name: str) -> str:
    return f"The bearings to {name} are not used: they do not meet, so its place is not known."


def leave_out(observations: Observations, dropped: Sequence[Bearing], said: Sequence[str]) -> Observations:
    """Leave out bearings, and with them landmarks of unknown place that too few others see.

    Parameters
    ----------
    observations
        All observations.
    dropped
        The bearings to leave out.
    said
        Sentences on why.
    """
    kept = [one for one in observations.bearings if one not in dropped]
    for name in dict.fromkeys(one.name for one in dropped if is_unknown(one)):
        if len({one.station for one in kept if one.name == name}) < LEAST_STATIONS:
            kept = [one for one in kept if one.name != name]
    return replace(observations, bearings=tuple(kept), unused=(*observations.unused, *said))


def _known_landmark(
    landmark: tuple[float, float, float], origin_sd: float, rough: Solution
) -> tuple[Array, Array]:
    """A known place in the figure as walked, and what turn, scale and its own doubt add there."""
    east, north, sd = landmark
    placed = np.linalg.solve(turn_and_scale(rough.shared), np.array([east, north]))
    lever = map_lever(placed[None], rough.shared.size)[0]
    return placed, lever @ rough.shared_covariance @ lever.T + (sd**2 + origin_sd**2) * np.eye(2)


def _clear(towards: Array, spread: Array) -> bool:
    length = float(np.hypot(*towards))
    return length**2 > CLEAR_OF * math.sqrt(max(0.0, float(towards @ spread @ towards)))


def _meeting(bearings: list[Bearing], place: Array) -> tuple[float, float] | None:
    """The point nearest to all bearing lines; None where they are parallel or it lies behind."""
    east, north = unit_vectors([b.azimuth_deg for b in bearings])
    along, across = np.stack([east, north], axis=1), np.stack([north, -east], axis=1)
    stations = place[[b.station for b in bearings]]
    normal = across.T @ across
    if np.linalg.eigvalsh(normal)[0] < LEAST_SPREAD:
        return None
    where = np.linalg.solve(normal, across.T @ np.einsum("bi,bi->b", across, stations))
    ahead = np.einsum("bi,bi->b", where - stations, along) > 0
    return (float(where[0]), float(where[1])) if 2 * ahead.sum() > ahead.size else None
