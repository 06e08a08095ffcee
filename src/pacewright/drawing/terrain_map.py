"""The map sheet: the land by contours, shade and level ground, its grid, the walk on it, to exact scale."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pacewright.drawing import contours, hill_shade, svg, symbols
from pacewright.drawing.labels import Box, Placement, Segment
from pacewright.drawing.map_grid import (
    BAND_MM,
    Norths,
    cross_spacing_m,
    draw_grid,
    draw_north_needles,
    frame_bounds,
    grid_spacing_m,
    written_metres,
)
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.placed_walk import cut_regions, placed_walk, walk_bounds
from pacewright.drawing.svg import PENCIL
from pacewright.drawing.terrain_key import terrain_hands
from pacewright.drawing.walk_figure import WalkFigure, stations_by_index
from pacewright.drawing.walk_map import frame_line, lay_walk, line_segments, written_labels
from pacewright.drawing.walk_margin import EDGE_MM, Sample, draw_below, draw_title
from pacewright.exceptions import ValueComplaint
from pacewright.ground.terrain import Terrain, level_areas, resample, window

A4_MM: Final = (210.0, 297.0)
SCALES: Final = (5_000.0, 10_000.0, 15_000.0, 20_000.0, 25_000.0, 50_000.0)
"""Scales chosen from when none is asked for."""

LEAST_SCALE: Final = 1_000.0
MOST_SCALE: Final = 100_000.0

_CELL_MM: Final = 0.6
_LEVEL_BEYOND_CELLS: Final = 60
"""How far beyond the sheet a pond is followed, to see whether all of it is large enough."""

_STRIP_MM: Final = 22.5
_TEXT_MM: Final = 3.0
_WIDE_MM: Final = 165.0
_NEEDLES_MM: Final = 22.0
"""From the foot of the norths to the words beside them: the longest name and its needle."""
_COLUMN_MM: Final = 64.0
_WALK_MARGIN_MM: Final = 8.0
_CAUTION: Final = (
    "The heights show no cliff smaller than a cell, no stream, path, fence or building; level ground is "
    "not always water, nor water always level. Look at the land itself, and follow local rules and "
    "qualified instruction."
)


def map_sheet(
    terrain: Terrain,
    figure: WalkFigure | None = None,
    *,
    start: tuple[float, float] | None = None,
    turn_deg: float = 0.0,
    scale: float | None = None,
    page_mm: tuple[float, float] = A4_MM,
    centre: tuple[float, float] | None = None,
    title: str = "",
    norths: Norths | None = None,
    with_shade: bool = True,
) -> str:
    """Draw a map sheet, with a walk put on it.

    Parameters
    ----------
    terrain
        The land.
    figure
        A walk in metres, in its own place; none for a sheet of the land alone.
    start
        Where the walk's first station lies on the grid of the terrain, metres east and north. Without
        it the figure lies on the grid already.
    turn_deg
        Added to the walk's azimuths to make them grid azimuths.
    scale, page_mm, centre, title, norths, with_shade
        As for `draw_terrain_map`.
    """
    placed = figure if figure is None or start is None else placed_walk(figure, *start, turn_deg)
    return draw_terrain_map(
        placed, terrain, scale, page_mm, centre=centre, title=title, norths=norths, with_shade=with_shade
    )


def draw_terrain_map(
    figure: WalkFigure | None,
    terrain: Terrain,
    scale: float | None = None,
    page_mm: tuple[float, float] = A4_MM,
    *,
    centre: tuple[float, float] | None = None,
    title: str = "",
    norths: Norths | None = None,
    with_shade: bool = True,
) -> str:
    """Draw the land with a walk on it, to exact scale, grid north up.

    Parameters
    ----------
    figure
        A walk whose metres are those of the terrain's grid, or none.
    terrain
        The land.
    scale
        10000 for 1:10 000; unasked, the largest of `SCALES` at which the walk fits the sheet.
    page_mm
        Width and height of the paper.
    centre
        What lies in the middle of the sheet, metres east and north; unasked, the middle of the walk, or
        of the terrain.
    title
        Above the sheet; unasked, the figure's own.
    norths
        True and magnetic north from grid north.
    with_shade
        Whether slopes away from the light are hatched.

    Returns
    -------
    str
        An SVG document of just the paper's size: a metre of the grid is 1000 / scale mm on paper.

    Raises
    ------
    MissingComplaint
        The terrain does not reach the sheet.
    ValueComplaint
        The walk does not fit, is not in metres of the grid, or scale or paper is out of range.
    """
    _check(figure, scale, page_mm)
    shown = figure or WalkFigure("", "metre", "grid", ())
    shown = replace(shown, title=title or shown.title or "Map sheet")
    heading, heading_mm = draw_title(shown.title, page_mm[0])
    below_mm = 15.0
    # The key and the caption take the height they need, which depends on how the labels fall.
    for _ in range(4):
        frame = _frame(page_mm, heading_mm, below_mm)
        fit = _fit(figure, terrain, scale, centre, frame)
        sheet = _Sheet(shown, terrain, fit, norths, with_shade)
        upper = (page_mm[0], frame.bottom + BAND_MM + _STRIP_MM)
        below, height_mm = sheet.below(upper)
        if height_mm <= page_mm[1] + 0.01:
            break
        below_mm = height_mm - upper[1] + 0.1
    body = [*heading, *sheet.body(), *below]
    return svg.drawing(*page_mm, body, title=shown.title, description=sheet.description())


class _Sheet:
    """One sheet while it is being drawn."""

    def __init__(
        self, figure: WalkFigure, terrain: Terrain, fit: PageFit, norths: Norths | None, with_shade: bool
    ) -> None:
        self.fit = fit
        self.scale = 100.0 * fit.units_per_cm
        self.norths = norths or Norths()
        self.is_wide = fit.frame.right - fit.frame.left >= _WIDE_MM
        self.with_shade = with_shade
        self.source = terrain
        self.land, self.level = land_on_sheet(terrain, fit)
        self.interval_m = contours.choose_interval_m(self.land, self.scale)
        self.lines = contours.on_paper(contours.find_contours(self.land, self.interval_m), fit)
        self.figure = cut_regions(replace(figure, caption=self._caption(figure)), frame_bounds(fit))
        self.walk, self.placement = (
            lay_walk(self.figure, fit) if figure.stations else ([], Placement((), (), ()))
        )

    def body(self) -> list[str]:
        """Give all that stands on the sheet above the key."""
        fit, frame = self.fit, self.fit.frame
        shade = hill_shade.shade_strokes(self.land, fit) if self.with_shade else []
        water = hill_shade.level_strokes(self.level, self.land, fit) if self.level.any() else []
        room = Box(frame.left + 2, frame.top + 2, frame.right - 2, frame.bottom - 2)
        return [
            *shade,
            *contours.contour_strokes(self.lines),
            *water,
            *self._outlines(self.level, 0.25, None),
            *self._outlines(np.isfinite(self.land.elevation_m).astype(float), 0.35, "0.01 1.2"),
            *draw_grid(fit),
            *contours.contour_labels(self.lines, room, self._taken()),
            *self._casings(),
            *self.walk,
            frame_line(frame),
            *written_labels(self.placement),
            *self._strip(),
        ]

    def below(self, upper_mm: tuple[float, float]) -> tuple[list[str], float]:
        """Give key and caption, and the height down to which they reach."""
        columns = max(1, int((upper_mm[0] - 2 * EDGE_MM) / _COLUMN_MM))
        return draw_below(
            self.figure, self.placement, upper_mm, more=self._key(), text_mm=_TEXT_MM, columns=columns
        )

    def description(self) -> str:
        """Tell the sheet to those who hear it read out."""
        west, south, east, north = (written_metres(side) for side in frame_bounds(self.fit))
        told = f"A map 1:{written_metres(self.scale)}, grid north up."
        reach = f"{west} to {east} m east, {south} to {north} m north."
        return " ".join([told, reach, *self.figure.caption])

    def _taken(self) -> list[Box]:
        """Give boxes that the heights along contours leave free: the walk's labels, marks and legs."""
        fit, figure = self.fit, self.figure
        taken = [label.box for label in self.placement.labels]
        if not figure.stations:
            return taken
        marks = (fit.point(s.east, s.north) for s in figure.stations)
        taken += [Box(x - 2, y - 2, x + 2, y + 2) for x, y in marks]
        pieces = list(line_segments(figure, stations_by_index(figure), fit))
        for region in figure.regions:
            ring = fit.points(region.outline)
            pieces += [(*start, *end) for start, end in pairwise([*ring, ring[0]])]
        return taken + [box for piece in pieces for box in _boxes_along(piece)]

    def _outlines(self, share: NDArray[np.float64], width_mm: float, dash: str | None) -> list[str]:
        """Draw the line round where a share of the cells is more than half."""
        if share.min() > 0.5 or share.max() < 0.5:
            return []
        mask = Terrain(share.astype(np.float32), *_place(self.land), self.land.crs)
        lines = contours.on_paper(contours.find_contours(mask, 0.5), self.fit)
        steps = [step for line in lines if line.level_m == 0.5 for step in contours.line_steps(line.points)]
        return [svg.path(steps, fill="none", stroke=svg.INK, stroke_width=width_mm, stroke_dasharray=dash)]

    def _casings(self) -> list[str]:
        """Draw a rim of paper under the outline of every region, or it would be taken for a contour."""
        return [
            svg.polygon(self.fit.points(r.outline), fill="none", stroke=svg.PAPER, stroke_width=1.8)
            for r in self.figure.regions
        ]

    def _strip(self) -> list[str]:
        frame = self.fit.frame
        top = frame.bottom + BAND_MM
        bar = symbols.scale_bar(
            frame.left + 3, top + 5.0, self.fit.length_mm(1.0), "metre", 0.32 * (frame.right - frame.left)
        )
        scale = svg.text(frame.left, top + 18.0, f"1:{written_metres(self.scale)}", 5.0, font_weight="bold")
        by = self.scale / 1000.0
        millimetre = svg.text(frame.left + 30, top + 18.0, f"1 mm is {by:g} m", _TEXT_MM, fill=PENCIL)
        told = self._grid_sentences()
        if not self.is_wide:
            # Too narrow for words beside the norths: the caption holds them.
            return [bar, scale, *draw_north_needles(self.norths, frame.right - 18.0, top + 18.0, 13.0)]
        words_mm = max(svg.text_width_mm(line, 2.6) for line in told)
        foot = frame.right - words_mm - _NEEDLES_MM
        feed = 1.25 * 2.6
        words = [
            svg.text(frame.right, top + 3.4 + k * feed, line, 2.6, anchor="end")
            for k, line in enumerate(told)
        ]
        return [bar, scale, millimetre, *draw_north_needles(self.norths, foot, top + 18.0, 13.0), *words]

    def _grid_sentences(self) -> list[str]:
        lines, crosses = grid_spacing_m(self.scale), cross_spacing_m(self.scale)
        return [
            f"Grid {self.land.crs}, in metres:",
            f"lines {lines:g} m, crosses {crosses:g} m apart.",
            *self.norths.sentences(),
        ]

    def _key(self) -> list[tuple[Sample, str]]:
        return terrain_hands(
            self.interval_m,
            has_contours=bool(self.lines),
            has_index=any(line.is_index for line in self.lines),
            has_shade=self.with_shade,
            has_level=bool(self.level.any()),
            has_edge=bool(np.isnan(self.land.elevation_m).any()),
        )

    def _caption(self, figure: WalkFigure) -> tuple[str, ...]:
        cell = self.source.cell_east_m
        told = f"Heights are known in cells of {cell:.4g} m; contours are drawn through them."
        grid = () if self.is_wide else (" ".join(self._grid_sentences()),)
        return (*figure.caption, *grid, told, *self.source.remarks, _CAUTION)


