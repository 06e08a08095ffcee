"""A reckoned log and what was observed beside it, set up as a network of junctions and landmarks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.condensation import Legs, condense
from pacewright.core.adjust.network_equations import ORIGIN, SHARED, Network
from pacewright.core.compass import turn_deg, unit_vectors
from pacewright.core.way.observations import Bearing, Observations
from pacewright.core.way.reckoning import Reckoning

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Weights:
    """How far each observation is trusted: 1 wholly, less where it was found outlying."""

    legs: Array
    ties: Array
    fixes: Array
    bearings: Array
    back_azimuths: Array


@dataclass(frozen=True, slots=True, eq=False)
class Setup:
    """A network, and which of its nodes is which.

    Attributes
    ----------
    node_of_landmark
        Node of every landmark by name; those of known place first.
    known
        How many nodes lie before the landmarks of unknown place.
    """

    network: Network
    node_of_landmark: Mapping[str, int]
    known: int


def full_trust(reckoning: Reckoning, observations: Observations) -> Weights:
    """The weights of a log in which nothing is outlying."""
    return Weights(
        legs=np.ones(reckoning.length.size),
        ties=np.ones(len(observations.ties)),
        fixes=np.ones(len(observations.fixes) + len(_known_landmarks(observations))),
        bearings=np.ones(len(observations.bearings)),
        back_azimuths=np.ones(len(observations.back_azimuths)),
    )


def set_up(
    reckoning: Reckoning,
    observations: Observations,
    bias_sd_deg: float,
    weights: Weights | None = None,
    *,
    aim: bool = True,
) -> Setup:
    """Set a reckoned log up as a network.

    Parameters
    ----------
    reckoning, observations
        Both in one frame.
    bias_sd_deg
        Prior of the compass bias; half of its variance also turns bearings.
    weights
        By default everything is trusted.
    aim
        Without, the bearings are left out; the stations they were taken at stay junctions.
    """
    junctions = np.array(_observed(observations), dtype=np.intp)
    if not aim:
        observations = replace(observations, bearings=())
    weights = weights or full_trust(reckoning, observations)
    classes = reckoning.ground_terms
    open_origin = ORIGIN if observations.origin_sd > 0 else ()
    legs, handling_rad, handling_variance = _legs(reckoning, observations, weights, len(open_origin))
    chains = condense(legs, junctions)
    on_the_map = reckoning.frame.kind == "map"
    half_rad2 = math.radians(bias_sd_deg) ** 2 / 2.0
    # What the frame holds beyond the compass, a declination that is not sure, turns bearings as well.
    instrument = math.radians(reckoning.frame.bias_sd_deg) ** 2 - half_rad2
    prior = [max(0.0, instrument) if on_the_map else 0.0, half_rad2, reckoning.frame.scale_sd**2]
    known = _known_landmarks(observations)
    stations = chains.junctions.size - 1
    landmarks = [*known, *unknown_landmarks(observations)]
    node_of_landmark = {name: stations + k for k, name in enumerate(landmarks)}

    def node(station: int) -> int:
        return int(np.searchsorted(chains.junctions, station)) - 1

    def target(bearing: Bearing) -> int:
        if bearing.target_station is not None:
            return node(bearing.target_station)
        return node_of_landmark[bearing.name]

    fixed = [(node(f.station), f.east, f.north, f.sd) for f in observations.fixes]
    fixed += [(node_of_landmark[name], *place) for name, place in known.items()]
    network = Network(
        chains=chains,
        nodes=stations + len(landmarks),
        names=(*SHARED, *(term.name for term in classes), *open_origin),
        prior_variance=np.array(
            [*prior, *(term.variance for term in classes), *(observations.origin_sd**2 for _ in open_origin)]
        ),
        tie_nodes=_pairs([(node(t.first), node(t.second)) for t in observations.ties]),
        tie_sd=np.array([t.sd for t in observations.ties]),
        origin_node=node(observations.origin_station),
        fix_node=np.array([f[0] for f in fixed], dtype=np.intp),
        fix_place=np.array([f[1:3] for f in fixed]).reshape(-1, 2),
        fix_sd=np.array([f[3] for f in fixed]),
        bearing_nodes=_pairs([(node(b.station), target(b)) for b in observations.bearings]),
        bearing_rad=np.radians([b.azimuth_deg for b in observations.bearings]),
        bearing_sd_rad=np.radians([b.sd_deg for b in observations.bearings]),
        handling_rad=handling_rad,
        handling_variance=handling_variance,
        tie_weight=weights.ties,
        fix_weight=weights.fixes,
        bearing_weight=weights.bearings,
    )
    return Setup(network, node_of_landmark, stations + len(known))


def first_figure(setup: Setup, place: Array, seen: Mapping[str, tuple[float, float]]) -> Array:
    """Where to begin: the stations as far as they are known, the landmarks about where they are.

    Parameters
    ----------
    setup
        The network.
    place
        Every station in the figure as walked, shape (n + 1, 2).
    seen
        About where the landmarks of unknown place lie.
    """
    network = setup.network
    figure = np.zeros((network.nodes, 2))
    junctions = network.chains.junctions[1:]
    figure[: junctions.size] = place[junctions]
    at_landmark = network.fix_node >= junctions.size
    origin = place[junctions[network.origin_node]] if network.origin_node >= 0 else np.zeros(2)
    figure[network.fix_node[at_landmark]] = origin + network.fix_place[at_landmark]
    for name, where in seen.items():
        if name in setup.node_of_landmark:
            figure[setup.node_of_landmark[name]] = where
    return figure


def _legs(
    reckoning: Reckoning, observations: Observations, weights: Weights, beside: int
) -> tuple[Legs, Array, Array]:
    """The legs, back azimuths worked in, and what those say of the handling bias.

    `beside` is how many unknowns are shared that move no leg.
    """
    own = reckoning.own / weights.legs[:, None, None]
    still = reckoning.length == 0
    if still.any():
        # A leg of no length has no direction for its rounding to lie along.
        own[still] = np.trace(own[still], axis1=1, axis2=2)[:, None, None] * np.eye(2)
    place = reckoning.place
    lever = np.zeros((*place.shape, len(SHARED) + len(reckoning.ground_terms) + beside))
    for k, term in enumerate(reckoning.ground_terms, start=len(SHARED)):
        lever[:, :, k] = term.lever
    backs = observations.back_azimuths
    if not backs:
        own_sum = np.zeros((own.shape[0] + 1, 2, 2))
        np.cumsum(own, axis=0, out=own_sum[1:])
        return Legs(place, own, own_sum, lever), np.zeros(0), np.zeros(0)
    leg = np.array([b.leg - 1 for b in backs])
    told_rad = np.radians([turn_deg(reckoning.azimuth_deg[b.leg - 1], b.azimuth_deg - 180.0) for b in backs])
    variance = np.radians([b.sd_deg for b in backs]) ** 2 / weights.back_azimuths
    east, north = unit_vectors(reckoning.azimuth_deg[leg])
    across = np.stack([north, -east], axis=1) / reckoning.length[leg][:, None]
    # The reading is of the leg's own turn and of the handling bias: what it tells of the one is kept
    # in the leg, what it tells of the other apart, and the two are independent.
    spread = np.einsum("bij,bj->bi", own[leg], across)
    total = np.einsum("bi,bi->b", across, spread) + variance
    gain = spread / total[:, None]
    own[leg] -= gain[:, :, None] * spread[:, None, :]
    moved, turned = np.zeros_like(place), np.zeros_like(place)
    moved[leg + 1], turned[leg + 1] = gain * told_rad[:, None], -gain
    lever[:, :, 1] += np.cumsum(turned, axis=0)
    own_sum = np.zeros((own.shape[0] + 1, 2, 2))
    np.cumsum(own, axis=0, out=own_sum[1:])
    return Legs(place + np.cumsum(moved, axis=0), own, own_sum, lever), told_rad, total


def _observed(observations: Observations) -> list[int]:
    stations = [s for tie in observations.ties for s in (tie.first, tie.second)]
    stations += [fix.station for fix in observations.fixes]
    stations += [observations.origin_station, observations.anchor_station]
    for bearing in observations.bearings:
        stations.append(bearing.station)
        if bearing.target_station is not None:
            stations.append(bearing.target_station)
    return stations


def _known_landmarks(observations: Observations) -> dict[str, tuple[float, float, float]]:
    seen = {b.name: b.landmark for b in observations.bearings if b.landmark is not None}
    return {**seen, **observations.goals}


def unknown_landmarks(observations: Observations) -> list[str]:
    """The names of what was seen, not walked to, and of unknown place."""
    return list(dict.fromkeys(one.name for one in observations.bearings if is_unknown(one)))


def is_unknown(bearing: Bearing) -> bool:
    """Whether a bearing is to a landmark of unknown place."""
    return bearing.landmark is None and bearing.target_station is None


def _pairs(pairs: list[tuple[int, int]]) -> NDArray[np.intp]:
    return np.array(pairs, dtype=np.intp).reshape(-1, 2)
