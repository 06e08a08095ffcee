"""A log beside a recorded track of the same walk: leg by leg, how far azimuth and count were off."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.core.compass import direction_deg, turn_deg
from pacewright.core.learn.track_evidence import TrackedWalk
from pacewright.core.log.remarks import Estimated
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.pace.student import student_quantile
from pacewright.core.pace.walker import Slope, Walker
from pacewright.core.way.frames import ASSUMED_PACE_M, STEPS_IN_PACE
from pacewright.exceptions import ValueComplaint
from pacewright.ground.declination import FieldModel
from pacewright.ground.grid import unproject
from pacewright.ground.grid_text import Position
from pacewright.ground.map_frame import GridReckoning, known_places, reckon_on_grid
from pacewright.ground.track import Track
from pacewright.ground.track_fit import AZIMUTH_SCATTER, COUNT_SCATTER, Fit
from pacewright.ground.track_learning import find_grounds, told_by_track
from pacewright.ground.track_match import LegVectors, Match, match_stations
from pacewright.ground.track_path import lay_path
from pacewright.ground.track_times import times_on_track

Array = NDArray[np.float64]

TRACK_SD_M: Final = 5.0
"""Scatter of a recorded place, each coordinate: a receiver under open sky (common practice)."""

MOST_LEGS: Final = 1_000
LEAST_PACES: Final = 30.0
"""Where a shorter leg starts and ends says more of it than walking does; it is not taken for a pace trial."""

_NEAR_M: Final = 20_000.0
_EARTH_M: Final = 6_371_000.0
_MOST_STRAYED2_M2: Final = 900.0
_MOST_SCATTER: Final = 1.2
_MOST_ODD: Final = 0.3
"""A track that strays 30 m from most legs, whose legs scatter by more than exp(1.2) times what the walker's
do, or look like mistakes as often as that, is another walk's (found with made-up walks)."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with its standard deviation and the interval that holds it 95 times in 100."""

    value: float
    sd: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LegTruth:
    """One leg beside the track.

    Attributes
    ----------
    leg
        Its number, from 1.
    ground, slope
        As the log says.
    count
        As counted, in the log's unit.
    count_paces
        In paces; None where the log counts metres.
    true_length_m, true_azimuth_deg
        Straight from station to station on the track: metres on the ground, azimuth from grid north.
    azimuth_off_deg, azimuth_off_sd_deg
        How far clockwise of the azimuth in the log the walker went, and how well the track tells.
    count_off_pct, count_off_sd_pct
        How many per cent too many were counted for the true length, by the walker's pace count.
    per_100_m
        The pace count that this leg implies; None where the log counts metres.
    is_counted
        False for a length that was estimated.
    is_long
        True where the leg is long enough to tell a pace count.
    odd
        The chance that it holds a mistake; such a leg hardly weighs in the means.
    """

    leg: int
    ground: str | None
    slope: Slope | None
    count: float
    count_paces: float | None
    true_length_m: float
    true_azimuth_deg: float
    azimuth_off_deg: float
    azimuth_off_sd_deg: float
    count_off_pct: float
    count_off_sd_pct: float
    per_100_m: float | None
    is_counted: bool
    is_long: bool
    odd: float


@dataclass(frozen=True, slots=True, eq=False)
class TrackComparison:
    """A log beside a track.

    Attributes
    ----------
    on_grid
        The log as reckoned, and the grid.
    legs
        Leg by leg.
    matched_by
        `time` where log and track both have times, else `shape`.
    latitude_deg, longitude_deg
        Where the stations lie on the track, shape (n + 1,).
    along_sd_m
        How sure each station is along the track, shape (n + 1,).
    azimuth_off_deg
        Mean of the legs: what compass and declination were off all day, clockwise positive.
    count_off_pct
        Mean of the legs: how many per cent too many were counted.
    per_100_m
        The pace count for ordinary ground that this walk shows; None where the log counts metres.
    azimuth_sd_deg, count_sd_pct
        Scatter of the legs about these means. A short log hardly tells it: it is then the walker's own.
    fits
        False where log and track hardly belong to one walk.
    assumed_pace_m
        The pace taken to begin with where the walker has none, else None.
    told
        What the track alone tells of the walker, to learn from.
    """

    on_grid: GridReckoning
    legs: tuple[LegTruth, ...]
    matched_by: Literal["time", "shape"]
    latitude_deg: Array
    longitude_deg: Array
    along_sd_m: Array
    azimuth_off_deg: Figure
    count_off_pct: Figure
    per_100_m: Figure | None
    azimuth_sd_deg: Figure
    count_sd_pct: Figure
    fits: bool
    assumed_pace_m: float | None
    told: TrackedWalk


