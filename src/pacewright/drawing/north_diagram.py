"""The three norths as a drawing: a piece of a dial with a sign for each, and what to do to an azimuth."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from pacewright.core.compass import FULL_CIRCLE, AzimuthReference, AzimuthUnit
from pacewright.drawing import svg
from pacewright.drawing.labels import Box, Segment, Wish, place_labels
from pacewright.drawing.svg import ACCENT, INK, PAPER, PENCIL, Point
from pacewright.drawing.symbols import THIN_MM, arrow_head, station_mark
from pacewright.ground.north import NORTHS, NorthRelation
from pacewright.wording.norths import rule_table, say_angle
from pacewright.wording.sheets import SHARE_95_SD, say_drawn_angles

PAGE_WIDTH_MM: Final = 150.0

_EDGE_MM: Final = 7.0
_TITLE_MM: Final = 4.6
_LABEL_MM: Final = 3.8
_SMALL_MM: Final = 3.2
_RULE_MM: Final = 2.8
_DIAL_EDGE_MM: Final = 7.0
_FOOT: Final[Point] = (PAGE_WIDTH_MM / 2, 118.0)
_RIM_MM: Final = 80.0
_SIGN_MM: Final = 9.0
_ROOM: Final = Box(_EDGE_MM, 17.0, PAGE_WIDTH_MM - _EDGE_MM, 92.0)
_LISTED_Y_MM: Final = 114.0
_HALF_DIAL_DEG: Final = 50.0
"""How far the dial is drawn to either side of true north."""

_WIDEST_DEG: Final = 42.0
_TIMES: Final = (1, 2, 3, 4, 5, 8, 10, 15, 20, 30, 50, 100)
_TICK_STEPS: Final[dict[AzimuthUnit, tuple[float, ...]]] = {
    "degrees": (0.1, 0.5, 1.0, 5.0, 10.0, 30.0, 90.0),
    "mils": (1.0, 5.0, 10.0, 50.0, 100.0, 500.0, 1600.0),
    "gon": (0.1, 0.5, 1.0, 5.0, 10.0, 50.0, 100.0),
}
_LIFTS_MM: Final = (0.0, 10.5, -13.5)
"""How far out of the rim a sign stands that would lie on its neighbour's."""
_SIGNS_APART_MM: Final = 5.0
_TICK_APART_MM: Final = 3.0
_LABEL_APART_MM: Final = 9.0
_NUMBER_CLEAR_MM: Final = 4.5
_ARCS_MM: Final = {"convergence": 30.0, "declination": 46.0, "grid-magnetic angle": 62.0}
_LEAST_ARC_MM: Final = 3.0
_LISTED_EDGE_MM: Final = 2.0
"""From the edge to what is listed: a spoke that leans far out passes close by."""
_FOOT_CLEAR_MM: Final = 6.0
"""Beside the mark at the foot of the spokes."""


@dataclass(frozen=True, slots=True)
class _Letters:
    """Heights of the letters in mm: of names, of what is small, and of the angles that are listed."""

    label_mm: float = _LABEL_MM
    small_mm: float = _SMALL_MM
    listed_mm: float = _TITLE_MM
    arcs: float = 1.0
    """How far out the arcs of the angles lie, as a share: farther in, where the rim's numbers are large."""


_LARGE: Final = _Letters(6.8, 6.6, 7.2, 0.85)


