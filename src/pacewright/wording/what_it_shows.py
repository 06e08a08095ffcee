"""What a course can teach, in words: how small a bias, pace error or scatter its walks show."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from pacewright.course.course import Drill
from pacewright.course.what_it_shows import Shows

Rows = tuple[tuple[str, ...], list[tuple[str, ...]]]

CARDS: Final[dict[Drill, str]] = {
    "": "plain cards",
    "box": "cards with a box",
    "detour": "cards with a detour",
    "pace": "the pace line",
    "azimuth": "azimuth alone",
    "bias": "cards for the compass",
}
SHOWS_HOW: Final = "A learner who is off by so much, or more, is found out four times in five; smaller faults stay among ordinary scatter."
TAPE_IT: Final = "Tape where a learner stands, along the line and off it: the nearest stake alone tells little of a compass."


def shows_table(shows: Sequence[Shows]) -> Rows:
    """What a course can teach as a table: a row for a kind of card and so many walks."""
    heading: tuple[str, ...] = ("cards", "walks", "compass off by", "pace off by", "scatter times the usual")
    rows: list[tuple[str, ...]] = [
        (
            CARDS[one.drill],
            str(one.walks),
            _none(one.bias_deg, "{:.1f} deg"),
            _none(one.scale_pct, "{:.0f} %"),
            _none(one.scatter_times, "{:.1f}"),
        )
        for one in shows
    ]
    return heading, rows


def say_shows(shows: Sequence[Shows]) -> list[str]:
    """Say how the table is to be read, and how more would be seen."""
    tape = [TAPE_IT] if any(one.bias_deg is not None for one in shows) else []
    return [SHOWS_HOW, *tape]


def _none(value: float | None, written: str) -> str:
    return "-" if value is None else written.format(value)