def compare(
    log: TravelLog,
    track: Track,
    walker: Walker | None = None,
    model: FieldModel | None = None,
    *,
    track_sd_m: float = TRACK_SD_M,
) -> TrackComparison:
    """Lay a log beside a recorded track of the same walk.

    Parameters
    ----------
    log, walker
        The log, and who walked it. Without a pace count one is assumed and the track tells.
    track
        The truth; it may begin before the log and go on after it.
    model
        The magnetic model, used where the log names no declination and has a date.
    track_sd_m
        Scatter of a recorded place, each coordinate.

    Raises
    ------
    MissingComplaint
        The declination is not known.
    ValueComplaint
        The track leaves the grid, never gets on or lies elsewhere, or the log is too long.

    Notes
    -----
    Stations are matched with the walker's own scatter in mind, so a station on a straight stretch, which
    nothing marks, is taken where the count says: `count_off_sd_pct` says how little the track then tells.
    """
    walker = walker or Walker()
    if len(log.legs) > MOST_LEGS:
        raise ValueComplaint(f"a log of more than {MOST_LEGS} legs", "Split it by days and compare each")
    assumed_pace_m = None
    if walker.per_100_m is None and log.heading.count_unit != "metres":
        assumed_pace_m = ASSUMED_PACE_M
        walker = replace(walker, per_100_m=100.0 / ASSUMED_PACE_M)
    near = Position(float(track.latitude_deg[0]), float(track.longitude_deg[0]))
    on_grid = reckon_on_grid(log, walker, model, near)
    reckoning = on_grid.reckoning
    _refuse_far(log, track, float(reckoning.length.sum()))
    path = lay_path(track, on_grid.zone, 2.0 * track_sd_m)
    no_times = np.full(len(log.legs) + 1, np.nan)
    times = times_on_track(log, path, reckoning.place) if track.has_times else no_times
    grounds = find_grounds(reckoning)
    boxed = [sum(box.offset for box in leg.boxes) * reckoning.frame.units_per_count for leg in log.legs]
    vectors = LegVectors(
        step=np.diff(reckoning.place, axis=0),
        own=reckoning.own,
        boxed_m=np.array(boxed),
        azimuth_sd_rad=math.radians(walker.compass.azimuth_sd_deg),
        count_sd=walker.count.count_sd_pct / 100.0,
        turn_sd_rad=math.radians(reckoning.frame.bias_sd_deg),
        scale_sd=reckoning.frame.scale_sd,
        ground=grounds.of_leg,
        ground_sd=grounds.sd,
        time_s=times,
    )
    match = match_stations(vectors, path, track_sd_m)
    legs, is_metres = tuple(_legs(log, on_grid, match, track_sd_m)), log.heading.count_unit == "metres"
    averages = _averages(match.fit, walker, len(legs), is_metres)
    latitude, longitude = unproject(on_grid.zone, match.place_m[:, 0], match.place_m[:, 1])
    return TrackComparison(
        on_grid=on_grid,
        legs=legs,
        matched_by="time" if np.isfinite(times).any() else "shape",
        latitude_deg=latitude,
        longitude_deg=longitude,
        along_sd_m=match.along_sd_m,
        azimuth_off_deg=averages.azimuth_off_deg,
        count_off_pct=averages.count_off_pct,
        per_100_m=averages.per_100_m,
        azimuth_sd_deg=averages.azimuth_sd_deg,
        count_sd_pct=averages.count_sd_pct,
        fits=_fits(match),
        assumed_pace_m=assumed_pace_m,
        told=told_by_track(
            match,
            grounds,
            np.array([(1.0 - leg.odd) * leg.is_counted * leg.is_long for leg in legs]),
            fits=_fits(match),
            counts_paces=not is_metres,
            declination_sd_deg=_declination_sd_deg(log, on_grid),
        ),
    )


def _declination_sd_deg(log: TravelLog, on_grid: GridReckoning) -> float:
    return on_grid.norths.declination_sd_deg if log.heading.azimuth_reference == "magnetic" else 0.0


def _refuse_far(log: TravelLog, track: Track, walked_m: float) -> None:
    """Refuse a track that nowhere comes near the places that the log knows."""
    reach_m = _NEAR_M + walked_m
    met = set(log.station_names())
    for name, (place, _) in known_places(log).items():
        if name not in met:
            continue
        nearest_m = float(_metres(track, place.latitude_deg, place.longitude_deg).min())
        if nearest_m > reach_m:
            raise ValueComplaint(
                f"the track stays {nearest_m / 1000:.0f} km away from {name}, which the log knows",
                "Check that both are of one walk, and for a swapped latitude and longitude",
            )


