"""The one estimate of a walk: stations in the walker's own paces, joined with all that was observed.

The stations as walked are the unknowns, by the walker's own compass and in the walker's own paces;
compass bias and pace scale stand beside them. Legs, back azimuths, bearings and markers met again say
how the stations lie; a place known in metres ties bias and scale. Where nothing is known in metres this
is the walker's frame as it always was.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.adjust.adjustment import Adjustment, adjust_reckoning
from pacewright.core.adjust.condensation import StationPart, station_part, unfold_covariances
from pacewright.core.adjust.network_equations import map_lever, turn_and_scale
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import ASSUMED_PACE_M, Frame, into_frame, map_frame, walker_frame
from pacewright.core.way.lead import (
    Lead,
    WalkedLeg,
    ends_of,
    find_legs_between,
    lead_over_legs,
    markers_between,
)
from pacewright.core.way.observations import PLACING_STATIONS, MapPlaces, Observations, find_observations
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.exceptions import MissingComplaint

Array = NDArray[np.float64]

ASSUMED_SCALE_SD_PCT: Final = 15.0
"""How far a pace that was never measured may be from five feet (common practice)."""


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Where all stations of a log stand, and how sure that is.

    Attributes
    ----------
    log, walker
        The log, and who walked it.
    written
        The log as the pencil has it, in the walker's frame.
    adjustment
        All of it put together, in the frame in which something is known; None where the log holds
        nothing beside its legs.
    is_pace_assumed
        True where the walker has no pace count and the places known in metres told one.
    unused
        What the log holds and the estimate could not use, and why.
    """

    log: TravelLog
    walker: Walker
    written: Reckoning
    adjustment: Adjustment | None
    is_pace_assumed: bool = False
    unused: tuple[str, ...] = ()

    def places(self) -> Array:
        """East and north of every station from the start, in the walker's frame, shape (n + 1, 2)."""
        if self.adjustment is None:
            return self.written.place
        return self._own(self.adjustment.figure)

    def covariances(self) -> Array:
        """The covariance of every station against the start, shape (n + 1, 2, 2)."""
        if self.adjustment is None:
            return self.written.covariances()
        solution = self.adjustment.solution
        figure, _ = unfold_covariances(solution.network.chains, solution.junction_covariance())
        matrix = self._matrix()
        covariance: Array = matrix @ figure @ matrix.T
        return covariance

    def lead(self, here: int, there: int) -> Lead:
        """How one station lies from another."""
        if self.adjustment is None:
            return lead_over_legs(self.written, here, there)
        legs = find_legs_between(self.written, here, there)
        names = self.written.names
        markers = markers_between(names, legs, here, there)
        here, there = ends_of(legs, here, there)
        ends = (names[here], names[there])
        lead = self._lead(self._part(here), self._part(there), here, there, ends, legs)
        return replace(lead, markers=markers)

    def lead_to(self, here: int, name: str) -> Lead:
        """How a known place, or a thing fixed by bearings, lies from a station.

        Raises
        ------
        MissingComplaint
            Nothing says where that is.
        """
        node = None if self.adjustment is None else self.adjustment.node_of_landmark.get(name)
        if node is None:
            known = ", ".join(self.goals()) or "none"
            raise MissingComplaint(
                f"nothing in this log says where {name} lies",
                f"Give a station of the log, or a place that is known or fixed by bearings (here: {known})",
            )
        legs = find_legs_between(self.written, here, 0)
        return self._lead(
            self._part(here), self._part(name), here, None, (self.written.names[here], name), legs
        )

    def on_map(self, lead: Lead) -> tuple[Array, Array] | None:
        """A lead in the map frame and its covariance, shapes (2,) and (2, 2); None where there is none."""
        if self.adjustment is None or self.adjustment.frame.kind != "map":
            return None
        goal = lead.to_station if lead.to_station is not None else lead.to_name
        assert goal is not None
        covariance, with_shared = _between(self.adjustment, self._part(lead.from_station), self._part(goal))
        shared = self.adjustment.solution.shared
        matrix = turn_and_scale(shared)
        # The lead is in the walker's frame: into the figure as walked, and by bias and scale onto the map.
        step = matrix @ np.linalg.solve(self._matrix(), lead.step)
        lever = map_lever(step[None], shared.size)[0]
        mixed = matrix @ with_shared @ lever.T
        by_shared = lever @ self.adjustment.solution.shared_covariance @ lever.T
        return step, matrix @ covariance @ matrix.T + mixed + mixed.T + by_shared

    def goals(self) -> tuple[str, ...]:
        """Names of what is no station and can be a goal all the same."""
        return () if self.adjustment is None else tuple(self.adjustment.node_of_landmark)

    @property
    def _shared_size(self) -> int:
        assert self.adjustment is not None
        return int(self.adjustment.solution.shared.size)

    def _part(self, place: int | str) -> StationPart:
        """How a station, or what is none, hangs on the nodes of the adjustment."""
        assert self.adjustment is not None
        if isinstance(place, int):
            return station_part(self.adjustment.solution.network.chains, place)
        node = self.adjustment.node_of_landmark[place]
        return StationPart((node,), np.eye(2)[None], np.zeros((2, self._shared_size)), -1, None, None)

    def _lead(
        self,
        first: StationPart,
        second: StationPart,
        here: int,
        there: int | None,
        names: tuple[str | None, str | None],
        legs: tuple[WalkedLeg, ...],
    ) -> Lead:
        assert self.adjustment is not None
        solution = self.adjustment.solution
        figure, matrix = self.adjustment.figure, self._matrix()
        from_place = figure[here]
        to_place = figure[there] if there is not None else solution.figure[second.nodes[0]]
        covariance, with_shared = _between(self.adjustment, first, second)
        grounds = solution.network.grounds
        variance = np.diag(solution.shared_covariance)
        return Lead(
            from_station=here,
            to_station=there,
            from_name=names[0],
            to_name=names[1],
            step=matrix @ (to_place - from_place),
            covariance=matrix @ covariance @ matrix.T,
            legs=legs,
            is_written=False,
            with_ground={name: matrix @ with_shared[:, k] for k, name in grounds},
            ground_variance={name: float(variance[k]) for k, name in grounds},
        )

    def _matrix(self) -> Array:
        assert self.adjustment is not None
        return into_frame(self.adjustment.frame, self.written.frame)

    def _own(self, figure: Array) -> Array:
        own: Array = figure @ self._matrix().T
        return own


