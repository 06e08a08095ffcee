"""Charts: the pace trials behind a pace table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from pacewright.core.pace.pace_table import PaceTable, TrialClass
from pacewright.core.pace.pace_trials import PaceRun
from pacewright.drawing.svg import (
    ACCENT,
    INK,
    PAPER,
    PENCIL,
    circle,
    drawing,
    line,
    polygon,
    text,
    wrap_text,
)

_WIDTH_MM: Final = 180.0
_EDGE_MM: Final = 6.0
_TITLE_MM: Final = 4.2
_TYPE_MM: Final = 2.9
_SMALL_MM: Final = 2.5
_LABEL_SHARE: Final = 0.36
_ROW_MM: Final = 13.0
_DOT_MM: Final = 0.95
_STEPS: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500)


class _Axis:
    """Counts per hundred metres along the page."""

    def __init__(self, low: float, high: float, left_mm: float, right_mm: float) -> None:
        span = max(high - low, 2.0)
        self.step = next(s for s in _STEPS if span / s <= 8)
        self.low = math.floor((low - 0.02 * span) / self.step) * self.step
        self.high = math.ceil((low + 1.02 * span) / self.step) * self.step
        self.left_mm, self.right_mm = left_mm, right_mm

    def at(self, per_100_m: float) -> float:
        share = (per_100_m - self.low) / (self.high - self.low)
        return self.left_mm + share * (self.right_mm - self.left_mm)

    def ticks(self) -> list[int]:
        return list(range(self.low, self.high + 1, self.step))


def draw_pace_trials(table: PaceTable, title: str = "Pace trials") -> str:
    """Draw every run as a dot, class by class, with the class's count and its interval.

    A run pointed at as a possible miscount is a crossed ring; a count drawn toward the other classes is
    a hollow mark on a broken line.

    Parameters
    ----------
    table
        The fitted trials.
    title
        Stands above the chart.

    Returns
    -------
    str
        An SVG document, 180 mm wide.
    """
    heads = wrap_text(title, _TITLE_MM, _WIDTH_MM - 2 * _EDGE_MM) or ["Pace trials"]
    label_mm = (_WIDTH_MM - 2 * _EDGE_MM) * _LABEL_SHARE
    names = [wrap_text(one.label, _TYPE_MM, label_mm - 3) for one in table.classes]
    heights = [max(_ROW_MM, 4.0 * (len(lines) + 1) + 2) for lines in names]
    top = _EDGE_MM + 6.0 * len(heads) + 3.0
    foot = top + sum(heights)
    axis = _Axis(*_extent(table), _EDGE_MM + label_mm, _WIDTH_MM - _EDGE_MM - 2)

    body = [
        text(_EDGE_MM, _EDGE_MM + 6.0 * i + _TITLE_MM, words, _TITLE_MM, font_weight="bold")
        for i, words in enumerate(heads)
    ]
    body += _scale(axis, top, foot)
    y = top
    outlying = [one.run for one in table.outlying]
    for one, lines, height in zip(table.classes, names, heights, strict=True):
        body += _row(table, one, lines, (y, height), axis, outlying)
        y += height
    key, key_height = _key(table, foot + 11.0)
    return drawing(
        _WIDTH_MM,
        foot + 11.0 + key_height + _EDGE_MM,
        [*body, *key],
        title=title,
        description=_told(table),
    )


def _extent(table: PaceTable) -> tuple[float, float]:
    counts = [run.per_100_m for run in table.runs]
    # A class hardly known has an interval far wider than any count; its bar runs off the page instead.
    span = max(max(counts) - min(counts), 0.1 * max(counts))
    low = max(min(one.low for one in table.classes), min(counts) - span)
    high = min(max(one.high for one in table.classes), max(counts) + span)
    return min([low, *counts]), max([high, *counts])


def _scale(axis: _Axis, top: float, foot: float) -> list[str]:
    parts = [line(axis.left_mm, foot, axis.right_mm, foot, stroke=INK, stroke_width=0.3)]
    for tick in axis.ticks():
        x = axis.at(tick)
        parts.append(line(x, top, x, foot, stroke=PENCIL, stroke_width=0.12, stroke_dasharray="0.4 1.2"))
        parts.append(line(x, foot, x, foot + 1.2, stroke=INK, stroke_width=0.3))
        parts.append(text(x, foot + 4.4, str(tick), _SMALL_MM, anchor="middle"))
    parts.append(text(axis.right_mm, foot + 8.2, "paces to 100 m", _SMALL_MM, anchor="end"))
    return parts


def _row(
    table: PaceTable,
    one: TrialClass,
    lines: Sequence[str],
    place: tuple[float, float],
    axis: _Axis,
    outlying: Sequence[PaceRun],
) -> list[str]:
    top, height = place
    parts = [line(_EDGE_MM, top, axis.right_mm, top, stroke=PENCIL, stroke_width=0.12)]
    for i, words in enumerate(lines):
        parts.append(text(_EDGE_MM, top + 4.4 + 4.0 * i, words, _TYPE_MM))
    runs = "1 run" if one.runs == 1 else f"{one.runs} runs"
    said = f"{one.per_100_m:.1f}, {runs}" + (", borrowed" if one.borrowed else "")
    parts.append(text(_EDGE_MM, top + 4.4 + 4.0 * len(lines), said, _SMALL_MM, fill=PENCIL))
    parts += _interval(one, top + height - 3.2, axis)
    parts += _dots(table.runs_of(one), top + height - 6.4, top + 1.6, axis, outlying)
    return parts


def _interval(one: TrialClass, y: float, axis: _Axis) -> list[str]:
    low, high = max(one.low, axis.low), min(one.high, axis.high)
    dash = "1.4 1.1" if one.borrowed else None
    parts = [
        line(axis.at(low), y, axis.at(high), y, stroke=INK, stroke_width=0.45, stroke_dasharray=dash),
    ]
    # No end stroke where the page cuts the interval off.
    for end, shown in ((one.low, low), (one.high, high)):
        if end == shown:
            parts.append(line(axis.at(end), y - 1, axis.at(end), y + 1, stroke=INK, stroke_width=0.45))
    return [*parts, _mean_mark(axis.at(one.per_100_m), y, one.borrowed)]


def _mean_mark(x: float, y: float, borrowed: bool) -> str:
    corners = [(x, y - 1.5), (x + 1.2, y), (x, y + 1.5), (x - 1.2, y)]
    return polygon(corners, fill=PAPER if borrowed else INK, stroke=INK, stroke_width=0.35)


def _dots(
    runs: Sequence[PaceRun], base: float, ceiling: float, axis: _Axis, outlying: Sequence[PaceRun]
) -> list[str]:
    """Stack the dots that would hide each other, as close as the row's height asks."""
    parts: list[str] = []
    placed: list[tuple[float, int]] = []
    for run in sorted(runs, key=lambda r: r.per_100_m):
        x = axis.at(run.per_100_m)
        taken = {level for other, level in placed if abs(other - x) < 2 * _DOT_MM}
        placed.append((x, next(level for level in range(len(runs)) if level not in taken)))
    highest = max(level for _, level in placed)
    rise = min(2.2 * _DOT_MM, (base - ceiling) / highest) if highest else 0.0
    for run, (x, level) in zip(sorted(runs, key=lambda r: r.per_100_m), placed, strict=True):
        y = base - level * rise
        if run not in outlying:
            parts.append(circle(x, y, _DOT_MM, fill=PENCIL))
            continue
        parts += _ring(x, y)
        if run.line is not None:
            parts.append(text(x, y - 2.2, f"line {run.line}", _SMALL_MM, anchor="middle", fill=ACCENT))
    return parts


