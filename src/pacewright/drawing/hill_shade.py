"""Shade in strokes and level ground in dots, as a pencil lays them: nothing is lost on a cheap printer.

All strokes lie on lines fixed to the page. Slopes that fall away from the light are hatched, the
steeper the closer; level ground carries sparse dots.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.drawing import svg
from pacewright.drawing.labels import Box
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.svg import Point
from pacewright.ground.terrain import Terrain, gradient

Floats = NDArray[np.float64]
Field = Callable[[Floats, Floats], Floats]
"""From x and y on paper, in mm, to how strong something is there."""

LIGHT_FROM_DEG: Final = 315.0
LIGHT_UP_DEG: Final = 45.0
"""Light from the upper left of the sheet: common practice, as the eye else takes ridges for valleys."""

SHADE_INK: Final = "#aaa"
SHADE_MM: Final = 0.13
SHADE_TURN_DEG: Final = 68.0
SHADE_STEPS: Final = ((0.16, 1.8, 0.0), (0.38, 1.8, 0.9), (0.62, 0.9, 0.45))
"""Darkness from which strokes are laid, how far apart in mm, and how far off the strokes of the first."""

LEVEL_MM: Final = 0.36
"""Dots of this width, far apart: dashes within an outline would be read as a marsh."""
LEVEL_APART_MM: Final = 1.6
LEVEL_DASH: Final = "0.01 3.2"

_STEEP_DEG: Final = 32.0
_MOST_EXAGGERATED: Final = 5.0
_SOFT_MM: Final = 0.7
_SAMPLE_MM: Final = 0.3
_LEAST_STROKE_MM: Final = 0.8


def darkness(terrain: Terrain, soft_cells: float = 0.0) -> Floats:
    """How much darker than level ground every cell is under the light, from 0 to 1.

    Gentle land is made steeper, up to five times, so that it shows; 0 where the ground faces the light,
    is level or unknown.

    Parameters
    ----------
    soft_cells
        How far the shade is softened, as a standard deviation in cells.

    References
    ----------
    The cosine of the angle between the light and the normal of the ground: J. H. Lambert, Photometria
    (1760); common practice for shaded relief.
    """
    from scipy import ndimage

    to_east, to_north = (np.nan_to_num(part) for part in gradient(terrain))
    steep = float(np.quantile(np.hypot(to_east, to_north), 0.9))
    exaggeration = min(max(math.tan(math.radians(_STEEP_DEG)) / max(steep, 1e-9), 1.0), _MOST_EXAGGERATED)
    from_rad, up_rad = math.radians(LIGHT_FROM_DEG), math.radians(LIGHT_UP_DEG)
    # Rise towards the light, by the ground's own gradient.
    rise = exaggeration * (to_east * math.sin(from_rad) + to_north * math.cos(from_rad))
    root = np.sqrt(1 + exaggeration**2 * (to_east**2 + to_north**2))
    lit = (math.sin(up_rad) - rise * math.cos(up_rad)) / root
    dark = np.clip(1 - lit / math.sin(up_rad), 0.0, 1.0)
    if soft_cells > 0:
        dark = ndimage.gaussian_filter(dark, soft_cells)
    return np.where(np.isnan(terrain.elevation_m), 0.0, dark)


def shade_strokes(terrain: Terrain, fit: PageFit) -> list[str]:
    """Draw the shade of the land on the sheet.

    Parameters
    ----------
    terrain
        The land on the sheet, in cells of less than a mm on paper.
    fit
        How it lies on paper.
    """
    cell_mm = fit.length_mm(terrain.cell_east_m)
    field = field_of(darkness(terrain, _SOFT_MM / cell_mm), terrain, fit)
    steps = [
        step
        for least, apart_mm, off_mm in SHADE_STEPS
        for step in _steps(strokes_where(field, least, fit.frame, apart_mm, SHADE_TURN_DEG, off_mm))
    ]
    return [svg.path(steps, fill="none", stroke=SHADE_INK, stroke_width=SHADE_MM)] if steps else []


def level_strokes(share: Floats, terrain: Terrain, fit: PageFit) -> list[str]:
    """Draw the dots on level ground.

    Parameters
    ----------
    share
        In every cell of the terrain, from 0 to 1, how much of it is level; drawn where more than half.
    """
    field = field_of(share, terrain, fit)
    drawn = []
    for row, off_mm in ((0, 0.0), (1, LEVEL_APART_MM)):
        steps = _steps(strokes_where(field, 0.5, fit.frame, 2 * LEVEL_APART_MM, 0.0, off_mm))
        if steps:
            # Every other line stands half a gap aside: dots in five, no columns.
            drawn.append(
                svg.path(
                    steps,
                    fill="none",
                    stroke=svg.INK,
                    stroke_width=LEVEL_MM,
                    stroke_dasharray=LEVEL_DASH,
                    stroke_dashoffset=1.6 * row,
                    stroke_linecap="round",
                )
            )
    return drawn


def field_of(values: Floats, terrain: Terrain, fit: PageFit) -> Field:
    """Values of the terrain's cells as a field on paper, linear between the middles of the cells."""
    from scipy import ndimage

    west, north = fit.point(float(terrain.centres_east_m[0]), float(terrain.centres_north_m[0]))
    cell_x_mm, cell_y_mm = fit.length_mm(terrain.cell_east_m), fit.length_mm(terrain.cell_north_m)

    def field(x: Floats, y: Floats) -> Floats:
        at = [(y - north) / cell_y_mm, (x - west) / cell_x_mm]
        return np.asarray(ndimage.map_coordinates(values, at, order=1, mode="nearest"), dtype=np.float64)

    return field


