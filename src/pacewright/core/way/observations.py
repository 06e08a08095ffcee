"""What a log holds beside its legs: markers met again, known places, bearings, back azimuths.

Each is one statement about where stations lie, with its own scatter, in the units of a frame. What
cannot be used is said in a sentence and never dropped in silence.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from pacewright.core.compass import normal_azimuth, unit_vectors
from pacewright.core.log.log_heading import KnownPoint
from pacewright.core.log.remarks import BackReading
from pacewright.core.log.travel_log import Leg, Sighting, TravelLog
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import ASSUMED_PACE_M, Frame
from pacewright.core.way.reckoning import POINT_INTERVAL_DEG

MARKER_SD_M: Final = 1.0
"""A marker met again: the walker stands within a metre of where he stood before (assumed)."""

LEAST_STATIONS: Final = 3
"""A landmark of unknown place has two coordinates, so that two bearings fit whatever the stations are;
only the third says something about the walk."""
PLACING_STATIONS: Final = 2
"""Two bearings place a landmark, so that it can be a goal."""


@dataclass(frozen=True, slots=True)
class Tie:
    """The same marker met again: two stations are one place.

    Attributes
    ----------
    first, second
        The stations; `first` is the first visit of that marker and less than `second`.
    sd
        Standard deviation of each coordinate of the difference, in frame units.
    name
        The marker.
    """

    first: int
    second: int
    sd: float
    name: str


@dataclass(frozen=True, slots=True)
class Fix:
    """A station at a known place: east and north from the origin, in frame units."""

    station: int
    east: float
    north: float
    sd: float
    name: str


@dataclass(frozen=True, slots=True)
class Bearing:
    """A bearing from a station to something not walked to.

    Attributes
    ----------
    station
        Where it was taken.
    azimuth_deg
        As read, in the frame's north.
    sd_deg
        Scatter of sighting and what rounding adds.
    name
        What was seen.
    landmark
        Its known east, north and sd in frame units; None where it is not known or is a station.
    target_station
        The (first visit of the) station of that name; None where it is none.
    row
        Index in `log.rows`.
    """

    station: int
    azimuth_deg: float
    sd_deg: float
    name: str
    landmark: tuple[float, float, float] | None
    target_station: int | None
    row: int


@dataclass(frozen=True, slots=True)
class BackAzimuth:
    """The reading taken backward along leg `leg` (from 1) from its end, as read, in the frame's north."""

    leg: int
    azimuth_deg: float
    sd_deg: float


@dataclass(frozen=True, slots=True)
class MapPlaces:
    """What a map alone tells of known points: metres along the frame's own north.

    Attributes
    ----------
    places
        East and north of each, from the origin, and its standard deviation.
    origin
        Name of the station that they are counted from; None for the start.
    origin_sd_m
        How well the place of the origin itself is known.
    is_origin_seen
        Whether bearings alone tell where the origin lies: they then have two unknowns more.
    """

    places: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)
    origin: str | None = None
    origin_sd_m: float = 0.0
    is_origin_seen: bool = False


@dataclass(frozen=True, slots=True)
class Observations:
    """All that a log holds beside its legs.

    Attributes
    ----------
    ties, fixes, bearings, back_azimuths
        The observations.
    unused
        What could not be used, and why.
    goals
        Known places that the log neither reaches nor sees: east, north and sd by name.
    origin_station, origin_sd
        The station that the places of `fixes`, `goals` and known landmarks are counted from, and how well
        its own place is known: an error that all those places share.
    is_origin_seen
        Whether bearings alone tell that place.
    anchor_station
        The station that holds the log on the map, places told in metres from the start or not.
    """

    ties: tuple[Tie, ...]
    fixes: tuple[Fix, ...]
    bearings: tuple[Bearing, ...]
    back_azimuths: tuple[BackAzimuth, ...]
    unused: tuple[str, ...]
    origin_station: int = 0
    origin_sd: float = 0.0
    is_origin_seen: bool = False
    anchor_station: int = 0
    goals: Mapping[str, tuple[float, float, float]] = field(default_factory=dict)


