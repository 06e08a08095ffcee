"""How one place lies from another, as a log leads from it: step, doubt, and the legs that it rests on."""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from pacewright.core.way.reckoning import Reckoning

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class WalkedLeg:
    """A leg that a way goes over: its number, from 1, and whether from its end to its beginning."""

    leg: int
    is_back: bool


@dataclass(frozen=True, slots=True, eq=False)
class Lead:
    """How a goal lies from where the walker stands, in the walker's frame.

    Attributes
    ----------
    from_station, to_station
        Their numbers; a goal that is no station has None.
    from_name, to_name
        Their names, or None.
    step, covariance
        East and north from one to the other, shape (2,), and its covariance, shape (2, 2).
    with_ground
        By class of ground, the covariance of the step with that class's error, shape (2,).
    ground_variance
        By class of ground, the variance of its error.
    legs
        The legs between the two, in the order in which one walks from here to there: those of a loop
        that closes at a marker are left out.
    is_written
        True where the step is the sum of those legs and of nothing else.
    markers
        The stations, no first visits, that the way takes for the place of another visit of their marker.
    """

    from_station: int
    to_station: int | None
    from_name: str | None
    to_name: str | None
    step: Array
    covariance: Array
    legs: tuple[WalkedLeg, ...]
    is_written: bool
    with_ground: Mapping[str, Array] = field(default_factory=dict)
    ground_variance: Mapping[str, float] = field(default_factory=dict)
    markers: frozenset[int] = frozenset()

    @property
    def is_there(self) -> bool:
        """True where the log itself says that the two are one marker."""
        return self.from_station == self.to_station or (
            self.from_name is not None and self.from_name == self.to_name
        )

    @property
    def numbers(self) -> frozenset[int]:
        """The numbers of its legs, from 1."""
        return frozenset(one.leg for one in self.legs)


def find_legs_between(reckoning: Reckoning, here: int, there: int) -> tuple[WalkedLeg, ...]:
    """The legs from one station to another that scatter least, a marker met again being one place.

    Parameters
    ----------
    reckoning
        The log.
    here, there
        Stations.
    """
    place_of = _places_of(reckoning.names)
    if place_of is None:
        return straight_legs(here, there)
    start, place = place_of[here], place_of[there]
    came = _tree(reckoning, place_of, start)
    legs: list[WalkedLeg] = []
    while place != start:
        place, leg = came[place]
        legs.append(leg)
    return tuple(reversed(legs))


def cut_at_markers(reckoning: Reckoning, marker_sd: float) -> Reckoning:
    """The stations as written, each counted over the fewest and surest legs from the start.

    A marker met again is one place: what a loop back to it does not close by is left in the loop, and
    does not go into what follows.

    Parameters
    ----------
    reckoning
        The log as the pencil sums it.
    marker_sd
        How well a marker met again is one place, in the unit of the frame.
    """
    place_of = _places_of(reckoning.names)
    if place_of is None:
        return reckoning
    came = _tree(reckoning, place_of, 0)
    terms = reckoning.shared
    place, own = np.zeros_like(reckoning.place), np.zeros((len(place_of), 2, 2))
    lever = np.zeros((len(terms), len(place_of), 2))
    # A place enters the tree after the one that it is reached from.
    for station, (before, walked) in came.items():
        sign = -1.0 if walked.is_back else 1.0
        place[station] = place[before] + sign * (
            reckoning.place[walked.leg] - reckoning.place[walked.leg - 1]
        )
        own[station] = own[before] + reckoning.own[walked.leg - 1]
        for k, term in enumerate(terms):
            lever[k, station] = lever[k, before] + sign * (
                term.lever[walked.leg] - term.lever[walked.leg - 1]
            )
    index = np.array(place_of)
    held = own[index]
    for term, one in zip(terms, lever, strict=True):
        held = held + term.variance * one[index][:, :, None] * one[index][:, None, :]
    again = index != np.arange(index.size)
    held[again] += marker_sd**2 * np.eye(2)
    return replace(reckoning, place=place[index], held=held)