def strokes_where(
    field: Field, least: float, frame: Box, apart_mm: float, turn_deg: float, off_mm: float = 0.0
) -> list[tuple[Point, Point]]:
    """The strokes of a hatching inside a frame, drawn only where a field is at least so strong.

    Parameters
    ----------
    field, least
        What is hatched, and from which strength.
    frame
        Nothing is drawn outside it.
    apart_mm, turn_deg, off_mm
        Distance of the strokes, their way against the horizontal, and how far the first is from the
        upper left corner of the page.
    """
    turn_rad = math.radians(turn_deg)
    cosine, sine = math.cos(turn_rad), math.sin(turn_rad)
    corners = [(x, y) for x in (frame.left, frame.right) for y in (frame.top, frame.bottom)]
    us = [x * cosine + y * sine for x, y in corners]
    vs = [y * cosine - x * sine for x, y in corners]
    first, last = math.ceil((min(vs) - off_mm) / apart_mm), math.floor((max(vs) - off_mm) / apart_mm)
    v = off_mm + apart_mm * np.arange(first, last + 1)[:, None]
    u = np.arange(min(us), max(us) + _SAMPLE_MM, _SAMPLE_MM)[None, :]
    x, y = u * cosine - v * sine, v * cosine + u * sine
    inside = (x >= frame.left) & (x <= frame.right) & (y >= frame.top) & (y <= frame.bottom)
    drawn = np.zeros((v.shape[0], u.shape[1] + 2), dtype=np.int8)
    drawn[:, 1:-1] = inside & (field(x, y) >= least)
    turns = np.diff(drawn, axis=1)
    rows, starts = np.nonzero(turns == 1)
    _, ends = np.nonzero(turns == -1)
    strokes = []
    for row, start, end in zip(rows.tolist(), starts.tolist(), (ends - 1).tolist(), strict=True):
        if (end - start) * _SAMPLE_MM >= _LEAST_STROKE_MM:
            points = [(float(x[row, at]), float(y[row, at])) for at in (start, end)]
            strokes.append((points[0], points[1]))
    return strokes


def _steps(strokes: list[tuple[Point, Point]]) -> list[tuple[str, Point]]:
    return [step for start, end in strokes for step in (("M", start), ("L", end))]