def find_observations(
    log: TravelLog,
    walker: Walker,
    frame: Frame,
    placed: MapPlaces | None = None,
    *,
    least_stations: int = LEAST_STATIONS,
) -> Observations:
    """What a log says of its stations beside the legs.

    Parameters
    ----------
    log
        The log; the same name met again is the same marker.
    walker
        For the scatter of bearings and, in the walker's frame, the size of a metre.
    frame
        Whose units and north the observations are in. Known places need the map frame.
    placed
        Places of known points that only a map can tell.
    least_stations
        From how many places a landmark of unknown place must have been seen to be used.

    Notes
    -----
    Where the start is a known point itself, the other places are taken relative to it, and share its
    uncertainty. Where a map knows another station and not the start, they are taken relative to that.
    """
    first_visit = first_visits(log.station_names())
    placed = placed or MapPlaces()
    places, said = _places(log, frame, placed, first_visit)
    bearings, said_of_bearings = _bearings(log, walker, frame, places, first_visit, least_stations)
    back_azimuths, said_of_back = _back_azimuths(log, walker, frame)
    fixes = tuple(
        Fix(first_visit[name], east, north, sd, name)
        for name, (east, north, sd) in places.items()
        if name in first_visit
    )
    ties = marker_ties(log.station_names(), MARKER_SD_M * units_per_metre(walker, frame))
    used = first_visit.keys() | {one.name for one in bearings}
    goals = {name: place for name, place in places.items() if name not in used}
    anchor = first_visit[placed.origin] if placed.origin else 0
    return Observations(
        ties=ties,
        fixes=fixes,
        bearings=bearings,
        back_azimuths=back_azimuths,
        unused=(*said, *said_of_bearings, *said_of_back),
        origin_station=anchor if placed.places else 0,
        anchor_station=anchor,
        origin_sd=_origin_sd(log, placed) if places else 0.0,
        is_origin_seen=placed.is_origin_seen,
        goals=goals,
    )


def units_per_metre(walker: Walker, frame: Frame) -> float:
    """How many frame units make a metre; a walker never measured is taken at five feet a pace."""
    if frame.unit == "metre":
        return 1.0
    return 1.0 / (walker.pace_m() if walker.per_100_m else ASSUMED_PACE_M)


def reading_sd_deg(text: str, sd_deg: float, interval_deg: float) -> float:
    """The scatter of a reading with what rounding adds, interval squared over 12.

    Parameters
    ----------
    text
        The reading as written; a point of the compass is rounded to a sixteenth of the circle.
    sd_deg, interval_deg
        The scatter itself, and the step to which the dial is read.
    """
    step_deg = max(interval_deg, POINT_INTERVAL_DEG) if text.strip().isalpha() else interval_deg
    return math.hypot(sd_deg, step_deg / math.sqrt(12.0))


def first_visits(names: Sequence[str | None]) -> dict[str, int]:
    """The station at which each name first stands."""
    first: dict[str, int] = {}
    for station, name in enumerate(names):
        if name:
            first.setdefault(name, station)
    return first


def marker_ties(names: Sequence[str | None], sd: float) -> tuple[Tie, ...]:
    """A tie for every later visit of a marker, to its first one."""
    first_visit = first_visits(names)
    return tuple(
        Tie(first_visit[name], station, sd, name)
        for station, name in enumerate(names)
        if name and first_visit[name] != station
    )


def _origin_sd(log: TravelLog, placed: MapPlaces) -> float:
    """How well the place is known that all others are counted from, in metres."""
    if placed.places:
        return placed.origin_sd_m
    start = _start(log)
    # Places told in metres from the start are as sure as they say, wherever on the map it may lie.
    return start.sd_m if start is not None and start.local_m is not None else 0.0


def _start(log: TravelLog) -> KnownPoint | None:
    return next((point for point in log.heading.known if point.name == log.heading.start), None)