def land_on_sheet(terrain: Terrain, fit: PageFit) -> tuple[Terrain, NDArray[np.float64]]:
    """Give the land inside the frame in cells of 0.6 mm on paper, and how much of each is level ground.

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


def _check(figure: WalkFigure | None, scale: float | None, page_mm: tuple[float, float]) -> None:
    if figure is not None and (figure.unit != "metre" or figure.azimuth_reference != "grid"):
        raise ValueComplaint(
            f"a walk in {figure.unit}s by {figure.azimuth_reference} north does not lie on the grid of a map",
            "Put it on the grid first: in metres, its start at a known place, turned to grid north",
        )
    if scale is not None and not LEAST_SCALE <= scale <= MOST_SCALE:
        raise ValueComplaint(
            f"1:{scale:g} is no scale to walk by",
            f"Give {LEAST_SCALE:.0f} to {MOST_SCALE:.0f}, such as 10000",
        )
    if not all(math.isfinite(side) and 120 <= side <= 1200 for side in page_mm):
        raise ValueComplaint(
            f"a map sheet of {page_mm[0]:g} by {page_mm[1]:g} mm cannot be drawn",
            "Give sides of 120 to 1200 mm",
        )


def _frame(page_mm: tuple[float, float], heading_mm: float, below_mm: float) -> Box:
    side = EDGE_MM + BAND_MM
    bottom = page_mm[1] - BAND_MM - _STRIP_MM - below_mm
    frame = Box(side, EDGE_MM + heading_mm + BAND_MM, page_mm[0] - side, bottom)
    if frame.bottom - frame.top < 60:
        raise ValueComplaint(
            "key and caption leave no room for the map", "Give larger paper, or a walk with fewer sentences"
        )
    return frame


def _fit(
    figure: WalkFigure | None,
    terrain: Terrain,
    scale: float | None,
    centre: tuple[float, float] | None,
    frame: Box,
) -> PageFit:
    bounds = terrain.bounds if figure is None else walk_bounds(figure)
    middle = centre or ((bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2)
    if not all(math.isfinite(part) for part in (*bounds, *middle)):
        raise ValueComplaint("a place on the sheet is not a finite number", "Give metres east and north")
    fits: Callable[[float], bool] = lambda s: figure is None or _least_scale(bounds, middle, frame) <= s  # noqa: E731
    if scale is None:
        scale = next((s for s in SCALES if fits(s)), SCALES[-1])
    if not fits(scale):
        raise ValueComplaint(
            f"the walk does not fit on this sheet at 1:{scale:.0f}",
            f"Give a scale of 1:{_tidy_scale(_least_scale(bounds, middle, frame)):.0f}, or larger paper",
        )
    return PageFit(frame, middle[0], middle[1], scale / 100.0)


def _least_scale(bounds: tuple[float, float, float, float], middle: tuple[float, float], frame: Box) -> float:
    """Give the scale number at which all of a walk just comes inside the frame's margin."""
    half_wide = (frame.right - frame.left) / 2 - _WALK_MARGIN_MM
    half_high = (frame.bottom - frame.top) / 2 - _WALK_MARGIN_MM
    east = max(bounds[2] - middle[0], middle[0] - bounds[0])
    north = max(bounds[3] - middle[1], middle[1] - bounds[1])
    return 1000.0 * max(east / half_wide, north / half_high)


def _tidy_scale(least: float) -> float:
    return next((s for s in (*SCALES, 100_000.0) if s >= least), 5_000.0 * math.ceil(least / 5_000.0))


def _boxes_along(piece: Segment) -> list[Box]:
    """Give small boxes that cover a straight piece; one box round it all would bar half the sheet."""
    x1, y1, x2, y2 = piece
    count = max(1, math.ceil(math.hypot(x2 - x1, y2 - y1) / 2.0))
    shares = [(k + 0.5) / count for k in range(count)]
    middles = [(x1 + share * (x2 - x1), y1 + share * (y2 - y1)) for share in shares]
    return [Box(x - 1.0, y - 1.0, x + 1.0, y + 1.0) for x, y in middles]


def _place(land: Terrain) -> tuple[float, float, float, float]:
    return land.west_m, land.north_m, land.cell_east_m, land.cell_north_m
