"""Paper after a class: a debrief for every learner, several to a sheet for cutting; the class as a table."""

from __future__ import annotations

from typing import Final

from pacewright.course.class_report import ClassReport
from pacewright.course.course import Course
from pacewright.course.grading import Grade
from pacewright.course.likely_way import likely_way
from pacewright.drawing.own_walk import draw_own_walk
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import (
    Block,
    Column,
    beside,
    caution,
    heading,
    keep,
    lines,
    picture,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.class_debrief import YOUR_CAUTION, say_your_walk
from pacewright.wording.class_table import report_table
from pacewright.wording.teaching import CAUTION, kind_named, say_class, say_rule

_PICTURE_MM: Final = 82.0
_BESIDE_FROM_MM: Final = 150.0
"""On narrower paper the picture stands above the words."""
_SHARES: Final = (0.9, 2.0, 0.7, 1.8, 1.1, 1.4, 0.7, 1.7)
_NARROW: Final = (0, 1, 3, 5, 7)
_MOST_SLIPS: Final = 6


def debrief_slips(course: Course, report: ClassReport, paper: Paper, only: Grade | None = None) -> Sheet:
    """A debrief for every walk, written to the learner, each kept in one piece to be cut off.

    Parameters
    ----------
    course, report
        What was walked, and what it came to.
    paper
        What it is printed on.
    only
        One walk of the class; None for all of them.

    Raises
    ------
    ValueComplaint
        It does not fit such paper.
    """
    _needs_room(paper)
    walks = report.fit.grades if only is None else (only,)
    blocks = [_slip(course, report, one, paper, is_first=k == 0) for k, one in enumerate(walks)]
    return Sheet(f"{course.title}: how it went", tuple(blocks))


def _needs_room(paper: Paper) -> None:
    if paper.is_card:
        raise ValueComplaint("this does not fit a pocket card", "Take larger paper, such as A5")


def _slip(course: Course, report: ClassReport, one: Grade, paper: Paper, *, is_first: bool) -> Block:
    learner = report.fit.learner(one.handed.learner)
    told = say_your_walk(one, learner, has_way=likely_way(one) is not None)
    wide_mm = min(_PICTURE_MM, paper.text_width_mm)
    drawn = picture(draw_own_walk(course, one, wide_mm))
    words = [
        *([text(told.mark, bold=True)] if told.mark else []),
        *texts((*told.ended, *told.slip)),
        *([text(told.compare)] if told.compare else []),
        text(told.practise, bold=True),
        text(told.picture_key, size_em=0.85),
        text(YOUR_CAUTION, size_em=0.85),
    ]
    body: list[Block] = [drawn, *words]
    if paper.text_width_mm >= _BESIDE_FROM_MM:
        body = [beside([drawn], words, wide_mm)]
    head = heading(f"{one.handed.learner}: {course.title}, card {one.handed.card}", 1 if is_first else 2)
    return keep([head, *body, lines(1, 4.0)])


def class_table_sheet(course: Course, report: ClassReport, paper: Paper) -> Sheet:
    """The class at a glance as a sheet for the instructor.

    Raises
    ------
    ValueComplaint
        It does not fit such paper.
    """
    _needs_room(paper)
    heads, rows = report_table(report)
    # On narrow paper the heads of all columns would not stand between their rules.
    shown = range(len(heads)) if paper.text_width_mm >= _BESIDE_FROM_MM else _NARROW
    columns = [Column(heads[k], _SHARES[k], bold=heads[k] in ("learner", "mark"), size_em=0.9) for k in shown]
    slips = [
        f"{kind_named(kind)} ({seen:.0f})"
        for kind, seen, _ in report.common_slips[:_MOST_SLIPS]
        if seen >= 0.5
    ]
    blocks: list[Block] = [
        text("For the instructor alone.", bold=True),
        *texts(say_class(report.fit)),
        table(columns, [[row[k] for k in shown] for row in rows], heavy_every=5),
        *([text(f"Slips seen, the commonest first: {', '.join(slips)}.")] if slips else []),
        text(f"How it was marked: {say_rule(report.fit.grades[0].rule)}", size_em=0.9),
        caution(CAUTION),
    ]
    return sheet(f"{course.title}: the class", blocks)
