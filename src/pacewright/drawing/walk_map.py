"""The walked figure on paper: to scale, inside a frame, north of its own azimuth reference up."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from itertools import pairwise
from typing import Final

from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Box, Label, Placement, Segment, Wish, place_labels
from pacewright.drawing.page_fit import PageFit, fit_page, frame_exit
from pacewright.drawing.svg import INK, PENCIL, Point
from pacewright.drawing.walk_figure import (
    FigureAlternative,
    FigureLeg,
    FigureRay,
    FigureRegion,
    FigureStation,
    FigureWayBack,
    WalkFigure,
    extent_points,
    stations_by_index,
)
from pacewright.drawing.walk_margin import EDGE_MM, STRIP_MM, draw_below, draw_strip, draw_title
from pacewright.exceptions import ValueComplaint

__all__ = [
    "FigureAlternative",
    "FigureLeg",
    "FigureRay",
    "FigureRegion",
    "FigureStation",
    "FigureWayBack",
    "WalkFigure",
    "draw_walk_map",
    "frame_line",
    "lay_walk",
    "line_segments",
    "written_labels",
]

_NAME_MM: Final = 4.6
_NUMBER_MM: Final = 4.0
_MARGIN_MM: Final = 12.0
_MOST_NUMBERS: Final = 40
_CROWDED: Final = 100


def draw_walk_map(figure: WalkFigure, page_mm: tuple[float, float] = (180.0, 180.0)) -> str:
    """Draw a walk to scale, north up, all of it inside a frame.

    Parameters
    ----------
    figure
        What to draw.
    page_mm
        Width and height of the page without the key and the caption, which are added below.

    Returns
    -------
    str
        An SVG document. Its scale is a round number of paces or metres to 10 mm on
        paper, which is also how far apart the faint crosses are.

    Raises
    ------
    MissingComplaint
        The figure has no station.
    ValueComplaint
        A leg or a ray starts at a station that is not there, a number is not finite, or the page is
        too small to draw on.
    """
    stations = stations_by_index(figure)
    title, title_mm = draw_title(figure.title, page_mm[0])
    fit = fit_page(extent_points(figure, stations), _frame(page_mm, title_mm), _MARGIN_MM)
    strokes, placement = lay_walk(figure, fit)
    body = [
        *title,
        _crosses(figure, fit),
        *strokes,
        frame_line(fit.frame),
        *written_labels(placement),
        *draw_strip(figure, fit),
    ]
    below, height_mm = draw_below(figure, placement, page_mm)
    return svg.drawing(
        page_mm[0], height_mm, [*body, *below], title=figure.title, description=_description(figure)
    )


def lay_walk(figure: WalkFigure, fit: PageFit) -> tuple[list[str], Placement]:
    """Draw the strokes of a walk as it lies on paper, and find places for its labels.

    Parameters
    ----------
    figure
        What to draw; its stations lie inside the frame.
    fit
        How it lies on paper.

    Raises
    ------
    MissingComplaint, ValueComplaint
        As `draw_walk_map`.
    """
    stations = stations_by_index(figure)
    rays = [_ray_ends(ray, stations, fit) for ray in figure.rays]
    strokes = [
        *_ground(figure, fit),
        *_walked(figure, stations, fit),
        *(symbols.ray_line(*ends) for ends in rays),
        *_marks(figure, fit),
    ]
    return strokes, _place(figure, stations, fit, rays)


def _frame(page_mm: tuple[float, float], title_mm: float) -> Box:
    width, height = page_mm
    frame = Box(EDGE_MM, EDGE_MM + title_mm, width - EDGE_MM, height - EDGE_MM - STRIP_MM)
    if not (frame.right - frame.left >= 68 and frame.bottom - frame.top >= 60):
        raise ValueComplaint(
            f"a page of {width:g} by {height:g} mm leaves no room for the drawing",
            "Give a page of at least 80 by 110 mm, and a title of a few words",
        )
    return frame


def frame_line(frame: Box) -> str:
    """Draw the line round a frame."""
    width, height = frame.right - frame.left, frame.bottom - frame.top
    return svg.rect(frame.left, frame.top, width, height, fill="none", stroke=INK, stroke_width=0.5)


def _crosses(figure: WalkFigure, fit: PageFit) -> str:
    start, frame = figure.stations[0], fit.frame
    sides = (frame.left, frame.top, frame.right, frame.bottom)
    return symbols.measuring_crosses(
        fit.point(start.east, start.north), sides, fit.length_mm(fit.units_per_cm)
    )


def _description(figure: WalkFigure) -> str:
    names = ", ".join(dict.fromkeys(s.name for s in figure.stations if s.name))
    legs = f"{len(figure.legs)} leg{'' if len(figure.legs) == 1 else 's'}"
    told = f"A walk of {legs}, {figure.azimuth_reference} north up" + (f", by {names}" if names else "")
    return " ".join([told + ".", *figure.caption])


def _ground(figure: WalkFigure, fit: PageFit) -> list[str]:
    drawn = [symbols.region_shape(fit.points(r.outline), r.style) for r in figure.regions if len(r.outline)]
    drawn += [symbols.alternative_line(fit.points(a.points)) for a in figure.alternatives]
    if figure.way_back and len(figure.way_back.points):
        drawn.append(symbols.way_back_line(_clear_of_marks(fit.points(figure.way_back.points), figure, fit)))
    return drawn


def _clear_of_marks(way: list[Point], figure: WalkFigure, fit: PageFit) -> list[Point]:
    """End a way at the rim of the mark on which it arrives, so that its head is seen."""
    rims = [
        symbols.MARK_RADIUS_MM[_mark(s, figure)] + 0.4
        for s in figure.stations
        if math.dist(fit.point(s.east, s.north), way[-1]) < 0.5
    ]
    length = math.dist(way[-2], way[-1]) if len(way) > 1 else 0.0
    if not rims or length < max(rims) + 5:
        return way
    share = 1 - max(rims) / length
    (x1, y1), (x2, y2) = way[-2:]
    return [*way[:-1], (x1 + share * (x2 - x1), y1 + share * (y2 - y1))]


def _walked(figure: WalkFigure, stations: dict[int, FigureStation], fit: PageFit) -> list[str]:
    drawn = []
    # Boxings first, so that the paper of an obstacle covers no other leg.
    for leg in sorted(figure.legs, key=lambda leg: not leg.boxings):
        start, end = _ends(leg, stations, fit)
        if leg.boxings:
            drawn.append(symbols.boxed_leg(start, end, _boxings_mm(leg, fit), estimated=leg.estimated))
        else:
            drawn.append(symbols.leg_line(start, end, estimated=leg.estimated))
    return drawn


def _marks(figure: WalkFigure, fit: PageFit) -> list[str]:
    # From the least to the most telling; the start last, since a walk that comes home ends on it.
    order = list(symbols.MARK_RADIUS_MM)
    marked = sorted(((_mark(s, figure), s) for s in figure.stations), key=lambda m: order.index(m[0]))
    marked.sort(key=lambda m: m[0] == "start")
    drawn = [symbols.station_mark(*fit.point(s.east, s.north), kind) for kind, s in marked]
    if figure.arrow:
        start, end = fit.points(figure.arrow)
        drawn.append(symbols.misclosure_arrow(start, end))
    return drawn


def _mark(station: FigureStation, figure: WalkFigure) -> symbols.MarkKind:
    if station is figure.stations[0]:
        return "start"
    if station is figure.stations[-1]:
        return "end"
    if station.name:
        return "named"
    return "crowded" if len(figure.stations) > _CROWDED else "plain"


def _place(
    figure: WalkFigure,
    stations: dict[int, FigureStation],
    fit: PageFit,
    rays: list[tuple[Point, Point]],
) -> Placement:
    wishes = [*_station_wishes(figure, fit), *_line_wishes(figure, fit, rays)]
    lines = [*line_segments(figure, stations, fit), *((*start, *end) for start, end in rays)]
    frame = fit.frame
    room = Box(frame.left + 1, frame.top + 1, frame.right - 1, frame.bottom - 1)
    return place_labels(wishes, room, list(_mark_boxes(figure, fit)), lines)


def _ray_ends(ray: FigureRay, stations: dict[int, FigureStation], fit: PageFit) -> tuple[Point, Point]:
    station = stations[ray.from_index]
    start = fit.point(station.east, station.north)
    return start, frame_exit(start, ray.azimuth_deg, fit.frame)


def _ends(leg: FigureLeg, stations: dict[int, FigureStation], fit: PageFit) -> tuple[Point, Point]:
    start, end = stations[leg.from_index], stations[leg.to_index]
    return fit.point(start.east, start.north), fit.point(end.east, end.north)


def _boxings_mm(leg: FigureLeg, fit: PageFit) -> list[tuple[str, float]]:
    return [(side, fit.length_mm(offset)) for side, offset in leg.boxings]


def _middle(line: list[Point]) -> Point:
    """Give the middle of the longest straight piece of a line."""
    a, b = max(pairwise(line), key=lambda piece: math.dist(*piece), default=(line[0], line[0]))
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _station_wishes(figure: WalkFigure, fit: PageFit) -> Iterable[Wish]:
    times = Counter(s.name for s in figure.stations if s.name)
    step = next(
        n
        for k in range(9)
        for n in (10**k, 2 * 10**k, 5 * 10**k)
        if len(figure.stations) <= n * _MOST_NUMBERS
    )
    first_of: dict[str, int] = {}
    for station in figure.stations:
        x, y = fit.point(station.east, station.north)
        clear = symbols.MARK_RADIUS_MM[_mark(station, figure)]
        if station.name:
            # The same name twice: the walker was there again, so its number tells the visits apart.
            again = (
                times[station.name] > 1 and first_of.setdefault(station.name, station.index) != station.index
            )
            content = f"{station.name} ({station.index})" if again else station.name
            yield Wish(content, x, y, clear, _NAME_MM, str(station.index))
        elif station.index % step == 0:
            yield Wish(str(station.index), x, y, clear, _NUMBER_MM, rank=3)


def _line_wishes(figure: WalkFigure, fit: PageFit, rays: list[tuple[Point, Point]]) -> Iterable[Wish]:
    for place, (ray, (start, end)) in enumerate(zip(figure.rays, rays, strict=True)):
        if ray.name and (length := math.dist(start, end)) > 0:
            # A little inside the frame, where the label has room on either side of the ray.
            back = min(5.0, length) / length
            x, y = end[0] + back * (start[0] - end[0]), end[1] + back * (start[1] - end[1])
            yield Wish(ray.name, x, y, 0.8, _NAME_MM, f"S{place + 1}", rank=1)
    for place, region in enumerate(figure.regions):
        if region.label and len(region.outline):
            x, y = max(fit.points(region.outline), key=lambda p: (round(p[0] - p[1], 3), p))
            yield Wish(region.label, x, y, 0.6, _NAME_MM, f"R{place + 1}", rank=2)
    for place, alternative in enumerate(figure.alternatives):
        if len(alternative.points):
            x, y = fit.points(alternative.points)[-1]
            said = alternative.label or f"{100 * alternative.chance:.0f} %"
            yield Wish(said, x, y, 0.6, _NUMBER_MM, f"A{place + 1}", rank=2)
    if figure.way_back and figure.way_back.label and len(figure.way_back.points):
        x, y = _middle(fit.points(figure.way_back.points))
        yield Wish(figure.way_back.label, x, y, 0.8, _NAME_MM, "B", rank=1)


def line_segments(figure: WalkFigure, stations: dict[int, FigureStation], fit: PageFit) -> Iterable[Segment]:
    """Give every straight piece of legs, boxings, ways and arrows in mm on paper: labels keep off them."""
    ways = []
    for leg in figure.legs:
        start, end = _ends(leg, stations, fit)
        ways.append(symbols.boxed_way(start, end, _boxings_mm(leg, fit)))
        # The straight line too: it runs through the obstacles, which should rather stay free.
        ways += [[start, end]] if leg.boxings else []
    ways += [fit.points(figure.way_back.points)] if figure.way_back else []
    ways += [fit.points(alternative.points) for alternative in figure.alternatives]
    ways += [fit.points(figure.arrow)] if figure.arrow else []
    for way in ways:
        yield from ((*a, *b) for a, b in pairwise(way))


def _mark_boxes(figure: WalkFigure, fit: PageFit) -> Iterable[Box]:
    for station in figure.stations:
        x, y = fit.point(station.east, station.north)
        # A hair less than the mark, so that the nearest places, 0.5 mm off, stay open.
        r = symbols.MARK_RADIUS_MM[_mark(station, figure)] - 0.1
        yield Box(x - r, y - r, x + r, y + r)


def written_labels(placement: Placement) -> list[str]:
    """Draw labels in their places, with the leaders of those that are far."""
    leaders = [label.leader for label in placement.labels if label.leader]
    drawn = [svg.line(*leader, stroke=PENCIL, stroke_width=0.2) for leader in leaders]
    return drawn + [_written(label) for label in placement.labels]


def _written(label: Label) -> str:
    # Anchored in the middle, a name written from the right stands where it should as well.
    return svg.text(
        label.middle_x, label.baseline_y, label.content, label.wish.size_mm, anchor="middle", halo_mm=0.5
    )
