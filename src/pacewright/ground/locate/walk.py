"""A log as a search walks it: where stations lie from the start, what is unsure, what a slip moves."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import turn_deg, unit_vectors
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.slips.leg_prior import fit_length_prior, log_lengths
from pacewright.core.slips.slips import KIND_WEIGHT, Slip, SlipKind, find_slips
from pacewright.core.way.reckoning import Reckoning

Floats = NDArray[np.float64]

LEAST_NODES, MOST_NODES = 5, 11
NODES_REACH: Final = 2.4
"""Nodes of bias and of scale lie out to so many standard deviations."""
NODE_STEP_NOISES: Final = 2.0
"""How far a step from node to node may move the last station, in its own scatter."""

SLIP_CHANCE: Final = 0.035
"""The chance that a leg holds a slip of the pencil (assumed, on the high side)."""
_OFTENER: Final[dict[SlipKind, float]] = {"tally_lost": 4.0, "tally_added": 4.0, "azimuth_reversed": 2.5}
"""A hundred lost or added and an azimuth read backward are taken as the commonest by far: where a search has
to choose among many places, the rare kinds would else take most of the chance (assumed)."""
MOST_WAYS: Final = 7
_SAME_PLACE_M: Final = 20.0
_READ_BACK_RIGHT_DEG: Final = 15.0
_READ_BACK_WEIGHT: Final = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Moved:
    """What a slip on a leg moves all that comes after it by: east and north in metres, and its chance."""

    east_m: float
    north_m: float
    chance: float
    says: str


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """The figure of a log on a terrain's grid, in metres.

    Attributes
    ----------
    place_m
        East and north of every station from the start as logged; shape (n + 1, 2).
    own_m2
        Covariance of what each leg scatters by itself; shape (n, 2, 2).
    bias_sd_rad, scale_sd
        Of what all legs share.
    slips
        What a slip on each leg would have moved; length n.
    """

    place_m: Floats
    own_m2: Floats
    bias_sd_rad: float
    scale_sd: float
    slips: tuple[tuple[Moved, ...], ...]

    @property
    def legs(self) -> int:
        """How many legs there are."""
        return len(self.slips)

    @property
    def scatter_m(self) -> float:
        """How far the last station scatters by the legs' own errors."""
        return float(np.sqrt(np.trace(self.own_m2.sum(axis=0)) / 2.0))

    @property
    def reach_m(self) -> float:
        """How far from the start the walk leads at most."""
        return float(np.hypot(*self.place_m.T).max())

    @property
    def length_m(self) -> Floats:
        """Length of every leg."""
        return np.asarray(np.hypot(*np.diff(self.place_m, axis=0).T))


@dataclass(frozen=True, slots=True, eq=False)
class Nodes:
    """The biases and scales that a search tries; each array has one entry a node.

    Attributes
    ----------
    bias_rad, scale
        Added to every azimuth, multiplied into every length.
    weight
        Their chances, with sum 1, the likeliest first under each error of the heights.
    heights
        Which error of the heights goes with it.
    """

    bias_rad: Floats
    scale: Floats
    weight: Floats
    heights: NDArray[np.intp]

    def under_each(self, chances: tuple[float, ...]) -> Nodes:
        """The same nodes once more for every error of the heights, given the chance of each."""
        errors = len(chances)
        weight = np.outer(chances, self.weight).ravel()
        heights = np.repeat(np.arange(errors), self.weight.size)
        return Nodes(np.tile(self.bias_rad, errors), np.tile(self.scale, errors), weight, heights)

    def places(self, place_m: Floats) -> Floats:
        """Where the stations lie for every node; shape (nodes, stations, 2)."""
        sine, cosine = np.sin(self.bias_rad)[:, None], np.cos(self.bias_rad)[:, None]
        east, north = place_m[:, 0], place_m[:, 1]
        turned = np.stack([east * cosine + north * sine, north * cosine - east * sine], axis=2)
        return np.asarray(turned * self.scale[:, None, None])


def nodes_of(walk: Walk) -> Nodes:
    """The nodes for a walk: five by five at least, more where it leads far against its scatter."""
    bias, bias_weight = _line_of_nodes(walk.bias_sd_rad, walk)
    scale, scale_weight = _line_of_nodes(walk.scale_sd, walk)
    weight = np.outer(bias_weight, scale_weight).ravel()
    order = np.argsort(-weight, kind="stable")
    all_bias, all_scale = (one.ravel()[order] for one in np.meshgrid(bias, scale, indexing="ij"))
    return Nodes(all_bias, np.exp(all_scale), weight[order], np.zeros(order.size, dtype=np.intp))


def walk_of(log: TravelLog, reckoning: Reckoning, slip_chance: float = SLIP_CHANCE) -> Walk:
    """The walk that a log tells, on a grid.

    Parameters
    ----------
    log
        What the pencil wrote.
    reckoning
        The same in metres by the grid's north.
    slip_chance
        That a leg holds a slip of the pencil.
    """
    own = reckoning.own.copy()
    for term in reckoning.ground_terms:
        # A class of ground is walked on a few legs: its error is taken as theirs.
        steps = np.diff(term.lever, axis=0)
        own += term.variance * steps[:, :, None] * steps[:, None, :]
    return Walk(
        place_m=reckoning.place,
        own_m2=own,
        bias_sd_rad=math.radians(reckoning.frame.bias_sd_deg),
        scale_sd=reckoning.frame.scale_sd,
        slips=_slips(log, reckoning, slip_chance),
    )


