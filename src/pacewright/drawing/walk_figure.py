"""What a drawing of a walk shows: stations, legs, boxings, bearings, regions, the way back.

A figure knows nothing of logs or of how it was computed: whoever has stations and outlines can have
them drawn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pacewright.drawing.svg import Point
from pacewright.drawing.symbols import NorthReference, RegionStyle
from pacewright.exceptions import MissingComplaint, ValueComplaint

Side = Literal["right", "left"]
Outline = Sequence[Sequence[float]]


@dataclass(frozen=True, slots=True)
class FigureStation:
    """A station: its number, its name if it has one, and where it is."""

    index: int
    name: str | None
    east: float
    north: float


@dataclass(frozen=True, slots=True)
class FigureLeg:
    """A leg between two stations; `boxings` are (side, offset) in the order walked."""

    from_index: int
    to_index: int
    estimated: bool = False
    boxings: tuple[tuple[Side, float], ...] = ()


@dataclass(frozen=True, slots=True)
class FigureRegion:
    """A closed outline, (n, 2) east and north, with its label."""

    outline: Outline
    label: str = ""
    style: RegionStyle = "station"


@dataclass(frozen=True, slots=True)
class FigureRay:
    """A bearing from a station to something not walked to."""

    from_index: int
    azimuth_deg: float
    name: str


@dataclass(frozen=True, slots=True)
class FigureWayBack:
    """The way back, (n, 2) east and north in the order walked, with its label."""

    points: Outline
    label: str = ""


@dataclass(frozen=True, slots=True)
class FigureAlternative:
    """Another figure of the log, (n, 2) east and north, with its chance from 0 to 1, or words instead."""

    points: Outline
    chance: float
    label: str = ""


@dataclass(frozen=True, slots=True)
class WalkFigure:
    """All that a drawing of a walk shows.

    Parameters
    ----------
    title
        What stands above the drawing.
    unit
        `pace` or `metre`: the unit of every east, north and offset.
    azimuth_reference
        The north that is up: `magnetic`, `true` or `grid`.
    stations
        At least one; the first is where the log starts, the last where it ends.
    legs, regions, rays, way_back, alternatives
        What is drawn beside the stations, each if there is any.
    arrow
        The misclosure, from (east, north) where the log ends to where it should have.
    caption
        Sentences under the drawing.
    """

    title: str
    unit: Literal["pace", "metre"]
    azimuth_reference: NorthReference
    stations: tuple[FigureStation, ...]
    legs: tuple[FigureLeg, ...] = ()
    regions: tuple[FigureRegion, ...] = ()
    rays: tuple[FigureRay, ...] = ()
    way_back: FigureWayBack | None = None
    alternatives: tuple[FigureAlternative, ...] = ()
    arrow: tuple[Point, Point] | None = None
    caption: tuple[str, ...] = ()


def stations_by_index(figure: WalkFigure) -> dict[int, FigureStation]:
    """The stations by number, after making sure that every leg and bearing has its own.

    Raises
    ------
    MissingComplaint
        The figure has no station.
    ValueComplaint
        A leg or a bearing uses a station that is not there.
    """
    if not figure.stations:
        raise MissingComplaint("the figure has no station", "Give at least the station where the log starts")
    stations = {station.index: station for station in figure.stations}
    wanted = {i for leg in figure.legs for i in (leg.from_index, leg.to_index)}
    wanted |= {ray.from_index for ray in figure.rays}
    if missing := sorted(wanted - set(stations)):
        raise ValueComplaint(
            f"station {missing[0]} is drawn to or from but is not among the stations",
            "Give its place, or leave out the legs and bearings that use it",
        )
    return stations


def extent_points(figure: WalkFigure, stations: dict[int, FigureStation]) -> list[Point]:
    """Every point that must come inside the frame, the corners of the boxings among them."""
    points = [(s.east, s.north) for s in figure.stations]
    for leg in figure.legs:
        start, end = stations[leg.from_index], stations[leg.to_index]
        for side, offset in leg.boxings:
            along = math.hypot(end.east - start.east, end.north - start.north) or 1.0
            turn = offset / along * (1 if side == "right" else -1)
            off = ((end.north - start.north) * turn, (start.east - end.east) * turn)
            points += [(s.east + off[0], s.north + off[1]) for s in (start, end)]
    lines = [region.outline for region in figure.regions]
    lines += [alternative.points for alternative in figure.alternatives]
    lines += [figure.way_back.points] if figure.way_back else []
    lines += [figure.arrow] if figure.arrow else []
    points += [(float(east), float(north)) for line in lines for east, north in line]
    return points


def surroundings(figure: WalkFigure, at: int, legs: int) -> WalkFigure:
    """The part of a figure about a station: so many legs before it and after it, with their bearings.

    The way back, other figures and the misclosure belong to the whole and are left out.
    """
    kept = {one.index: one for one in figure.stations if abs(one.index - at) <= legs}
    return WalkFigure(
        figure.title,
        figure.unit,
        figure.azimuth_reference,
        tuple(kept.values()),
        legs=tuple(one for one in figure.legs if one.from_index in kept and one.to_index in kept),
        rays=tuple(one for one in figure.rays if one.from_index in kept),
    )