def _places(
    log: TravelLog, frame: Frame, placed: MapPlaces, first_visit: Mapping[str, int]
) -> tuple[dict[str, tuple[float, float, float]], list[str]]:
    """East, north and sd of every known point from the origin, the origin left out."""
    seen = {sighting.name for _, sighting in log.sightings()}
    start = _start(log)
    places, said = {}, []
    for point in log.heading.known:
        if point is start or point.name == placed.origin:
            continue
        is_met = point.name in first_visit or point.name in seen
        if not is_met and frame.kind == "walker":
            said.append(f"{point.name} is a known point that this log neither reaches nor sees.")
        elif frame.kind == "walker":
            said.append(
                f"The known place of {point.name} is not used: it is in metres, and the walker's frame is "
                "not. The map frame uses it, and needs a pace count."
            )
        elif point.name not in placed.places and point.local_m is None:
            said.append(f"The known place of {point.name} is not used: only a map can tell where it is.")
        elif point.name not in placed.places and placed.places and placed.origin is not None:
            said.append(
                f"The known place of {point.name} is not used: it is in metres from the start, and where the "
                "start lies on the map is not known."
            )
        else:
            if not is_met:
                said.append(
                    f"{point.name} is a known point that this log neither reaches nor sees: a goal, no more."
                )
            places[point.name] = placed.places.get(point.name) or _local_place(point, start, frame)
    return places, said


def _local_place(point: KnownPoint, start: KnownPoint | None, frame: Frame) -> tuple[float, float, float]:
    """A place in metres from the start, along the frame's north, and its sd."""
    assert point.local_m is not None
    east, north = point.local_m
    if start is not None and start.local_m is not None:
        east, north = east - start.local_m[0], north - start.local_m[1]
    sine, cosine = (float(part) for part in unit_vectors(frame.turn_deg))
    return east * cosine + north * sine, north * cosine - east * sine, point.sd_m


def _bearings(
    log: TravelLog,
    walker: Walker,
    frame: Frame,
    places: Mapping[str, tuple[float, float, float]],
    first_visit: Mapping[str, int],
    least_stations: int,
) -> tuple[tuple[Bearing, ...], list[str]]:
    names = log.station_names()
    found, said = [], []
    station = 0
    for row_index, row in enumerate(log.rows):
        if isinstance(row, Leg):
            station += 1
        elif isinstance(row, Sighting):
            if names[station] == row.name:
                said.append(f"The bearing to {row.name} is not used: it was taken at {row.name} itself.")
                continue
            target = first_visit.get(row.name)
            found.append(
                Bearing(
                    station=station,
                    azimuth_deg=normal_azimuth(row.azimuth_deg + frame.sighting_turn_deg),
                    sd_deg=_sighting_sd_deg(row.cells.azimuth, walker),
                    name=row.name,
                    landmark=places.get(row.name) if target is None else None,
                    target_station=target,
                    row=row_index,
                )
            )
    return _without_lone(found, names, first_visit, said, least_stations)


def _without_lone(
    found: list[Bearing],
    names: tuple[str | None, ...],
    first_visit: Mapping[str, int],
    said: list[str],
    least_stations: int,
) -> tuple[tuple[Bearing, ...], list[str]]:
    """Leave out landmarks of unknown place that too few places see."""
    seen_from: dict[str, set[int]] = {}
    for one in found:
        if one.landmark is None and one.target_station is None:
            name = names[one.station]
            seen_from.setdefault(one.name, set()).add(first_visit[name] if name else one.station)
    whereto = "" if least_stations == PLACING_STATIONS else " to test the legs by it"
    lone = {name: len(stations) for name, stations in seen_from.items() if len(stations) < least_stations}
    for name, stations in lone.items():
        places = "one place" if stations == 1 else f"{stations} places"
        said.append(
            f"The bearings to {name} are not used: where it lies is not known, and it was seen from {places} "
            f"({least_stations} or more are needed{whereto})."
        )
    return tuple(one for one in found if one.name not in lone), said


def _back_azimuths(log: TravelLog, walker: Walker, frame: Frame) -> tuple[tuple[BackAzimuth, ...], list[str]]:
    found, said = [], []
    for number, leg in enumerate(log.legs, start=1):
        back = leg.find(BackReading) if leg.remarks else None
        if back is None:
            continue
        if leg.count == 0:
            said.append(f"The back azimuth of leg {number} is not used: the leg has no length.")
            continue
        azimuth_deg = normal_azimuth(back.azimuth_deg + frame.sighting_turn_deg)
        found.append(BackAzimuth(number, azimuth_deg, _sighting_sd_deg(back.text, walker)))
    return tuple(found), said


def _sighting_sd_deg(text: str, walker: Walker) -> float:
    return reading_sd_deg(text, walker.compass.sighting_sd_deg, walker.compass.reading_interval_deg)
