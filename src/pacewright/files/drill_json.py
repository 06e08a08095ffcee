"""A worksheet of a paper drill as the keys of --json, its answers with it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pacewright.course.drills.making import Worksheet
from pacewright.course.drills.problem import Problem


def worksheet_keys(made: Worksheet, says: Callable[[Problem], str]) -> dict[str, Any]:
    """A worksheet as keys; `says` writes a question."""
    return {
        "kind": made.kind,
        "level": made.level,
        "seed": made.seed,
        "problems": [
            {
                "says": says(problem),
                "variant": problem.variant,
                "given": dict(problem.given),
                "rows": [{"azimuth": azimuth, "count": count} for azimuth, count in problem.rows],
                "answers": [
                    {
                        "asks": answer.asks,
                        "answer": answer.choices[int(answer.value)] if answer.choices else answer.value,
                        "unit": answer.unit,
                        "within": answer.within,
                    }
                    for answer in problem.answers
                ],
            }
            for problem in made.problems
        ],
    }