def draw_norths(
    relation: NorthRelation,
    title: str = "",
    notes: Sequence[str] = (),
    unit: AzimuthUnit = "degrees",
    *,
    dial_only: bool = False,
) -> str:
    """Draw where magnetic, true and grid north lie from one another, and the rule for every pair.

    True north stands up the page. Small angles are drawn wider than they are, large ones narrower,
    and the drawing says by how much. The bar on the rim by magnetic north holds it 95 times in 100.

    Parameters
    ----------
    relation
        The three norths.
    title
        Place and date.
    notes
        Sentences to stand under the drawing: whose declination it is, what to beware of.
    unit
        Of the azimuths, of the dial and of its angles.
    dial_only
        Leave heading, rules and notes out, and write larger: for paper on which the drawing is made small.

    Returns
    -------
    str
        An SVG document 150 mm wide.
    """
    times = angle_times(relation)
    angles = {"true": 0.0, "magnetic": relation.declination_deg, "grid": relation.convergence_deg}
    drawn = {north: angles[north] * times for north in NORTHS}
    named = {
        "declination": relation.declination_deg,
        "convergence": relation.convergence_deg,
        "grid-magnetic angle": relation.grid_magnetic_deg,
    }
    spokes: list[Segment] = [(*_at(drawn[north], 3.0), *_at(drawn[north], _RIM_MM)) for north in NORTHS]
    letters = _LARGE if dial_only else _Letters()
    body = [] if dial_only else _heading(title)
    body += [*_dial(times, list(drawn.values()), letters, unit), *_how_sure(relation, times)]
    lifts = _lifts(drawn)
    body += [_spoke(north, drawn[north], lifts[north]) for north in NORTHS]
    signs = [_sign_box(drawn[north], lifts[north]) for north in NORTHS]
    body += _labels(_names(drawn, lifts, letters), [*signs, *_inside_of_rim()], [], letters)
    sizes = []
    for name, start_deg, end_deg in _arcs(drawn, named):
        radius_mm = letters.arcs * _ARCS_MM[name]
        arc = _curve_points(radius_mm, start_deg, end_deg)
        body.append(_arc(radius_mm, start_deg, end_deg))
        spokes += [(*one, *other) for one, other in pairwise(arc)]
        size = f"{abs(named[name]) * FULL_CIRCLE[unit] / 360:.1f}"
        sizes.append(
            Wish(size, *_at((start_deg + end_deg) / 2, radius_mm), 0.4, letters.label_mm, short=size)
        )
    body += _labels(sizes, [], spokes, letters)
    body += [station_mark(*_FOOT, "named"), *_listed(named, letters, unit)]
    rules, height_mm = ([], _FOOT[1] + _DIAL_EDGE_MM) if dial_only else _rules(relation, times, notes, unit)
    return svg.drawing(
        PAGE_WIDTH_MM,
        height_mm,
        [*body, *rules],
        title=f"The three norths: {title}" if title else "The three norths",
        description=", ".join(
            f"{name} {say_angle(angle_deg, unit=unit)}" for name, angle_deg in named.items()
        ),
    )


def angle_times(relation: NorthRelation) -> float:
    """How many times as wide as they are the angles are drawn; below 1 where they would not fit.

    >>> [angle_times(NorthRelation(declination_deg)) for declination_deg in (5.0, 0.0, -120.0)]
    [8, 100, 0.25]
    """
    widest = max(abs(relation.declination_deg), abs(relation.convergence_deg), 1e-9)
    fitting = [times for times in _TIMES if widest * times <= _WIDEST_DEG]
    if fitting:
        return fitting[-1]
    return next(share for share in (0.5, 0.25, 0.2) if widest * share <= _WIDEST_DEG)


def _at(drawn_deg: float, radius_mm: float) -> Point:
    angle_rad = math.radians(drawn_deg)
    return _FOOT[0] + radius_mm * math.sin(angle_rad), _FOOT[1] - radius_mm * math.cos(angle_rad)


def _heading(title: str) -> list[str]:
    return [
        svg.text(_EDGE_MM, _EDGE_MM + 3.6, "The three norths", _TITLE_MM, font_weight="bold"),
        svg.text(PAGE_WIDTH_MM - _EDGE_MM, _EDGE_MM + 3.6, title, _SMALL_MM, anchor="end"),
        svg.line(_EDGE_MM, 14.0, PAGE_WIDTH_MM - _EDGE_MM, 14.0, stroke=INK, stroke_width=0.4),
    ]


