"""Points, lines and areas of a placed log in longitude and latitude, for every format that holds such.

What crosses the line where longitude jumps from 180 to -180 is cut there (RFC 7946, section 3.1.9).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pacewright.answers.placing import PlacedLog
from pacewright.core.compass import normal_azimuth
from pacewright.core.log.travel_log import TravelLog
from pacewright.exceptions import NoAnswerComplaint
from pacewright.ground.grid import unproject

Array = NDArray[np.float64]
Place = tuple[float, float]
Line = list[Place]
What = Literal["station", "leg", "bearing", "region"]
Value = str | int | float | None


@dataclass(frozen=True, slots=True)
class Shape:
    """One thing to draw.

    Attributes
    ----------
    what
        `station` and `bearing` are points, `leg` a line, `region` an area.
    parts
        Longitude and latitude in degrees: one point, one or more lines, or one or more closed rings
        that run counterclockwise.
    properties
        What is known of it.
    """

    what: What
    parts: list[Line]
    properties: dict[str, Value]


def placed_shapes(log: TravelLog, placed: PlacedLog, probability: float) -> Iterator[Shape]:
    """Stations, legs, bearings and regions in turn.

    Raises
    ------
    NoAnswerComplaint
        A region holds a pole, which no area in longitude and latitude can.
    """
    places = list(zip(placed.longitude_deg.tolist(), placed.latitude_deg.tolist(), strict=True))
    yield from _stations(placed, places)
    yield from _legs(log, placed, places)
    yield from _bearings(log, placed, places)
    for station, region in placed.shown_regions(probability):
        outline = region.outline()
        latitude, longitude = unproject(placed.on_grid.zone, outline[:, 0], outline[:, 1])
        rings = cut_ring(list(zip(longitude.tolist(), latitude.tolist(), strict=True)))
        properties: dict[str, Value] = {
            "station": station,
            "name": placed.names[station],
            "probability": probability,
            "shape": region.shape,
        }
        yield Shape("region", rings, properties)


def _stations(placed: PlacedLog, places: Line) -> Iterator[Shape]:
    for k, place in enumerate(places):
        (ee, en), (_, nn) = placed.covariance_m2[k].tolist()
        properties: dict[str, Value] = {
            "station": k,
            "name": placed.names[k],
            "east_m": round(float(placed.place_m[k, 0]), 2),
            "north_m": round(float(placed.place_m[k, 1]), 2),
            "var_east_m2": round(ee, 4),
            "cov_east_north_m2": round(en, 4),
            "var_north_m2": round(nn, 4),
        }
        yield Shape("station", [[place]], properties)


def _legs(log: TravelLog, placed: PlacedLog, places: Line) -> Iterator[Shape]:
    reckoning, scale = placed.on_grid.reckoning, placed.on_grid.scale
    for k, (leg, ends) in enumerate(zip(log.legs, pairwise(places), strict=True)):
        properties: dict[str, Value] = {
            "leg": k + 1,
            "azimuth_grid_deg": round(float(reckoning.azimuth_deg[k]), 4),
            "length_m": round(float(reckoning.length[k]) / scale, 3),
            "notes": leg.cells.notes,
        }
        yield Shape("leg", cut_line(ends), properties)


def _bearings(log: TravelLog, placed: PlacedLog, places: Line) -> Iterator[Shape]:
    turn_deg = placed.on_grid.reckoning.frame.sighting_turn_deg
    for station, seen in log.sightings():
        properties: dict[str, Value] = {
            "station": station,
            "name": seen.name,
            "azimuth_grid_deg": round(normal_azimuth(seen.azimuth_deg + turn_deg), 4),
        }
        yield Shape("bearing", [[places[station]]], properties)


def cut_line(line: Sequence[Place]) -> list[Line]:
    """A line in one part, or in two where it crosses the longitude of 180 degrees.

    >>> cut_line([(179.0, 0.0), (-179.0, 2.0)])
    [[(179.0, 0.0), (180.0, 1.0)], [(-180.0, 1.0), (-179.0, 2.0)]]
    """
    (first, here), (second, there) = line[0], line[-1]
    way = _ahead(first, second)
    edge = 180.0 if first + way > 180.0 else -180.0 if first + way < -180.0 else None
    if edge is None or first == edge:
        return [[(first if edge is None else -edge, here), (second, there)]]
    crossing = here + (there - here) * (edge - first) / way
    return [[(first, here), (edge, crossing)], [(-edge, crossing), (second, there)]]


def cut_ring(ring: Sequence[Place]) -> list[Line]:
    """A closed ring, counterclockwise, in one part or in two on either side of 180 degrees.

    Raises
    ------
    NoAnswerComplaint
        The ring goes round a pole.

    References
    ----------
    RFC 7946, sections 3.1.6 and 3.1.9. Cutting at a line: I. E. Sutherland and G. W. Hodgman, Reentrant
    polygon clipping, Communications of the ACM 17 (1974) (from memory).
    """
    unrolled = [ring[0]]
    for longitude, latitude in ring[1:]:
        before = unrolled[-1][0]
        unrolled.append((before + _ahead(before, longitude), latitude))
    if abs(unrolled[-1][0] - unrolled[0][0]) > 1e-6:
        raise NoAnswerComplaint(
            "a region holds a pole, which no area in longitude and latitude can",
            "Ask for CSV or GPX, which hold points and lines only",
        )
    unrolled = unrolled[:-1]
    if sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*unrolled, unrolled[0]])) < 0:
        unrolled.reverse()
    parts = []
    for shift in (-360.0, 0.0, 360.0):
        moved = [(longitude + shift, latitude) for longitude, latitude in unrolled]
        part = _side(_side(moved, 1.0), -1.0)
        if len(part) >= 3:
            parts.append([*part, part[0]])
    return parts


def _ahead(longitude: float, other: float) -> float:
    """How far east another longitude is, the short way round."""
    return (other - longitude + 180.0) % 360.0 - 180.0


def _side(ring: Line, sign: float) -> Line:
    """Keep what lies west of 180 degrees (sign 1), or east of -180 (sign -1)."""
    kept: Line = []
    for (was, there), (now, here) in zip([*ring[-1:], *ring[:-1]], ring, strict=True):
        out_before, out_now = sign * was - 180.0, sign * now - 180.0
        if (out_before > 0) != (out_now > 0):
            share = out_before / (out_before - out_now)
            kept.append((sign * 180.0, there + share * (here - there)))
        if out_now <= 0:
            kept.append((now, here))
    return kept
