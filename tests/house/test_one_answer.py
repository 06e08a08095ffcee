"""One answer: outside the room `answers` nobody reckons, adjusts or searches for an answer of their own."""

from __future__ import annotations

import ast
from pathlib import Path

HOUSE = Path(__file__).parents[2]
SOURCE = HOUSE / "src" / "pacewright"
ASKED_IN_ANSWERS = {
    *("reckon", "adjust", "adjust_reckoning", "build_standing", "find_closures", "find_mistakes"),
    *("search_slips", "find_islands", "way_along", "aim_along", "retrace", "find_pairs", "advise"),
    *("adjust_by_rule", "line_search", "expanding_square", "overshoot"),
}
BELOW = {"core", "answers"}
OF_A_COURSE_OR_A_GRID = {Path("course/answer_key.py"), Path("ground/map_frame.py")}
"""The key of a course is what was set, not what a log says; a grid reckons what it then places."""


def calls(file: Path) -> set[str]:
    """The names that a file calls."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    return {
        node.func.id
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }


def test_only_the_room_of_answers_works_an_answer_out() -> None:
    own = {
        f"{file.relative_to(SOURCE)}: {name}"
        for file in SOURCE.rglob("*.py")
        if file.relative_to(SOURCE).parts[0] not in BELOW
        and file.relative_to(SOURCE) not in OF_A_COURSE_OR_A_GRID
        for name in calls(file) & ASKED_IN_ANSWERS
    }
    assert own == set()