def _ring(x: float, y: float) -> list[str]:
    r = 1.5
    s = r * 0.62
    return [
        circle(x, y, r, fill=PAPER, stroke=ACCENT, stroke_width=0.4),
        line(x - s, y - s, x + s, y + s, stroke=ACCENT, stroke_width=0.4),
        line(x - s, y + s, x + s, y - s, stroke=ACCENT, stroke_width=0.4),
    ]


def _key(table: PaceTable, y: float) -> tuple[list[str], float]:
    """Say what the marks mean, only those that are there."""
    entries = [
        ([circle(_EDGE_MM + 2, y, _DOT_MM, fill=PENCIL)], "a run"),
        (
            [
                line(_EDGE_MM, y, _EDGE_MM + 4, y, stroke=INK, stroke_width=0.45),
                _mean_mark(_EDGE_MM + 2, y, False),
            ],
            f"the class's count and its {100 * table.probability:g} % interval",
        ),
    ]
    if any(one.borrowed for one in table.classes):
        mark = [
            line(_EDGE_MM, y, _EDGE_MM + 4, y, stroke=INK, stroke_width=0.45, stroke_dasharray="1.4 1.1"),
            _mean_mark(_EDGE_MM + 2, y, True),
        ]
        entries.append((mark, "one or two runs: drawn toward the other classes"))
    if table.outlying:
        entries.append((_ring(_EDGE_MM + 2, y), "out of the ordinary, a miscount? kept in the count"))
    parts: list[str] = []
    for i, (mark, words) in enumerate(entries):
        parts.append(_shifted(mark, 4.6 * i))
        parts.append(text(_EDGE_MM + 6, y + 4.6 * i + 0.9, words, _SMALL_MM))
    return parts, 4.6 * len(entries)


def _shifted(pieces: Sequence[str], down_mm: float) -> str:
    return f'<g transform="translate(0 {down_mm:g})">{"".join(pieces)}</g>'


def _told(table: PaceTable) -> str:
    return "; ".join(
        f"{one.label}: {one.per_100_m:.1f} paces to 100 m, {one.low:.1f} to {one.high:.1f}"
        for one in table.classes
    )
