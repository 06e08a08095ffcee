"""The marking sheet of a course: who came in where. Its head has the corner marks of a log page."""

from __future__ import annotations

from pacewright.course.course import Course
from pacewright.course.ending import stands_on_line
from pacewright.drawing.log_grid import HEAD_MM, MARKING_GRIDS, grid_of_width
from pacewright.drawing.page_marks import draw_marking_marks
from pacewright.sheets.blocks import Block, Column, fields, over, picture, table, text
from pacewright.sheets.paper import Paper, Sheet, sheet


def marking_sheet(course: Course, paper: Paper) -> Sheet:
    """The sheet on which the instructor writes down who came in where."""
    by_line = course.kind != "posts" and stands_on_line(course.posts)
    sides = ("m along", "m off, to the right") if by_line else ("m east", "m north")
    columns = [
        Column("card", mm=9, align="right", bold=True),
        Column("name", share=1.8),
        Column("starts", share=0.9, size_em=0.9),
        Column("start\nminute", mm=12, align="right", size_em=0.85),
        Column("in at", mm=12),
        Column("stands at", share=1.0),
        *(Column(side, mm=13, size_em=0.85) for side in sides),
        Column("minutes\nout", mm=13, size_em=0.85),
        Column("pace\ncount", mm=12, size_em=0.85),
        *([Column("words", share=1.2, size_em=0.85)] if course.kind == "posts" else []),
        Column("mark", mm=10),
    ]
    blank = 8 if course.kind == "posts" else 7
    rows = [
        [str(card.number), "", card.start, f"{card.start_minute:g}", *[""] * blank] for card in course.cards
    ]
    blocks = [
        text("Everybody who went out must be ticked in before anybody leaves.", bold=True),
        _marking_head(course, paper),
        table(columns, rows, row_mm=7.5),
        fields([[("Went out", "", 1.0), ("Came in", "", 1.0), ("Closed at", "", 1.0)]], 9.0),
    ]
    return sheet(f"{course.title}: marking sheet", blocks)


def _marking_head(course: Course, paper: Paper) -> Block:
    """Date, group and instructor, within corner marks: a photograph of the sheet is known for what it is."""
    grid = grid_of_width(paper.text_width_mm, MARKING_GRIDS)
    asked = [("Date", 1.0), ("Group", 1.5), ("Instructor", 1.5)]
    if grid is None:
        return fields([[(label, "", share) for label, share in asked]], 8.0)
    # The marks stand in the head of the table, at both its ends.
    columns = [Column("", mm=9.0), *(Column(label, share) for label, share in asked), Column("", mm=9.0)]
    head = table(columns, [[""] * len(columns)], pad_mm=0.0, exact_mm=(HEAD_MM, grid.row_mm))
    return over(picture(draw_marking_marks(grid, course.cards[-1].number)), head)
