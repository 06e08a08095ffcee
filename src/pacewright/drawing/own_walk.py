"""A learner's walk beside the ideal one: the card in broken lines, the likely way in full, and its end."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np

from pacewright.course.course import Course
from pacewright.course.grading import Grade
from pacewright.course.likely_way import likely_way
from pacewright.course.miss import Seen
from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Box, Wish, place_labels
from pacewright.drawing.page_fit import PageFit, fit_page, frame_line
from pacewright.drawing.svg import ACCENT, INK, PENCIL, Point

_TYPE_MM: Final = 2.9
_MARGIN_MM: Final = 7.0
_LEAST_HIGH, _MOST_HIGH = 0.4, 0.62
"""Height of the picture, as a part of its width."""
_STRIP_MM: Final = 14.0
_HOLDS_95: Final = math.sqrt(-2.0 * math.log(0.05))
"""So many standard deviations hold 95 of 100 in the plane (Rayleigh distribution)."""


def draw_own_walk(course: Course, one: Grade, width_mm: float = 80.0) -> str:
    """Draw a walk beside the ideal one.

    Parameters
    ----------
    course
        That it was walked on.
    one
        The graded walk. Where nobody saw its end, the ideal walk stands alone.
    width_mm
        Of the drawing; it is as high as the walk asks.

    Returns
    -------
    str
        An SVG document, to a round scale, its top to the north of the course.
    """
    ideal = _points(one.key.places_m)
    way = likely_way(one)
    own = [] if way is None else _points(way)
    ring = [] if one.seen is None else _ring(one.seen)
    ended = [] if one.seen is None else _points(one.seen.finish.place_m[None])
    everything = [*ideal, *own, *ring, *ended]
    high_mm = _height(everything, width_mm)
    frame = Box(0.3, 0.3, width_mm - 0.3, high_mm - 0.3)
    fit = fit_page(everything, frame, _MARGIN_MM)
    body = [
        *_ring_drawn(ring, fit),
        svg.polyline(fit.points(ideal), stroke=PENCIL, stroke_width=0.45, stroke_dasharray="2.2 1.3"),
        *_own(own, fit),
        *_ends(course, one, fit),
        *(_cross(*fit.point(*place)) for place in ended),
        *_labels(course, one, ideal, ended, fit, frame),
        frame_line(frame, 0.3),
        symbols.scale_bar(3.0, high_mm + 3.0, fit.length_mm(1.0), "metre", 0.4 * width_mm),
        symbols.north_arrow(width_mm - 27.0, high_mm + 13.0, 11.0, course.azimuth_reference),
    ]
    title = f"{one.handed.learner}, card {one.handed.card}"
    told = "The card in broken lines, the likely way in full lines, a cross where it ended"
    return svg.drawing(width_mm, high_mm + _STRIP_MM, body, title=title, description=told)


def _points(places: np.ndarray) -> list[Point]:
    return [(float(east), float(north)) for east, north in places]


def _height(points: list[Point], width_mm: float) -> float:
    east, north = zip(*points, strict=True)
    wide, high = max(east) - min(east), max(north) - min(north)
    share = high / wide if wide > 0 else 1.0
    return width_mm * min(_MOST_HIGH, max(_LEAST_HIGH, share))


def _ring(seen: Seen) -> list[Point]:
    """The outline about the end of the card that holds 95 ordinary walks of 100."""
    center = seen.finish.place_m - seen.off_m
    root = np.linalg.cholesky(seen.ordinary)
    turn_rad = np.linspace(0.0, 2.0 * np.pi, 49)
    around = np.stack([np.cos(turn_rad), np.sin(turn_rad)], axis=1)
    return _points(center + _HOLDS_95 * around @ root.T)


def _ring_drawn(ring: list[Point], fit: PageFit) -> list[str]:
    if not ring:
        return []
    return [
        svg.polygon(
            fit.points(ring), fill="none", stroke=PENCIL, stroke_width=0.25, stroke_dasharray="0.5 0.9"
        )
    ]


def _own(own: list[Point], fit: PageFit) -> list[str]:
    if not own:
        return []
    line = fit.points(own)
    drawn = [svg.polyline(line, stroke=ACCENT, stroke_width=0.7)]
    for start, end in pairwise(line):
        if math.dist(start, end) > 4.0:
            middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
            drawn.append(symbols.arrow_head(start, middle, 2.2, solid=True, ink=ACCENT))
    return drawn


def _ends(course: Course, one: Grade, fit: PageFit) -> list[str]:
    marks = []
    for name in (one.key.card.start, one.key.card.ends):
        x, y = fit.point(*course.post(name).place_m)
        marks.append(svg.rect(x - 1.0, y - 1.0, 2.0, 2.0, fill=INK))
    return marks


def _cross(x: float, y: float) -> str:
    strokes = [
        svg.line(x - 1.5, y - 1.5, x + 1.5, y + 1.5, stroke=ACCENT, stroke_width=0.6),
        svg.line(x - 1.5, y + 1.5, x + 1.5, y - 1.5, stroke=ACCENT, stroke_width=0.6),
    ]
    return svg.group(strokes)


def _labels(
    course: Course, one: Grade, ideal: list[Point], ended: list[Point], fit: PageFit, frame: Box
) -> list[str]:
    card = one.key.card
    wishes = [
        Wish(name, *fit.point(*course.post(name).place_m), 2.0, _TYPE_MM, rank=0)
        for name in dict.fromkeys((card.start, card.ends))
    ]
    wishes += [Wish("you", *fit.point(*place), 2.2, _TYPE_MM, rank=0) for place in ended]
    numbered = [row.leg for row in one.key.rows]
    for k, (start, end) in enumerate(pairwise(fit.points(ideal))):
        if numbered.index(numbered[k]) == k:
            middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
            wishes.append(Wish(str(numbered[k]), *middle, 1.2, _TYPE_MM, rank=1))
    taken = [Box(wish.x - 1.3, wish.y - 1.3, wish.x + 1.3, wish.y + 1.3) for wish in wishes]
    parts = []
    for label in place_labels(wishes, frame, taken).labels:
        if label.leader is not None:
            parts.append(svg.line(*label.leader, stroke=PENCIL, stroke_width=0.15))
        parts.append(
            svg.text(
                label.middle_x,
                label.baseline_y,
                label.content,
                label.wish.size_mm,
                anchor="middle",
                halo_mm=0.5,
            )
        )
    return parts
