"""A worksheet of one kind and level: the same seed makes the same problems."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from pacewright.course.drills.dialled import (
    aim_off_problem,
    back_problem,
    box_problem,
    cord_problem,
    declination_problem,
    range_problem,
)
from pacewright.course.drills.plotted import plot_problem, resection_problem, slip_problem
from pacewright.course.drills.problem import LEVELS, PAPER_DRILLS, PaperDrill, Problem
from pacewright.exceptions import ValueComplaint

MOST_PROBLEMS: Final = 24
USUAL_PROBLEMS: Final[dict[PaperDrill, int]] = {
    "plot": 2,
    "slip": 2,
    "back": 12,
    "cord": 8,
    "declination": 8,
    "box": 4,
    "aim_off": 5,
    "range": 6,
    "resection": 2,
}
"""As many as one or two pages of A4 hold, with room to work."""


@dataclass(frozen=True, slots=True)
class Worksheet:
    """Problems of one kind.

    Attributes
    ----------
    kind, level, seed
        What was asked for.
    problems
        In order.
    """

    kind: PaperDrill
    level: int
    seed: int
    problems: tuple[Problem, ...]


def make_worksheet(
    kind: str, level: int, seed: int, rng: np.random.Generator, problems: int | None = None
) -> Worksheet:
    """Make a worksheet.

    Parameters
    ----------
    kind
        One of `PAPER_DRILLS`.
    level
        1, 2 or 3.
    seed
        What the generator was made from, to be printed.
    rng
        Chance.
    problems
        How many; None for as many as one or two pages hold.

    Raises
    ------
    ValueComplaint
        There is no such kind or level, or there are too many problems.
    """
    if kind not in PAPER_DRILLS:
        raise ValueComplaint(
            f"there is no paper drill called {kind[:40]}", f"Take one of: {', '.join(PAPER_DRILLS)}"
        )
    if level not in LEVELS:
        raise ValueComplaint(f"there is no level {level}", "Take 1, 2 or 3")
    asked = USUAL_PROBLEMS[kind] if problems is None else problems
    if not 1 <= asked <= MOST_PROBLEMS:
        raise ValueComplaint(f"{asked} problems cannot be asked for", f"Ask for 1 to {MOST_PROBLEMS}")
    return Worksheet(kind, level, seed, tuple(_problem(kind, level, rng, k) for k in range(asked)))


def _problem(kind: PaperDrill, level: int, rng: np.random.Generator, number: int) -> Problem:
    if kind == "range":
        return range_problem(level, rng, number)
    makers = {
        "plot": plot_problem,
        "slip": slip_problem,
        "back": back_problem,
        "cord": cord_problem,
        "declination": declination_problem,
        "box": box_problem,
        "aim_off": aim_off_problem,
        "resection": resection_problem,
    }
    return makers[kind](level, rng)
