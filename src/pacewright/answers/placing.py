"""Where a log lies on the map: its stations on the grid, by the one estimate behind all answers."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pacewright.answers.estimate import Estimate
from pacewright.core.adjust.network_equations import origin_lever
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.way.frames import into_frame, map_frame
from pacewright.core.way.lead import lead_over_legs
from pacewright.core.way.reckoning import Reckoning
from pacewright.core.way.regions import Region, station_region
from pacewright.exceptions import MissingComplaint, ValueComplaint
from pacewright.ground.grid import unproject
from pacewright.ground.local_grid import FARTHEST_M
from pacewright.ground.map_anchor import MapAnchor
from pacewright.ground.map_frame import GridReckoning

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class PlacedLog:
    """A log on the grid.

    Attributes
    ----------
    on_grid
        The log reckoned from its start, and the grid.
    place_m, covariance_m2
        East and north of every station on the grid, shape (n + 1, 2), and their covariance.
    latitude_deg, longitude_deg
        Of every station, shape (n + 1,).
    held_by
        Names of the known points that hold it.
    only_hold
        The station that alone holds the whole figure; None where there are more.
    chance
        The chance of the known points' disagreement with the log under ordinary scatter.
    not_reached
        Known points that the log neither walks to nor sights, or that hold nothing here.
    remarks
        What was taken by rule in reading the places, a sentence without its full stop each.
    """

    on_grid: GridReckoning
    place_m: Array
    covariance_m2: Array
    latitude_deg: Array
    longitude_deg: Array
    held_by: tuple[str, ...]
    only_hold: int | None
    chance: float
    not_reached: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def names(self) -> tuple[str | None, ...]:
        """Name of every station or None, the start first."""
        return self.on_grid.reckoning.names

    @property
    def last(self) -> int:
        """The number of the last station."""
        return self.on_grid.reckoning.last

    def region(self, station: int, probability: float = DEFAULT_PROBABILITY) -> Region:
        """The region of a station on the grid, bent where it must be."""
        own = self.covariance_m2[station]
        if self.only_hold is None or station == self.only_hold:
            center = self.place_m[station]
            return Region(center, own, probability, "ellipse", center)
        # With one hold the figure is the reckoned one, moved: what is known of the hold adds to all.
        held = self.only_hold
        walked = station_region(self.on_grid.reckoning, station, probability, origin=held)
        moved = self.place_m[held] - self.on_grid.reckoning.place[held]
        covariance = walked.covariance + self.covariance_m2[held]
        return replace(
            walked, center=walked.center + moved, origin=walked.origin + moved, covariance=covariance
        )

    def shown_regions(self, probability: float = DEFAULT_PROBABILITY) -> tuple[tuple[int, Region], ...]:
        """The regions of the start, the named stations and the last one, each with its station."""
        shown = [k for k, name in enumerate(self.names) if name or k in (0, self.last)]
        return tuple((k, self.region(k, probability)) for k in shown)


def place_log(estimate: Estimate) -> PlacedLog:
    """A log's stations on the grid, and how sure each is.

    Raises
    ------
    MissingComplaint
        No station's place is known, or the declination is not, or there is no pace count.
    ValueComplaint
        A known place cannot be read, or lies too far from the others.

    Notes
    -----
    To first order about the figure. A compass that reads some 10 degrees off between two known points is
    past that, and `chance` then says that they do not agree with the log.
    """
    anchor = _anchor(estimate)
    figure = _adjusted(estimate, anchor) if not estimate.is_written else _written(estimate, anchor)
    if np.abs(figure.step_m).max() > FARTHEST_M:
        raise ValueComplaint(
            "the log walks farther than one grid reaches",
            "Check the counts and the pace count, or split the log",
        )
    place_m = np.array([anchor.east_m, anchor.north_m]) + figure.step_m
    latitude, longitude = unproject(anchor.on_grid.zone, place_m[:, 0], place_m[:, 1])
    adjustment = estimate.standing.adjustment
    used = figure.held_by if anchor.placed.is_origin_seen else (anchor.name, *figure.held_by)
    chance = None if adjustment is None else adjustment.fit_chance
    heading = estimate.log.heading
    unused = (point.name for point in heading.known if point.name not in (*used, heading.start))
    return PlacedLog(
        on_grid=replace(anchor.on_grid, reckoning=figure.reckoning),
        place_m=place_m,
        covariance_m2=figure.covariance_m2,
        latitude_deg=latitude,
        longitude_deg=longitude,
        held_by=used,
        only_hold=anchor.station if estimate.is_written and figure.reckoning.held is None else None,
        chance=1.0 if chance is None else chance,
        not_reached=tuple(unused),
        remarks=anchor.remarks,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Figure:
    """Stations on the grid from what holds them, shape (n + 1, 2), and their covariance."""

    reckoning: Reckoning
    step_m: Array
    covariance_m2: Array
    held_by: tuple[str, ...] = ()


def _anchor(estimate: Estimate) -> MapAnchor:
    known = estimate.known
    if known.refused is not None:
        raise known.refused
    if known.anchor is None:
        start = estimate.log.heading.start or "Gate"
        raise MissingComplaint(
            "no station of the log is at a known place on the map",
            f"Add '# known: {start} = 37.4521 -119.2984 +-10 m' to the heading, or give the start's place",
        )
    if not estimate.standing.is_pace_assumed:
        # Complains where the walker has no pace count, and nothing in the log tells one.
        map_frame(estimate.log.heading, estimate.walker)
    return known.anchor


def _adjusted(estimate: Estimate, anchor: MapAnchor) -> _Figure:
    adjustment = estimate.standing.adjustment
    assert adjustment is not None
    onto = into_frame(adjustment.frame, anchor.frame)
    found, solution = adjustment.observations, adjustment.solution
    step = adjustment.place - adjustment.place[anchor.station]
    # Where the map tells no other place, how far off this one is stands in no equation.
    is_open = bool(anchor.placed.places)
    covariance = onto @ adjustment.covariances(anchor.station, with_doubt=is_open) @ onto.T
    at_origin = step @ onto.T
    if is_open:
        moved = origin_lever(solution.network.names) @ solution.shared
        at_origin = at_origin + moved
    else:
        covariance = covariance + anchor.sd_m**2 * np.eye(2)
    turn = math.radians(anchor.frame.bias_sd_deg) ** 2 - math.radians(adjustment.frame.bias_sd_deg) ** 2
    clockwise = np.stack([at_origin[:, 1], -at_origin[:, 0]], axis=1)
    # The declination of a model is not sure, and the estimate may have had no need of one.
    covariance = covariance + max(0.0, turn) * clockwise[:, :, None] * clockwise[:, None, :]
    known = [fix.name for fix in found.fixes]
    known += [one.name for one in found.bearings if one.landmark is not None]
    return _Figure(anchor.on_grid.reckoning, at_origin, covariance, tuple(dict.fromkeys(known)))


def _written(estimate: Estimate, anchor: MapAnchor) -> _Figure:
    reckoning = estimate.cut(anchor.on_grid.reckoning)
    at, doubt = anchor.station, anchor.sd_m**2 * np.eye(2)
    step = reckoning.place - reckoning.place[at]
    if at == 0:
        return _Figure(reckoning, step, reckoning.covariances() + doubt)
    each = range(reckoning.place.shape[0])
    if reckoning.held is None:
        seen = [reckoning.relative_covariance(at, k) for k in each]
    else:
        seen = [lead_over_legs(reckoning, at, k).covariance for k in each]
    return _Figure(reckoning, step, np.array(seen) + doubt)
