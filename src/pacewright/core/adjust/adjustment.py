"""Least squares over everything at once: legs, closures, back azimuths, bearings, known points.

What all legs share (compass bias, pace scale, the ratio of a class of ground) is unknown with its
prior. A log that closes on itself says nothing about bias or scale: the whole figure may be turned
and stretched and still close. Such an unknown is never called estimated.

References
----------
Least squares with observations of unlike kinds and weights: C. D. Ghilani, Adjustment Computations,
ch. 11 to 16.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.condensation import (
    leg_redundancies,
    unfold_covariances,
    unfold_places,
)
from pacewright.core.adjust.heavy_tails import reweigh, trust_back_azimuths
from pacewright.core.adjust.network import Solution, solve_network
from pacewright.core.adjust.network_equations import (
    equations,
    map_lever,
    on_map,
    origin_lever,
    turn_and_scale,
)
from pacewright.core.adjust.network_setup import (
    Setup,
    Weights,
    first_figure,
    full_trust,
    set_up,
)
from pacewright.core.adjust.usable_bearings import (
    does_not_settle,
    find_seen,
    leave_out,
    leave_out_gone,
    leave_out_near,
)
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.student import f_exceeded
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import Frame
from pacewright.core.way.observations import MapPlaces, Observations, find_observations
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.exceptions import ValueComplaint

Array = NDArray[np.float64]

OBSERVABLE_BELOW: Final = 0.9
"""An unknown counts as observed where its standard deviation falls below this share of the prior's:
the log then tells at least a quarter as much as was known beforehand (1/0.81 - 1). Chosen, not published."""

WHOLLY_KNOWN: Final = 1e7
ROBUST_ROUNDS: Final = 40
ROBUST_SETTLED: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Parameter:
    """What an adjustment says of an unknown that the whole log shares.

    Attributes
    ----------
    name
        `compass bias` (degrees, added to what was read, clockwise), `pace scale` (true length over
        reckoned length), `handling bias` (the part of the compass bias that walking has and a bearing
        taken standing has not), or a class of ground (its length beside the pace scale, as a factor).
    value
        The best value, or None where the log does not tell: then only the prior speaks.
    sd
        How sure that is, with prior and log together.
    prior_sd
        How sure it was beforehand.
    """

    name: str
    value: float | None
    sd: float
    prior_sd: float

    @property
    def observable(self) -> bool:
        """Whether the log told it."""
        return self.value is not None


@dataclass(frozen=True, slots=True, eq=False)
class Adjustment:
    """A log adjusted as a whole.

    Attributes
    ----------
    reckoning
        The log as written.
    observations
        What was used beside the legs.
    place
        Every station, shape (n + 1, 2).
    figure
        Every station as walked: before compass bias and pace scale, shape (n + 1, 2).
    parameters
        The unknowns that all legs share.
    landmarks
        Things seen and not walked to, and known places that are goals: east and north.
    node_of_landmark
        The node of each in the solution.
    residual
        For every leg, shape (n, 2): how much further it went (along) and how much more to the right
        (across) than counted and read, the shared unknowns left out.
    redundancy
        How many numbers more than needed were observed; 0 means that nothing could be adjusted.
    misfit2
        The weighted sum of squares: about `redundancy` where all scatter was as believed.
    weights
        How far each leg and observation was trusted; all 1 unless the adjustment was robust.
    held
        How sure each station is where the log stands as written and nothing was spread, shape
        (n + 1, 2, 2); None where it was adjusted.
    """

    reckoning: Reckoning
    observations: Observations
    place: Array
    figure: Array
    parameters: tuple[Parameter, ...]
    landmarks: Mapping[str, tuple[float, float]]
    node_of_landmark: Mapping[str, int]
    residual: Array
    redundancy: int
    misfit2: float
    weights: Weights
    solution: Solution
    held: Array | None = None

    @property
    def is_as_written(self) -> bool:
        """True where nothing was spread: the legs stand as written."""
        return self.held is not None

    @property
    def frame(self) -> Frame:
        """The frame of all lengths and places."""
        return self.reckoning.frame

    @property
    def fit_chance(self) -> float | None:
        """How often scatter as believed misfits by as much or more; None where nothing was checked."""
        if not self.redundancy:
            return None
        # Chi-square is the ratio to a variance that is wholly known.
        return f_exceeded(self.misfit2 / self.redundancy, self.redundancy, WHOLLY_KNOWN)

    def find_parameter(self, name: str) -> Parameter | None:
        """One of the shared unknowns by name; None where the log has none such."""
        return next((one for one in self.parameters if one.name == name), None)

    def covariances(self, origin: int = 0, *, with_doubt: bool = False) -> Array:
        """The covariance of every adjusted station against one, shape (n + 1, 2, 2).

        Parameters
        ----------
        origin
            In the map frame: the start, or another station of which something is known beside the legs.
        with_doubt
            Whether to add how well the place is known that all known places are counted from.
        """
        if self.held is not None:
            return self.held
        network = self.solution.network
        if self.frame.kind == "walker":
            return unfold_covariances(network.chains, self.solution.junction_covariance())[0]
        lever = map_lever(self.place - self.place[origin], self.solution.shared.size)
        if with_doubt:
            lever += origin_lever(network.names)
        return self.solution.seen_from(origin, turn_and_scale(self.solution.shared), lever)

    def leg_redundancies(self) -> Array:
        """How far the rest of the log checks each leg, from 0 (not at all) to 2; shape (n,)."""
        return leg_redundancies(self.solution.network.chains, self.solution.junction_covariance())


def adjust(
    log: TravelLog,
    walker: Walker | None = None,
    frame: Frame | None = None,
    *,
    placed: MapPlaces | None = None,
    robust: bool = False,
) -> Adjustment:
    """Adjust a log as a whole by least squares.

    Parameters
    ----------
    log
        At least one leg.
    walker
        Pace table and scatter; without one the published defaults hold.
    frame
        By default paces, until log and walker hold a pace count and a known point.
    placed
        Places of known points that only a map can tell, east and north in metres from the start.
    robust
        Let scatter have heavy tails, so that an outlying leg, bearing or place pulls less.

    Raises
    ------
    MissingComplaint
        The map frame has no pace count, or the pace table lacks a class that the log names.
    ValueComplaint
        The bearings do not settle on one figure.
    """
    walker = walker or Walker()
    reckoning = reckon(log, walker, frame)
    observations = find_observations(log, walker, reckoning.frame, placed)
    return adjust_reckoning(reckoning, observations, walker.compass.bias_sd_deg, robust=robust)


def adjust_reckoning(
    reckoning: Reckoning, observations: Observations, bias_sd_deg: float, *, robust: bool = False
) -> Adjustment:
    """Adjust a reckoned log with observations that are at hand.

    Parameters
    ----------
    reckoning, observations
        Both in one frame.
    bias_sd_deg
        Prior of the compass bias, of which half the variance also turns bearings.
    robust
        Let scatter have heavy tails.
    """
    observations, begin = _rough(reckoning, observations, bias_sd_deg)
    while True:
        weights = full_trust(reckoning, observations)
        if robust:
            weights = trust_back_azimuths(weights, reckoning, observations)
        setup = set_up(reckoning, observations, bias_sd_deg, weights)
        figure = first_figure(setup, begin.place, begin.seen)
        try:
            solution = solve_network(setup.network, figure, begin.shared)
        except ValueComplaint:
            if not observations.bearings:
                raise
            observations = _without_worst(observations, setup, figure, begin.shared)
            continue
        kept = leave_out_gone(observations, setup, solution, figure)
        if kept is observations:
            break
        observations = kept
    if robust:
        setup, solution, weights = _settle_weights(
            reckoning, observations, bias_sd_deg, setup, solution, weights
        )
    return _result(reckoning, observations, setup, solution, weights)


def _settle_weights(
    reckoning: Reckoning,
    observations: Observations,
    bias_sd_deg: float,
    setup: Setup,
    solution: Solution,
    weights: Weights,
) -> tuple[Setup, Solution, Weights]:
    """Adjust and weigh in turn until the weights stand still."""
    for _ in range(ROBUST_ROUNDS):
        new_weights = reweigh(weights, solution)
        new_setup = set_up(reckoning, observations, bias_sd_deg, new_weights)
        try:
            new_solution = solve_network(new_setup.network, solution.figure, solution.shared)
        except ValueComplaint:
            # The last figure that settled stands.
            break
        change = np.abs(new_weights.legs - weights.legs).max()
        setup, solution, weights = new_setup, new_solution, new_weights
        if change < ROBUST_SETTLED:
            break
    return setup, solution, weights


@dataclass(frozen=True, slots=True, eq=False)
class _Begin:
    """The log adjusted without its bearings: stations as walked, landmarks, shared unknowns."""

    place: Array
    seen: Mapping[str, tuple[float, float]]
    shared: Array


def _rough(
    reckoning: Reckoning, observations: Observations, bias_sd_deg: float
) -> tuple[Observations, _Begin]:
    """Adjust without the bearings first: they are only nearly linear, and need a place near the truth."""
    setup = set_up(reckoning, observations, bias_sd_deg, aim=False)
    shared = np.zeros(setup.network.prior_variance.size)
    if not observations.bearings:
        return observations, _Begin(reckoning.place, {}, shared)
    rough = solve_network(setup.network, first_figure(setup, reckoning.place, {}), shared)
    place = reckoning.place.copy()
    # Behind the junctions stand the things whose place is known, also without a bearing to them.
    place[setup.network.chains.junctions[1:]] = rough.figure[: setup.network.chains.junctions.size - 1]
    observations, seen = find_seen(observations, place)
    return leave_out_near(observations, setup, rough, seen), _Begin(place, seen, rough.shared)


def _without_worst(observations: Observations, setup: Setup, figure: Array, shared: Array) -> Observations:
    """Leave out the bearing that fits worst."""
    bearings = equations(setup.network, figure, shared)[-1]
    worst = observations.bearings[int(np.argmax(bearings.misfit[:, 0] ** 2 * bearings.weight[:, 0, 0]))]
    return leave_out(observations, [worst], [does_not_settle(worst)])


def _result(
    reckoning: Reckoning, observations: Observations, setup: Setup, solution: Solution, weights: Weights
) -> Adjustment:
    chains, shared = setup.network.chains, solution.shared
    junctions = _with_start(solution.figure[: chains.junctions.size - 1])
    figure = unfold_places(chains, junctions, shared)
    on_the_map = reckoning.frame.kind == "map"
    nodes = on_map(solution.figure, shared) if on_the_map else solution.figure
    landmarks = {
        name: (float(nodes[node][0]), float(nodes[node][1])) for name, node in setup.node_of_landmark.items()
    }
    return Adjustment(
        reckoning=reckoning,
        observations=observations,
        place=on_map(figure, shared) if on_the_map else figure,
        figure=figure,
        parameters=_parameters(reckoning, observations, solution),
        landmarks=landmarks,
        node_of_landmark=setup.node_of_landmark,
        residual=_residuals(reckoning, figure, chains.legs.lever[:, :, 3:] @ shared[3:]),
        redundancy=_redundancy(setup, observations),
        misfit2=solution.misfit2,
        weights=weights,
        solution=solution,
    )


def _residuals(reckoning: Reckoning, figure: Array, ground: Array) -> Array:
    misfit = np.diff(figure - reckoning.place - ground, axis=0)
    azimuth_rad = np.radians(reckoning.azimuth_deg)
    sine, cosine = np.sin(azimuth_rad), np.cos(azimuth_rad)
    along = misfit[:, 0] * sine + misfit[:, 1] * cosine
    across = misfit[:, 0] * cosine - misfit[:, 1] * sine
    return np.stack([along, across], axis=1)


def _redundancy(setup: Setup, observations: Observations) -> int:
    network = setup.network
    landmarks = network.nodes - (network.chains.junctions.size - 1)
    observed = 2 * network.tie_sd.size + 2 * network.fix_sd.size + network.bearing_rad.size
    unknown = landmarks + int(observations.is_origin_seen)
    return int(observed + network.handling_rad.size - 2 * unknown)


def _parameters(
    reckoning: Reckoning, observations: Observations, solution: Solution
) -> tuple[Parameter, ...]:
    shared, covariance = solution.shared, solution.shared_covariance
    prior = solution.network.prior_variance
    found = []
    if reckoning.frame.kind == "map":
        bias_sd = math.sqrt(max(0.0, float(covariance[:2, :2].sum())))
        bias_deg = math.degrees(shared[0] + shared[1])
        prior_deg = math.degrees(math.sqrt(prior[0] + prior[1]))
        found.append(_parameter("compass bias", bias_deg, math.degrees(bias_sd), prior_deg))
        found.append(_factor("pace scale", shared[2], covariance[2, 2], prior[2]))
    if observations.bearings or observations.back_azimuths:
        handling_deg, handling_sd = math.degrees(shared[1]), math.degrees(math.sqrt(covariance[1, 1]))
        prior_deg = math.degrees(math.sqrt(prior[1]))
        found.append(_parameter("handling bias", handling_deg, handling_sd, prior_deg))
    for k, name in solution.network.grounds:
        sd, prior_sd = math.sqrt(covariance[k, k]), math.sqrt(prior[k])
        found.append(_parameter(name, 1.0 + float(shared[k]), sd, prior_sd))
    return tuple(found)


def _factor(name: str, log_value: float, variance: float, prior: float) -> Parameter:
    return _parameter(name, math.exp(log_value), math.sqrt(max(0.0, variance)), math.sqrt(prior))


def _parameter(name: str, value: float, sd: float, prior_sd: float) -> Parameter:
    return Parameter(name, value if sd < OBSERVABLE_BELOW * prior_sd else None, sd, prior_sd)


def _with_start(figure: Array) -> Array:
    return np.concatenate([np.zeros((1, 2)), figure])
