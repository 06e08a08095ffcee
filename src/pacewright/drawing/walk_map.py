"""The walked figure on paper: to scale, inside a frame, north of its own azimuth reference up."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Final

from pacewright.core.compass import unit_vectors
from pacewright.drawing import svg, symbols
from pacewright.drawing.labels import Box, Label, Placement, Segment, Wish, place_labels
from pacewright.drawing.page_fit import PageFit, fit_page, frame_exit, frame_line, seen_piece
from pacewright.drawing.svg import PENCIL, Point
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
from pacewright.drawing.walk_margin import (
    EDGE_MM,
    STRIP_MM,
    draw_below,
    draw_sample,
    draw_strip,
    draw_title,
    label_sentences,
    mark_of,
    number_step,
    walk_hands,
)
from pacewright.exceptions import ValueComplaint
from pacewright.wording.findings import say_percent

__all__ = [
    "FigureAlternative",
    "FigureLeg",
    "FigureRay",
    "FigureRegion",
    "FigureStation",
    "FigureWayBack",
    "WalkFigure",
    "WalkParts",
    "draw_walk_map",
    "lay_walk",
    "line_segments",
    "walk_parts",
    "written_labels",
]

_NAME_MM: Final = 4.6
_NUMBER_SHARE: Final = 0.87
_SHARES: Final = (0.5, 0.35, 0.65, 0.2, 0.8)
"""Where along a line its label may stand, the best first."""
_MARGIN_MM: Final = 12.0
_SHEET_KEY_MM: Final = 3.7
"""Made smaller with the drawing, it is still 8 pt."""


def draw_walk_map(
    figure: WalkFigure, page_mm: tuple[float, float] = (180.0, 180.0), *, on_sheet: bool = False
) -> str:
    """Draw a walk to scale, north up, all of it inside a frame.

    Parameters
    ----------
    figure
        What to draw.
    page_mm
        Width and height of the page without the key and the caption, which are added below.
    on_sheet
        Whether it stands on a printed sheet, whose heading has the title: its key is then as small as
        the words about it.

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
    title, title_mm = draw_title("" if on_sheet else figure.title, page_mm[0])
    body, placement = _framed(figure, _frame(page_mm, title_mm))
    small: dict[str, Any] = {"text_mm": _SHEET_KEY_MM, "columns": 3} if on_sheet else {}
    below, height_mm = draw_below(figure, placement, page_mm, **small)
    return svg.drawing(
        page_mm[0], height_mm, [*title, *body, *below], title=figure.title, description=_description(figure)
    )


@dataclass(frozen=True, slots=True)
class WalkParts:
    """A walk for a page that says title and key beside it, in letters of its own size.

    Attributes
    ----------
    picture
        The walk in its frame, with scale bar and north arrow: an SVG document.
    key
        Kinds of mark and line, each with a sample (an SVG document) and its words.
    sentences
        The labels that found no room, then the caption.
    """

    picture: str
    key: tuple[tuple[str, str], ...]
    sentences: tuple[str, ...]


def walk_parts(figure: WalkFigure, page_mm: tuple[float, float]) -> WalkParts:
    """Draw a walk as `draw_walk_map` does, its title and key apart.

    Raises
    ------
    MissingComplaint, ValueComplaint
        As `draw_walk_map`.
    """
    body, placement = _framed(figure, _frame(page_mm, 0.0))
    return WalkParts(
        svg.drawing(*page_mm, body, title=figure.title, description=_description(figure)),
        tuple((draw_sample(hand), hand[1]) for hand in walk_hands(figure)),
        (*label_sentences(placement), *figure.caption),
    )


def _framed(figure: WalkFigure, frame: Box) -> tuple[list[str], Placement]:
    fit = fit_page(extent_points(figure, stations_by_index(figure)), frame, _MARGIN_MM)
    strokes, placement = lay_walk(figure, fit)
    body = [
        _crosses(figure, fit),
        *strokes,
        frame_line(fit.frame),
        *written_labels(placement),
        *draw_strip(figure, fit),
    ]
    return body, placement


