"""A log put on the map, drawn on its ground."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from pacewright.answers.placing import PlacedLog
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.way.way_back import WayBack
from pacewright.drawing.map_grid import Norths
from pacewright.drawing.placed_walk import Points, moved_walk
from pacewright.drawing.terrain_map import A4_MM, draw_terrain_map, terrain_parts
from pacewright.drawing.walk_figure import WalkFigure
from pacewright.drawing.walk_map import WalkParts
from pacewright.drawing.walk_of import walk_of, way_back_line
from pacewright.exceptions import MissingComplaint
from pacewright.ground.grid_change import GridChange
from pacewright.ground.terrain import Terrain, height_at, say_bounds
from pacewright.wording.norths import MAGNETIC_UNKNOWN
from pacewright.wording.numbers import say_chance


@dataclass(frozen=True, slots=True, eq=False)
class WalkOnGround:
    """A log on the grid of a terrain, ready to be drawn at any scale and on any paper.

    Attributes
    ----------
    figure
        The walk in metres of the terrain's grid.
    terrain
        The ground.
    norths
        True and magnetic north from grid north.
    notes
        Sentences on the walk.
    """

    figure: WalkFigure
    terrain: Terrain
    norths: Norths
    notes: tuple[str, ...] = ()


def walk_on_ground(
    log: TravelLog,
    placed: PlacedLog,
    terrain: Terrain,
    *,
    probability: float,
    way: WayBack | None = None,
) -> WalkOnGround:
    """Put a log on its ground, with the regions of its named stations.

    Parameters
    ----------
    log, placed
        The log, and its stations on the grid.
    terrain
        The ground, on any grid in metres.
    probability
        Share of walks that a region holds.
    way
        The way back, drawn dashed and labelled as the walker walks it.

    Raises
    ------
    MissingComplaint
        The ground reaches no station of the log.
    """
    figure = placed_figure(log, placed, probability, way)
    on_grid = placed.on_grid
    change = GridChange(on_grid.zone, terrain.crs)
    turn_deg = change.turn_deg(*(float(part) for part in placed.place_m[0]))

    def move(points: Points) -> Points:
        return [(e, n) for e, n in change.moved(points).tolist()]

    norths = Norths(
        true_deg=turn_deg - on_grid.norths.convergence_deg,
        magnetic_deg=turn_deg + on_grid.norths.grid_magnetic_deg if on_grid.knows_magnetic else None,
        said_of=str(log.heading.date or ""),
    )
    moved = moved_walk(figure, move, turn_deg)
    held = f"The region of a station holds its true place {say_chance(probability)}."
    unknown = () if on_grid.knows_magnetic else (MAGNETIC_UNKNOWN,)
    return WalkOnGround(moved, terrain, norths, (held, *unknown, *_beyond(moved, terrain)))


def draw_walk_on_ground(
    walk: WalkOnGround,
    *,
    scale: float | None = None,
    page_mm: tuple[float, float] = A4_MM,
    caption: tuple[str, ...] = (),
) -> str:
    """Draw a log on its ground on one sheet, to exact scale.

    Parameters
    ----------
    walk
        The log on its ground.
    scale, page_mm
        As for `draw_terrain_map`.
    caption
        Sentences under the drawing.
    """
    figure = replace(walk.figure, caption=(*caption, *walk.notes))
    return draw_terrain_map(figure, walk.terrain, scale, page_mm, norths=walk.norths)


def ground_parts(walk: WalkOnGround, size_mm: tuple[float, float]) -> WalkParts:
    """Draw a log on its ground for a page that says title, key and sentences beside the picture."""
    figure = replace(walk.figure, caption=walk.notes)
    return terrain_parts(figure, walk.terrain, size_mm, walk.norths)


def _beyond(figure: WalkFigure, terrain: Terrain) -> tuple[str, ...]:
    """Say how many stations lie where no height is known; refuse a walk that lies there altogether."""
    east, north = ([getattr(s, side) for s in figure.stations] for side in ("east", "north"))
    unknown = np.isnan(height_at(terrain, east, north))
    if unknown.all():
        raise MissingComplaint(
            f"the terrain holds no height at any station: the log starts at {east[0]:.0f} m east, "
            f"{north[0]:.0f} m north of {terrain.crs}",
            f"Check where the log starts, or give terrain about it; this one reaches {say_bounds(terrain)}",
        )
    if not unknown.any():
        return ()
    return (f"{unknown.sum()} of {len(unknown)} stations lie where the terrain holds no height.",)


def placed_figure(
    log: TravelLog,
    placed: PlacedLog,
    probability: float,
    way: WayBack | None = None,
) -> WalkFigure:
    """The figure of a log on its grid: named stations and the last with their regions."""
    reckoning = replace(placed.on_grid.reckoning, place=placed.place_m)
    regions = tuple(region for _, region in placed.shown_regions(probability))
    figure = walk_of(log, reckoning, regions=regions)
    return figure if way is None else replace(figure, way_back=way_back_line(log, placed.place_m, way))