def as_adjusted(walk: Walk, place_m: Floats, covariances_m2: Floats) -> Walk:
    """The walk as something observed has it: where its stations lie, and how unsure that leaves them.

    Scatter that a closed round takes back again is left out of the legs that come after it: a search can
    only let scatter grow.

    Parameters
    ----------
    walk
        As the legs alone have it.
    place_m, covariances_m2
        East and north of every station from the start, shape (n + 1, 2), and their covariances, shape
        (n + 1, 2, 2), with what all legs share still in them.
    """
    if math.hypot(*(place_m[-1] - walk.place_m[-1])) > 4.0 * max(walk.scatter_m, 1.0):
        # So far off that a slip is the likelier reason, and is searched for.
        return walk
    shared = (walk.bias_sd_rad**2 + walk.scale_sd**2) * (place_m**2).sum(axis=1)
    left = np.maximum(np.trace(covariances_m2, axis1=1, axis2=2) - shared, 0.0)
    own = np.trace(walk.own_m2, axis1=1, axis2=2)
    share = np.clip(np.diff(np.maximum.accumulate(left)) / np.maximum(own, 1e-12), 0.02, 1.0)
    return replace(walk, place_m=place_m, own_m2=walk.own_m2 * share[:, None, None])


def _line_of_nodes(sd: float, walk: Walk) -> tuple[Floats, Floats]:
    if sd <= 0:
        return np.zeros(1), np.ones(1)
    span_m = 2.0 * NODES_REACH * sd * walk.reach_m
    steps = math.ceil(span_m / (NODE_STEP_NOISES * max(walk.scatter_m, 1.0)))
    count = min(max(LEAST_NODES, steps + 1 + steps % 2), MOST_NODES)
    at = np.linspace(-NODES_REACH, NODES_REACH, count)
    weight = np.exp(-0.5 * at**2)
    return at * sd, weight / weight.sum()


def _slips(log: TravelLog, reckoning: Reckoning, slip_chance: float) -> tuple[tuple[Moved, ...], ...]:
    legs = log.legs
    found: list[list[tuple[float, Floats, str]]] = [[] for _ in legs]
    if slip_chance > 0:
        unit_m = np.array(
            [
                length / leg.count if leg.count else reckoning.frame.units_per_count
                for leg, length in zip(legs, reckoning.length, strict=True)
            ]
        )
        prior = fit_length_prior(reckoning.length, np.ones(len(legs), dtype=np.bool_), 1.0)
        for slip in find_slips(log):
            if len(slip.legs) != 1:
                continue
            k = slip.legs[0] - 1
            length_m = slip.entries[0].count * unit_m[k]
            longer = prior.log_ratio(np.array([k]), log_lengths([length_m]))
            weight = (
                KIND_WEIGHT[slip.kind]
                * _OFTENER.get(slip.kind, 1.0)
                * math.exp(slip.place_weight + float(longer[0]))
            )
            weight *= _read_back(legs[k], slip)
            found[k].append((weight, _moved(slip, reckoning, k, length_m), slip.kind))
    return tuple(_likeliest(one, slip_chance) for one in found)


def _read_back(leg: Leg, slip: Slip) -> float:
    """How much less likely a slip of the azimuth is where the leg was read back and agrees."""
    back = leg.find(BackReading) if leg.remarks else None
    if back is None or slip.entries[0].reading.azimuth_deg == leg.azimuth_deg:
        return 1.0
    agrees = abs(turn_deg(leg.azimuth_deg + 180.0, back.azimuth_deg)) < _READ_BACK_RIGHT_DEG
    return _READ_BACK_WEIGHT if agrees else 1.0


def _moved(slip: Slip, reckoning: Reckoning, k: int, length_m: float) -> Floats:
    turned = slip.entries[0].reading.azimuth_deg + reckoning.frame.leg_turn_deg
    meant = np.array(unit_vectors(turned)) * length_m
    return np.asarray(meant - np.diff(reckoning.place, axis=0)[k])


def _likeliest(found: list[tuple[float, Floats, str]], chance: float) -> tuple[Moved, ...]:
    merged: list[tuple[float, Floats, str]] = []
    for weight, moved, kind in sorted(found, key=lambda one: -one[0]):
        for i, (heavier, place, first) in enumerate(merged):
            if np.hypot(*(place - moved)) < _SAME_PLACE_M:
                merged[i] = (heavier + weight, place, first)
                break
        else:
            merged.append((weight, moved, kind))
    total = sum(weight for weight, _, _ in merged)
    kept = [one for one in sorted(merged, key=lambda one: -one[0])[:MOST_WAYS] if np.hypot(*one[1]) > 1.0]
    return tuple(
        Moved(float(moved[0]), float(moved[1]), chance * weight / total, kind) for weight, moved, kind in kept
    )
