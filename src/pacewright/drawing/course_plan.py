"""A course from above: its posts, the base line, and the walk of a card."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from pacewright.course.barred_land import BarredArea, distance_to
from pacewright.course.course import Card, Course
from pacewright.course.ending import stands_on_line
from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Box, Wish, place_labels
from pacewright.drawing.page_fit import PageFit, fit_page, frame_line
from pacewright.drawing.svg import INK, PENCIL, Point

_STRIP_MM: Final = 19.0
_LABEL_MM: Final = 3.2
_POST_MM: Final = 1.3
_LEAST_HEIGHT: Final = 0.3
_KEY_ROW_MM: Final = 4.4
_CELL_MM: Final = 2.6
"""Barred land is kept free in cells so wide."""
_MOST_CELLS: Final = 120


def draw_course_plan(course: Course, cards: Sequence[Card] = (), width_mm: float = 150.0) -> str:
    """Draw the posts of a course, and the walks of the cards given: one with arrows, several as thin lines.

    Parameters
    ----------
    course
        The course.
    cards
        Whose walks are drawn; for the instructor's eyes only.
    width_mm
        Of the drawing; it is as high as the course asks.

    Returns
    -------
    str
        An SVG document, to a round scale, its top to the north of the course.
    """
    posts = [post.place_m for post in course.posts]
    walks = [[(float(e), float(n)) for e, n in course.places_m(card)] for card in cards]
    barred = [list(one.corners_m) for one in course.barred]
    points = [*posts, *(point for line in (*walks, *barred) for point in line)]
    height_mm = _height(points, width_mm)
    frame = Box(0.4, 0.4, width_mm - 0.4, height_mm - 0.4)
    fit = fit_page(points, frame, 12.0)
    names, key = _names(course, fit, frame)
    body = [
        *(_barred(one, fit, frame) for one in course.barred),
        *_base_line(course, fit),
        *(part for walk in walks for part in _walk(walk, fit, is_alone=len(walks) == 1)),
        *(_post(fit.point(*post.place_m)) for post in course.posts),
        *names,
        frame_line(frame, 0.4),
        symbols.scale_bar(6.0, height_mm + 4.0, fit.length_mm(1.0), "metre", 0.4 * width_mm),
        symbols.north_arrow(width_mm - 28.0, height_mm + 17.0, 14.0, course.azimuth_reference),
    ]
    told = f"{len(posts)} posts" + (f" and the walks of {len(cards)} cards" if cards else "")
    words = (
        svg.wrap_text("; ".join(f"{short} {name}" for short, name in key), _LABEL_MM, width_mm - 8.0)
        if key
        else []
    )
    top_mm = height_mm + _STRIP_MM
    body += [svg.text(4.0, top_mm + (k + 0.8) * _KEY_ROW_MM, row, _LABEL_MM) for k, row in enumerate(words)]
    return svg.drawing(
        width_mm, top_mm + _KEY_ROW_MM * len(words), body, title=course.title, description=told
    )


def _height(points: Sequence[Point], width_mm: float) -> float:
    east, north = zip(*points, strict=True)
    wide, high = max(east) - min(east), max(north) - min(north)
    share = high / wide if wide > 0 else 1.0
    return width_mm * min(1.0, max(_LEAST_HEIGHT, share + 0.15))


def _barred(one: BarredArea, fit: PageFit, frame: Box) -> str:
    line = fit.points(one.corners_m)
    look: dict[str, svg.Attribute] = {
        "fill": "none",
        "stroke": INK,
        "stroke_width": 0.9,
        "stroke_dasharray": "2.4 1.2",
    }
    drawn = svg.polyline(line, **look) if one.is_line else svg.polygon(line, **look)
    box = _said_barred(one, fit, frame)
    middle, foot = (box.left + box.right) / 2.0, box.bottom - 0.24 * _LABEL_MM
    return drawn + svg.text(middle, foot, _keep_out(one), _LABEL_MM, anchor="middle", halo_mm=0.7)


def _keep_out(one: BarredArea) -> str:
    return f"keep out: {one.name}"


def _said_barred(one: BarredArea, fit: PageFit, frame: Box) -> Box:
    """Where the name of barred land stands: in its middle, and never out of the frame."""
    line = fit.points(one.corners_m)
    half = svg.text_width_mm(_keep_out(one), _LABEL_MM) / 2.0
    x = sum(x for x, _ in line) / len(line)
    y = sum(y for _, y in line) / len(line)
    x = min(max(x, frame.left + half + 1.0), frame.right - half - 1.0)
    y = min(max(y, frame.top + _LABEL_MM + 1.0), frame.bottom - 1.5)
    return Box(x - half, y - 0.8 * _LABEL_MM, x + half, y + 0.24 * _LABEL_MM)


def _covered(one: BarredArea, fit: PageFit) -> list[Box]:
    """Boxes that cover barred land on paper, so that no name of a post stands on it."""
    corners = np.array(one.corners_m)
    cell_m = max(_CELL_MM / fit.length_mm(1.0), float(np.ptp(corners, axis=0).max()) / _MOST_CELLS)
    low, high = corners.min(axis=0) - cell_m, corners.max(axis=0) + cell_m
    grid = np.stack(np.meshgrid(*(np.arange(a, b, cell_m) for a, b in zip(low, high, strict=True))), axis=-1)
    places = grid.reshape(-1, 2)
    near = places[distance_to(places, one) <= cell_m / 2.0]
    return [_around(*fit.point(float(east), float(north))) for east, north in near]


def _around(x: float, y: float) -> Box:
    half = _CELL_MM / 2.0
    return Box(x - half, y - half, x + half, y + half)


def _base_line(course: Course, fit: PageFit) -> list[str]:
    if course.kind == "posts" or not stands_on_line(course.posts):
        return []
    ends = [fit.point(*course.posts[0].place_m), fit.point(*course.posts[-1].place_m)]
    return [svg.polyline(ends, stroke=PENCIL, stroke_width=0.3, stroke_dasharray="0.6 1.4")]


def _walk(walk: list[Point], fit: PageFit, *, is_alone: bool) -> list[str]:
    line = fit.points(walk)
    if not is_alone:
        return [svg.polyline(line, stroke=PENCIL, stroke_width=0.2)]
    drawn = [svg.polyline(line, stroke=INK, stroke_width=0.6)]
    for start, end in pairwise(line):
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        if start != end:
            drawn.append(symbols.arrow_head(start, middle, 2.6, solid=True))
    return drawn


def _post(at: Point) -> str:
    return svg.rect(at[0] - _POST_MM, at[1] - _POST_MM, 2 * _POST_MM, 2 * _POST_MM, fill=INK)


def _names(course: Course, fit: PageFit, frame: Box) -> tuple[list[str], tuple[tuple[str, str], ...]]:
    """The names of the posts, in the frame and off barred land; what finds no room stands in a key."""
    at = [fit.point(*post.place_m) for post in course.posts]
    wishes = [
        Wish(post.name, *place, _POST_MM + 0.6, _LABEL_MM, short=str(k))
        for k, (post, place) in enumerate(zip(course.posts, at, strict=True), start=1)
    ]
    blocked = [_around(x, y) for x, y in at]
    for one in course.barred:
        blocked += [*_covered(one, fit), _said_barred(one, fit, frame)]
    placed = place_labels(wishes, frame, blocked)
    parts = []
    for label in placed.labels:
        if label.leader is not None:
            parts.append(svg.line(*label.leader, stroke=PENCIL, stroke_width=0.15))
        where = (label.middle_x, label.baseline_y)
        parts.append(svg.text(*where, label.content, _LABEL_MM, anchor="middle", halo_mm=0.6))
    return parts, placed.key
