"""Worksheets of paper drills, and their keys."""

from __future__ import annotations

from typing import Final

from pacewright.course.drills.making import Worksheet
from pacewright.course.drills.plotted import METRES_A_MM, ROOM_MM, SQUARE_MM
from pacewright.course.drills.problem import Answer, Problem
from pacewright.drawing.drill_squares import NamedPoint, draw_squares
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, Column, at_exact_scale, fields, keep, table, text
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.paper_drills import (
    ACCURACY,
    HOW,
    NUMBERS_OWN,
    SOURCES,
    TITLES,
    say_asked,
    say_choices,
    say_problem,
    say_value,
    say_within,
)

_SQUARES_MM: Final = (ROOM_MM[0] + SQUARE_MM, ROOM_MM[1] + SQUARE_MM)
_ROW_MM: Final = 6.5


def worksheet(made: Worksheet, paper: Paper) -> Sheet:
    """A worksheet: problems with room for the answers.

    Raises
    ------
    ValueComplaint
        It does not fit such paper.
    """
    _needs_room(paper)
    blocks: list[Block] = [
        fields([[("Name", "", 1.6), ("Date", "", 1.0), ("Right", "", 0.7)]], 7.0),
        text(HOW[made.kind]),
    ]
    if all(len(problem.answers) == 1 and _is_short(problem) for problem in made.problems):
        blocks.append(_short_table(made))
    else:
        blocks += [_asked(number, problem, paper) for number, problem in enumerate(made.problems, start=1)]
    blocks.append(text(f"{SOURCES[made.kind]} {NUMBERS_OWN}", size_em=0.8))
    return sheet(_title(made), blocks)


def _title(made: Worksheet) -> str:
    return f"{TITLES[made.kind]}: level {made.level}, sheet {made.seed}"


def _needs_room(paper: Paper) -> None:
    if paper.is_card:
        raise ValueComplaint("a worksheet does not fit a pocket card", "Take larger paper, such as A5")


def _is_short(problem: Problem) -> bool:
    return problem.kind in ("back", "cord", "declination")


def _short_table(made: Worksheet) -> Block:
    columns = [
        Column("no.", mm=9, align="right"),
        Column("question", 2.4, size_em=1.1),
        Column(say_asked(made.problems[0].answers[0]) if made.kind != "declination" else "answer", 1.0),
    ]
    rows = [[str(k), say_problem(problem), ""] for k, problem in enumerate(made.problems, start=1)]
    return table(columns, rows, row_mm=9.0)


def _asked(number: int, problem: Problem, paper: Paper) -> Block:
    parts: list[Block] = [text(f"{number}. {say_problem(problem)}", bold=True)]
    if problem.rows:
        parts.append(_rows(problem))
    if problem.kind in ("plot", "resection"):
        parts.append(at_exact_scale(_squares(problem), paper.room_mm, "squared paper"))
    parts.append(fields([[(_line(answer), "", 1.0) for answer in problem.answers]], 8.0))
    return keep(parts)


def _line(answer: Answer) -> str:
    choices = say_choices(answer)
    return f"{say_asked(answer)} ({' / '.join(choices)})" if choices else say_asked(answer)


def _rows(problem: Problem) -> Block:
    columns = [
        Column("leg", mm=9, align="right"),
        Column("azimuth", mm=20, align="right", bold=True),
        Column("count", mm=20, align="right", bold=True),
    ]
    more = 0
    if problem.kind == "slip":
        columns += [Column("paces east", 1.0), Column("paces north", 1.0)]
        more = 2
    rows = [[str(k), str(a), str(c), *[""] * more] for k, (a, c) in enumerate(problem.rows, start=1)]
    if problem.kind == "slip":
        rows.append(["", "", "sum", "", ""])
    return table(columns, rows, row_mm=_ROW_MM if problem.kind == "slip" else 5.0)


def _squares(problem: Problem) -> str:
    given = problem.given
    if problem.kind == "plot":
        return draw_squares(_SQUARES_MM, [("start", (given["start_x_mm"], given["start_y_mm"]))])
    marks: list[NamedPoint] = [
        (letter, (given[f"east_{k}"] / METRES_A_MM, given[f"north_{k}"] / METRES_A_MM))
        for k, letter in enumerate("ABC", start=1)
        if f"east_{k}" in given
    ]
    return draw_squares(_SQUARES_MM, marks if len(marks) == 2 else (), METRES_A_MM)


def answer_sheet(made: Worksheet, paper: Paper) -> Sheet:
    """The key of a worksheet: every answer, and how far off still counts.

    Raises
    ------
    ValueComplaint
        It does not fit such paper.
    """
    _needs_room(paper)
    columns = [
        Column("no.", mm=9, align="right", bold=True),
        Column("asked", 1.6),
        Column("answer", 1.4, bold=True),
        Column("still right", 1.0),
    ]
    rows = [
        [str(number) if first else "", say_asked(answer), say_value(answer), say_within(answer)]
        for number, problem in enumerate(made.problems, start=1)
        for first, answer in zip([True, *[False] * len(problem.answers)], problem.answers, strict=False)
    ]
    blocks: list[Block] = [
        text("For the instructor alone.", bold=True),
        table(columns, rows),
        text(ACCURACY, size_em=0.9),
        text(f"{SOURCES[made.kind]} {NUMBERS_OWN}", size_em=0.9),
    ]
    return sheet(f"{_title(made)}: key", blocks)
