"""The key of a map sheet: a sample of every hand that draws the land."""

from __future__ import annotations

from functools import partial

from pacewright.drawing import contours, hill_shade, svg, symbols
from pacewright.drawing.walk_margin import SAMPLE_MM, Hand, Sample


def terrain_hands(
    interval_m: float,
    *,
    has_contours: bool,
    has_index: bool,
    has_shade: bool,
    has_level: bool,
    has_edge: bool,
) -> list[Hand]:
    """The kinds of line that the land uses on a sheet, each with its sample and its words.

    Parameters
    ----------
    interval_m
        Height between contours.
    has_contours, has_index, has_shade, has_level, has_edge
        Which of them the sheet holds.
    """
    heavy_m = contours.INDEX_EVERY * interval_m
    used: list[tuple[Sample, str, bool]] = [
        (partial(_line_sample, contours.CONTOUR_MM), f"contour, every {interval_m:g} m", has_contours),
        (partial(_line_sample, contours.INDEX_MM), f"index contour, {heavy_m:g} m", has_index),
        (_shade_sample, "shade, light from NW", has_shade),
        (_level_sample, "level: water, or a flat", has_level),
        (_edge_sample, "edge of the known heights", has_edge),
    ]
    return [(sample, words) for sample, words, is_used in used if is_used]


def _line_sample(width_mm: float, x: float, y: float) -> str:
    bend = [("M", (x, y + 0.8)), ("Q", (x + SAMPLE_MM / 2, y - 1.6, x + SAMPLE_MM, y + 0.4))]
    return svg.path(bend, fill="none", stroke=contours.CONTOUR_INK, stroke_width=width_mm)


def _shade_sample(x: float, y: float) -> str:
    box = [(x, y - 1.4), (x + SAMPLE_MM, y - 1.4), (x + SAMPLE_MM, y + 1.4), (x, y + 1.4)]
    strokes = symbols.hatch_strokes(box, 0.9, hill_shade.SHADE_TURN_DEG)
    steps = [step for start, end in strokes for step in (("M", start), ("L", end))]
    return svg.path(steps, fill="none", stroke=hill_shade.SHADE_INK, stroke_width=hill_shade.SHADE_MM)


def _level_sample(x: float, y: float) -> str:
    outline = svg.rect(x, y - 1.5, SAMPLE_MM, 3.0, fill="none", stroke=svg.INK, stroke_width=0.3, rx=1.2)
    strokes = (
        svg.line(
            x + inset,
            y + dy,
            x + SAMPLE_MM - 0.6,
            y + dy,
            stroke=svg.INK,
            stroke_width=hill_shade.LEVEL_MM,
            stroke_dasharray=hill_shade.LEVEL_DASH,
            stroke_linecap="round",
        )
        for inset, dy in ((0.9, -0.6), (2.5, 0.6))
    )
    return outline + "".join(strokes)


def _edge_sample(x: float, y: float) -> str:
    return svg.line(x, y, x + SAMPLE_MM, y, stroke=svg.INK, stroke_width=0.35, stroke_dasharray="0.01 1.2")
