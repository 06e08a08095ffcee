"""A learner over weeks on one page: the picture, a table a kind of course, what changed."""

from __future__ import annotations

from collections.abc import Sequence

from pacewright.course.progress import Day, find_progress
from pacewright.drawing.progress_chart import draw_progress
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, Column, caution, heading, picture, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.progress import LEANS, UNLIKE, day_tables, say_progress
from pacewright.wording.teaching import CAUTION


def progress_sheet(learner: str, days: Sequence[Day], paper: Paper) -> Sheet:
    """The sheet of a learner over weeks.

    Raises
    ------
    ValueComplaint
        It does not fit such paper, or there is no day.
    """
    if paper.is_card:
        raise ValueComplaint("this does not fit a pocket card", "Take larger paper, such as A5")
    if not days:
        raise ValueComplaint(f"nothing of {learner} was handed in", "Hand in a walk first")
    blocks: list[Block] = []
    if any(day.fit is not None for day in days):
        blocks.append(picture(draw_progress(days, paper.text_width_mm)))
        blocks.append(text("Filled: fields of stakes. Open: courses among posts.", size_em=0.85))
    blocks += texts(say_progress(find_progress(days)))
    for name, (heads, rows) in day_tables(days):
        columns = [Column(head, 1.8 if head in ("slips", "course") else 1.2, size_em=0.85) for head in heads]
        blocks += [heading(name), table(columns, rows)]
    blocks += [text(f"{LEANS} {UNLIKE}", size_em=0.85), caution(CAUTION)]
    return sheet(f"{learner} over time", blocks)