def build_standing(
    log: TravelLog,
    walker: Walker | None = None,
    frame: Frame | None = None,
    placed: MapPlaces | None = None,
    *,
    robust: bool = False,
    aside: Callable[[Observations], Observations] | None = None,
) -> Standing:
    """Put a log together with all that was observed beside its legs.

    Parameters
    ----------
    log, walker
        The log, and who walked it.
    frame
        The map frame in which places are known, where a map told them; by default the log's own.
    placed
        Places of known points that only a map can tell, metres east and north from the start.
    robust
        Let scatter have heavy tails.
    aside
        Sets aside what is not to be used of what was observed.

    Raises
    ------
    MissingComplaint
        The pace table lacks a class that the log names.
    ValueComplaint
        The bearings do not settle on one figure.
    """
    walker = walker or Walker()
    own_frame = walker_frame(log.heading, walker)
    written = reckon(log, walker, own_frame)
    measured, is_assumed = with_a_pace(log, walker)
    map_of_log = frame if frame is not None and frame.kind == "map" else map_frame(log.heading, measured)
    on_map = find_observations(log, measured, map_of_log, placed, least_stations=PLACING_STATIONS)
    is_placed = on_map.fixes or on_map.goals or any(one.landmark is not None for one in on_map.bearings)
    if is_placed or not is_assumed:
        used, observations = map_of_log, on_map
    else:
        used = own_frame
        observations = find_observations(log, walker, own_frame, least_stations=PLACING_STATIONS)
    if aside is not None:
        observations = aside(observations)
    if not _holds_anything(observations):
        return Standing(log, walker, written, None, unused=observations.unused)
    reckoning = written if used is own_frame else reckon(log, measured, used)
    adjustment = adjust_reckoning(reckoning, observations, walker.compass.bias_sd_deg, robust=robust)
    return Standing(
        log=log,
        walker=walker,
        written=written,
        adjustment=adjustment,
        is_pace_assumed=is_assumed and used is not own_frame,
        unused=adjustment.observations.unused,
    )


def with_a_pace(log: TravelLog, walker: Walker) -> tuple[Walker, bool]:
    """A walker who has a pace count: the own one, or a wide one that known places can tell."""
    if walker.per_100_m is not None or log.heading.count_unit == "metres":
        return walker, False
    count = replace(walker.count, scale_sd_pct=ASSUMED_SCALE_SD_PCT)
    return replace(walker, per_100_m=100.0 / ASSUMED_PACE_M, count=count), True


def _holds_anything(observations: Observations) -> bool:
    return bool(
        observations.ties
        or observations.fixes
        or observations.bearings
        or observations.back_azimuths
        or observations.goals
    )


def _between(adjustment: Adjustment, first: StationPart, second: StationPart) -> tuple[Array, Array]:
    """The covariance of second less first, (2, 2), and that with the shared unknowns, (2, g)."""
    solution = adjustment.solution
    nodes = np.unique(np.array([*first.nodes, *second.nodes], dtype=np.intp))
    u = nodes.size
    pairs = solution.pair_covariance(np.repeat(nodes, u), np.tile(nodes, u)).reshape(u, u, 2, 2)
    joint = pairs.transpose(0, 2, 1, 3).reshape(2 * u, 2 * u)
    crossed = solution.node_shared_covariance(nodes).reshape(2 * u, -1)
    by_node = np.zeros((2, u, 2))
    for part, sign in ((first, -1.0), (second, 1.0)):
        for node, by in zip(part.nodes, part.by_node, strict=True):
            by_node[:, int(np.searchsorted(nodes, node))] += sign * by
    by, lever = by_node.reshape(2, 2 * u), second.lever - first.lever
    mixed = by @ crossed @ lever.T
    covariance = by @ joint @ by.T + mixed + mixed.T + lever @ solution.shared_covariance @ lever.T
    covariance = covariance + first.own() + second.own()
    if first.chain == second.chain and first.chain >= 0:
        both = first.own_with(second)
        covariance = covariance - both - both.T
    return covariance, by @ crossed + lever @ solution.shared_covariance
