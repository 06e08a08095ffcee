"""Plans of ranging over a base line: to scale, the line across pointing up the page."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from pacewright.core.compass import format_azimuth, turn_deg
from pacewright.core.ranging.range_result import Range, counted
from pacewright.drawing import svg
from pacewright.drawing.ranging_strokes import (
    ROOM,
    Sketch,
    angle_arc,
    distance_label,
    how_sure_bar,
    square_sign,
    water,
)
from pacewright.drawing.svg import INK, PENCIL, Point
from pacewright.drawing.symbols import THIN_MM, MarkKind, leg_line, station_mark
from pacewright.wording.ranging import is_width

_INSET_MM: Final = 9.0
_MOST_OF_HIGH: Final = 1.6
_ARC_MM: Final = 9.0
_MARK_MM: Final = 2.2


def plan_of(range_: Range) -> Sketch:
    """The plan of a range by right angle, base line or stakes."""
    if range_.method == "stakes":
        return _stakes(range_)
    return _right_angle(range_) if range_.method == "right_angle" else _base_line(range_)


def _right_angle(range_: Range) -> Sketch:
    base, turned = range_.facts["base"], range_.facts["turned_deg"]
    end_x = base if range_.facts["mark_on_left"] else -base
    (start, end, far), sketch = _laid_out(range_, [(0, 0), (end_x, 0), (0, range_.distance)], 0)
    sketch.line(start, end, leg_line(start, end))
    _sight(sketch, end, far)
    _sight(sketch, start, far)
    how_sure_bar(sketch, range_, start, far, _limit(start, far))
    square_sign(sketch, start, end, far)
    arc, middle = angle_arc(far, start, end, min(_ARC_MM, math.dist(start, far) / 2))
    sketch.strokes.append(arc)
    _stand(sketch, start, "start")
    _stand(sketch, end, "end")
    _far_mark(sketch, far)
    sketch.label(distance_label(range_), _between(start, far, 0.45))
    sketch.label(counted(base, range_.unit), _between(start, end, 0.5))
    sketch.label(f"{turned:.1f}".removesuffix(".0") + "°", middle)
    sketch.label(format_azimuth(range_.azimuth_deg or 0.0) + "°", start, _MARK_MM)
    sketch.label(format_azimuth(range_.facts["azimuth_from_end_deg"]) + "°", end, _MARK_MM)
    return sketch


def _base_line(range_: Range) -> Sketch:
    facts = range_.facts
    at_a = turn_deg(facts["base_azimuth_deg"], facts["azimuth_from_a_deg"])
    along = facts["from_a"] * math.cos(math.radians(at_a))
    # Drawn with the mark up the page: where it lies on the right, the base line runs to the left.
    side = -1.0 if at_a > 0 else 1.0
    foot_x, base_x = side * along, side * facts["base"]
    points = [(0.0, 0.0), (base_x, 0.0), (foot_x, facts["width"]), (foot_x, 0.0)]
    (a, b, far, foot), sketch = _laid_out(range_, points, {"a": 0, "b": 1, "width": 3}[range_.goal or "a"])
    goal = {"a": a, "b": b, "width": foot}[range_.goal or "a"]
    sketch.line(a, b, leg_line(a, b))
    _sight(sketch, a, far)
    _sight(sketch, b, far)
    if range_.goal == "width":
        nearest = min(a, b, key=lambda end: math.dist(end, foot))
        sketch.line(foot, nearest, _thin(foot, nearest, dashed=True))
        sketch.line(foot, far, _thin(foot, far, dashed=True))
        square_sign(sketch, foot, far, max(a, b, key=lambda end: math.dist(end, foot)))
    how_sure_bar(sketch, range_, goal, far, _limit(goal, far))
    _stand(sketch, a, "start")
    _stand(sketch, b, "end")
    _far_mark(sketch, far)
    sketch.label(distance_label(range_), _between(goal, far, 0.5))
    sketch.label(counted(facts["base"], range_.unit), _between(a, b, 0.5))
    for name, at, azimuth_deg in (
        ("A", a, facts["azimuth_from_a_deg"]),
        ("B", b, facts["azimuth_from_b_deg"]),
    ):
        sketch.label(f"{name} {format_azimuth(azimuth_deg)}°", at, _MARK_MM)
    return sketch


def _stakes(range_: Range) -> Sketch:
    to_stake, beyond, inland = (range_.facts[k] for k in ("to_stake", "stake_to_turn", "inland"))
    turn_x = to_stake + beyond
    points = [(0.0, 0.0), (to_stake, 0.0), (turn_x, 0.0), (turn_x, -inland), (0.0, range_.distance)]
    (start, stake, turn, last, far), sketch = _laid_out(range_, points, 0)
    for one, other in ((start, stake), (stake, turn), (turn, last)):
        sketch.line(one, other, leg_line(one, other))
    _sight(sketch, last, far)
    _sight(sketch, start, far)
    how_sure_bar(sketch, range_, start, far, _limit(start, far))
    square_sign(sketch, start, far, stake)
    square_sign(sketch, turn, stake, last)
    _stand(sketch, start, "start")
    sketch.mark(stake, 1.0, svg.circle(*stake, 1.0, fill=INK))
    _stand(sketch, last, "end")
    _far_mark(sketch, far)
    sketch.label(distance_label(range_), _between(start, far, 0.5))
    sketch.label(counted(to_stake, range_.unit), _between(start, stake, 0.5))
    sketch.label(f"{beyond:g}", _between(stake, turn, 0.5))
    sketch.label(f"{inland:g}", _between(turn, last, 0.5))
    sketch.label("stake", stake, 1.4)
    return sketch


def _laid_out(range_: Range, points: Iterable[Point], goal: int) -> tuple[list[Point], Sketch]:
    """Put points of the ground (east, across) on the page, with room for the region; water behind."""
    ground = list(points)
    far_at = 4 if range_.method == "stakes" else 2
    start, far = ground[goal], ground[far_at]
    reach = min(range_.high / range_.distance, _MOST_OF_HIGH)
    beyond = (start[0] + reach * (far[0] - start[0]), start[1] + reach * (far[1] - start[1]))
    xs, ys = zip(*ground, beyond, strict=True)
    width_mm = ROOM.right - ROOM.left - 4 * _INSET_MM
    height_mm = ROOM.bottom - ROOM.top - 2 * _INSET_MM
    scale = min(width_mm / (max(xs) - min(xs)), height_mm / (max(ys) - min(ys)))
    middle_x, middle_y = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2
    page_x, page_y = (ROOM.left + ROOM.right) / 2, (ROOM.top + ROOM.bottom) / 2
    placed = [(page_x + scale * (x - middle_x), page_y - scale * (y - middle_y)) for x, y in ground]
    sketch = Sketch()
    if is_width(range_):
        water(sketch, placed[far_at][1] + 0.5, placed[0][1] - 3.2)
    return placed, sketch


def _limit(start: Point, far: Point) -> float:
    return _MOST_OF_HIGH * math.dist(start, far)


def _sight(sketch: Sketch, start: Point, far: Point) -> None:
    sketch.line(start, far, _thin(start, far))


def _thin(start: Point, end: Point, *, dashed: bool = False) -> str:
    return svg.line(
        *start,
        *end,
        stroke=PENCIL if dashed else INK,
        stroke_width=THIN_MM,
        stroke_dasharray="1.6 1.2" if dashed else None,
    )


def _stand(sketch: Sketch, at: Point, kind: MarkKind) -> None:
    sketch.mark(at, _MARK_MM, station_mark(*at, kind))


def _far_mark(sketch: Sketch, at: Point) -> None:
    """Draw the far mark: a small tree, its foot where the lines of sight end."""
    x, y = at
    trunk = svg.line(x, y, x, y - 2.0, stroke=INK, stroke_width=0.5)
    crown = svg.polygon([(x - 1.7, y - 1.6), (x, y - 6.0), (x + 1.7, y - 1.6)], fill="none", stroke=INK)
    sketch.mark((x, y - 3.0), 3.0, svg.group([trunk, crown], stroke_width=0.4))


def _between(start: Point, end: Point, share: float) -> Point:
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