def _dial(times: float, spokes_deg: Sequence[float], letters: _Letters, unit: AzimuthUnit) -> list[str]:
    """Draw the rim, counted from true north to either side; no number under a spoke."""
    larger = letters.small_mm / _SMALL_MM
    deg = 360 / FULL_CIRCLE[unit]
    mm_per_unit = math.radians(times * deg) * _RIM_MM
    steps = _TICK_STEPS[unit]
    tick = next(s for s in steps if s * mm_per_unit >= _TICK_APART_MM)
    apart_mm = larger * _LABEL_APART_MM * (1.3 if unit == "mils" else 1.0)
    numbered = next(s for s in steps if s >= tick and s * mm_per_unit >= apart_mm)
    drawn = [_curve(_RIM_MM, -_HALF_DIAL_DEG, _HALF_DIAL_DEG, stroke=INK, stroke_width=0.35)]
    last = math.floor(_HALF_DIAL_DEG / times / deg / tick + 1e-9)
    for i in range(-last, last + 1):
        real_deg = i * tick * deg
        named = math.isclose(i * tick / numbered, round(i * tick / numbered), abs_tol=1e-6)
        outer, inner = (_at(real_deg * times, _RIM_MM - depth) for depth in (0.0, 3.0 if named else 1.6))
        drawn.append(svg.line(*outer, *inner, stroke=INK, stroke_width=0.3))
        aside = min(abs(real_deg * times - spoke_deg) for spoke_deg in spokes_deg)
        if named and math.radians(aside) * _RIM_MM >= larger * _NUMBER_CLEAR_MM:
            x, y = _at(real_deg * times, _RIM_MM - 3.0 - letters.small_mm)
            size = f"{abs(i * tick):g}"
            drawn.append(
                svg.text(x, y + 1.1, size, letters.small_mm, anchor="middle", halo_mm=0.4, fill=PENCIL)
            )
    return drawn


def _how_sure(relation: NorthRelation, times: float) -> list[str]:
    half = SHARE_95_SD * relation.declination_sd_deg * times
    if half == 0:
        return []
    middle = relation.declination_deg * times
    ends = max(-_HALF_DIAL_DEG, middle - half), min(_HALF_DIAL_DEG, middle + half)
    return [_curve(_RIM_MM, *ends, stroke=ACCENT, stroke_width=1.5, stroke_linecap="butt")]


def _lifts(drawn: Mapping[AzimuthReference, float]) -> dict[AzimuthReference, float]:
    """How far beyond the rim each sign stands, so that none lies on another."""
    lifts: dict[AzimuthReference, float] = {}
    for north in ("true", "magnetic", "grid"):
        near = {
            lift
            for other, lift in lifts.items()
            if math.radians(abs(drawn[other] - drawn[north])) * _RIM_MM < _SIGNS_APART_MM
        }
        lifts[north] = next(lift for lift in _LIFTS_MM if lift not in near)
    return lifts


def _spoke(north: AzimuthReference, drawn_deg: float, lift_mm: float) -> str:
    """Draw one north: a thin line from where one stands, and its sign beyond the rim."""
    x, y = _FOOT
    rim = y - _RIM_MM - lift_mm
    line = svg.line(x, y - 3.0, x, rim, stroke=INK, stroke_width=0.5 if north == "true" else THIN_MM)
    pieces = {"magnetic": _needle, "true": _ring, "grid": _mesh}[north](x, rim)
    return svg.group(
        [line, *pieces],
        transform=f"rotate({svg.number(drawn_deg)} {svg.number(x)} {svg.number(y)})",
    )


def _needle(x: float, rim: float) -> list[str]:
    tip, waist = rim - _SIGN_MM, rim - _SIGN_MM / 2
    dark = [(x, tip), (x + 1.5, waist), (x - 1.5, waist)]
    light = [(x, rim), (x + 1.5, waist), (x - 1.5, waist)]
    return [
        svg.polygon(dark, fill=INK, stroke=INK, stroke_width=0.3),
        svg.polygon(light, fill=PAPER, stroke=INK, stroke_width=0.3),
    ]


