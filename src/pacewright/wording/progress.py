"""A learner over weeks in words: a table by date, and what changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.course.course import CourseKind
from pacewright.course.learner_figures import Figure
from pacewright.course.progress import Change, Day, Progress
from pacewright.wording.numbers import say_whole
from pacewright.wording.teaching import kind_named

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

KINDS: Final[dict[CourseKind, str]] = {
    "field": "On fields of stakes",
    "posts": "Among posts",
    "pace": "On pace lines",
}
UNLIKE: Final = (
    "Courses of one kind stand together: a field tells of the compass, posts tell of counts, a pace line of the pace "
    "alone. The usual miss is reckoned for a kilometre, so that long cards and short ones compare."
)
LEANS: Final = (
    "Each figure has the interval that holds it 95 times in 100, and is drawn toward the class of its day."
)
_CHANGED: Final[dict[Change, str]] = {
    "better": "better",
    "worse": "worse",
    "not sure": "no change that is sure yet",
}


def day_tables(days: Sequence[Day]) -> list[tuple[str, Rows]]:
    """A table for every kind of course: its name, the heading and a row a day."""
    found = []
    for kind in dict.fromkeys(day.kind for day in days):
        like = [day for day in days if day.kind == kind]
        found.append((KINDS[kind], _pace_rows(like) if kind == "pace" else _rows(like)))
    return found


def _rows(days: Sequence[Day]) -> Rows:
    heading = (
        *("date", "course", "walks", "compass off, deg", "pace off, %", "azimuth scatter, deg"),
        *("count scatter, %", "slips", "miss, m a km"),
    )
    rows: list[tuple[str, ...]] = []
    for day in days:
        fit = day.fit
        if fit is None:
            continue
        bias = _signed(fit.bias_deg) if day.kind == "field" else ""
        rows.append(
            (
                day.date,
                day.course,
                str(fit.walks),
                bias,
                _signed(fit.scale_pct),
                _plain(fit.azimuth_sd_deg) if day.kind == "field" else "",
                _plain(fit.count_sd_pct),
                ", ".join(kind_named(kind) for kind in day.slips),
                f"{say_whole(fit.skill.miss_m)} ({say_whole(fit.skill.low_m)}-{say_whole(fit.skill.high_m)})",
            )
        )
    return heading, rows


def _pace_rows(days: Sequence[Day]) -> Rows:
    heading = ("date", "course", "runs", "paces to 100 m", "interval")
    return heading, [
        (
            day.date,
            day.course,
            str(day.pace.runs),
            f"{day.pace.per_100_m:.1f}",
            f"{day.pace.low:.1f} to {day.pace.high:.1f}",
        )
        for day in days
        if day.pace is not None
    ]


def _signed(figure: Figure) -> str:
    return f"{figure.value:+.1f} ({figure.low:+.1f} to {figure.high:+.1f})"


def _plain(figure: Figure) -> str:
    return f"{figure.value:.1f} ({figure.low:.1f}-{figure.high:.1f})"


def say_progress(found: Sequence[Progress]) -> list[str]:
    """Say what changed from the first day to the last on each kind of course."""
    return [_say(one) for one in found]


def _say(one: Progress) -> str:
    first, last = one.first.fit, one.last.fit
    assert first is not None and last is not None
    match one.figure:
        case "bias":
            name, told = "compass", (f"{first.bias_deg.value:+.1f} deg", f"{last.bias_deg.value:+.1f} deg")
        case "scale":
            name, told = "pace", (f"{first.scale_pct.value:+.1f} %", f"{last.scale_pct.value:+.1f} %")
        case _:
            name = "usual miss a kilometre"
            told = (f"{say_whole(first.skill.miss_m)} m", f"{say_whole(last.skill.miss_m)} m")
    return f"{KINDS[one.kind]}, {name}: {told[0]} on {one.first.date}, {told[1]} on {one.last.date}: {_CHANGED[one.change]}."
