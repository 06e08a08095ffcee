"""A course from above: its posts, the base line, and the walk of a card."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from pacewright.course.barred_land import BarredArea
from pacewright.course.course import Card, Course
from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Box
from pacewright.drawing.page_fit import PageFit, fit_page
from pacewright.drawing.svg import INK, PENCIL, Point

_STRIP_MM: Final = 19.0
_LABEL_MM: Final = 3.2
_POST_MM: Final = 1.3
_LEAST_HEIGHT: Final = 0.3


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
    body = [
        *(_barred(one, fit) for one in course.barred),
        *_base_line(course, fit),
        *(part for walk in walks for part in _walk(walk, fit, is_alone=len(walks) == 1)),
        *(_post(post.name, fit.point(*post.place_m), at) for at, post in enumerate(course.posts)),
        svg.rect(
            frame.left,
            frame.top,
            frame.right - frame.left,
            frame.bottom - frame.top,
            fill="none",
            stroke=INK,
            stroke_width=0.4,
        ),
        symbols.scale_bar(6.0, height_mm + 4.0, fit.length_mm(1.0), "metre", 0.4 * width_mm),
        symbols.north_arrow(width_mm - 28.0, height_mm + 17.0, 14.0, course.azimuth_reference),
    ]
    told = f"{len(posts)} posts" + (f" and the walks of {len(cards)} cards" if cards else "")
    return svg.drawing(width_mm, height_mm + _STRIP_MM, body, title=course.title, description=told)


def _height(points: Sequence[Point], width_mm: float) -> float:
    east, north = zip(*points, strict=True)
    wide, high = max(east) - min(east), max(north) - min(north)
    share = high / wide if wide > 0 else 1.0
    return width_mm * min(1.0, max(_LEAST_HEIGHT, share + 0.15))


def _barred(one: BarredArea, fit: PageFit) -> str:
    line = fit.points(one.corners_m)
    look: dict[str, svg.Attribute] = {
        "fill": "none",
        "stroke": INK,
        "stroke_width": 0.9,
        "stroke_dasharray": "2.4 1.2",
    }
    drawn = svg.polyline(line, **look) if one.is_line else svg.polygon(line, **look)
    x, y = sum(x for x, _ in line) / len(line), sum(y for _, y in line) / len(line)
    return drawn + svg.text(x, y, f"keep out: {one.name}", _LABEL_MM, anchor="middle", halo_mm=0.7)


def _base_line(course: Course, fit: PageFit) -> list[str]:
    if course.kind == "posts":
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


def _post(name: str, at: Point, number: int) -> str:
    x, y = at
    mark = svg.rect(x - _POST_MM, y - _POST_MM, 2 * _POST_MM, 2 * _POST_MM, fill=INK)
    # Names of neighbours stand above and below in turn, so that long ones do not meet.
    below = y + 2.0 * _POST_MM + _LABEL_MM if number % 2 else y - 2.2 * _POST_MM
    return mark + svg.text(x, below, name, _LABEL_MM, anchor="middle", halo_mm=0.6)