def _ring(x: float, rim: float) -> list[str]:
    tip = rim - _SIGN_MM
    return [
        svg.line(x, rim, x, tip, stroke=INK, stroke_width=0.5),
        arrow_head((x, rim), (x, tip), 3.4, solid=True),
        svg.circle(x, rim - 2.9, 1.3, fill=PAPER, stroke=INK, stroke_width=0.4),
    ]


def _mesh(x: float, rim: float) -> list[str]:
    tip = rim - _SIGN_MM
    rows = [
        svg.line(x - 1.8, rim - h, x + 1.8, rim - h, stroke=INK, stroke_width=0.25) for h in (1.0, 2.8, 4.6)
    ]
    columns = [
        svg.line(x + s, rim - 1.0, x + s, rim - 4.6, stroke=INK, stroke_width=0.25) for s in (-1.8, 1.8)
    ]
    return [
        svg.line(x, rim, x, tip, stroke=INK, stroke_width=0.4),
        arrow_head((x, rim), (x, tip), 3.4, solid=True),
        *rows,
        *columns,
    ]


def _sign_box(drawn_deg: float, lift_mm: float) -> Box:
    x, y = _at(drawn_deg, _RIM_MM + lift_mm + _SIGN_MM / 2)
    half = _SIGN_MM / 2 + 0.5
    wide = 2.0 + abs(math.sin(math.radians(drawn_deg))) * (half - 2.0)
    return Box(x - wide, y - half, x + wide, y + half)


def _arcs(
    drawn: Mapping[AzimuthReference, float], named: Mapping[str, float]
) -> list[tuple[str, float, float]]:
    """The angles that are wide enough to be drawn: name and both ends, in degrees as drawn."""
    found = []
    for name, start, end in (
        ("declination", drawn["true"], drawn["magnetic"]),
        ("convergence", drawn["true"], drawn["grid"]),
        ("grid-magnetic angle", drawn["grid"], drawn["magnetic"]),
    ):
        # An angle that runs round the back of the circle would be drawn the wrong way.
        around = (end > start) != (named[name] > 0)
        if math.radians(abs(end - start)) * _ARCS_MM[name] >= _LEAST_ARC_MM and not around:
            found.append((name, start, end))
    return found


def _names(
    drawn: Mapping[AzimuthReference, float], lifts: Mapping[AzimuthReference, float], letters: _Letters
) -> list[Wish]:
    """The names beside the signs, those farthest out placed first."""
    outward = sorted(drawn, key=lambda north: -abs(drawn[north]))
    return [
        Wish(
            north,
            *_at(drawn[north], _RIM_MM + lifts[north] + _SIGN_MM),
            1.0,
            letters.label_mm,
            short=north,
            rank=rank,
        )
        for rank, north in enumerate(outward)
    ]


def _inside_of_rim() -> list[Box]:
    """Boxes that fill the dial, so that the names of the norths stand outside it."""
    wide = 2.0
    boxes = []
    for i in range(math.ceil(_RIM_MM / wide)):
        drop = _RIM_MM - math.sqrt(_RIM_MM**2 - (i * wide) ** 2)
        for x in (_FOOT[0] + i * wide, _FOOT[0] - (i + 1) * wide):
            boxes.append(Box(x, _FOOT[1] - _RIM_MM + drop, x + wide, _FOOT[1]))
    return boxes


