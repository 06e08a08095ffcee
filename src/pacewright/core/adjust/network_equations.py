"""What each observation asks of the figure, linear about where the figure stands now.

Stations are unknown in the figure as walked, in which the compass and the pace count cancel; only a
known place asks for the turn and the scale that bring the figure onto the map:

    place on the map = scale * (figure turned clockwise by the bias)

so a log without one says nothing of either, and keeps the prior to the letter. Known places are counted
from an origin, a station whose own place is known as well as the heading says: how far off that is, all
of them share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.condensation import Chains

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

INSTRUMENT, HANDLING, SCALE = "instrument bias", "handling bias", "pace scale"
"""Names of the first three shared unknowns: what the compass is off and what holding it while walking
adds (both in radians, clockwise), and the logarithm of the pace scale."""
SHARED: Final = (INSTRUMENT, HANDLING, SCALE)
ORIGIN: Final = ("origin east", "origin north")
"""Names of the last two, where the origin is not sure: how far off its known place is."""


@dataclass(frozen=True, slots=True, eq=False)
class Equations:
    """One kind of observation, linear about the present figure: misfit + changes, weighted.

    Attributes
    ----------
    first, second
        Nodes that each observation is about; -1 for the start or for none.
    by_first, by_second, by_shared
        Change of the misfit with each; shapes (f, d, 2), (f, d, 2), (f, d, g).
    misfit
        What is left, shape (f, d).
    weight
        Inverse covariance, shape (f, d, d).
    """

    first: Indices
    second: Indices
    by_first: Array
    by_second: Array
    by_shared: Array
    misfit: Array
    weight: Array


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """All observations between nodes; nodes are the junctions after the start, then the landmarks.

    Attributes
    ----------
    chains
        The folded legs.
    nodes
        How many nodes there are.
    names, prior_variance
        Of the shared unknowns, shape (g,): the first three are those of `SHARED`, then classes of ground,
        then those of `ORIGIN` if the origin is not sure. Their prior mean is zero; a variance of zero
        holds an unknown there.
    tie_nodes, tie_sd
        Shapes (t, 2) and (t,).
    origin_node
        The node that known places are counted from; -1 for the start.
    fix_node, fix_place, fix_sd
        Shapes (f,), (f, 2), (f,).
    bearing_nodes, bearing_rad, bearing_sd_rad
        From and to, shape (q, 2); the rest (q,).
    handling_rad, handling_variance
        What back azimuths say directly of the handling bias, shape (b,).
    tie_weight, fix_weight, bearing_weight
        1, or less where an observation was found outlying.
    """

    chains: Chains
    nodes: int
    names: tuple[str, ...]
    prior_variance: Array
    tie_nodes: Indices
    tie_sd: Array
    origin_node: int
    fix_node: Indices
    fix_place: Array
    fix_sd: Array
    bearing_nodes: Indices
    bearing_rad: Array
    bearing_sd_rad: Array
    handling_rad: Array
    handling_variance: Array
    tie_weight: Array
    fix_weight: Array
    bearing_weight: Array

    @property
    def grounds(self) -> tuple[tuple[int, str], ...]:
        """Which of the shared unknowns are classes of ground, and their names."""
        named = enumerate(self.names)
        return tuple((k, name) for k, name in named if k >= len(SHARED) and name not in ORIGIN)


def equations(network: Network, figure: Array, shared: Array) -> Sequence[Equations]:
    """Every kind of observation, linear about a figure: chains, ties, known places, bearings."""
    g = shared.size
    at = np.concatenate([figure, np.zeros((1, 2))])
    return [
        _chain_equations(network, at, shared),
        _tie_equations(network, at, g),
        _fix_equations(network, at, shared),
        _bearing_equations(network, at, shared),
    ]


def on_map(figure: Array, shared: Array) -> Array:
    """Bring places of the figure as walked onto the map, shape as given."""
    placed: Array = figure @ turn_and_scale(shared).T
    return placed


def turn_and_scale(shared: Array) -> Array:
    """The matrix that brings the figure as walked onto the map, shape (2, 2)."""
    bias_rad = shared[0] + shared[1]
    sine, cosine = np.sin(bias_rad), np.cos(bias_rad)
    matrix: Array = np.exp(shared[2]) * np.array([[cosine, sine], [-sine, cosine]])
    return matrix


def map_lever(places: Array, shared_size: int) -> Array:
    """What the shared unknowns move places on the map, shape (k, 2, g)."""
    lever = np.zeros((places.shape[0], 2, shared_size))
    clockwise = np.stack([places[:, 1], -places[:, 0]], axis=1)
    lever[:, :, 0] = lever[:, :, 1] = clockwise
    lever[:, :, 2] = places
    return lever


def origin_lever(names: tuple[str, ...]) -> Array:
    """What the shared unknowns move all known places together, shape (2, g)."""
    lever = np.zeros((2, len(names)))
    if ORIGIN[0] in names:
        first = names.index(ORIGIN[0])
        lever[:, first : first + 2] = np.eye(2)
    return lever


def misfit2(network: Network, figure: Array, shared: Array) -> float:
    """The weighted sum of squares of all misfits, the priors among them."""
    total = 0.0
    for one in equations(network, figure, shared):
        total += float(np.einsum("fi,fij,fj->", one.misfit, one.weight, one.misfit))
    free = network.prior_variance > 0
    total += float(np.sum(shared[free] ** 2 / network.prior_variance[free]))
    return total + float(np.sum((network.handling_rad - shared[1]) ** 2 / network.handling_variance))


def _chain_equations(network: Network, at: Array, shared: Array) -> Equations:
    chains = network.chains
    m = chains.step.shape[0]
    first = np.arange(-1, m - 1)
    same = np.broadcast_to(np.eye(2), (m, 2, 2))
    inverse: Array = np.asarray(np.linalg.inv(chains.covariance), dtype=np.float64)
    return Equations(
        first=first,
        second=first + 1,
        by_first=-same,
        by_second=same,
        by_shared=-chains.lever,
        misfit=at[first + 1] - at[first] - chains.step - chains.lever @ shared,
        weight=inverse,
    )


def _tie_equations(network: Network, at: Array, g: int) -> Equations:
    first, second = network.tie_nodes[:, 0], network.tie_nodes[:, 1]
    same = np.broadcast_to(np.eye(2), (first.size, 2, 2))
    return Equations(
        first=first,
        second=second,
        by_first=-same,
        by_second=same,
        by_shared=np.zeros((first.size, 2, g)),
        misfit=at[second] - at[first],
        weight=(network.tie_weight / network.tie_sd**2)[:, None, None] * np.eye(2),
    )


def _fix_equations(network: Network, at: Array, shared: Array) -> Equations:
    node, f = network.fix_node, network.fix_node.size
    matrix, moved = turn_and_scale(shared), origin_lever(network.names)
    places = on_map(at[node] - at[network.origin_node], shared)
    by_node = np.broadcast_to(matrix, (f, 2, 2))
    return Equations(
        first=node,
        second=np.full(f, network.origin_node),
        by_first=by_node,
        by_second=-by_node,
        by_shared=map_lever(places, shared.size) + moved,
        misfit=places + moved @ shared - network.fix_place,
        weight=(network.fix_weight / network.fix_sd**2)[:, None, None] * np.eye(2),
    )


def _bearing_equations(network: Network, at: Array, shared: Array) -> Equations:
    origin, target = network.bearing_nodes[:, 0], network.bearing_nodes[:, 1]
    east, north = (at[target] - at[origin]).T
    # Two nodes on one spot have no direction; a hair's breadth keeps the numbers finite.
    range2 = np.maximum(east**2 + north**2, 1e-12)
    turn = (np.stack([north, -east], axis=1) / range2[:, None])[:, None, :]
    by_shared = np.zeros((origin.size, 1, shared.size))
    by_shared[:, 0, 1] = 1.0
    misfit = np.arctan2(east, north) + shared[1] - network.bearing_rad
    misfit = np.mod(misfit + np.pi, 2.0 * np.pi) - np.pi
    return Equations(
        first=origin,
        second=target,
        by_first=-turn,
        by_second=turn,
        by_shared=by_shared,
        misfit=misfit[:, None],
        weight=(network.bearing_weight / network.bearing_sd_rad**2)[:, None, None],
    )
