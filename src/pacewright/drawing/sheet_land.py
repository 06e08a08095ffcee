"""The land on a map sheet: contours with their heights, shade, level ground, the edge of what is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.drawing import contours, hill_shade, svg
from pacewright.drawing.labels import Box
from pacewright.drawing.map_grid import frame_bounds
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.terrain_key import terrain_hands
from pacewright.drawing.walk_margin import Hand
from pacewright.exceptions import MissingComplaint
from pacewright.ground.terrain import Terrain, level_areas, resample, window

_CELL_MM: Final = 0.6
_LEVEL_BEYOND_CELLS: Final = 60
"""How far beyond the sheet a pond is followed, to see whether all of it is large enough."""


class SheetLand:
    """The land inside the frame of a sheet, ready to be drawn.

    Parameters
    ----------
    terrain
        The land.
    fit
        How it lies on paper.
    interval_m
        Height between contours; unasked, one that suits what is shown.
    with_shade
        Whether slopes away from the light are hatched.

    Raises
    ------
    MissingComplaint
        No height is known inside the frame.
    """

    def __init__(
        self, terrain: Terrain, fit: PageFit, interval_m: float | None = None, with_shade: bool = True
    ) -> None:
        self.fit = fit
        self.with_shade = with_shade
        self.land, self.level = land_on_sheet(terrain, fit)
        self.interval_m = interval_m or contours.choose_interval_m(self.land, 100.0 * fit.units_per_cm)
        self.lines = contours.on_paper(contours.find_contours(self.land, self.interval_m), fit)

    def strokes(self) -> list[str]:
        """Draw all of the land but the heights along its contours."""
        shade = hill_shade.shade_strokes(self.land, self.fit) if self.with_shade else []
        water = hill_shade.level_strokes(self.level, self.land, self.fit) if self.level.any() else []
        return [
            *shade,
            *contours.contour_strokes(self.lines),
            *water,
            *self._outlines(self.level, 0.25, None),
            *self._outlines(np.isfinite(self.land.elevation_m).astype(float), 0.35, "0.01 1.2"),
        ]

    def heights(self, taken: Sequence[Box]) -> list[str]:
        """Write heights along contours, where nothing else stands."""
        frame = self.fit.frame
        room = Box(frame.left + 2, frame.top + 2, frame.right - 2, frame.bottom - 2)
        return contours.contour_labels(self.lines, room, taken)

    def hands(self) -> list[Hand]:
        """The kinds of line that the land uses, each with its sample and its words."""
        return terrain_hands(
            self.interval_m,
            has_contours=bool(self.lines),
            has_index=any(line.is_index for line in self.lines),
            has_shade=self.with_shade,
            has_level=bool(self.level.any()),
            has_edge=bool(np.isnan(self.land.elevation_m).any()),
        )

    def _outlines(self, share: NDArray[np.float64], width_mm: float, dash: str | None) -> list[str]:
        """Draw the line round where a share of the cells is more than half."""
        if share.min() > 0.5 or share.max() < 0.5:
            return []
        land = self.land
        place = (land.west_m, land.north_m, land.cell_east_m, land.cell_north_m)
        mask = Terrain(share.astype(np.float32), *place, land.crs)
        lines = contours.on_paper(contours.find_contours(mask, 0.5), self.fit)
        steps = [step for line in lines if line.level_m == 0.5 for step in contours.line_steps(line.points)]
        return [svg.path(steps, fill="none", stroke=svg.INK, stroke_width=width_mm, stroke_dasharray=dash)]


def land_on_sheet(terrain: Terrain, fit: PageFit) -> tuple[Terrain, NDArray[np.float64]]:
    """The land inside the frame in cells of 0.6 mm on paper, and how much of each is level ground.

    The middles of the outermost cells lie on the frame, so that contours end on it.
    """
    west, south, east, north = frame_bounds(fit)
    shape = tuple(
        math.ceil(side / _CELL_MM) + 1
        for side in (fit.frame.bottom - fit.frame.top, fit.frame.right - fit.frame.left)
    )
    half_north, half_east = (north - south) / (shape[0] - 1) / 2, (east - west) / (shape[1] - 1) / 2
    bounds = (west - half_east, south - half_north, east + half_east, north + half_north)
    land = resample(terrain, bounds, (shape[0], shape[1]))
    near = window(terrain, bounds, _LEVEL_BEYOND_CELLS)
    numbers, areas = level_areas(near)
    if not areas:
        return land, np.zeros(land.elevation_m.shape)
    mask = replace(near, elevation_m=(numbers > 0).astype(np.float32))
    share = np.nan_to_num(resample(mask, bounds, (shape[0], shape[1])).elevation_m)
    share[np.isnan(land.elevation_m)] = 0.0
    return land, share.astype(np.float64)


def interval_for(terrain: Terrain, fit: PageFit) -> float | None:
    """The height between contours that suits all of a frame; None where no height is known in it."""
    frame = fit.frame
    shape = (
        max(2, math.ceil((frame.bottom - frame.top) / _CELL_MM)),
        max(2, math.ceil((frame.right - frame.left) / _CELL_MM)),
    )
    try:
        land = resample(terrain, frame_bounds(fit), shape)
    except MissingComplaint:
        return None
    return contours.choose_interval_m(land, 100.0 * fit.units_per_cm)