def _listed(named: Mapping[str, float], letters: _Letters, unit: AzimuthUnit) -> list[str]:
    """Write the three angles to either side of the foot, where no spoke can reach."""
    lower_mm = _LISTED_Y_MM
    upper_mm = lower_mm - 2.5 * letters.listed_mm - 2.5
    places = {
        "declination": (_LISTED_EDGE_MM, upper_mm, "start"),
        "convergence": (_LISTED_EDGE_MM, lower_mm, "start"),
        "grid-magnetic angle": (PAGE_WIDTH_MM - _LISTED_EDGE_MM, lower_mm, "end"),
    }
    drawn = []
    room_mm = PAGE_WIDTH_MM / 2 - _LISTED_EDGE_MM - _FOOT_CLEAR_MM
    for name, (x, y, anchor) in places.items():
        # A long name stands in two lines, or it would lie over the foot.
        lines = svg.wrap_text(name, letters.small_mm, room_mm)
        for k, line in enumerate(reversed(lines)):
            higher = y - k * svg.LINE_HEIGHT * letters.small_mm
            drawn.append(svg.text(x, higher, line, letters.small_mm, anchor=anchor, fill=PENCIL))
        size = say_angle(named[name], unit=unit)
        drawn.append(svg.text(x, y + 0.8 + letters.listed_mm, size, letters.listed_mm, anchor=anchor))
    return drawn


def _arc(radius_mm: float, start_deg: float, end_deg: float) -> str:
    """Draw an angle as an arc with its head where it ends."""
    curve = _curve(radius_mm, start_deg, end_deg, stroke=PENCIL, stroke_width=THIN_MM)
    before = end_deg - math.copysign(math.degrees(2.2 / radius_mm), end_deg - start_deg)
    return curve + arrow_head(_at(before, radius_mm), _at(end_deg, radius_mm), 2.2, solid=True, ink=PENCIL)


def _curve(radius_mm: float, start_deg: float, end_deg: float, **stroke: str | float) -> str:
    return svg.polyline(_curve_points(radius_mm, start_deg, end_deg), **stroke)


def _curve_points(radius_mm: float, start_deg: float, end_deg: float) -> list[Point]:
    steps = max(2, math.ceil(abs(end_deg - start_deg) / 2))
    return [_at(start_deg + (end_deg - start_deg) * i / steps, radius_mm) for i in range(steps + 1)]


def _labels(
    wishes: Sequence[Wish], blocked: Sequence[Box], lines: Sequence[Segment], letters: _Letters
) -> list[str]:
    drawn = []
    # What finds no room is in the table below in any case.
    for label in place_labels(wishes, _ROOM, blocked, lines).labels:
        if label.leader is not None:
            drawn.append(svg.line(*label.leader, stroke=PENCIL, stroke_width=0.2))
        drawn.append(
            svg.text(
                label.middle_x,
                label.baseline_y,
                label.content,
                letters.label_mm,
                anchor="middle",
                halo_mm=0.6,
            )
        )
    return drawn


def _rules(
    relation: NorthRelation, times: float, notes: Sequence[str], unit: AzimuthUnit
) -> tuple[list[str], float]:
    """Write what is done to an azimuth between each two norths, and what the drawing has stretched."""
    top = _FOOT[1] + 9.0
    drawn = [svg.line(_EDGE_MM, top, PAGE_WIDTH_MM - _EDGE_MM, top, stroke=INK, stroke_width=0.4)]
    y = top + 6.0
    _, rows = rule_table(relation, unit)
    for from_north, to_north, step, rule in rows:
        drawn.append(svg.text(_EDGE_MM, y, f"{from_north} to {to_north}", _SMALL_MM))
        drawn.append(svg.text(_EDGE_MM + 33, y, step, _SMALL_MM, font_weight="bold"))
        drawn.append(svg.text(_EDGE_MM + 73, y, rule, _RULE_MM, fill=PENCIL))
        y += 5.0
    said = ["In the rules east is plus and west is minus.", *say_drawn_angles(relation, times, unit)]
    y += 1.5
    for note in [*said, *notes]:
        for line in svg.wrap_text(note, _SMALL_MM, PAGE_WIDTH_MM - 2 * _EDGE_MM):
            drawn.append(svg.text(_EDGE_MM, y, line, _SMALL_MM))
            y += 4.4
    return drawn, y + _EDGE_MM - 4.4