def lay_walk(
    figure: WalkFigure,
    fit: PageFit,
    *,
    name_mm: float = _NAME_MM,
    blocked: Sequence[Box] = (),
) -> tuple[list[str], Placement]:
    """Draw the strokes of a walk as it lies on paper, and find places for its labels.

    Where the walk goes beyond the frame it is cut off there; what lies outside has no label.

    Parameters
    ----------
    figure
        What to draw.
    fit
        How it lies on paper.
    name_mm
        Height of the type of names; numbers are a little smaller.
    blocked
        Boxes that labels leave free, beside the marks of the stations.

    Raises
    ------
    MissingComplaint, ValueComplaint
        As `draw_walk_map`.
    """
    stations = stations_by_index(figure)
    rays = [(ray, _ray_ends(ray, stations, fit)) for ray in figure.rays]
    seen = [(at, ray.name, ends) for at, (ray, ends) in enumerate(rays) if ends is not None]
    strokes = [
        *_ground(figure, fit),
        *_walked(figure, stations, fit),
        *(symbols.ray_line(*ends) for _, _, ends in seen),
        *_marks(figure, fit),
    ]
    frame = fit.frame
    if not all(
        fit.shows(east, north) for east, north in extent_points(replace(figure, regions=()), stations)
    ):
        strokes = [svg.cut_to(frame.left, frame.top, frame.right, frame.bottom, strokes)]
    wishes = [*_station_wishes(figure, fit, name_mm), *_line_wishes(figure, fit, seen, name_mm)]
    lines = [*line_segments(figure, stations, fit), *((*start, *end) for _, _, (start, end) in seen)]
    room = Box(frame.left + 1, frame.top + 1, frame.right - 1, frame.bottom - 1)
    taken = [*_mark_boxes(figure, fit), *blocked]
    return strokes, place_labels(wishes, room, taken, lines, list(_rims(figure, fit)))


def _frame(page_mm: tuple[float, float], title_mm: float) -> Box:
    width, height = page_mm
    frame = Box(EDGE_MM, EDGE_MM + title_mm, width - EDGE_MM, height - EDGE_MM - STRIP_MM)
    if not (frame.right - frame.left >= 68 and frame.bottom - frame.top >= 60):
        raise ValueComplaint(
            f"a page of {width:g} by {height:g} mm leaves no room for the drawing",
            "Give a page of at least 80 by 110 mm, and a title of a few words",
        )
    return frame


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
        symbols.MARK_RADIUS_MM[mark_of(s, figure)] + 0.4
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
    marked = sorted(((mark_of(s, figure), s) for s in figure.stations), key=lambda m: order.index(m[0]))
    marked.sort(key=lambda m: m[0] == "start")
    drawn = [symbols.station_mark(*fit.point(s.east, s.north), kind) for kind, s in marked]
    if figure.arrow:
        start, end = fit.points(figure.arrow)
        drawn.append(symbols.misclosure_arrow(start, end))
    return drawn


def _ray_ends(ray: FigureRay, stations: dict[int, FigureStation], fit: PageFit) -> tuple[Point, Point] | None:
    """What is seen of a bearing, from its station or from where it comes in, to where it goes out."""
    station, frame = stations[ray.from_index], fit.frame
    start = fit.point(station.east, station.north)
    if fit.shows(station.east, station.north):
        return start, frame_exit(start, ray.azimuth_deg, frame)
    reach = math.dist(start, (frame.left, frame.top)) + math.dist(
        (frame.left, frame.top), (frame.right, frame.bottom)
    )
    east, north = unit_vectors(ray.azimuth_deg)
    far = (start[0] + reach * float(east), start[1] - reach * float(north))
    return seen_piece(start, far, frame)


def _ends(leg: FigureLeg, stations: dict[int, FigureStation], fit: PageFit) -> tuple[Point, Point]:
    start, end = stations[leg.from_index], stations[leg.to_index]
    return fit.point(start.east, start.north), fit.point(end.east, end.north)


