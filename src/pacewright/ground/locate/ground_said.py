"""What a log says of the ground: at every station, and along every leg."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from pacewright.core.log.remarks import (
    Altitude,
    CrossStream,
    Faces,
    Flat,
    LegSlope,
    NoStream,
    Remark,
    StationOn,
    Steepness,
)
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.core.pace.walker import Slope

HALF_POINT_DEG = 22.5
"""A side told as N, NE, E and so on is the nearest of eight points."""


@dataclass(frozen=True, slots=True)
class StationSaid:
    """What is said of the ground at one station; None and False where nothing is.

    Attributes
    ----------
    faces_deg, faces_half_deg
        The side to which it falls, against the north of the log, and half of the step it was told to.
    is_flat
        That it falls to none.
    lie
        `ridge`, `valley` or `slope`.
    is_on_stream
        That it lies on a stream.
    slope_pct
        How steep it is.
    altitude_m
        What the altimeter read.
    """

    faces_deg: float | None = None
    faces_half_deg: float = HALF_POINT_DEG
    is_flat: bool = False
    lie: str | None = None
    is_on_stream: bool = False
    slope_pct: float | None = None
    altitude_m: float | None = None

    @property
    def count(self) -> int:
        """How many remarks that is."""
        said = (self.faces_deg, self.lie, self.slope_pct, self.altitude_m)
        return sum(one is not None for one in said) + self.is_flat + self.is_on_stream


@dataclass(frozen=True, slots=True)
class LegSaid:
    """What is said of the ground along one leg.

    Attributes
    ----------
    slope
        `up`, `level` or `down`; None where nothing is said.
    is_stream_crossed
        True, False, or None where nothing is said.
    """

    slope: Slope | None = None
    is_stream_crossed: bool | None = None

    @property
    def count(self) -> int:
        """How many remarks that is."""
        return (self.slope is not None) + (self.is_stream_crossed is not None)


@dataclass(frozen=True, slots=True)
class GroundSaid:
    """All that a log says of the ground.

    Attributes
    ----------
    stations
        Of every station, the start first; length n + 1.
    legs
        Of every leg; length n.
    """

    stations: tuple[StationSaid, ...]
    legs: tuple[LegSaid, ...]

    @property
    def count(self) -> int:
        """How many remarks there are in all."""
        return sum(one.count for one in self.stations) + sum(one.count for one in self.legs)

    @property
    def blind_chance(self) -> float:
        """Natural logarithm of the chance of all remarks if written without looking; altitudes left out."""
        sides = [one.faces_half_deg / 180.0 for one in self.stations if one.faces_deg is not None]
        ninths = sum(one.is_flat for one in self.stations)
        thirds = sum(one.lie is not None for one in self.stations) + sum(
            one.slope is not None for one in self.legs
        )
        halves = sum(one.is_stream_crossed is not None for one in self.legs)
        logs = [math.log(one) for one in sides]
        return sum(logs) - ninths * math.log(9.0) - thirds * math.log(3.0) - halves * math.log(2.0)

    @property
    def speaks_of_streams(self) -> bool:
        """Whether a stream was seen, or looked for."""
        is_crossing = any(one.is_stream_crossed is not None for one in self.legs)
        return is_crossing or any(one.is_on_stream for one in self.stations)

    @property
    def has_altitudes(self) -> bool:
        """Whether an altimeter was read."""
        return any(one.altitude_m is not None for one in self.stations)


def find_ground_said(log: TravelLog) -> GroundSaid:
    """What a log says of the ground; remarks of the start stand in rows before the first leg."""
    stations, legs = [StationSaid()], []
    for row in log.rows:
        if isinstance(row, Leg):
            legs.append(_leg_said(row.remarks))
            stations.append(StationSaid())
        stations[-1] = _station_said(stations[-1], row.remarks)
    return GroundSaid(tuple(stations), tuple(legs))


def _leg_said(remarks: Iterable[Remark]) -> LegSaid:
    said = LegSaid()
    for remark in remarks:
        match remark:
            case LegSlope(slope):
                said = replace(said, slope=slope)
            case CrossStream():
                said = replace(said, is_stream_crossed=True)
            case NoStream():
                said = replace(said, is_stream_crossed=False)
    return said


def _station_said(said: StationSaid, remarks: Iterable[Remark]) -> StationSaid:
    for remark in remarks:
        match remark:
            case Faces(azimuth_deg, text):
                half_deg = _half_step_deg(text)
                said = replace(said, faces_deg=azimuth_deg, faces_half_deg=half_deg)
            case Flat():
                said = replace(said, is_flat=True)
            case StationOn("stream"):
                said = replace(said, is_on_stream=True)
            case StationOn(feature):
                said = replace(said, lie=feature)
            case Steepness(slope_pct):
                said = replace(said, slope_pct=slope_pct)
            case Altitude(altitude_m):
                said = replace(said, altitude_m=altitude_m)
    return said


def _half_step_deg(text: str) -> float:
    letters = text.strip()
    if not letters.isalpha():
        # Nobody looks down a slope to the degree: a number is as rough as a sixteenth of the circle.
        return HALF_POINT_DEG / 2.0
    return {1: HALF_POINT_DEG, 2: HALF_POINT_DEG, 3: HALF_POINT_DEG / 2.0}[min(len(letters), 3)]
