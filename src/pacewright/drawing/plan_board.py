"""A plan or bare land as a board to set points on: the drawing, and how metres of the grid lie on it."""

from __future__ import annotations

from dataclasses import dataclass

from pacewright.answers.plan import PlanAnswer
from pacewright.drawing import svg
from pacewright.drawing.map_field import STRIP_MM, MapField, field_frame, no_walk
from pacewright.drawing.map_grid import BAND_MM, Norths
from pacewright.drawing.map_scale import fit_map
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.plan_map import drawn_plan
from pacewright.ground.terrain import Terrain


@dataclass(frozen=True, slots=True)
class Board:
    """How metres of a grid lie on a drawing.

    Attributes
    ----------
    west_m, north_m
        What lies at the upper left corner of the land drawn.
    left_mm, top_mm, right_mm, foot_mm
        The corners of the land on the drawing.
    mm_per_m
        A metre on the drawing.
    """

    west_m: float
    north_m: float
    left_mm: float
    top_mm: float
    right_mm: float
    foot_mm: float
    mm_per_m: float


def draw_plan_board(answer: PlanAnswer, size_mm: tuple[float, float]) -> tuple[str, Board]:
    """A plan on its ground, at the largest round scale at which it fits.

    Raises
    ------
    ValueComplaint
        The plan does not fit at any scale.
    """
    drawing, fit = drawn_plan(answer, size_mm)
    return drawing, _board(fit)


def draw_land_board(terrain: Terrain, size_mm: tuple[float, float]) -> tuple[str, Board]:
    """The whole of a land, before anything is planned on it."""
    map_mm = (size_mm[0], size_mm[1] - STRIP_MM)
    fit = fit_map(field_frame(map_mm), terrain.bounds)
    field = MapField(no_walk(), terrain, fit, Norths(), may_lack_land=True)
    body = [
        *field.body(),
        *field.strip(BAND_MM, size_mm[0] - BAND_MM, map_mm[1] + 1.5, with_words=field.is_wide),
    ]
    title = "The land, to set points on"
    return svg.drawing(*size_mm, body, title=title, description=field.description()), _board(fit)


def _board(fit: PageFit) -> Board:
    frame, mm_per_m = fit.frame, fit.length_mm(1.0)
    return Board(
        west_m=fit.middle_east - (frame.right - frame.left) / 2.0 / mm_per_m,
        north_m=fit.middle_north + (frame.bottom - frame.top) / 2.0 / mm_per_m,
        left_mm=frame.left,
        top_mm=frame.top,
        right_mm=frame.right,
        foot_mm=frame.bottom,
        mm_per_m=mm_per_m,
    )
