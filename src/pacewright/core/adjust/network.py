"""Least squares over junctions: chains of legs, ties, known places, bearings, shared unknowns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.condensation import JunctionCovariance, unfold_covariances, unfold_crossed
from pacewright.core.adjust.information import Information, inform
from pacewright.core.adjust.network_equations import ORIGIN, Equations, Network, equations, misfit2
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

MOST_ROUNDS: Final = 100
MOST_HALVINGS: Final = 30
MOST_TURN_RAD: Final = 0.3
SETTLED: Final = 1e-11
SLOW_ROUNDS: Final = 30
SLOW_GAIN: Final = 1e-6
"""A log that fits badly settles slowly: after so many rounds it counts as settled once a round gains
less than this share of its misfit."""


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The figure that fits best, and what is needed to say how sure it is.

    Attributes
    ----------
    figure
        Every node in the figure as walked, shape (nodes, 2).
    shared
        The shared unknowns, shape (g,).
    factor
        The inverse of the joint covariance of nodes and shared unknowns, ready to solve.
    misfit2
        The weighted sum of squares, priors included.
    """

    network: Network
    figure: Array
    shared: Array
    factor: Information
    misfit2: float
    rounds: int

    @property
    def shared_covariance(self) -> Array:
        """Covariance of the shared unknowns, shape (g, g)."""
        first = 2 * self.network.nodes
        every = np.arange(first, first + self.shared.size)
        return self.factor.covariance_at(every[:, None], every[None, :])

    def pair_covariance(self, first: Indices, second: Indices) -> Array:
        """Covariance of pairs of nodes, Cov(first, second), shape (k, 2, 2); -1 is the start."""
        known = (first >= 0) & (second >= 0)
        covariance = np.zeros((first.size, 2, 2))
        rows = 2 * first[known, None, None] + np.array([[0, 0], [1, 1]])
        columns = 2 * second[known, None, None] + np.array([[0, 1], [0, 1]])
        covariance[known] = self.factor.covariance_at(rows, columns)
        return covariance

    def difference_covariance(self, first: Indices, second: Indices) -> Array:
        """Covariance of second minus first, shape (k, 2, 2); -1 is the start."""
        mixed = self.pair_covariance(first, second)
        own = self.pair_covariance(first, first) + self.pair_covariance(second, second)
        return own - mixed - _turned(mixed)

    def node_shared_covariance(self, nodes: Indices) -> Array:
        """Cov(node, shared unknowns), shape (k, 2, g); -1 is the start."""
        known = nodes >= 0
        covariance = np.zeros((nodes.size, 2, self.shared.size))
        rows = 2 * nodes[known, None, None] + np.array([[0], [1]])
        columns = 2 * self.network.nodes + np.arange(self.shared.size)
        covariance[known] = self.factor.covariance_at(rows, columns[None, None, :])
        return covariance

    def junction_covariance(self) -> JunctionCovariance:
        """All that unfolding the chains needs."""
        node = np.arange(-1, self.network.chains.junctions.size - 1)
        pairs = self.pair_covariance(np.concatenate([node, node[:-1]]), np.concatenate([node, node[1:]]))
        return JunctionCovariance(
            own=pairs[: node.size],
            next=pairs[node.size :],
            with_shared=self.node_shared_covariance(node),
            shared=self.shared_covariance,
        )

    def seen_from(self, junction: int, matrix: Array, lever: Array) -> Array:
        """Covariance of every station as seen from one, once moved, shape (n + 1, 2, 2).

        Parameters
        ----------
        junction
            The station; the start, or one of which something is known beside the legs.
        matrix
            What moves the figure as walked, shape (2, 2).
        lever
            What the shared unknowns add to each step, shape (n + 1, 2, g).
        """
        chains = self.network.chains
        figure, with_shared = unfold_covariances(chains, self.junction_covariance())
        at, node = (
            int(np.searchsorted(chains.junctions, junction)) - 1,
            np.arange(-1, chains.junctions.size - 1),
        )
        shared_origin = self.node_shared_covariance(np.array([at]))[0].T
        with_origin = self.pair_covariance(node, np.full(node.size, at))
        with_origin = unfold_crossed(chains, with_origin, shared_origin)
        # How the origin and the shared unknowns move each step, and how those go together.
        moved = np.concatenate([np.broadcast_to(-matrix, figure.shape), lever], axis=2)
        beside = np.block([[with_origin[junction], shared_origin.T], [shared_origin, self.shared_covariance]])
        crossed = matrix @ np.concatenate([with_origin, with_shared], axis=2) @ _turned(moved)
        total: Array = matrix @ figure @ matrix.T + crossed + _turned(crossed)
        total += moved @ beside @ _turned(moved)
        return total


def misfit_covariance(one: Equations, solution: Solution) -> Array:
    """How sure the misfits of one kind of observation are, shape (f, d, d).

    Parameters
    ----------
    one
        The kind, linear about the solution.
    solution
        The solution.
    """
    first = solution.pair_covariance(one.first, one.first)
    second = solution.pair_covariance(one.second, one.second)
    mixed = one.by_first @ solution.pair_covariance(one.first, one.second) @ _turned(one.by_second)
    with_shared = one.by_first @ solution.node_shared_covariance(one.first)
    with_shared = with_shared + one.by_second @ solution.node_shared_covariance(one.second)
    crossed = with_shared @ _turned(one.by_shared)
    covariance: Array = (
        one.by_first @ first @ _turned(one.by_first)
        + one.by_second @ second @ _turned(one.by_second)
        + mixed
        + _turned(mixed)
        + crossed
        + _turned(crossed)
        + one.by_shared @ solution.shared_covariance @ _turned(one.by_shared)
    )
    return covariance


