"""Plans side by side: time against the chance of missing, the straight line beside them."""

from __future__ import annotations

import math
from typing import Final

from pacewright.answers.plan import PlanAnswer
from pacewright.drawing import svg
from pacewright.drawing.svg import INK, PAPER, PENCIL
from pacewright.wording.planning import say_from_start, sayable_plans

_HIGH_MM: Final = 46.0
_TYPE_MM: Final = 2.6
_TICKS: Final = (1.0, 5.0, 20.0, 50.0, 100.0)
_LEAST: Final = 0.5


def draw_plans(answer: PlanAnswer, width_mm: float) -> str:
    """Draw every plan as a mark: to the right what takes longer, upward what is missed more often.

    The chance of missing is drawn by its logarithm, so that 1 and 5 in 100 lie apart.
    """
    left, right, top, foot = 16.0, width_mm - 40.0, 4.0, _HIGH_MM - 10.0
    plans = [
        (name, minutes, max(100.0 * one.walked.missed, _LEAST))
        for name, minutes, one in sayable_plans(answer)
    ]
    low, high = min(one[1] for one in plans), max(one[1] for one in plans)
    low, high = low - 5.0, max(high + 5.0, low + 15.0)

    def at(minutes: float, missed: float) -> tuple[float, float]:
        share = math.log(missed / _LEAST) / math.log(100.0 / _LEAST)
        return left + (right - left) * (minutes - low) / (high - low), foot - (foot - top) * share

    drawn = [
        svg.line(left, foot, right, foot, stroke=PENCIL, stroke_width=0.25),
        svg.line(left, top, left, foot, stroke=PENCIL, stroke_width=0.25),
    ]
    for tick in _TICKS:
        x, y = at(low, tick)
        drawn.append(svg.line(x - 1.2, y, x, y, stroke=PENCIL, stroke_width=0.25))
        drawn.append(svg.text(x - 2.0, y + 0.9, f"{tick:g}", _TYPE_MM, text_anchor="end"))
    for minutes in (low + 5.0, high - 5.0):
        x, _ = at(minutes, 1.0)
        drawn.append(svg.text(x, foot + 4.0, say_from_start(minutes), _TYPE_MM, text_anchor="middle"))
    asked = at(low, 100.0 * answer.asked.miss)[1]
    drawn.append(svg.line(left, asked, right, asked, stroke=PENCIL, stroke_width=0.2, stroke_dasharray="1 1"))
    drawn.append(svg.text(left, foot + 8.5, "hours and minutes, rests included; up: missed in 100", _TYPE_MM))
    taken: list[float] = []
    for name, minutes, missed in sorted(plans, key=lambda one: -one[2]):
        x, y = at(minutes, missed)
        is_this = name == "this plan"
        drawn.append(svg.circle(x, y, 1.3, fill=INK if is_this else PAPER, stroke=INK, stroke_width=0.4))
        word_y = y + 0.9
        while any(abs(word_y - was) < 3.2 for was in taken):
            word_y += 0.5
        taken.append(word_y)
        drawn.append(svg.text(x + 2.4, word_y, name, _TYPE_MM))
    told = "; ".join(
        f"{name} {say_from_start(minutes)}, {missed:.0f} in 100" for name, minutes, missed in plans
    )
    return svg.drawing(width_mm, _HIGH_MM, drawn, title="Plans side by side", description=told)
