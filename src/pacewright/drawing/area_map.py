"""A whole land as a plain map, to draw on it where something was: contours, shade and water, no margin."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from pacewright.drawing import svg
from pacewright.drawing.labels import Box
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.sheet_land import SheetLand
from pacewright.ground.terrain import Bounds, Terrain

WIDE_MM: Final = 180.0


@dataclass(frozen=True, slots=True)
class AreaMap:
    """A map that is filled by the land from edge to edge.

    Attributes
    ----------
    drawing
        SVG, whose coordinates run from the upper left corner.
    wide_mm, high_mm
        Its size.
    bounds
        West, south, east and north of it, in metres of the land's grid.
    """

    drawing: str
    wide_mm: float
    high_mm: float
    bounds: Bounds


def draw_area_map(terrain: Terrain, title: str) -> AreaMap:
    """Draw a land from edge to edge.

    Parameters
    ----------
    terrain
        The land.
    title
        What the drawing shows, for those who hear it read out.
    """
    west, south, east, north = terrain.bounds
    high_mm = WIDE_MM * (north - south) / (east - west)
    frame = Box(0.0, 0.0, WIDE_MM, high_mm)
    fit = PageFit(frame, (west + east) / 2.0, (south + north) / 2.0, 10.0 * (east - west) / WIDE_MM)
    land = SheetLand(terrain, fit)
    strokes = [*land.strokes(), *land.heights([])]
    body = [svg.cut_to(0.0, 0.0, WIDE_MM, high_mm, strokes)]
    return AreaMap(svg.drawing(WIDE_MM, high_mm, body, title=title), WIDE_MM, high_mm, terrain.bounds)
