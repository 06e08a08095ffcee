"""Sketches of ranging from one place: by a known size, by the thumb, by a sound; not to scale."""

from __future__ import annotations

import math
from typing import Final

from pacewright.core.ranging.range_result import Range, counted
from pacewright.drawing import svg
from pacewright.drawing.ranging_strokes import LABEL_MM, ROOM, Sketch, angle_arc, distance_label, how_sure_bar
from pacewright.drawing.svg import INK, PAPER, PENCIL, Point
from pacewright.drawing.symbols import THIN_MM, station_mark

_EYE: Final = (18.0, 52.0)
_FAR_X: Final = 77.0
_GROUND_Y: Final = 70.0
_LIMIT_X: Final = 108.0
_HALF_SIZE_MM: Final = 17.0
_HALF_EYES_MM: Final = 6.0
_THUMB_X: Final = 42.0


def sketch_of(range_: Range) -> Sketch | None:
    """The sketch of a range by mils, thumb or sound; None for the other methods."""
    draw = {"mils": _mils, "thumb": _thumb, "sound": _sound}.get(range_.method)
    if draw is None:
        return None
    sketch = draw(range_)
    at = (ROOM.right - 0.5, ROOM.bottom - 0.5)
    width = svg.text_width_mm("not to scale", LABEL_MM)
    sketch.mark((at[0] - width / 2, at[1]), 0.5, svg.text(*at, "not to scale", LABEL_MM, anchor="end"))
    return sketch


def _mils(range_: Range) -> Sketch:
    sketch = Sketch()
    foot, top = (_FAR_X, _EYE[1]), (_FAR_X, _EYE[1] - 2 * _HALF_SIZE_MM)
    for end in (foot, top):
        sketch.line(_EYE, end, svg.line(*_EYE, *end, stroke=INK, stroke_width=THIN_MM))
    sketch.line(foot, top, svg.line(*foot, *top, stroke=INK, stroke_width=1.6, stroke_linecap="butt"))
    arc, middle = angle_arc(_EYE, foot, top, 24.0)
    sketch.strokes.append(arc)
    _eye(sketch, _EYE)
    _distance_below(sketch, range_, _EYE[0])
    sketch.label(f"{range_.facts['angle_mil']:g} mils", middle, 0.6)
    sketch.label(counted(range_.facts["size"], range_.unit), (_FAR_X, (foot[1] + top[1]) / 2), 1.4)
    return sketch


def _thumb(range_: Range) -> Sketch:
    sketch = Sketch()
    middle_y = _EYE[1] - _HALF_SIZE_MM
    thumb = (_THUMB_X, middle_y)
    spread_mm = _HALF_EYES_MM * (_FAR_X - _THUMB_X) / (_THUMB_X - _EYE[0])
    eyes = [(_EYE[0], middle_y + way * _HALF_EYES_MM) for way in (-1, 1)]
    seen = [(_FAR_X, middle_y - way * spread_mm) for way in (-1, 1)]
    for eye, end in zip(eyes, seen, strict=True):
        sketch.line(eye, end, svg.line(*eye, *end, stroke=INK, stroke_width=THIN_MM))
    jump = svg.line(*seen[0], *seen[1], stroke=INK, stroke_width=1.6, stroke_linecap="butt")
    sketch.line(seen[0], seen[1], jump)
    for eye in eyes:
        _eye(sketch, eye)
    sketch.mark(thumb, 2.0, svg.circle(*thumb, 1.8, fill=PAPER, stroke=INK, stroke_width=0.6))
    _distance_below(sketch, range_, _EYE[0])
    sketch.label(f"jump {counted(range_.facts['jump'], range_.unit)}", (_FAR_X, middle_y), 1.4)
    sketch.label("thumb", thumb, 2.2)
    arm_y = middle_y + spread_mm + 8.0
    ends = (_EYE[0], arm_y), (_THUMB_X, arm_y)
    sketch.line(*ends, _measure(*ends))
    sketch.label(f"{range_.facts['ratio']:g} x eye to eye", ((_EYE[0] + _THUMB_X) / 2, arm_y), 0.6)
    return sketch


def _sound(range_: Range) -> Sketch:
    sketch = Sketch()
    source_y = _EYE[1] - _HALF_SIZE_MM
    ear, source = (_EYE[0], source_y), (_FAR_X, source_y)
    for ray in range(8):
        turn_rad = math.pi / 8 + ray * math.pi / 4
        inner, outer = (
            (source[0] + r * math.cos(turn_rad), source[1] + r * math.sin(turn_rad)) for r in (1.2, 4.0)
        )
        sketch.strokes.append(svg.line(*inner, *outer, stroke=INK, stroke_width=0.5))
    sketch.marks.append((*source, 4.2))
    for radius in range(10, 52, 8):
        above, below = ((source[0] - radius, source[1] + way * min(0.45 * radius, 15.0)) for way in (-1, 1))
        sketch.line(above, below, angle_arc(source, above, below, radius)[0])
    sketch.mark(ear, 2.2, station_mark(*ear, "start"))
    _distance_below(sketch, range_, _EYE[0])
    facts = range_.facts
    sketch.label(f"{facts['delay_s']:g} s", ear, 2.4)
    speed = f"{facts['speed_of_sound_mps']:.0f} m/s at {facts['air_temp_c']:g} °C"
    sketch.label(speed, ((ear[0] + source[0]) / 2, source[1] + 15.0), 0.4)
    return sketch


def _eye(sketch: Sketch, at: Point) -> None:
    x, y = at
    lids = svg.path(
        [("M", (x - 2.6, y)), ("Q", (x, y - 2.8, x + 2.6, y)), ("Q", (x, y + 2.8, x - 2.6, y))],
        fill=PAPER,
        stroke=INK,
        stroke_width=0.4,
    )
    sketch.mark(at, 2.8, lids + svg.circle(x, y, 0.7, fill=INK))


def _distance_below(sketch: Sketch, range_: Range, start_x: float) -> None:
    start, far = (start_x, _GROUND_Y), (_FAR_X, _GROUND_Y)
    sketch.line(start, far, _measure(start, far))
    how_sure_bar(sketch, range_, start, far, _LIMIT_X - start_x)
    sketch.label(distance_label(range_) + f" {range_.unit}s", ((start_x + _FAR_X) / 2, _GROUND_Y), 2.0)


def _measure(start: Point, end: Point) -> str:
    ends = [svg.line(x, y - 1.4, x, y + 1.4, stroke=PENCIL, stroke_width=0.4) for x, y in (start, end)]
    return "".join([svg.line(*start, *end, stroke=PENCIL, stroke_width=0.4), *ends])
