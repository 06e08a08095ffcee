"""A learner over weeks as a picture: compass, pace and usual miss by date, each with its interval."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from pacewright.course.learner_figures import Figure
from pacewright.course.learner_model import LearnerFit
from pacewright.course.progress import Day
from pacewright.drawing import svg
from pacewright.drawing.svg import FAINT, INK, PAPER, PENCIL

_STRIP_MM: Final = 22.0
_LEFT_MM: Final = 34.0
_TYPE_MM: Final = 2.9
_TOP_MM: Final = 4.0
_DOT_MM: Final = 1.1
_RIGHT_MM: Final = 4.0
_DAY_MM: Final = 24.0
"""Room for a date under its mark."""
_LEAST_MM: Final = 100.0
_MOST_MM: Final = 170.0


def _miss(fit: LearnerFit) -> Figure:
    skill = fit.skill
    return Figure(skill.miss_m, 0.0, skill.low_m, skill.high_m, 1.0)


_STRIPS: Final[tuple[tuple[str, Callable[[LearnerFit], Figure]], ...]] = (
    ("compass off, °", lambda fit: fit.bias_deg),
    ("pace off, %", lambda fit: fit.scale_pct),
    ("miss, m a km", _miss),
)


def draw_progress(days: Sequence[Day], width_mm: float | None = None) -> str:
    """Draw a learner's figures by date; filled marks are of fields of stakes, open ones of posts.

    Parameters
    ----------
    days
        In order; pace lines are left out.
    width_mm
        Of the drawing; None for as wide as its dates need, so that its letters are large on a phone.
    """
    walked = [day for day in days if day.fit is not None]
    if width_mm is None:
        needed_mm = _LEFT_MM + _RIGHT_MM + _DAY_MM * len(walked)
        width_mm = min(max(needed_mm, _LEAST_MM), _MOST_MM)
    body: list[str] = []
    for k, (name, figure_of) in enumerate(_STRIPS):
        # Posts lead a learner back to the card: they tell nothing of the compass.
        shown = [(at, day) for at, day in enumerate(walked) if k or day.kind == "field"]
        body += _strip(
            name, [(at, day, figure_of(day.fit)) for at, day in shown if day.fit], k, len(walked), width_mm
        )
    foot = _TOP_MM + len(_STRIPS) * _STRIP_MM
    for at, day in enumerate(walked):
        body.append(
            svg.text(_across(at, len(walked), width_mm), foot + 4.0, day.date, _TYPE_MM, anchor="middle")
        )
    told = f"{len(walked)} days: compass, pace and usual miss, each with its interval"
    return svg.drawing(width_mm, foot + 8.0, body, title="Progress by date", description=told)


def _across(at: int, days: int, width_mm: float) -> float:
    return _LEFT_MM + (at + 0.5) * (width_mm - _LEFT_MM - _RIGHT_MM) / max(days, 1)


def _strip(
    name: str, figures: Sequence[tuple[int, Day, Figure]], k: int, days: int, width_mm: float
) -> list[str]:
    top, foot = _TOP_MM + k * _STRIP_MM, _TOP_MM + (k + 1) * _STRIP_MM - 5.0
    low = min([0.0, *(figure.low for _, _, figure in figures)])
    high = max([0.0, *(figure.high for _, _, figure in figures)])
    reach = (high - low) or 1.0

    def y(value: float) -> float:
        return foot - (value - low) / reach * (foot - top)

    parts = [
        svg.text(2.0, (top + foot) / 2.0 + 1.0, name, _TYPE_MM, font_weight="bold"),
        svg.line(_LEFT_MM, y(0.0), width_mm - _RIGHT_MM, y(0.0), stroke=PENCIL, stroke_width=0.25),
        *(
            svg.text(_LEFT_MM - 1.0, y(value) + 1.0, f"{value:.0f}", _TYPE_MM, anchor="end", fill=PENCIL)
            for value in dict.fromkeys((low, 0.0, high))
            if abs(y(value) - y(0.0)) > _TYPE_MM or value == 0.0
        ),
        svg.line(_LEFT_MM, foot + 2.5, width_mm - _RIGHT_MM, foot + 2.5, stroke=FAINT, stroke_width=0.15),
    ]
    for at, day, figure in figures:
        x = _across(at, days, width_mm)
        parts.append(svg.line(x, y(figure.low), x, y(figure.high), stroke=INK, stroke_width=0.4))
        fill = INK if day.kind == "field" else PAPER
        parts.append(svg.circle(x, y(figure.value), _DOT_MM, fill=fill, stroke=INK, stroke_width=0.4))
    return parts