def _tree(reckoning: Reckoning, place_of: Sequence[int], start: int) -> dict[int, tuple[int, WalkedLeg]]:
    """From where, and over which leg, every place is reached with the least scatter, in that order.

    References
    ----------
    E. W. Dijkstra, A note on two problems in connexion with graphs, 1959 (from memory).
    """
    own = np.einsum("nii->n", reckoning.own).tolist()
    visits: dict[int, list[int]] = {}
    for station, place in enumerate(place_of):
        visits.setdefault(place, []).append(station)
    best: dict[int, float] = {start: 0.0}
    came: dict[int, tuple[int, WalkedLeg]] = {}
    settled: dict[int, tuple[int, WalkedLeg]] = {}
    waiting = [(0.0, start)]
    while waiting:
        cost, place = heapq.heappop(waiting)
        if cost > best[place] or place in settled:
            continue
        if place != start:
            settled[place] = came[place]
        for station in visits[place]:
            for leg, other, is_back in ((station, station - 1, True), (station + 1, station + 1, False)):
                if not 0 <= other < len(place_of):
                    continue
                further, reached = cost + own[leg - 1], place_of[other]
                if further < best.get(reached, np.inf):
                    best[reached], came[reached] = further, (place, WalkedLeg(leg, is_back))
                    heapq.heappush(waiting, (further, reached))
    return settled


def lead_over_legs(
    reckoning: Reckoning, here: int, there: int, legs: Sequence[WalkedLeg] | None = None
) -> Lead:
    """How one station lies from another by the legs between alone, as written.

    Parameters
    ----------
    reckoning
        The log in the walker's frame.
    here, there
        Stations.
    legs
        Those between; by default those that scatter least.
    """
    legs = find_legs_between(reckoning, here, there) if legs is None else tuple(legs)
    index = np.array([one.leg for one in legs], dtype=np.intp)
    sign = np.array([-1.0 if one.is_back else 1.0 for one in legs])
    step = sign @ (reckoning.place[index] - reckoning.place[index - 1]) if legs else np.zeros(2)
    covariance = reckoning.own[index - 1].sum(axis=0) if legs else np.zeros((2, 2))
    grounds, with_ground, ground_variance = reckoning.ground_terms, {}, {}
    for term in reckoning.shared:
        lever = sign @ (term.lever[index] - term.lever[index - 1]) if legs else np.zeros(2)
        covariance = covariance + term.variance * np.outer(lever, lever)
        if term in grounds:
            with_ground[term.name], ground_variance[term.name] = term.variance * lever, term.variance
    markers = markers_between(reckoning.names, legs, here, there)
    here, there = ends_of(legs, here, there)
    return Lead(
        from_station=here,
        to_station=there,
        from_name=reckoning.names[here],
        to_name=reckoning.names[there],
        step=step,
        covariance=covariance,
        legs=legs,
        is_written=True,
        with_ground=with_ground,
        ground_variance=ground_variance,
        markers=markers,
    )


def markers_between(
    names: Sequence[str | None], legs: Sequence[WalkedLeg], here: int, there: int
) -> frozenset[int]:
    """The stations, no first visits, that a way takes for the place of another visit of their marker."""
    place_of = _places_of(names)
    if place_of is None:
        return frozenset()
    at, taken = here, set()
    for one in legs:
        begin, end = (one.leg, one.leg - 1) if one.is_back else (one.leg - 1, one.leg)
        if begin != at:
            taken |= {at, begin}
        at = end
    if at != there:
        taken |= {at, there}
    return frozenset(station for station in taken if place_of[station] != station)


def ends_of(legs: Sequence[WalkedLeg], here: int, there: int) -> tuple[int, int]:
    """The visits of two places at which the legs between them begin and end."""
    if not legs:
        return here, there
    first, last = legs[0], legs[-1]
    return (first.leg if first.is_back else first.leg - 1), (last.leg - 1 if last.is_back else last.leg)


def _places_of(names: Sequence[str | None]) -> list[int] | None:
    """The first station of the place of each station; None where no marker was met again."""
    first: dict[str, int] = {}
    places = [first.setdefault(name, k) if name else k for k, name in enumerate(names)]
    return None if places == list(range(len(places))) else places


def straight_legs(here: int, there: int) -> tuple[WalkedLeg, ...]:
    """All legs from one station to another, in the order of the log or back over them."""
    if here <= there:
        return tuple(WalkedLeg(leg, False) for leg in range(here + 1, there + 1))
    return tuple(WalkedLeg(leg, True) for leg in range(here, there, -1))
