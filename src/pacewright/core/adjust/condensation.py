"""Chains of legs folded onto the stations where something was observed, and unfolded again.

Between two junctions (stations met again, known, seen or seen from) a chain of legs says one thing
about them: their difference, with the sum of the legs' covariances. Nothing is lost: once the
junctions are adjusted, every station between them follows exactly.

References
----------
Conditional means and covariances of normal errors: common practice, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Legs:
    """The legs of a log as they enter an adjustment, each array over all legs or all stations.

    Attributes
    ----------
    place
        Stations from the legs alone, shape (n + 1, 2).
    own
        Covariance of each leg's own part, positive definite, shape (n, 2, 2).
    own_sum
        Its running sum, shape (n + 1, 2, 2).
    lever
        What one unit of each shared unknown adds to every station, shape (n + 1, 2, g).
    """

    place: Array
    own: Array
    own_sum: Array
    lever: Array


@dataclass(frozen=True, slots=True, eq=False)
class Chains:
    """Legs folded onto junctions; chain c runs from junction c to junction c + 1.

    Attributes
    ----------
    junctions
        Stations in rising order, the start first; shape (m + 1,).
    step, covariance, lever
        Of each chain; shapes (m, 2), (m, 2, 2) and (m, 2, g).
    chain_of
        For every station the junction it follows (or is); m for those of the tail; shape (n + 1,).
    """

    legs: Legs
    junctions: Indices
    step: Array
    covariance: Array
    lever: Array
    chain_of: Indices


@dataclass(frozen=True, slots=True, eq=False)
class JunctionCovariance:
    """What an adjustment knows of its junctions and shared unknowns.

    Attributes
    ----------
    own
        Of every junction, zero for the start; shape (m + 1, 2, 2).
    next
        Cov(junction c, junction c + 1); shape (m, 2, 2).
    with_shared
        Cov(junction, shared unknowns); shape (m + 1, 2, g).
    shared
        Shape (g, g).
    """

    own: Array
    next: Array
    with_shared: Array
    shared: Array


def condense(legs: Legs, observed: Indices) -> Chains:
    """Fold the legs onto the start and the observed stations.

    Parameters
    ----------
    legs
        The legs.
    observed
        Stations of which something is known beside the legs, in any order, repeated or not.
    """
    junctions = np.unique(np.append(observed, 0))
    first, last = junctions[:-1], junctions[1:]
    stations = legs.place.shape[0]
    run = np.diff(np.append(junctions, stations))
    return Chains(
        legs=legs,
        junctions=junctions,
        step=legs.place[last] - legs.place[first],
        covariance=_folded(legs.own, first, last),
        lever=legs.lever[last] - legs.lever[first],
        chain_of=np.repeat(np.arange(junctions.size), run),
    )


def unfold_places(chains: Chains, junction_place: Array, shared: Array) -> Array:
    """Every station's place once the junctions are known, shape (n + 1, 2).

    Parameters
    ----------
    chains
        The folded legs.
    junction_place
        Shape (m + 1, 2).
    shared
        The shared unknowns, shape (g,).
    """
    legs = chains.legs
    pull = np.zeros_like(junction_place)
    pull[:-1] = np.linalg.solve(chains.covariance, _misfit(chains, junction_place, shared)[..., None])[..., 0]
    start = chains.junctions
    free = legs.place + legs.lever @ shared if shared.size else legs.place
    # Two broadcast gathers a coordinate instead of products of small matrices: ten times quicker.
    shift = junction_place - free[start]
    place = free + shift[chains.chain_of]
    if start.size == 1:
        return place
    pulled = pull[chains.chain_of]
    spread = legs.own_sum - legs.own_sum[start][chains.chain_of]
    place[:, 0] += spread[:, 0, 0] * pulled[:, 0] + spread[:, 0, 1] * pulled[:, 1]
    place[:, 1] += spread[:, 1, 0] * pulled[:, 0] + spread[:, 1, 1] * pulled[:, 1]
    return place


@dataclass(frozen=True, slots=True, eq=False)
class StationPart:
    """A station as its junctions and the shared unknowns leave it, and what its own legs add.

    Attributes
    ----------
    nodes, by_node
        The nodes it hangs on, and how it moves with each, shape (k, 2, 2).
    lever
        How it moves with the shared unknowns, shape (2, g).
    chain
        Its chain; -1 for what is no station.
    behind
        Covariance of the legs from the junction before, shape (2, 2); None for what is no station.
    inverse
        Inverse covariance of its whole chain, shape (2, 2); None on the tail, which nothing holds.
    """

    nodes: tuple[int, ...]
    by_node: Array
    lever: Array
    chain: int
    behind: Array | None
    inverse: Array | None

    def own(self) -> Array:
        """The covariance that its own legs leave open, shape (2, 2)."""
        return np.zeros((2, 2)) if self.behind is None else self.own_with(self)

    def own_with(self, other: StationPart) -> Array:
        """The same with another station of its chain, shape (2, 2)."""
        assert self.behind is not None and other.behind is not None
        if self.inverse is None:
            return self.behind if np.trace(self.behind) <= np.trace(other.behind) else other.behind
        low, high = self.behind, other.behind
        nearer = low if np.trace(low) <= np.trace(high) else high
        left: Array = nearer - low @ self.inverse @ high
        return left


def station_part(chains: Chains, station: int) -> StationPart:
    """How a station hangs on the junctions about it."""
    legs, chain = chains.legs, int(chains.chain_of[station])
    start = int(chains.junctions[chain])
    behind = legs.own_sum[station] - legs.own_sum[start]
    lever = legs.lever[station] - legs.lever[start]
    if chain == chains.step.shape[0]:
        return StationPart((chain - 1,), np.eye(2)[None], lever, chain, behind, None)
    inverse: Array = np.asarray(np.linalg.inv(chains.covariance[chain]), dtype=np.float64)
    share = behind @ inverse
    by_node = np.stack([np.eye(2) - share, share])
    return StationPart(
        (chain - 1, chain), by_node, lever - share @ chains.lever[chain], chain, behind, inverse
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Hung:
    """How every station hangs on the junctions before and after it, and what its own legs add.

    Attributes
    ----------
    share, rest
        How it moves with the junction after and with the one before, shape (n + 1, 2, 2).
    lever
        How it moves with the shared unknowns beside, shape (n + 1, 2, g).
    own
        The covariance that its own legs leave open, shape (n + 1, 2, 2).
    before, after
        The junctions, shape (n + 1,).
    """

    share: Array
    rest: Array
    lever: Array
    own: Array
    before: Indices
    after: Indices

    def between(self, with_junction: Array) -> Array:
        """What the junctions alone tell of a covariance with d unknowns, shape (n + 1, 2, d)."""
        told: Array = self.rest @ with_junction[self.before] + self.share @ with_junction[self.after]
        return told


def _hung(chains: Chains) -> _Hung:
    legs, chain = chains.legs, chains.chain_of
    start = chains.junctions
    m = start.size - 1
    inverse = np.zeros((m + 1, 2, 2))
    inverse[:-1] = np.linalg.inv(chains.covariance)
    spread = legs.own_sum - legs.own_sum[start][chain]
    # From the far end as well, not as a difference: where one leg is far less sure than the rest of its
    # chain, the difference would be lost in rounding.
    ahead = np.zeros_like(spread)
    inner = chain < m
    ahead[inner] = legs.own_sum[start[1:]][chain[inner]] - legs.own_sum[inner]
    share, rest = spread @ inverse[chain], ahead @ inverse[chain]
    rest[~inner] = np.eye(2)
    own = share @ ahead
    own[~inner] = spread[~inner]
    chain_lever = np.concatenate([chains.lever, np.zeros((1, *chains.lever.shape[1:]))])
    lever = legs.lever - legs.lever[start][chain] - share @ chain_lever[chain]
    return _Hung(share, rest, lever, own, chain, np.minimum(chain + 1, m))


def unfold_covariances(chains: Chains, known: JunctionCovariance) -> tuple[Array, Array]:
    """Every station's covariance and its covariance with the shared unknowns.

    Returns
    -------
    covariance, with_shared
        Shapes (n + 1, 2, 2) and (n + 1, 2, g).
    """
    hung = _hung(chains)
    share, rest, lever, chain, after = hung.share, hung.rest, hung.lever, hung.before, hung.after
    joint = np.zeros_like(known.own)
    joint[:-1] = known.next
    mixed = rest @ joint[chain] @ _turned(share)
    between = hung.between(known.with_shared)
    crossed = between @ _turned(lever)
    covariance = (
        rest @ known.own[chain] @ _turned(rest)
        + share @ known.own[after] @ _turned(share)
        + mixed
        + _turned(mixed)
        + crossed
        + _turned(crossed)
        + lever @ known.shared @ _turned(lever)
        + hung.own
    )
    return (covariance + _turned(covariance)) / 2.0, between + lever @ known.shared


def unfold_crossed(chains: Chains, with_junction: Array, with_shared: Array) -> Array:
    """The covariance of every station with d unknowns.

    Parameters
    ----------
    chains
        The folded legs.
    with_junction, with_shared
        The same of the junctions, shape (m + 1, 2, d), and of the shared unknowns, shape (g, d).

    Returns
    -------
    covariance
        Shape (n + 1, 2, d).
    """
    hung = _hung(chains)
    return hung.between(with_junction) + hung.lever @ with_shared


def leg_redundancies(chains: Chains, known: JunctionCovariance) -> Array:
    """How far the rest of the log checks each leg: 0 not at all, 2 wholly; shape (n,).

    It is the leg's redundancy number, the trace over east and north; the legs of the tail have none.

    References
    ----------
    W. Baarda, A testing procedure for use in geodetic networks, 1968 (from memory).
    """
    checked = _checked(chains, known)[chains.chain_of[:-1]]
    redundancy: Array = np.einsum("nij,nji->n", checked, chains.legs.own)
    return np.clip(redundancy, 0.0, 2.0)


def residual_covariances(chains: Chains, known: JunctionCovariance) -> Array:
    """How far the residual of each leg may scatter, zero where nothing checks it; shape (n, 2, 2)."""
    own = chains.legs.own
    scatter: Array = own @ _checked(chains, known)[chains.chain_of[:-1]] @ own
    return scatter


def _checked(chains: Chains, known: JunctionCovariance) -> Array:
    """How much less is open of each chain than its legs leave, weighed; zero for the tail."""
    inverse = np.linalg.inv(chains.covariance)
    ahead = known.own[1:] + known.own[:-1] - known.next - _turned(known.next)
    crossed = (known.with_shared[1:] - known.with_shared[:-1]) @ _turned(chains.lever)
    after = ahead - crossed - _turned(crossed) + chains.lever @ known.shared @ _turned(chains.lever)
    checked = np.zeros((chains.junctions.size, 2, 2))
    checked[:-1] = inverse @ (chains.covariance - after) @ inverse
    return checked


def _folded(own: Array, first: Indices, last: Indices) -> Array:
    """Sum each chain by itself: a difference of running sums would lose a short leg in a long log."""
    if not first.size:
        return np.zeros((0, 2, 2))
    folded: Array = np.add.reduceat(own[: last[-1]], first, axis=0)
    return folded


def _misfit(chains: Chains, junction_place: Array, shared: Array) -> Array:
    misfit: Array = np.diff(junction_place, axis=0) - chains.step - chains.lever @ shared
    return misfit


def _turned(matrices: Array) -> Array:
    return np.swapaxes(matrices, -1, -2)
