"""A problem of a paper drill, its answers, and how far off still counts as right."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, Literal, get_args

from pacewright.core.compass import FULL_CIRCLE
from pacewright.exceptions import ValueComplaint

PaperDrill = Literal["plot", "slip", "back", "cord", "declination", "box", "aim_off", "range", "resection"]
PAPER_DRILLS: Final[tuple[PaperDrill, ...]] = get_args(PaperDrill)
LEVELS: Final = (1, 2, 3)
AnswerUnit = Literal["deg", "mils", "pace", "m", "number", "word"]

PROTRACTOR_SD_DEG: Final = 0.5
"""How well an azimuth is laid off or read with a protractor of whole degrees (assumed)."""
RULER_SD_MM: Final = 0.5
"""How well a length is laid off or read with a ruler of whole millimetres (assumed)."""
DRAWN_SDS: Final = 3.0
"""A careful drawing is off by more standard deviations than this less than once in 300."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to a problem.

    Attributes
    ----------
    asks
        What is asked, by a short name that the wording knows.
    value
        The answer; of a word, its place among the choices.
    unit
        What it is counted in.
    within
        So far off still counts as right.
    choices
        The words to choose from, where the answer is one of them.
    """

    asks: str
    value: float
    unit: AnswerUnit
    within: float = 0.0
    choices: tuple[str, ...] = ()

    @property
    def circle(self) -> float | None:
        """The full circle where the answer is an azimuth; None elsewhere."""
        if not self.asks.endswith("azimuth"):
            return None
        return float(FULL_CIRCLE["mils" if self.unit == "mils" else "degrees"])

    def off(self, typed: float) -> float:
        """By how much a number is off, an azimuth the shorter way round."""
        gap = abs(typed - self.value)
        circle = self.circle
        return gap if circle is None else min(gap % circle, circle - gap % circle)

    def is_right(self, typed: float) -> bool:
        """Whether a number counts as right."""
        return self.off(typed) <= self.within + 1e-9


@dataclass(frozen=True, slots=True)
class Problem:
    """One problem.

    Attributes
    ----------
    kind, variant
        What is practised, and which way, where a kind has several.
    given
        The figures of the question, by name.
    rows
        The rows of a log: azimuth in whole degrees and count in whole paces.
    answers
        In the order in which they are asked.
    """

    kind: PaperDrill
    answers: tuple[Answer, ...]
    variant: str = ""
    given: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    rows: tuple[tuple[int, int], ...] = ()


def read_answer(answer: Answer, typed: str) -> float | None:
    """What was typed as a number, or as the place of a word among the choices; None where nothing was.

    Raises
    ------
    ValueComplaint
        It is neither.
    """
    bare = " ".join(typed.split()).casefold().replace("\u2212", "-").removesuffix("°").strip()
    if not bare:
        return None
    if answer.choices:
        for place, word in enumerate(answer.choices):
            if word.casefold() == bare:
                return float(place)
        raise ValueComplaint(
            f"{typed.strip()[:40]} is none of the answers", f"Write one of: {', '.join(answer.choices)}"
        )
    for unit in ("deg", "mils", "paces", "pace", "m"):
        bare = bare.removesuffix(unit).strip()
    try:
        value = float(bare.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueComplaint(f"{typed.strip()[:40]} is not a number", "Write digits, such as 214")
    return value
