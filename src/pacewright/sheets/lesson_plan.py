"""A lesson plan for a first day, from the course file: times, kit, ground, drills in order, cautions."""

from __future__ import annotations

from pacewright.course.course import Course
from pacewright.course.free_ground import free_ground
from pacewright.sheets.blocks import Block, Column, caution, fields, heading, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.course_cards import say_barred
from pacewright.wording.lesson import (
    PLAN_CAUTIONS,
    PRACTICE,
    kit_rows,
    plan_rows,
    say_free_ground,
    say_length_of_day,
)
from pacewright.wording.safety_words import say_timing


def lesson_plan(course: Course, paper: Paper) -> Sheet:
    """The lesson plan of a first day with a course."""
    rows = plan_rows(course)
    blocks: list[Block] = [
        fields(
            [[("Date", "", 1.0), ("Instructor", "", 1.5), ("Learners", "", 0.8), ("Begins", "", 0.8)]], 7.0
        ),
        heading("The day in order"),
        table(
            [
                Column("minute", mm=15, align="right"),
                Column("lasts", mm=13, align="right"),
                Column("what", bold=False),
            ],
            rows,
        ),
        text(f"{say_length_of_day(rows)} {say_timing(course)}", size_em=0.9),
        heading("Kit"),
        table([Column("how many", mm=20, align="right"), Column("what")], kit_rows(course)),
        heading("Ground"),
        *texts(say_barred(course), bold=True),
        text(say_free_ground(free_ground(course))),
        heading("Cautions"),
        *texts(PLAN_CAUTIONS[:-1]),
        caution(PLAN_CAUTIONS[-1]),
        text(PRACTICE, size_em=0.85),
    ]
    return sheet(f"{course.title}: first day", blocks)
