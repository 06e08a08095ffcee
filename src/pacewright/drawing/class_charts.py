"""A class as pictures: every walk on the target, and every learner's bias and pace with what is not known."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.course.class_report import ClassReport
from pacewright.course.grading import Grade
from pacewright.course.learner_figures import Figure
from pacewright.course.learner_model import LearnerFit
from pacewright.drawing.labels import Box, Wish, place_labels
from pacewright.drawing.svg import (
    ACCENT,
    FAINT,
    INK,
    PAPER,
    PENCIL,
    circle,
    drawing,
    line,
    polygon,
    text,
    text_width_mm,
    wrap_text,
)
from pacewright.drawing.walk_map import WalkParts
from pacewright.drawing.walk_margin import SAMPLE_MM, Hand, draw_sample

_WIDTH_MM: Final = 180.0
_EDGE_MM: Final = 6.0
_TITLE_MM: Final = 4.2
_TYPE_MM: Final = 2.9
_SMALL_MM: Final = 2.5
_RADIUS_MM: Final = 62.0
_RINGS: Final = 4
_DOT_MM: Final = 0.95
_ROW_MM: Final = 6.2
_SCREEN_WIDTH_MM: Final = 110.0
_SCREEN_ROW_MM: Final = 7.5
_SCREEN_MM: Final = 3.6
"""Letters of a chart as wide as a phone: about 10 px."""
_TICKS: Final = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)


def draw_target(report: ClassReport, title: str = "Where the class ended") -> str:
    """Draw every walk's miss about the stake, in multiples of an ordinary miss, north up.

    A walk that probably held a slip is a crossed ring. What lies beyond the outermost ring stands on it,
    with its multiple. Walks outside the second ring carry their learner's number.

    Parameters
    ----------
    report
        The class.
    title
        Stands above the picture.

    Returns
    -------
    str
        An SVG document, 180 mm wide.
    """
    number = _numbers(report)
    heads = wrap_text(title, _TITLE_MM, _WIDTH_MM - 2 * _EDGE_MM) or ["Where the class ended"]
    top = _EDGE_MM + 6.0 * len(heads) + 4.0
    center = (_WIDTH_MM / 2.0, top + _RADIUS_MM + 4.0)
    room = Box(_EDGE_MM, top - 2.0, _WIDTH_MM - _EDGE_MM, center[1] + _RADIUS_MM + 6.0)
    body = [*_heads(heads), *_on_target(report, center, room, _SMALL_MM)]
    foot = center[1] + _RADIUS_MM + 11.0
    key, height = _key(_TARGET_HANDS, foot)
    body += key
    names, deep = _names([f"{k}  {name}" for name, k in number.items()], foot + height + 2.0)
    return drawing(
        _WIDTH_MM,
        foot + height + 2.0 + deep + _EDGE_MM,
        [*body, *names],
        title=title,
        description=_told_of_target(report),
    )


def target_parts(report: ClassReport) -> WalkParts:
    """Draw the target as `draw_target` does, title, key and names apart, in letters for a small screen."""
    wide = 2.0 * (_RADIUS_MM + _EDGE_MM)
    body = _on_target(report, (wide / 2.0, wide / 2.0), Box(0.5, 0.5, wide - 0.5, wide - 0.5), _SCREEN_MM)
    names = ", ".join(f"{k} {name}" for name, k in _numbers(report).items())
    picture = drawing(wide, wide, body, title="Where the class ended", description=_told_of_target(report))
    return WalkParts(picture, _samples(_TARGET_HANDS), (f"{names}.",) if names else ())


def _numbers(report: ClassReport) -> dict[str, int]:
    return {row.learner: k for k, row in enumerate(report.rows, start=1)}


def _told_of_target(report: ClassReport) -> str:
    walks = sum(one.miss is not None for one in report.fit.grades)
    return f"{walks} walks of {len(report.rows)} learners about the stake where each card ends"


def _on_target(report: ClassReport, center: tuple[float, float], room: Box, letters_mm: float) -> list[str]:
    """Draw the rings and the walks on them."""
    number, body = _numbers(report), _rings(center, letters_mm)
    wishes: list[Wish] = []
    for one in report.fit.grades:
        mark, wish = _walk_mark(one, center, number[one.handed.learner], letters_mm)
        body += mark
        wishes += wish
    taken = [Box(wish.x - 1.4, wish.y - 1.4, wish.x + 1.4, wish.y + 1.4) for wish in wishes]
    for label in place_labels(wishes, room, taken).labels:
        if label.leader is not None:
            body.append(line(*label.leader, stroke=PENCIL, stroke_width=0.15))
        body.append(
            text(
                label.middle_x,
                label.baseline_y,
                label.content,
                label.wish.size_mm,
                anchor="middle",
                halo_mm=0.4,
            )
        )
    return body


def _heads(heads: Sequence[str]) -> list[str]:
    return [
        text(_EDGE_MM, _EDGE_MM + 6.0 * i + _TITLE_MM, words, _TITLE_MM, font_weight="bold")
        for i, words in enumerate(heads)
    ]


def _rings(center: tuple[float, float], letters_mm: float) -> list[str]:
    x, y = center
    parts = []
    for ring in range(_RINGS, 0, -1):
        r = _RADIUS_MM * ring / _RINGS
        heavy = ring == 1
        parts.append(
            circle(
                x,
                y,
                r,
                fill="none",
                stroke=INK if heavy else FAINT,
                stroke_width=0.4 if heavy else 0.2,
                stroke_dasharray=None if heavy else "1.2 1",
            )
        )
    parts.append(line(x, y - _RADIUS_MM, x, y + _RADIUS_MM, stroke=FAINT, stroke_width=0.12))
    parts.append(line(x - _RADIUS_MM, y, x + _RADIUS_MM, y, stroke=FAINT, stroke_width=0.12))
    for ring in range(1, _RINGS + 1):
        at = _RADIUS_MM * ring / _RINGS * math.sqrt(0.5)
        parts.append(
            text(x + at, y + at + 0.9, str(ring), letters_mm, anchor="middle", fill=PENCIL, halo_mm=0.5)
        )
    parts.append(text(x, y - _RADIUS_MM - 1.5, "N", max(_TYPE_MM, letters_mm), anchor="middle"))
    parts.append(line(x - 1.6, y, x + 1.6, y, stroke=INK, stroke_width=0.6))
    parts.append(line(x, y - 1.6, x, y + 1.6, stroke=INK, stroke_width=0.6))
    return parts


def _walk_mark(
    one: Grade, center: tuple[float, float], number: int, letters_mm: float
) -> tuple[list[str], list[Wish]]:
    miss = one.miss
    if miss is None:
        return [], []
    beyond = miss.multiple > _RINGS
    r = _RADIUS_MM * min(miss.multiple, _RINGS) / _RINGS
    length = max(miss.length_m, 1e-9)
    x, y = center[0] + r * miss.east_m / length, center[1] - r * miss.north_m / length
    slipped = one.slip_chance is not None and one.slip_chance > 0.5
    mark = _crossed(x, y) if slipped else [circle(x, y, _DOT_MM, fill=INK, stroke=PAPER, stroke_width=0.2)]
    if miss.multiple <= 2.0:
        return mark, []
    said = f"{number} ({miss.multiple:.0f} times)" if beyond else str(number)
    return mark, [Wish(said, x, y, 1.5, letters_mm, rank=0 if beyond else 1)]


def _crossed(x: float, y: float) -> list[str]:
    r = 1.4
    s = r * 0.62
    return [
        circle(x, y, r, fill=PAPER, stroke=ACCENT, stroke_width=0.4),
        line(x - s, y - s, x + s, y + s, stroke=ACCENT, stroke_width=0.4),
        line(x - s, y + s, x + s, y - s, stroke=ACCENT, stroke_width=0.4),
    ]


def _key(hands: Sequence[Hand], y: float) -> tuple[list[str], float]:
    parts: list[str] = []
    for i, (mark, words) in enumerate(hands):
        parts.append(mark(_EDGE_MM + 2.0, y + 4.6 * i))
        parts.append(text(_EDGE_MM + 6.0, y + 4.6 * i + 0.9, words, _SMALL_MM))
    return parts, 4.6 * len(hands)


def _samples(hands: Sequence[Hand]) -> tuple[tuple[str, str], ...]:
    """The key for a page: each mark as a drawing of its own, with its words."""

    def in_the_middle(mark: Callable[[float, float], str]) -> Callable[[float, float], str]:
        return lambda x, y: mark(x + SAMPLE_MM / 2.0, y)

    return tuple((draw_sample((in_the_middle(mark), words)), words) for mark, words in hands)


_TARGET_HANDS: Final[tuple[Hand, ...]] = (
    (lambda x, y: circle(x, y, _DOT_MM, fill=INK), "a walk"),
    (lambda x, y: "".join(_crossed(x, y)), "a walk that probably held a slip"),
    (
        lambda x, y: circle(x, y, 1.4, fill="none", stroke=INK, stroke_width=0.4),
        "ring 1: the usual miss of an ordinary counter; ring 2: twice that",
    ),
)


def _names(names: Sequence[str], top: float) -> tuple[list[str], float]:
    """Set names in as many columns as fit."""
    widest = max((text_width_mm(name, _SMALL_MM) for name in names), default=1.0) + 4.0
    columns = max(1, int((_WIDTH_MM - 2 * _EDGE_MM) // widest))
    deep = math.ceil(len(names) / columns)
    parts = [
        text(_EDGE_MM + widest * (k // deep), top + 3.9 * (k % deep) + 2.5, name, _SMALL_MM)
        for k, name in enumerate(names)
    ]
    return parts, 3.9 * deep


def draw_habits(report: ClassReport, title: str = "Compass bias and pace of the class") -> str:
    """Draw every learner's compass bias and pace, each with the interval that holds it 95 times in 100.

    A solid mark is one whose interval leaves out 0: it shows. The broken upright line is the class's own.

    Parameters
    ----------
    report
        The class.
    title
        Stands above the picture.

    Returns
    -------
    str
        An SVG document, 180 mm wide.
    """
    fit = report.fit
    by_name = {one.learner: one for one in fit.learners}
    learners = [by_name[row.learner] for row in report.rows]
    heads = wrap_text(title, _TITLE_MM, _WIDTH_MM - 2 * _EDGE_MM) or ["The class"]
    top = _EDGE_MM + 6.0 * len(heads) + 8.0
    foot = top + _ROW_MM * len(learners)
    label = min(48.0, max((text_width_mm(one.learner, _TYPE_MM) for one in learners), default=10.0) + 3.0)
    each = (_WIDTH_MM - 2 * _EDGE_MM - label - 6.0) / 2.0
    left = _EDGE_MM + label
    bias = _Panel([one.bias_deg for one in learners], left, left + each)
    pace = _Panel([one.scale_pct for one in learners], left + each + 6.0, left + 2 * each + 6.0)
    body = _heads(heads)
    body += bias.frame(top, foot, "compass bias, degrees (right +)", fit.class_bias_deg.value)
    body += pace.frame(top, foot, "pace longer than stated, per cent", fit.class_scale_pct.value)
    for k, one in enumerate(learners):
        y = top + _ROW_MM * (k + 0.5)
        name = wrap_text(one.learner, _TYPE_MM, label - 2.0)[0]
        body.append(text(_EDGE_MM, y + 1.0, name, _TYPE_MM))
        body.append(
            line(
                _EDGE_MM,
                y + _ROW_MM / 2,
                _WIDTH_MM - _EDGE_MM,
                y + _ROW_MM / 2,
                stroke=FAINT,
                stroke_width=0.1,
            )
        )
        body += bias.interval(one.bias_deg, y)
        body += pace.interval(one.scale_pct, y)
    key, height = _key(_HABITS_HANDS, foot + 11.0)
    told = f"{_told_of(learners, _BIAS)}; {_told_of(learners, _PACE)}"
    return drawing(_WIDTH_MM, foot + 11.0 + height + _EDGE_MM, [*body, *key], title=title, description=told)


def habits_parts(report: ClassReport) -> tuple[WalkParts, WalkParts]:
    """Draw compass bias and pace as `draw_habits` does, each by itself, title and key apart."""
    fit = report.fit
    by_name = {one.learner: one for one in fit.learners}
    learners = [by_name[row.learner] for row in report.rows]
    commons = (fit.class_bias_deg.value, fit.class_scale_pct.value)
    bias, pace = (
        WalkParts(_one_panel(learners, habit, common), _samples(_HABITS_HANDS) if habit is _PACE else (), ())
        for habit, common in zip((_BIAS, _PACE), commons, strict=True)
    )
    return bias, pace


def _one_panel(learners: Sequence[LearnerFit], habit: _Habit, common: float) -> str:
    figures = [habit.figure(one) for one in learners]
    label = min(40.0, max((text_width_mm(one.learner, _SCREEN_MM) for one in learners), default=10.0) + 3.0)
    foot = 2.0 + _SCREEN_ROW_MM * len(learners)
    panel = _Panel(figures, 2.0 + label, _SCREEN_WIDTH_MM - 5.0)
    body = panel.frame(2.0, foot, "", common, _SCREEN_MM)
    for k, (one, figure) in enumerate(zip(learners, figures, strict=True)):
        y = 2.0 + _SCREEN_ROW_MM * (k + 0.5)
        body.append(text(2.0, y + 1.2, wrap_text(one.learner, _SCREEN_MM, label - 2.0)[0], _SCREEN_MM))
        body += panel.interval(figure, y)
    told = _told_of(learners, habit)
    return drawing(_SCREEN_WIDTH_MM, foot + 8.0, body, title=habit.title, description=told)


@dataclass(frozen=True, slots=True)
class _Habit:
    """One figure of a learner: what it is called, in what unit, and how to get it."""

    title: str
    name: str
    unit: str
    digits: int
    figure: Callable[[LearnerFit], Figure]


_BIAS: Final = _Habit("Compass bias of the class", "bias", "degrees", 1, lambda one: one.bias_deg)
_PACE: Final = _Habit("Pace of the class", "pace", "per cent", 0, lambda one: one.scale_pct)


def _told_of(learners: Sequence[LearnerFit], habit: _Habit) -> str:
    found = [(one.learner, habit.figure(one)) for one in learners]
    return "; ".join(
        f"{name}: {habit.name} {figure.low:.{habit.digits}f} to {figure.high:.{habit.digits}f} {habit.unit}"
        for name, figure in found
    )


class _Panel:
    """One figure of the class along the page, 0 in the middle."""

    def __init__(self, figures: Sequence[Figure], left_mm: float, right_mm: float) -> None:
        reach = max([1.0, *(max(abs(one.low), abs(one.high)) for one in figures)])
        self.step = next((tick for tick in _TICKS if reach / tick <= 4.0), _TICKS[-1])
        self.reach = self.step * math.ceil(reach / self.step)
        self.left_mm, self.right_mm = left_mm, right_mm
        self.at: Callable[[float], float] = lambda value: (
            (left_mm + right_mm) / 2.0 + value / self.reach * (right_mm - left_mm) / 2.0
        )

    def frame(
        self, top: float, foot: float, name: str, common: float, letters_mm: float = _SMALL_MM
    ) -> list[str]:
        """Draw the scale, 0, and the class's own figure."""
        middle = (self.left_mm + self.right_mm) / 2.0
        parts = [text(middle, top - 2.5, name, letters_mm, anchor="middle")] if name else []
        parts += [
            line(self.left_mm, foot, self.right_mm, foot, stroke=INK, stroke_width=0.3),
            line(self.at(0.0), top, self.at(0.0), foot, stroke=INK, stroke_width=0.25),
        ]
        steps = round(self.reach / self.step)
        for k in range(-steps, steps + 1):
            x = self.at(k * self.step)
            parts.append(line(x, foot, x, foot + 1.2, stroke=INK, stroke_width=0.3))
            parts.append(text(x, foot + 1.9 + letters_mm, f"{k * self.step:g}", letters_mm, anchor="middle"))
        x = self.at(max(-self.reach, min(self.reach, common)))
        parts.append(line(x, top, x, foot, stroke=PENCIL, stroke_width=0.3, stroke_dasharray="1.6 1.2"))
        return parts

    def interval(self, figure: Figure, y: float) -> list[str]:
        """Draw a figure and its interval."""
        low, value, high = (self.at(one) for one in (figure.low, figure.value, figure.high))
        return [
            line(low, y, high, y, stroke=INK, stroke_width=0.4),
            line(low, y - 0.9, low, y + 0.9, stroke=INK, stroke_width=0.4),
            line(high, y - 0.9, high, y + 0.9, stroke=INK, stroke_width=0.4),
            _diamond(value, y, figure.shows),
        ]


def _diamond(x: float, y: float, shows: bool) -> str:
    corners = [(x, y - 1.5), (x + 1.2, y), (x, y + 1.5), (x - 1.2, y)]
    return polygon(corners, fill=INK if shows else PAPER, stroke=INK, stroke_width=0.35)


_HABITS_HANDS: Final[tuple[Hand, ...]] = (
    (lambda x, y: _diamond(x, y, True), "it shows: the interval leaves out 0"),
    (lambda x, y: _diamond(x, y, False), "it may be nothing"),
    (
        lambda x, y: line(
            x, y - 1.5, x, y + 1.5, stroke=PENCIL, stroke_width=0.3, stroke_dasharray="1.6 1.2"
        ),
        "what the whole class has in common",
    ),
)
