"""A plan on the map at exact scale, with the corridors of its legs and the lines it goes by; its profile."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from pacewright.answers.plan import PlanAnswer
from pacewright.drawing import svg
from pacewright.drawing.map_field import STRIP_MM, MapField, field_frame
from pacewright.drawing.map_grid import BAND_MM, Norths
from pacewright.drawing.map_scale import check_scale, fit_map
from pacewright.drawing.page_fit import PageFit
from pacewright.drawing.svg import INK, PENCIL, Point
from pacewright.drawing.walk_figure import FigureLeg, FigureStation, WalkFigure
from pacewright.ground.terrain import Bounds
from pacewright.route.planning.told_legs import along_leg, corridor, profile

_LINE_DASH: Final = {"stream": "0.6 0.9", "ridge": "2.5 1.2 0.5 1.2"}
"""What is no stream and no ridge is drawn in one go."""
_PROFILE_MM: Final = 52.0
_TYPE_MM: Final = 2.6


def draw_plan_map(
    answer: PlanAnswer, size_mm: tuple[float, float], scale: float | None = None
) -> tuple[str, float]:
    """Draw a plan on its ground.

    Parameters
    ----------
    answer
        A plan with a terrain.
    size_mm
        Width and height of the drawing.
    scale
        10000 for 1:10 000; unasked, the largest round one at which the plan fits.

    Returns
    -------
    drawing, scale
        An SVG document of just that size, and the scale: a metre is 1000 / scale mm.

    Raises
    ------
    ValueComplaint
        The plan does not fit at this scale.
    """
    drawing, fit = drawn_plan(answer, size_mm, scale)
    # Metres to 10 mm of paper, and so to the scale.
    return drawing, 100.0 * fit.units_per_cm


def drawn_plan(
    answer: PlanAnswer, size_mm: tuple[float, float], scale: float | None = None
) -> tuple[str, PageFit]:
    """A plan on its ground as `draw_plan_map` draws it, and how the land lies on the drawing."""
    if scale is not None:
        check_scale(scale)
    map_mm = (size_mm[0], size_mm[1] - STRIP_MM)
    fit = fit_map(field_frame(map_mm), _bounds(answer), scale)
    field = MapField(_figure(answer), answer.land.terrain, fit, _norths(answer), may_lack_land=True)
    frame = fit.frame
    drawn: list[str] = []
    for line in answer.land.lines:
        dash = _LINE_DASH.get(line.kind)
        drawn.append(
            svg.polyline(fit.points(line.points_m), stroke=PENCIL, stroke_width=0.45, stroke_dasharray=dash)
        )
    legs: list[str] = []
    for one in answer.legs:
        leg = one.told.leg
        if leg.follows:
            places = fit.points(along_leg(answer.land, leg))
            legs.append(svg.polyline(places, stroke=INK, stroke_width=0.9, stroke_dasharray="2 1"))
        else:
            ring = fit.points(corridor(answer.figures, leg, one.told.begin_sd_m))
            legs.append(
                svg.polygon(ring, fill="none", stroke=INK, stroke_width=0.25, stroke_dasharray="1.2 1")
            )
    drawn.append(svg.group(legs, class_="walk"))
    body = [
        *field.body(),
        svg.cut_to(frame.left, frame.top, frame.right, frame.bottom, drawn),
        *field.strip(BAND_MM, size_mm[0] - BAND_MM, map_mm[1] + 1.5, with_words=field.is_wide),
    ]
    title = f"Plan from {answer.asked.start.name} to {answer.asked.goal.name}"
    return svg.drawing(*size_mm, body, title=title, description=field.description()), fit


def draw_profile(answer: PlanAnswer, width_mm: float) -> str:
    """Draw the heights along a plan, its stations marked; the heights are drawn larger than the lengths."""
    left, right, top, foot = 14.0, width_mm - 3.0, 4.0, _PROFILE_MM - 9.0
    parts = [profile(answer.land, one.told.leg) for one in answer.legs]
    ends = np.cumsum([0.0, *(part[0][-1] for part in parts)])
    along = np.concatenate([part[0] + begin for part, begin in zip(parts, ends, strict=False)])
    heights = np.concatenate([part[1] for part in parts])
    known = np.isfinite(heights)
    low, high = float(heights[known].min()), float(heights[known].max())
    low, high = low - 5.0, max(high + 5.0, low + 50.0)

    def at(far: float, height: float) -> Point:
        x = left + (right - left) * far / ends[-1]
        return x, foot - (foot - top) * (height - low) / (high - low)

    drawn = [
        svg.polyline(
            [at(x, y) for x, y in zip(along[known], heights[known], strict=True)],
            stroke=INK,
            stroke_width=0.5,
        )
    ]
    drawn.append(svg.line(left, foot, right, foot, stroke=PENCIL, stroke_width=0.25))
    for height in (low + 5.0, high - 5.0):
        x, y = at(0.0, height)
        drawn.append(svg.text(1.0, y + 1.0, f"{height:.0f} m", _TYPE_MM))
        drawn.append(svg.line(x - 1.5, y, x, y, stroke=PENCIL, stroke_width=0.25))
    last_x = -10.0
    for number, far in enumerate(ends):
        x, _ = at(float(far), low)
        drawn.append(svg.line(x, top, x, foot, stroke=PENCIL, stroke_width=0.2, stroke_dasharray="0.8 1"))
        if x - last_x > 5.0:
            drawn.append(svg.text(x - 1.0, foot + 4.0, str(number), _TYPE_MM))
            last_x = x
    times = (right - left) / ends[-1] and ((foot - top) / (high - low)) / ((right - left) / ends[-1])
    told = f"{ends[-1] / 1000:.1f} km; heights drawn {times:.1f} times as large as lengths"
    drawn.append(svg.text(left, foot + 8.0, told, _TYPE_MM))
    return svg.drawing(width_mm, _PROFILE_MM, drawn, title="Heights along the plan", description=told)


def _figure(answer: PlanAnswer) -> WalkFigure:
    asked, legs = answer.asked, [one.told.leg for one in answer.legs]
    places = [legs[0].from_m, *(leg.to_m for leg in legs)]
    names: list[str | None] = [asked.start.name, *([None] * (len(legs) - 1)), asked.goal.name]
    stations = tuple(
        FigureStation(k, name, *place) for k, (name, place) in enumerate(zip(names, places, strict=True))
    )
    drawn = tuple(FigureLeg(k, k + 1) for k, leg in enumerate(legs) if not leg.follows)
    return replace(WalkFigure("", "metre", "grid", stations), legs=drawn)


def _bounds(answer: PlanAnswer) -> Bounds:
    rings = [
        along_leg(answer.land, one.told.leg)
        if one.told.leg.follows
        else corridor(answer.figures, one.told.leg, one.told.begin_sd_m)
        for one in answer.legs
    ]
    points = np.concatenate(rings)
    (west, south), (east, north) = points.min(axis=0), points.max(axis=0)
    return float(west), float(south), float(east), float(north)


def _norths(answer: PlanAnswer) -> Norths:
    north = answer.asked.north
    return Norths(magnetic_deg=north.added_deg if north.name == "magnetic" else None)
