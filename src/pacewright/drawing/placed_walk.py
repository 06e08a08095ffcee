"""A walked figure put on the grid of a map, and cut to what a sheet shows."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from pacewright.core.compass import normal_azimuth
from pacewright.drawing.svg import Point
from pacewright.drawing.walk_figure import WalkFigure, extent_points, stations_by_index
from pacewright.exceptions import ValueComplaint
from pacewright.ground.terrain import Bounds

Points = list[Point]


def placed_walk(figure: WalkFigure, east: float, north: float, turn_deg: float) -> WalkFigure:
    """Put a figure in metres on the grid: its start at a place, all of it turned to grid north.

    Parameters
    ----------
    figure
        In metres.
    east, north
        Where its first station lies on the grid, in metres.
    turn_deg
        What makes the figure's azimuths grid azimuths when added: the grid-magnetic angle for a figure
        in magnetic azimuths, the convergence taken away for one in true azimuths.

    Raises
    ------
    ValueComplaint
        The figure is in paces, or a number is not finite.
    """
    if figure.unit != "metre":
        raise ValueComplaint(
            "a walk in paces cannot be put on a map", "Give the walker's pace count, and draw it in metres"
        )
    if not all(math.isfinite(part) for part in (east, north, turn_deg)):
        raise ValueComplaint(
            "the place or the turn of the walk is not a finite number", "Give both in numbers"
        )
    first = next(iter(stations_by_index(figure).values()))
    cosine, sine = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))

    def move(points: Points) -> Points:
        moved = []
        for e, n in points:
            e, n = e - first.east, n - first.north
            moved.append((east + e * cosine + n * sine, north + n * cosine - e * sine))
        return moved

    return moved_walk(figure, move, turn_deg)


def moved_walk(figure: WalkFigure, move: Callable[[Points], Points], turn_deg: float) -> WalkFigure:
    """Move every point of a figure onto a grid, and turn its bearings.

    Parameters
    ----------
    figure
        In metres.
    move
        Gives points, east and north, on the grid.
    turn_deg
        Added to the azimuths of bearings.
    """
    stations = tuple(stations_by_index(figure).values())
    places = move([(s.east, s.north) for s in stations])
    way, arrow = figure.way_back, figure.arrow
    return replace(
        figure,
        azimuth_reference="grid",
        stations=tuple(replace(s, east=e, north=n) for s, (e, n) in zip(stations, places, strict=True)),
        regions=tuple(replace(one, outline=move(_points(one.outline))) for one in figure.regions),
        rays=tuple(
            replace(ray, azimuth_deg=normal_azimuth(ray.azimuth_deg + turn_deg)) for ray in figure.rays
        ),
        way_back=way and replace(way, points=move(_points(way.points))),
        alternatives=tuple(replace(one, points=move(_points(one.points))) for one in figure.alternatives),
        arrow=arrow and (move([arrow[0]])[0], move([arrow[1]])[0]),
    )


def _points(line: Sequence[Sequence[float]]) -> Points:
    return [(point[0], point[1]) for point in line]


def walk_bounds(figure: WalkFigure) -> Bounds:
    """West, south, east and north of all that is walked, regions left out."""
    points = extent_points(replace(figure, regions=()), stations_by_index(figure))
    easts, norths = [p[0] for p in points], [p[1] for p in points]
    return min(easts), min(norths), max(easts), max(norths)


def cut_regions(figure: WalkFigure, bounds: Bounds) -> WalkFigure:
    """Cut the regions of a figure to the land that a sheet shows; what is all outside is left out."""
    cut = [(region, cut_outline(region.outline, bounds)) for region in figure.regions]
    return replace(figure, regions=tuple(replace(region, outline=line) for region, line in cut if line))


def cut_outline(outline: Sequence[Sequence[float]], bounds: Bounds) -> list[Point]:
    """Cut a closed outline to a rectangle.

    >>> cut_outline([(0, 0), (4, 0), (4, 4), (0, 4)], (2, -1, 9, 9))
    [(2.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 4.0)]

    References
    ----------
    I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping, Communications of the ACM 17 (1974).
    From memory.
    """
    west, south, east, north = bounds
    cut = [(float(e), float(n)) for e, n in outline]
    for axis, limit, sign in ((0, west, 1.0), (0, east, -1.0), (1, south, 1.0), (1, north, -1.0)):
        cut = _cut_side(cut, axis, limit, sign)
    return cut


def _cut_side(outline: list[Point], axis: int, limit: float, sign: float) -> list[Point]:
    kept: list[Point] = []
    for before, here in zip([*outline[-1:], *outline[:-1]], outline, strict=True):
        was, now = sign * (before[axis] - limit), sign * (here[axis] - limit)
        if (was < 0) != (now < 0):
            share = was / (was - now)
            kept.append(
                (before[0] + share * (here[0] - before[0]), before[1] + share * (here[1] - before[1]))
            )
        if now >= 0:
            kept.append(here)
    return kept