def _metres(track: Track, latitude_deg: float, longitude_deg: float) -> Array:
    """The distance of every point of a track from a place, on a round Earth."""
    here, there = np.radians(track.latitude_deg), math.radians(latitude_deg)
    apart = np.radians(track.longitude_deg - longitude_deg)
    half = np.sin((here - there) / 2.0) ** 2 + np.cos(here) * math.cos(there) * np.sin(apart / 2.0) ** 2
    metres: Array = 2.0 * _EARTH_M * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))
    return metres


def _legs(log: TravelLog, on_grid: GridReckoning, match: Match, track_sd_m: float) -> list[LegTruth]:
    reckoning, found = on_grid.reckoning, []
    steps = np.diff(match.place_m, axis=0)
    for k, leg in enumerate(log.legs):
        chord = math.hypot(*steps[k])
        reckoned = float(reckoning.length[k])
        slack_m = math.hypot(match.along_sd_m[k], match.along_sd_m[k + 1])
        ends_m = math.sqrt(2.0) * track_sd_m
        paces = _paces(leg, log)
        true_deg = direction_deg(*steps[k])
        length_m = chord / on_grid.scale
        seen = max(chord, ends_m)
        ratio = reckoned / max(chord, 0.1)
        found.append(
            LegTruth(
                leg=k + 1,
                ground=leg.ground,
                slope=leg.slope,
                count=leg.count,
                count_paces=paces,
                true_length_m=length_m,
                true_azimuth_deg=true_deg,
                azimuth_off_deg=turn_deg(float(reckoning.azimuth_deg[k]), true_deg),
                azimuth_off_sd_deg=math.degrees(math.atan2(ends_m, seen)),
                count_off_pct=100.0 * (ratio - 1.0),
                count_off_sd_pct=100.0 * math.hypot(ends_m, slack_m) / seen * ratio,
                per_100_m=None if paces is None or length_m < 0.1 else 100.0 * paces / length_m,
                is_counted=leg.find(Estimated) is None,
                is_long=reckoned >= LEAST_PACES * reckoning.frame.units_per_pace and chord > ends_m,
                odd=float(match.fit.odd[k]),
            )
        )
    return found


def _paces(leg: Leg, log: TravelLog) -> float | None:
    unit = log.heading.count_unit
    if unit == "metres":
        return None
    return leg.count / STEPS_IN_PACE if unit == "steps" else leg.count


def _fits(match: Match) -> bool:
    return (
        match.strays2_m2 < _MOST_STRAYED2_M2
        and float(match.fit.figures[[COUNT_SCATTER, AZIMUTH_SCATTER]].max()) < _MOST_SCATTER
        and float(match.fit.odd.mean()) < _MOST_ODD
    )


@dataclass(frozen=True, slots=True)
class _Averages:
    azimuth_off_deg: Figure
    count_off_pct: Figure
    per_100_m: Figure | None
    azimuth_sd_deg: Figure
    count_sd_pct: Figure


def _averages(fit: Fit, walker: Walker, legs: int, is_metres: bool) -> _Averages:
    wide = student_quantile(0.975, max(1, legs - 1))
    turn, turn_sd = float(fit.figures[0]), float(fit.sd[0])
    # The scale says how long the true legs are for what was counted: counting too many is its inverse.
    too_many, too_many_sd = -float(fit.figures[1]) / 100.0, float(fit.sd[1]) / 100.0
    per_100_m = None if is_metres else walker.per_100_m
    return _Averages(
        azimuth_off_deg=Figure(turn, turn_sd, turn - wide * turn_sd, turn + wide * turn_sd),
        count_off_pct=_times(100.0, too_many, too_many_sd, wide, less=100.0),
        per_100_m=None if per_100_m is None else _times(per_100_m, too_many, too_many_sd, wide),
        azimuth_sd_deg=_times(walker.compass.azimuth_sd_deg, float(fit.figures[3]), float(fit.sd[3]), wide),
        count_sd_pct=_times(walker.count.count_sd_pct, float(fit.figures[2]), float(fit.sd[2]), wide),
    )


def _times(unit: float, log_times: float, log_sd: float, wide: float, less: float = 0.0) -> Figure:
    value, low, high = (unit * math.exp(log_times + side * wide * log_sd) for side in (0.0, -1.0, 1.0))
    return Figure(value - less, value * log_sd, low - less, high - less)