def solve_network(network: Network, figure: Array, shared: Array) -> Solution:
    """Find the figure and the shared unknowns that fit best.

    Parameters
    ----------
    network
        What was observed.
    figure, shared
        Where to begin, shapes (nodes, 2) and (g,).

    Raises
    ------
    ValueComplaint
        The bearings do not settle on one figure, or an uncertainty is nearly nothing.
    """
    try:
        return _settle(network, figure, shared)
    except np.linalg.LinAlgError:
        raise ValueComplaint(
            "the uncertainties in this log are too far apart to reckon with",
            "Look for an uncertainty of nearly nothing in the walker file or a known point, and widen it",
        ) from None


def _settle(network: Network, figure: Array, shared: Array) -> Solution:
    free = np.flatnonzero(network.prior_variance > 0)
    cost = misfit2(network, figure, shared)
    extent = 1.0 + float(np.abs(network.chains.legs.place).max())
    for rounds in range(1, MOST_ROUNDS + 1):
        factor, step, shared_step = _newton(network, figure, shared, free)
        # How far the origin of known places is off turns nothing: it is a length.
        lengths = np.isin(network.names, ORIGIN)
        turn = float(np.abs(shared_step[~lengths]).max(initial=0.0))
        moved_by = max(float(np.abs(one).max(initial=0.0)) for one in (step, shared_step[lengths]))
        # A figure is not turned or stretched by half in one step: the equations do not hold so far.
        part = min(1.0, MOST_TURN_RAD / turn) if turn > 0 else 1.0
        for _ in range(MOST_HALVINGS):
            moved, turned = figure + part * step, shared + part * shared_step
            new_cost = misfit2(network, moved, turned)
            if new_cost <= cost * (1 + 1e-12) + 1e-12:
                break
            part /= 2.0
        else:
            if network.bearing_nodes.size:
                raise _unsettled()
            # Without bearings there is one lowest place, and no step leads lower.
            moved, turned, new_cost = figure, shared, cost
        gain, size = cost - new_cost, max(moved_by / extent, turn) * part
        figure, shared, cost = moved, turned, new_cost
        is_slow = rounds > SLOW_ROUNDS and gain <= SLOW_GAIN * cost
        if size < SETTLED or is_slow or not _bends(network):
            return Solution(network, figure, shared, factor, cost, rounds)
    raise _unsettled()


def _newton(
    network: Network, figure: Array, shared: Array, free: Indices
) -> tuple[Information, Array, Array]:
    """Solve once: the weights of all unknowns, the step of the nodes, and that of the shared unknowns."""
    size, g = 2 * network.nodes, shared.size
    rows: list[Indices] = []
    columns: list[Indices] = []
    values: list[Array] = []
    pull = np.zeros(size + g + 2)
    own = size + np.arange(g)
    for one in equations(network, figure, shared):
        parts = [
            # The start is node -1: what falls on its rows, the last two, is dropped.
            (np.where(one.first < 0, size + g, 2 * one.first)[:, None] + np.arange(2), one.by_first),
            (np.where(one.second < 0, size + g, 2 * one.second)[:, None] + np.arange(2), one.by_second),
            (np.broadcast_to(own, (one.first.size, g)), one.by_shared),
        ]
        weighted_misfit = one.weight @ one.misfit[..., None]
        for at, by in parts:
            np.add.at(pull, at, (_turned(by) @ weighted_misfit)[..., 0])
            for at_other, by_other in parts:
                block = _turned(by) @ one.weight @ by_other
                rows.append(np.broadcast_to(at[:, :, None], block.shape).ravel())
                columns.append(np.broadcast_to(at_other[:, None, :], block.shape).ravel())
                values.append(block.ravel())
    rows.append(own[free])
    columns.append(own[free])
    values.append(1.0 / network.prior_variance[free])
    pull[own[free]] += shared[free] / network.prior_variance[free]
    rows.append(own[1:2])
    columns.append(own[1:2])
    values.append(np.array([np.sum(1.0 / network.handling_variance)]))
    pull[own[1]] += np.sum((shared[1] - network.handling_rad) / network.handling_variance)
    kept = np.concatenate([np.arange(size), own[free]])
    information = inform(
        np.concatenate(rows), np.concatenate(columns), np.concatenate(values), kept, size + g
    )
    step = -information.solve(pull[: size + g])
    return information, step[:size].reshape(-1, 2), step[size:]


def _bends(network: Network) -> bool:
    """Whether the observations bend, so that one linear step is not the whole answer."""
    return bool(network.fix_node.size or network.bearing_nodes.size)


def _unsettled() -> ValueComplaint:
    return ValueComplaint(
        "the bearings and known places of this log do not settle on one figure",
        "Look for a bearing or a place that is far off, mend it or leave it out, and adjust again",
    )


def _turned(matrices: Array) -> Array:
    return np.swapaxes(matrices, -1, -2)
