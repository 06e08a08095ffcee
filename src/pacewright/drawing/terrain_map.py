"""The map sheet: the land by contours, shade and level ground, its grid, the walk on it, to exact scale."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from pacewright.drawing import svg
from pacewright.drawing.labels import Box
from pacewright.drawing.map_field import STRIP_MM, MapField, field_frame, no_walk
from pacewright.drawing.map_grid import BAND_MM, Norths
from pacewright.drawing.map_scale import check_scale, fit_map
from pacewright.drawing.placed_walk import placed_walk, walk_bounds
from pacewright.drawing.walk_figure import WalkFigure
from pacewright.drawing.walk_map import WalkParts
from pacewright.drawing.walk_margin import (
    EDGE_MM,
    draw_below,
    draw_sample,
    draw_title,
    key_columns,
    label_sentences,
    walk_hands,
)
from pacewright.exceptions import ValueComplaint
from pacewright.ground.terrain import Terrain

A4_MM: Final = (210.0, 297.0)

_TYPES_MM: Final = (3.0, 2.6, 2.2)
"""Heights of the type below the map: the first that leaves the map enough room."""
_LEAST_HIGH_MM: Final = 60.0

LAND_CAUTION: Final = (
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
    check_walk(figure)
    if scale is not None:
        check_scale(scale)
    _check_paper(page_mm)
    shown = figure or no_walk()
    shown = replace(shown, title=title or shown.title or "Map sheet")
    heading, heading_mm = draw_title(shown.title, page_mm[0])
    for text_mm in _TYPES_MM:
        below_mm = 15.0
        # The key and the caption take the height they need, which depends on how the labels fall.
        for _ in range(4):
            frame = _frame(page_mm, heading_mm, below_mm)
            if frame.bottom - frame.top < _LEAST_HIGH_MM:
                break
            fit = fit_map(
                frame,
                terrain.bounds if figure is None else walk_bounds(figure),
                scale,
                centre,
                has_walk=figure is not None,
            )
            field = MapField(shown, terrain, fit, norths or Norths(), with_shade=with_shade)
            told = (*shown.caption, *land_notes(field, terrain))
            below, height_mm = _below(field, told, (page_mm[0], frame.bottom + BAND_MM + STRIP_MM), text_mm)
            if height_mm <= page_mm[1] + 0.01:
                strip = field.strip(frame.left, frame.right, frame.bottom + BAND_MM, with_words=field.is_wide)
                description = " ".join([field.description(), *told])
                body = [*heading, *field.body(), *strip, *below]
                return svg.drawing(*page_mm, body, title=shown.title, description=description)
            below_mm = height_mm - (frame.bottom + BAND_MM + STRIP_MM) + 0.1
    raise ValueComplaint(
        "key and caption leave no room for the map", "Give larger paper, or a walk with fewer sentences"
    )


def terrain_parts(
    figure: WalkFigure, terrain: Terrain, size_mm: tuple[float, float], norths: Norths | None = None
) -> WalkParts:
    """Draw the land with a walk on it as `draw_terrain_map` does, title, key and sentences apart.

    Parameters
    ----------
    figure, terrain, norths
        As for `draw_terrain_map`.
    size_mm
        Width and height of the picture. Less than 88 mm wide it has the letters of a card.

    Raises
    ------
    MissingComplaint, ValueComplaint
        As for `draw_terrain_map`.
    """
    check_walk(figure)
    map_high_mm = size_mm[1] - MapField.LOW_STRIP_MM
    fit = fit_map(field_frame((size_mm[0], map_high_mm)), walk_bounds(figure))
    field = MapField(figure, terrain, fit, norths or Norths())
    strip = svg.group(field.low_strip(size_mm[0]), transform=f"translate(0 {svg.number(map_high_mm)})")
    hands = [*walk_hands(field.figure), *field.hands()]
    return WalkParts(
        svg.drawing(*size_mm, [*field.body(), strip], title=figure.title, description=field.description()),
        tuple((draw_sample(hand), hand[1]) for hand in hands),
        (
            *label_sentences(field.placement),
            " ".join(field.grid_sentences()),
            *figure.caption,
            *_heights_notes(terrain),
        ),
    )


def land_notes(field: MapField, terrain: Terrain) -> tuple[str, ...]:
    """Say what the grid and the heights are, and what they do not show."""
    grid = () if field.is_wide else (" ".join(field.grid_sentences()),)
    return (*grid, *_heights_notes(terrain))


def _heights_notes(terrain: Terrain) -> tuple[str, ...]:
    told = f"Heights are known in cells of {terrain.cell_east_m:.4g} m; contours are drawn through them."
    return (told, *terrain.remarks, LAND_CAUTION)


def check_walk(figure: WalkFigure | None) -> None:
    """Refuse a walk that does not lie on the grid of a map.

    Raises
    ------
    ValueComplaint
        It is in paces, or not by grid north.
    """
    if figure is not None and (figure.unit != "metre" or figure.azimuth_reference != "grid"):
        raise ValueComplaint(
            f"a walk in {figure.unit}s by {figure.azimuth_reference} north does not lie on the grid of a map",
            "Put it on the grid first: in metres, its start at a known place, turned to grid north",
        )


def _below(
    field: MapField, told: tuple[str, ...], upper_mm: tuple[float, float], text_mm: float
) -> tuple[list[str], float]:
    """Key and caption, and the height down to which they reach."""
    figure, more = replace(field.figure, caption=told), field.hands()
    columns = key_columns([*walk_hands(figure), *more], upper_mm[0] - 2 * EDGE_MM, text_mm)
    return draw_below(figure, field.placement, upper_mm, more=more, text_mm=text_mm, columns=columns)


def _check_paper(page_mm: tuple[float, float]) -> None:
    if not all(math.isfinite(side) and 120 <= side <= 1200 for side in page_mm):
        raise ValueComplaint(
            f"a map sheet of {page_mm[0]:g} by {page_mm[1]:g} mm cannot be drawn",
            "Give sides of 120 to 1200 mm",
        )


def _frame(page_mm: tuple[float, float], heading_mm: float, below_mm: float) -> Box:
    side = EDGE_MM + BAND_MM
    bottom = page_mm[1] - BAND_MM - STRIP_MM - below_mm
    return Box(side, EDGE_MM + heading_mm + BAND_MM, page_mm[0] - side, bottom)