def _boxings_mm(leg: FigureLeg, fit: PageFit) -> list[tuple[str, float]]:
    return [(side, fit.length_mm(offset)) for side, offset in leg.boxings]


def _points_along(line: list[Point], frame: Box) -> list[Point]:
    """The middle of the longest straight piece of a line inside the frame, then others along it."""
    pieces = [piece for a, b in pairwise(line) if (piece := seen_piece(a, b, frame))]
    if not pieces:
        return []
    (x1, y1), (x2, y2) = max(pieces, key=lambda piece: math.dist(*piece))
    return [(x1 + share * (x2 - x1), y1 + share * (y2 - y1)) for share in _SHARES]


def _station_wishes(figure: WalkFigure, fit: PageFit, name_mm: float) -> Iterable[Wish]:
    times = Counter(s.name for s in figure.stations if s.name)
    step = number_step(figure)
    first_of: dict[str, int] = {}
    for station in figure.stations:
        x, y = fit.point(station.east, station.north)
        clear = symbols.MARK_RADIUS_MM[mark_of(station, figure)]
        if not fit.shows(station.east, station.north):
            continue
        if station.name:
            # The same name twice: the walker was there again, so its number tells the visits apart.
            again = (
                times[station.name] > 1 and first_of.setdefault(station.name, station.index) != station.index
            )
            content = f"{station.name} ({station.index})" if again else station.name
            yield Wish(content, x, y, clear, name_mm, str(station.index))
        elif station.index % step == 0:
            yield Wish(str(station.index), x, y, clear, _NUMBER_SHARE * name_mm, rank=3)


def _line_wishes(
    figure: WalkFigure,
    fit: PageFit,
    rays: Iterable[tuple[int, str, tuple[Point, Point]]],
    name_mm: float,
) -> Iterable[Wish]:
    for place, name, (start, end) in rays:
        if name and (length := math.dist(start, end)) > 0:
            # A little inside the frame, where the label has room on either side of the ray.
            back = min(5.0, length) / length
            x, y = end[0] + back * (start[0] - end[0]), end[1] + back * (start[1] - end[1])
            yield Wish(name, x, y, 0.8, name_mm, f"S{place + 1}", rank=1)
    for place, region in enumerate(figure.regions):
        if region.label and len(region.outline):
            x, y = max(fit.points(region.outline), key=lambda p: (round(p[0] - p[1], 3), p))
            yield Wish(region.label, x, y, 0.6, name_mm, f"R{place + 1}", rank=2)
    for place, alternative in enumerate(figure.alternatives):
        if len(alternative.points) and fit.shows(*list(alternative.points)[-1]):
            x, y = fit.points(alternative.points)[-1]
            # The chance of a less likely one that has no room stands in the table of what may have been.
            short = f"A{place + 1}" if alternative.label or place == 0 else ""
            said = alternative.label or say_percent(alternative.chance)
            yield Wish(said, x, y, 0.6, _NUMBER_SHARE * name_mm, short, rank=2)
    if figure.way_back and figure.way_back.label and len(figure.way_back.points):
        along = _points_along(fit.points(figure.way_back.points), fit.frame)
        if along:
            (x, y), *others = along
            yield Wish(figure.way_back.label, x, y, 0.8, name_mm, "B", rank=1, beside=tuple(others))


def _rims(figure: WalkFigure, fit: PageFit) -> Iterable[Segment]:
    for region in figure.regions:
        ring = fit.points(region.outline)
        yield from ((*a, *b) for a, b in pairwise([*ring, *ring[:1]]))


def line_segments(figure: WalkFigure, stations: dict[int, FigureStation], fit: PageFit) -> Iterable[Segment]:
    """Every straight piece of legs, boxings, ways and arrows in mm on paper: labels keep off them."""
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
        r = symbols.MARK_RADIUS_MM[mark_of(station, figure)] - 0.1
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
