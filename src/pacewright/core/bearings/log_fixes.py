"""Fixes that a log's bearings give: stations from known things, unknown things from stations.

A station's fix rests on bearings and known places alone, not on the legs, and so can be laid beside
the reckoning. Nothing here changes the log's figure; that is what adjustment is for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.core.bearings.intersection import Intersection, Rays, intersect_rays
from pacewright.core.bearings.resection import Marks, Resection, resect_marks
from pacewright.core.compass import normal_azimuth
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.scatter import DEFAULT_PROBABILITY
from pacewright.core.pace.walker import Walker
from pacewright.core.way.frames import Frame, choose_frame, map_frame
from pacewright.core.way.observations import MapPlaces, find_observations, reading_sd_deg
from pacewright.core.way.reckoning import Reckoning, reckon
from pacewright.exceptions import Complaint, MissingComplaint

Array = NDArray[np.float64]

BIAS_SHARE: Final = math.sqrt(0.5)
"""Half the variance of the compass bias turns bearings taken standing (assumed): the instrument's part.
The other half is the way the compass is held in walking, and parts bearings from legs."""

GAP_BELOW: Final = 0.01
"""Scatter alone puts fix and reckoning so far apart less often than this: said aloud (assumed)."""


@dataclass(frozen=True, slots=True, eq=False)
class StationFix:
    """A station from bearings to known things.

    Attributes
    ----------
    station, name
        Its number (the first visit of its marker) and name.
    seen
        What was sighted, in the order of the bearings.
    frame
        Metres east and north from the start, or from the place that holds the log on a map.
    resection
        Place and all that is known of it.
    reckoned
        Where the legs put the station, shape (2,); None without a pace count to turn them into metres.
    gap_p_value
        How often scatter alone puts fix and reckoning so far apart, the two taken as independent; None
        as above.
    """

    station: int
    name: str | None
    seen: tuple[str, ...]
    frame: Frame
    resection: Resection
    reckoned: Array | None
    gap_p_value: float | None

    @property
    def is_apart(self) -> bool:
        """True where fix and legs lie farther apart than scatter explains."""
        return self.gap_p_value is not None and self.gap_p_value < GAP_BELOW


@dataclass(frozen=True, slots=True, eq=False)
class LandmarkFix:
    """Something not walked to, from bearings that two or more stations took of it.

    Attributes
    ----------
    name, stations
        What was sighted, and from where, in the order of the bearings.
    frame
        Whose unit and north the place is in, from the start.
    intersection
        Place and all that is known of it.
    """

    name: str
    stations: tuple[int, ...]
    frame: Frame
    intersection: Intersection


@dataclass(frozen=True, slots=True)
class LogFixes:
    """All fixes of a log; `said` holds a sentence for each that could not be made, and why."""

    stations: tuple[StationFix, ...]
    landmarks: tuple[LandmarkFix, ...]
    said: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Sight:
    station: int
    name: str
    azimuth_deg: float
    sd_deg: float


def find_fixes(
    log: TravelLog,
    walker: Walker,
    placed: MapPlaces | None = None,
    frame: Frame | None = None,
    *,
    by_angles: bool = False,
    probability: float = DEFAULT_PROBABILITY,
) -> LogFixes:
    """Every fix that the bearings of a log allow.

    Parameters
    ----------
    log, walker
        The log, and the one who walked it.
    placed
        Places of known points that only a map can tell, as in `find_observations`.
    frame
        The frame of the map that they are in; the log's own if left out.
    by_angles
        Fix stations by the angles between bearings only.
    probability
        The share of cases that a region holds.

    Raises
    ------
    MissingComplaint
        The log holds no bearing, or none that fixes anything.
    """
    sights = _sights(log, walker, 0.0)
    if not sights:
        raise MissingComplaint(
            "this log holds no bearing, so there is nothing to fix a place by",
            "Sight something and write its azimuth in a row with [see NAME] in the notes",
        )
    places = known_places(log, walker, placed, frame)
    seen = {sight.name for sight in sights}
    on_map = [point.name for point in log.heading.known if point.name in seen and point.name not in places]
    said = []
    if on_map:
        said.append(
            f"What is known on the map ({', '.join(on_map)}) is not used: nothing holds the log on the map."
        )
    stations, landmarks = [], []
    for station in dict.fromkeys(sight.station for sight in sights):
        here = [s.name for s in sights if s.station == station and s.name in places]
        if len(here) == 1:
            said.append(
                f"{_called(log, station)} sighted {here[0]} and no other known thing: a line, not a place."
            )
        if len(here) < 2:
            continue
        try:
            stations.append(fix_station(log, walker, station, placed, by_angles, probability, frame))
        except Complaint as complaint:
            said.append(_say(_called(log, station), complaint))
    walked_to = set(log.station_names())
    for name in dict.fromkeys(sight.name for sight in sights):
        if name in places or name in walked_to or name in on_map:
            continue
        try:
            landmarks.append(fix_landmark(log, walker, name, probability))
        except Complaint as complaint:
            said.append(_say(name, complaint))
    if not stations and not landmarks:
        raise MissingComplaint(
            " ".join(["the bearings of this log fix nothing.", *said])[:-1],
            "Sight two known things from one station, or one unknown thing from two stations",
        )
    return LogFixes(tuple(stations), tuple(landmarks), tuple(said))


def fix_station(
    log: TravelLog,
    walker: Walker,
    station: int,
    placed: MapPlaces | None = None,
    by_angles: bool = False,
    probability: float = DEFAULT_PROBABILITY,
    frame: Frame | None = None,
) -> StationFix:
    """A station's place from the bearings it took of known things.

    Raises
    ------
    MissingComplaint
        It took fewer than two of things whose place is known, or as `resect`.
    ValueComplaint
        As `resect`.
    """
    known = known_places(log, walker, placed, frame)
    grid, frame = frame, frame or _metre_frame(log, walker)
    first = _first_visit(log, station)
    here = [sight for sight in _sights(log, walker, frame.sighting_turn_deg) if sight.station == first]
    used = [sight for sight in here if sight.name in known]
    if len(used) < 2:
        seen = ", ".join(dict.fromkeys(sight.name for sight in here)) or "nothing"
        raise MissingComplaint(
            f"{_called(log, first)} sighted {'one' if used else 'no'} thing whose place is known, and two "
            f"are needed (it sighted {seen})",
            "Give their places in the heading, such as # known: Fire tower = local 120 300 +-10 m",
        )
    places = np.array([known[sight.name] for sight in used])
    resection = resect_marks(
        Marks(
            places[:, :2],
            places[:, 2],
            np.array([sight.azimuth_deg for sight in used]),
            np.array([sight.sd_deg for sight in used]),
            None if by_angles else BIAS_SHARE * walker.compass.bias_sd_deg,
        ),
        probability,
    )
    reckoned, gap_p_value = _beside_reckoning(log, walker, first, resection, placed or MapPlaces(), grid)
    return StationFix(
        station=first,
        name=log.name_of(first),
        seen=tuple(sight.name for sight in used),
        frame=frame,
        resection=resection,
        reckoned=reckoned,
        gap_p_value=gap_p_value,
    )


def fix_landmark(
    log: TravelLog, walker: Walker, name: str, probability: float = DEFAULT_PROBABILITY
) -> LandmarkFix:
    """The place of something that two or more stations of a log sighted.

    Raises
    ------
    MissingComplaint
        No station sighted it, or only one did; or it was walked to.
    ValueComplaint
        As `intersect`.
    """
    frame = choose_frame(log.heading, walker)
    every = _sights(log, walker, frame.sighting_turn_deg)
    sights = [sight for sight in every if sight.name == name]
    if not sights:
        seen = ", ".join(dict.fromkeys(sight.name for sight in every)) or "nothing"
        raise MissingComplaint(f"no station sighted {name[:60]}", f"This log sighted {seen}")
    if name in log.station_names():
        raise MissingComplaint(
            f"{name} was walked to, so its place is reckoned and not fixed by bearings",
            "Ask pacewright reckon for it, or pacewright adjust to use the bearings as well",
        )
    stations = tuple(sight.station for sight in sights)
    if len(set(stations)) < 2:
        raise MissingComplaint(
            f"{name} was sighted from one place only ({_called(log, stations[0])}) and its place is not "
            "known, so it fixes nothing",
            f"Sight it from a second station, or give its place: # known: {name} = local EAST NORTH +-10 m",
        )
    reckoning = reckon(log, walker, frame)
    rays = _rays(sights, reckoning, BIAS_SHARE * walker.compass.bias_sd_deg)
    return LandmarkFix(name, stations, frame, intersect_rays(rays, probability))


def known_places(
    log: TravelLog, walker: Walker, placed: MapPlaces | None = None, frame: Frame | None = None
) -> dict[str, tuple[float, float, float]]:
    """East, north and sd, in metres from the start, of all that a log knows, the start among it.

    How well the start itself is known goes into the others, each by itself. In the frame of a map they are
    counted from the place that holds the log there, and are as sure as the map has them.

    No pace count is needed: the legs are not used.
    """
    observations = find_observations(log, walker, frame or _metre_frame(log, walker), placed)
    places = {bearing.name: bearing.landmark for bearing in observations.bearings if bearing.landmark}
    places |= {fix.name: (fix.east, fix.north, fix.sd) for fix in observations.fixes}
    if frame is not None and placed is not None:
        if not placed.is_origin_seen:
            places[placed.origin or log.heading.start or ""] = (0.0, 0.0, placed.origin_sd_m)
        return places
    doubt = observations.origin_sd
    places = {name: (east, north, math.hypot(sd, doubt)) for name, (east, north, sd) in places.items()}
    if log.heading.start:
        places[log.heading.start] = (0.0, 0.0, 0.0)
    return places


def _say(name: str, complaint: Complaint) -> str:
    return str(complaint) if complaint.what.startswith(name) else f"{name[0].upper()}{name[1:]}: {complaint}"


def _metre_frame(log: TravelLog, walker: Walker) -> Frame:
    # Bearings and known places need no pace count: the legs are not used.
    return map_frame(replace(log.heading, count_unit="metres"), walker)


def _sights(log: TravelLog, walker: Walker, turn_deg: float) -> list[_Sight]:
    names, compass = log.station_names(), walker.compass
    return [
        _Sight(
            _first_visit(log, station),
            row.name,
            normal_azimuth(row.azimuth_deg + turn_deg),
            reading_sd_deg(row.cells.azimuth, compass.sighting_sd_deg, compass.reading_interval_deg),
        )
        for station, row in log.sightings()
        if names[station] != row.name
    ]


def _first_visit(log: TravelLog, station: int) -> int:
    names = log.station_names()
    return names.index(names[station]) if names[station] else station


def _called(log: TravelLog, station: int) -> str:
    return log.name_of(station) or ("the start" if station == 0 else f"station {station}")


def _rays(sights: list[_Sight], reckoning: Reckoning, bias_sd_deg: float) -> Rays:
    stations = [sight.station for sight in sights]
    n = len(stations)
    covariance = np.zeros((2 * n, 2 * n))
    for i, first in enumerate(stations):
        for j, second in enumerate(stations):
            covariance[2 * i : 2 * i + 2, 2 * j : 2 * j + 2] = reckoning.joint_covariance(first, second)
    lever = np.zeros((n, 2))
    for term in reckoning.shared:
        if term.name == "compass bias":
            lever = term.lever[stations]
    return Rays(
        station=reckoning.place[stations],
        azimuth_deg=np.array([sight.azimuth_deg for sight in sights]),
        sd_deg=np.array([sight.sd_deg for sight in sights]),
        station_covariance=covariance,
        bias_sd_deg=bias_sd_deg,
        bias_lever=lever,
    )


def _beside_reckoning(
    log: TravelLog, walker: Walker, station: int, fix: Resection, placed: MapPlaces, grid: Frame | None
) -> tuple[Array | None, float | None]:
    is_measured = walker.per_100_m is not None or log.heading.count_unit == "metres"
    # Where bearings alone tell the start, the legs put the station nowhere of themselves.
    if not is_measured or placed.is_origin_seen:
        return None, None
    reckoning = reckon(log, walker, grid or map_frame(log.heading, walker))
    origin = 0 if grid is None or placed.origin is None else log.station_names().index(placed.origin)
    if station == origin:
        return None, None
    reckoned = reckoning.place[station] - reckoning.place[origin]
    gap = fix.place - reckoned
    covariance = reckoning.relative_covariance(origin, station) + fix.covariance
    if grid is not None:
        covariance = covariance + placed.origin_sd_m**2 * np.eye(2)
    return reckoned, math.exp(-float(gap @ np.linalg.solve(covariance, gap)) / 2.0)
