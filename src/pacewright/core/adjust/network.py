"""Least squares over junctions: chains of legs, ties, known places, bearings, shared unknowns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.condensation import JunctionCovariance
from pacewright.core.adjust.network_equations import Equations, Network, equations, misfit2
from pacewright.core.adjust.selected_inverse import Factor, factorise
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
    shared_covariance
        Shape (g, g).
    reach
        Change of the nodes with the shared unknowns, shape (2 nodes, g).
    misfit2
        The weighted sum of squares, priors included.
    """

    network: Network
    figure: Array
    shared: Array
    factor: Factor
    shared_covariance: Array
    reach: Array
    misfit2: float
    rounds: int

    def pair_covariance(self, first: Indices, second: Indices) -> Array:
        """Give Cov(node, node) of pairs that share an observation, shape (k, 2, 2); -1 is the start."""
        known = (first >= 0) & (second >= 0)
        covariance = np.zeros((first.size, 2, 2))
        if known.any():
            rows = 2 * first[known, None, None] + np.array([[0, 0], [1, 1]])
            columns = 2 * second[known, None, None] + np.array([[0, 1], [0, 1]])
            own = self.factor.inverse_at(rows, columns)
            reach = self.reach.reshape(-1, 2, self.shared.size)
            between = reach[first[known]] @ self.shared_covariance @ _turned(reach[second[known]])
            covariance[known] = own + between
        return covariance

    def difference_covariance(self, first: Indices, second: Indices) -> Array:
        """Give the covariance of second minus first for any pairs, shape (k, 2, 2); -1 is the start."""
        size, pairs = 2 * self.figure.shape[0], first.size
        apart = np.zeros((size + 2, pairs, 2))
        for node, sign in ((first, -1.0), (second, 1.0)):
            for axis in range(2):
                # The start has no unknowns of its own: its rows are the last two, which are dropped.
                rows = np.where(node < 0, size + axis, 2 * node + axis)
                apart[rows, np.arange(pairs), axis] += sign
        flat = apart[:size].reshape(size, 2 * pairs)
        own = np.einsum("spi,spj->pij", apart[:size], self.factor.solve(flat).reshape(size, pairs, 2))
        reach = (self.reach.T @ flat).reshape(-1, pairs, 2)
        covariance: Array = own + np.einsum("gpi,gh,hpj->pij", reach, self.shared_covariance, reach)
        return covariance

    def node_shared_covariance(self, nodes: Indices) -> Array:
        """Give Cov(node, shared unknowns), shape (k, 2, g); -1 is the start."""
        reach = self.reach.reshape(-1, 2, self.shared.size)
        padded = np.concatenate([reach, np.zeros((1, 2, self.shared.size))])
        # The last row, zero, is what -1 picks.
        covariance: Array = -padded[nodes] @ self.shared_covariance
        return covariance

    def junction_covariance(self) -> JunctionCovariance:
        """Give all that unfolding the chains needs."""
        node = np.arange(-1, self.network.chains.junctions.size - 1)
        pairs = self.pair_covariance(np.concatenate([node, node[:-1]]), np.concatenate([node, node[1:]]))
        return JunctionCovariance(
            own=pairs[: node.size],
            next=pairs[node.size :],
            with_shared=self.node_shared_covariance(node),
            shared=self.shared_covariance,
        )


def misfit_covariance(one: Equations, solution: Solution) -> Array:
    """Give how sure the misfits of one kind of observation are, shape (f, d, d).

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
        factor, reach, shared_covariance, step, shared_step = _newton(network, figure, shared, free)
        turn = float(np.abs(shared_step).max(initial=0.0))
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
        gain, size = cost - new_cost, max(float(np.abs(step).max(initial=0.0)) / extent, turn) * part
        figure, shared, cost = moved, turned, new_cost
        is_slow = rounds > SLOW_ROUNDS and gain <= SLOW_GAIN * cost
        if size < SETTLED or is_slow or not _bends(network):
            return Solution(network, figure, shared, factor, shared_covariance, reach, cost, rounds)
    raise _unsettled()


def _newton(
    network: Network, figure: Array, shared: Array, free: Indices
) -> tuple[Factor, Array, Array, Array, Array]:
    """Solve once, the shared unknowns as a border: step of the nodes and of the shared unknowns."""
    size, g = 2 * network.nodes, shared.size
    places, values = [], []
    border, border_border = np.zeros((size + 2, g)), np.zeros((g, g))
    pull, shared_pull = np.zeros(size + 2), np.zeros(g)
    for one in equations(network, figure, shared):
        weighted_shared = one.weight @ one.by_shared
        weighted_misfit = (one.weight @ one.misfit[..., None])[..., 0]
        border_border += np.einsum("fdg,fdh->gh", one.by_shared, weighted_shared)
        shared_pull += np.einsum("fdg,fd->g", one.by_shared, weighted_misfit)
        sides = ((one.first, one.by_first), (one.second, one.by_second))
        for node, by in sides:
            # The start is node -1: its rows are the last two, which are dropped.
            rows = 2 * node[:, None] + np.arange(2)
            rows[node < 0] = [size, size + 1]
            np.add.at(border, rows, np.einsum("fdi,fdg->fig", by, weighted_shared))
            np.add.at(pull, rows, np.einsum("fdi,fd->fi", by, weighted_misfit))
            for other, by_other in sides:
                block = _turned(by) @ one.weight @ by_other
                both = (node >= 0) & (other >= 0)
                places.append((2 * node[both], 2 * other[both]))
                values.append(block[both])
    rows, columns = _entries(places)
    factor = factorise(rows, columns, np.concatenate([v.ravel() for v in values]), size)
    held = np.setdiff1d(np.arange(g), free)
    border_border[free, free] += 1.0 / network.prior_variance[free]
    shared_pull[free] += shared[free] / network.prior_variance[free]
    border_border[1, 1] += np.sum(1.0 / network.handling_variance)
    shared_pull[1] += np.sum((shared[1] - network.handling_rad) / network.handling_variance)
    border, pull = border[:size], pull[:size]
    border[:, held] = 0.0
    reach = factor.solve(border)
    moved = factor.solve(pull)
    inner = border_border - border.T @ reach
    covariance = np.zeros((g, g))
    covariance[np.ix_(free, free)] = np.linalg.inv(inner[np.ix_(free, free)])
    shared_step = -covariance @ (shared_pull - border.T @ moved)
    step = -moved - reach @ shared_step
    return factor, reach, covariance, step.reshape(-1, 2), shared_step


def _entries(places: Sequence[tuple[Indices, Indices]]) -> tuple[Indices, Indices]:
    first = np.concatenate([p[0] for p in places])
    second = np.concatenate([p[1] for p in places])
    rows = first[:, None] + np.array([0, 0, 1, 1])
    columns = second[:, None] + np.array([0, 1, 0, 1])
    return rows.ravel(), columns.ravel()


def _bends(network: Network) -> bool:
    """Tell whether the observations bend, so that one linear step is not the whole answer."""
    return bool(network.fix_node.size or network.bearing_nodes.size)


def _unsettled() -> ValueComplaint:
    return ValueComplaint(
        "the bearings and known places of this log do not settle on one figure",
        "Look for a bearing or a place that is far off, mend it or leave it out, and adjust again",
    )


def _turned(matrices: Array) -> Array:
    return np.swapaxes(matrices, -1, -2)
