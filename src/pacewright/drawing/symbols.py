"""The hand of every drawing: stations, legs, rays, boxings, regions, north arrow, scale bar.

A pencil field book: black ink, line weights, dashes and hatching, so that a photocopy loses nothing.
Stations are squares and dots, what was walked is a heavy line, what was only seen is a thin one.
All lengths are mm on paper; y runs down the page.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final, Literal

from pacewright.drawing import svg
from pacewright.drawing.svg import ACCENT, FAINT, INK, PAPER, PENCIL, Point

MarkKind = Literal["crowded", "plain", "named", "start", "end"]
RegionStyle = Literal["station", "arrival", "suspect"]
NorthReference = Literal["magnetic", "true", "grid"]

MARK_RADIUS_MM: Final[dict[MarkKind, float]] = {
    "crowded": 0.5,
    "plain": 0.8,
    "named": 1.7,
    "start": 2.1,
    "end": 1.9,
}
"""Half the side of each station mark."""

LEG_MM: Final = 0.65
WAY_BACK_MM: Final = 1.4
"""Twice as wide as a leg and laid under it, so that both show where the way back retraces a leg."""

THIN_MM: Final = 0.28
ESTIMATED_DASH: Final = "0.01 1.5"
WAY_BACK_DASH: Final = "4 2.4"
ALTERNATIVE_DASH: Final = "2 1 0.4 1"
LEAST_OFFSET_MM: Final = 2.5
"""A boxing is never drawn flatter than this, or it could not be seen."""

_HATCH_MM: Final = 0.18
_REGION_HATCH: Final[dict[RegionStyle, tuple[float, float]]] = {
    "suspect": (2.2, 135.0),
}
_REGION_DASH: Final[dict[RegionStyle, str | None]] = {
    "station": None,
    "arrival": "2.4 1.2",
    "suspect": "0.01 1.1",
}


def station_mark(x: float, y: float, kind: MarkKind) -> str:
    """Draw a station: a dot; a dotted square if named, with a diagonal at the start, solid at the end."""
    r = MARK_RADIUS_MM[kind]
    if kind == "crowded":
        return svg.circle(x, y, r, fill=INK)
    if kind == "plain":
        return svg.circle(x, y, r, fill=INK, stroke=PAPER, stroke_width=0.35)
    solid = kind == "end"
    square = svg.rect(x - r, y - r, 2 * r, 2 * r, fill=INK if solid else PAPER, stroke=INK, stroke_width=0.45)
    if kind == "start":
        return square + svg.line(
            x - r, y + r, x + r, y - r, stroke=INK, stroke_width=0.4, stroke_linecap="butt"
        )
    return square + svg.circle(x, y, 0.55, fill=PAPER if solid else INK)


def leg_line(start: Point, end: Point, *, estimated: bool = False) -> str:
    """Draw a leg: heavy, dotted if it was estimated, with a small open head halfway that says which way."""
    dash = ESTIMATED_DASH if estimated else None
    drawn = svg.line(*start, *end, stroke=INK, stroke_width=LEG_MM, stroke_dasharray=dash)
    if math.dist(start, end) < 9:
        return drawn
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return drawn + _way_of_walking(start, middle)


def boxed_leg(
    start: Point, end: Point, boxings: Sequence[tuple[str, float]], *, estimated: bool = False
) -> str:
    """Draw a leg with square offsets round its obstacles, each obstacle hatched.

    Parameters
    ----------
    start, end
        The leg's ends in mm.
    boxings
        `(side, offset)` in the order walked; side `right` or `left` of the way of walking, offset in mm.
    estimated
        Whether the leg was estimated, not counted.
    """
    walked = boxed_way(start, end, boxings)
    dash = ESTIMATED_DASH if estimated else None
    drawn = [
        _obstacle(walked[4 * i + 1], walked[4 * i + 2], walked[4 * i + 3], walked[4 * i + 4])
        for i in range(len(boxings))
    ]
    drawn.append(svg.line(*start, *end, stroke=PENCIL, stroke_width=THIN_MM, stroke_dasharray="0.6 1.2"))
    drawn.append(
        svg.polyline(walked, stroke=INK, stroke_width=LEG_MM, stroke_dasharray=dash, stroke_linejoin="miter")
    )
    return "".join(drawn)


def boxed_way(start: Point, end: Point, boxings: Sequence[tuple[str, float]]) -> list[Point]:
    """The corners of a leg walked round its obstacles, in mm.

    Where along the leg an obstacle lay is not in a log, so the boxings share the leg evenly; the
    offset is to scale unless that would be too flat to see.

    >>> boxed_way((0, 0), (30, 0), [("right", 6)])
    [(0, 0), (9.0, 0.0), (9.0, 6.0), (21.0, 6.0), (21.0, 0.0), (30, 0)]
    """
    along = (end[0] - start[0], end[1] - start[1])
    length = math.hypot(*along)
    if length == 0:
        return [start, *([start] * (4 * len(boxings))), end]
    unit = (along[0] / length, along[1] / length)
    way = [start]
    for place, (side, offset) in enumerate(boxings):
        out = max(offset, LEAST_OFFSET_MM) * (1 if side == "right" else -1)
        # Right of the way of walking, with y down the page, is the way turned from (x, y) to (-y, x).
        off = (-unit[1] * out, unit[0] * out)
        for share, is_out in ((0.3, False), (0.3, True), (0.7, True), (0.7, False)):
            go = (place + share) / len(boxings)
            x, y = start[0] + go * along[0], start[1] + go * along[1]
            way.append((x + off[0], y + off[1]) if is_out else (x, y))
    return [*way, end]


def ray_line(start: Point, end: Point) -> str:
    """Draw a bearing to something not walked to: thin, with an open head at its far end."""
    return svg.line(*start, *end, stroke=INK, stroke_width=THIN_MM) + arrow_head(start, end, 3.0, solid=False)


def way_back_line(points: Sequence[Point]) -> str:
    """Draw the way back: broad dashes in the accent, with a solid head where it arrives."""
    drawn = svg.polyline(
        points, stroke=ACCENT, stroke_width=WAY_BACK_MM, stroke_dasharray=WAY_BACK_DASH, stroke_linecap="butt"
    )
    start = next((point for point in reversed(points[:-1]) if math.dist(point, points[-1]) > 0), None)
    return drawn if start is None else drawn + arrow_head(start, points[-1], 4.4, solid=True, ink=ACCENT)


def alternative_line(points: Sequence[Point]) -> str:
    """Draw another figure that the log may stand for: thin and broken."""
    return svg.polyline(points, stroke=PENCIL, stroke_width=THIN_MM, stroke_dasharray=ALTERNATIVE_DASH)


def misclosure_arrow(start: Point, end: Point) -> str:
    """Draw the misclosure: a double line from where the log ends to where it should have."""
    if math.dist(start, end) == 0:
        return ""
    wide = svg.line(*start, *end, stroke=INK, stroke_width=1.5, stroke_linecap="butt")
    core = svg.line(*start, *end, stroke=PAPER, stroke_width=0.8, stroke_linecap="butt")
    return wide + core + arrow_head(start, end, min(3.6, math.dist(start, end)), solid=True)


def arrow_head(start: Point, tip: Point, size_mm: float, *, solid: bool, ink: str = INK) -> str:
    """Draw the head of an arrow that comes from `start`; nothing if it has no direction."""
    length = math.dist(start, tip)
    if length == 0:
        return ""
    ux, uy = (tip[0] - start[0]) / length, (tip[1] - start[1]) / length
    back = (tip[0] - size_mm * ux, tip[1] - size_mm * uy)
    half = 0.36 * size_mm
    wings = [(back[0] - half * uy, back[1] + half * ux), tip, (back[0] + half * uy, back[1] - half * ux)]
    if solid:
        return svg.polygon(wings, fill=ink)
    return svg.polyline(wings, stroke=ink, stroke_width=0.4)


def region_shape(outline: Sequence[Point], style: RegionStyle) -> str:
    """Draw a region: where one stands a plain outline, an arrival dashed, a suspect dotted and hatched.

    An arrival is left open: hatching in colour is how maps show land that may not be entered.
    """
    ink = ACCENT if style == "arrival" else PENCIL
    dash = _REGION_DASH[style]
    drawn = [svg.polygon(outline, fill="none", stroke=ink, stroke_width=0.4, stroke_dasharray=dash)]
    if style in _REGION_HATCH:
        spacing_mm, slope_deg = _REGION_HATCH[style]
        drawn.insert(0, hatching(outline, spacing_mm, slope_deg, ink))
    return "".join(drawn)


def hatching(outline: Sequence[Point], spacing_mm: float, slope_deg: float, ink: str = PENCIL) -> str:
    """Hatch the inside of an outline."""
    strokes = hatch_strokes(outline, spacing_mm, slope_deg)
    if not strokes:
        return ""
    steps: list[tuple[str, Sequence[float]]] = []
    for start, end in strokes:
        steps += [("M", start), ("L", end)]
    return svg.path(steps, fill="none", stroke=ink, stroke_width=_HATCH_MM)


def hatch_strokes(outline: Sequence[Point], spacing_mm: float, slope_deg: float) -> list[tuple[Point, Point]]:
    """The strokes that hatch an outline, even-odd where it crosses itself.

    Strokes lie on lines fixed to the page, not to the outline: neighbouring regions are hatched as one.

    >>> hatch_strokes([(0, 0), (4, 0), (4, 4), (0, 4)], 3, 0)
    [((0.0, 3.0), (4.0, 3.0))]
    """
    slope_rad = math.radians(slope_deg)
    cosine, sine = math.cos(slope_rad), math.sin(slope_rad)
    turned = [(x * cosine + y * sine, y * cosine - x * sine) for x, y in outline]
    if len(turned) < 3:
        return []
    low, high = min(v for _, v in turned), max(v for _, v in turned)
    strokes: list[tuple[Point, Point]] = []
    for row in range(math.floor(low / spacing_mm) + 1, math.ceil(high / spacing_mm)):
        level = row * spacing_mm
        cuts = sorted(_cuts(turned, level))
        for a, b in zip(cuts[::2], cuts[1::2], strict=True):
            strokes.append((_turn_back(a, level, cosine, sine), _turn_back(b, level, cosine, sine)))
    return strokes


def north_arrow(x: float, foot_y: float, height_mm: float, reference: NorthReference) -> str:
    """Draw the north arrow with its reference in words; every north is drawn differently.

    Magnetic north is a compass needle, true north a shaft through a ring, grid north a shaft on a grid.

    Parameters
    ----------
    x, foot_y
        The arrow's foot, in mm.
    height_mm
        Height of the arrow.
    reference
        `magnetic`, `true` or `grid`.
    """
    top, middle = foot_y - height_mm, foot_y - height_mm / 2
    if reference == "magnetic":
        half = 0.16 * height_mm
        drawn = [
            svg.polygon(
                [(x, top), (x + half, middle), (x - half, middle)], fill=INK, stroke=INK, stroke_width=0.3
            ),
            svg.polygon(
                [(x, foot_y), (x + half, middle), (x - half, middle)],
                fill=PAPER,
                stroke=INK,
                stroke_width=0.3,
            ),
            svg.circle(x, middle, 0.5, fill=PAPER),
        ]
    else:
        drawn = [svg.line(x, foot_y, x, top, stroke=INK, stroke_width=0.5)]
        drawn.append(arrow_head((x, foot_y), (x, top), 0.36 * height_mm, solid=True))
        drawn.append(_pole(x, middle, height_mm) if reference == "true" else _grid(x, foot_y, height_mm))
    words = svg.text(x + 0.36 * height_mm, middle - 0.6, reference, 4.2)
    words += svg.text(x + 0.36 * height_mm, middle + 4.6, "north", 4.2)
    return "".join(drawn) + words


def scale_bar(x: float, y: float, mm_per_unit: float, unit: str, longest_mm: float) -> str:
    """Draw a scale bar of a round number of paces or metres.

    Parameters
    ----------
    x, y
        Its left end, at the height of the bar, in mm.
    mm_per_unit
        Millimetres on paper for one pace or metre.
    unit
        `pace` or `metre`.
    longest_mm
        The bar is as long as a round number allows, and never longer than this.
    """
    length = round_length(longest_mm / mm_per_unit)
    end = x + length * mm_per_unit
    parts = 4 if length / 4 == round_length(length / 4) else 5
    drawn = [svg.line(x, y, end, y, stroke=INK, stroke_width=0.35, stroke_linecap="butt")]
    for part in range(0, parts, 2):
        a, b = x + part * (end - x) / parts, x + (part + 1) * (end - x) / parts
        drawn.append(svg.line(a, y, b, y, stroke=INK, stroke_width=1.3, stroke_linecap="butt"))
    for at in (x, end):
        drawn.append(svg.line(at, y - 1.8, at, y + 1.8, stroke=INK, stroke_width=0.45))
    drawn.append(svg.text(x, y + 6.4, "0", 4.2, anchor="middle"))
    many = written_length(length)
    # The number stands under its stroke, the unit after it.
    words = f"{many} {unit if length == 1 else unit + 's'}"
    drawn.append(svg.text(end - svg.text_width_mm(many, 4.2) / 2, y + 6.4, words, 4.2))
    return "".join(drawn)


def measuring_crosses(start: Point, frame: tuple[float, float, float, float], apart_mm: float) -> str:
    """Draw the faint crosses of squared paper, one of them on the start, to measure by.

    Parameters
    ----------
    start
        Where one cross lies, in mm.
    frame
        Left, top, right and bottom between which crosses are drawn.
    apart_mm
        From one cross to the next.
    """
    left, top, right, bottom = frame
    arm = 0.7
    steps: list[tuple[str, Sequence[float]]] = []
    for x in _marks_between(start[0], left + arm, right - arm, apart_mm):
        for y in _marks_between(start[1], top + arm, bottom - arm, apart_mm):
            steps += [("M", (x - arm, y)), ("L", (x + arm, y)), ("M", (x, y - arm)), ("L", (x, y + arm))]
    return svg.path(steps, fill="none", stroke=FAINT, stroke_width=0.15)


def round_length(longest: float) -> float:
    """The largest of 1, 2, 5 and their tenfolds that is not longer.

    >>> round_length(4.99), round_length(5), round_length(730), round_length(0.3)
    (2.0, 5.0, 500.0, 0.2)
    """
    power = math.floor(math.log10(longest))
    # A hair above 1 lets 10 ** 2 be reached by 99.99999999999999.
    share = longest / 10.0**power * (1 + 1e-9)
    if share >= 10:
        power, share = power + 1, 1.0
    digit = max(step for step in (0, 1, 2, 5) if step <= share) or 0.5
    return float(f"{digit}e{power}")


def written_length(length: float) -> str:
    """Write a round length in full, or with its power of ten where nobody would count the zeros.

    >>> written_length(500.0), written_length(0.2), written_length(20000), written_length(1e12)
    ('500', '0.2', '20 000', '1e+12')
    """
    if length >= 1e7 or length < 1e-3:
        return f"{length:.0e}"
    return f"{length:,.0f}".replace(",", " ") if length >= 1 else f"{length:g}"


def _marks_between(start: float, low: float, high: float, apart: float) -> list[float]:
    first, last = math.ceil((low - start) / apart), math.floor((high - start) / apart)
    return [start + i * apart for i in range(first, last + 1)]


def _way_of_walking(start: Point, middle: Point) -> str:
    length = math.dist(start, middle)
    ux, uy = (middle[0] - start[0]) / length, (middle[1] - start[1]) / length
    tip = (middle[0] + 1.3 * ux, middle[1] + 1.3 * uy)
    return arrow_head(start, tip, 2.6, solid=True)


def _obstacle(near: Point, out: Point, out_far: Point, far: Point) -> str:
    """Draw a boxed obstacle: a rounded blot across the leg, short of the way round it, hatched."""
    blot = []
    for step in range(28):
        turn_rad = 2 * math.pi * step / 28
        # A superellipse: between an ellipse and the rectangle of the boxing.
        along = 0.5 + 0.40 * _swell(math.cos(turn_rad))
        across = 0.26 + 0.50 * _swell(math.sin(turn_rad))
        x = near[0] + along * (far[0] - near[0]) + across * (out[0] - near[0])
        y = near[1] + along * (far[1] - near[1]) + across * (out_far[1] - far[1])
        blot.append((x, y))
    outline = svg.polygon(blot, fill=PAPER, stroke=PENCIL, stroke_width=0.3)
    return outline + hatching(blot, 1.1, 45.0, INK)


def _swell(part: float) -> float:
    return math.copysign(abs(part) ** 0.6, part)


def _pole(x: float, middle: float, height_mm: float) -> str:
    return svg.circle(
        x, middle + 0.16 * height_mm, 0.13 * height_mm, fill=PAPER, stroke=INK, stroke_width=0.4
    )


def _grid(x: float, foot_y: float, height_mm: float) -> str:
    half, cell = 0.2 * height_mm, 0.2 * height_mm
    rows = (
        svg.line(x - half, foot_y - i * cell, x + half, foot_y - i * cell, stroke=INK, stroke_width=0.25)
        for i in range(3)
    )
    columns = (
        svg.line(x + i * half, foot_y, x + i * half, foot_y - 2 * cell, stroke=INK, stroke_width=0.25)
        for i in (-1, 1)
    )
    return "".join([*rows, *columns])


def _cuts(turned: Sequence[Point], level: float) -> Iterable[float]:
    for (u1, v1), (u2, v2) in zip(turned, [*turned[1:], turned[0]], strict=True):
        # Half open, so that a level through a corner cuts it once.
        if (v1 <= level) != (v2 <= level):
            yield u1 + (level - v1) / (v2 - v1) * (u2 - u1)


def _turn_back(u: float, v: float, cosine: float, sine: float) -> Point:
    return u * cosine - v * sine, u * sine + v * cosine
