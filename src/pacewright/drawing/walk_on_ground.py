"""A log put on the map, drawn on its ground."""

from __future__ import annotations

from dataclasses import replace

from pacewright.core.travel_log import TravelLog
from pacewright.core.way_back import WayBack
from pacewright.drawing.map_grid import Norths
from pacewright.drawing.placed_walk import Points, moved_walk
from pacewright.drawing.terrain_map import A4_MM, draw_terrain_map
from pacewright.drawing.walk_figure import WalkFigure
from pacewright.drawing.walk_of import walk_of, way_back_line
from pacewright.ground.grid_change import GridChange
from pacewright.ground.map_frame import PlacedLog
from pacewright.ground.terrain import Terrain
from pacewright.wording.numbers import say_chance


def draw_walk_on_ground(
    log: TravelLog,
    placed: PlacedLog,
    terrain: Terrain,
    *,
    probability: float,
    way: WayBack | None = None,
    scale: float | None = None,
    page_mm: tuple[float, float] = A4_MM,
    caption: tuple[str, ...] = (),
) -> str:
    """Draw a log on its ground, to exact scale, with the regions of its named stations.

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
    scale, page_mm
        As for `draw_terrain_map`.
    caption
        Sentences under the drawing.
    """
    held = f"The region of a station holds its true place {say_chance(probability)}."
    figure = placed_figure(log, placed, probability, way, (*caption, held))
    on_grid = placed.on_grid
    change = GridChange(on_grid.zone, terrain.crs)
    turn_deg = change.turn_deg(*(float(part) for part in placed.place_m[0]))

    def move(points: Points) -> Points:
        return [(e, n) for e, n in change.moved(points).tolist()]

    norths = Norths(
        true_deg=turn_deg - on_grid.norths.convergence_deg,
        magnetic_deg=turn_deg + on_grid.norths.grid_magnetic_deg,
        said_of=str(log.heading.date or ""),
    )
    moved = moved_walk(figure, move, turn_deg)
    return draw_terrain_map(moved, terrain, scale, page_mm, norths=norths)


def placed_figure(
    log: TravelLog,
    placed: PlacedLog,
    probability: float,
    way: WayBack | None = None,
    caption: tuple[str, ...] = (),
) -> WalkFigure:
    """Give the figure of a log on its grid: named stations and the last with their regions."""
    reckoning = replace(placed.on_grid.reckoning, place=placed.place_m)
    regions = tuple(region for _, region in placed.shown_regions(probability))
    figure = walk_of(log, reckoning, regions=regions, caption=caption)
    return figure if way is None else replace(figure, way_back=way_back_line(log, placed.place_m, way))
