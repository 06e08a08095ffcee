"""The sheet of a search on a terrain: where you may be, what to look for there, and a map of each place."""

from __future__ import annotations

from typing import Final

from pacewright.answers.locate import LocateAnswer
from pacewright.drawing.located_map import draw_located, drawn_places
from pacewright.exceptions import ValueComplaint
from pacewright.ground.grid_text import format_place
from pacewright.sheets.blocks import Block, Column, caution, heading, new_page, picture, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.sheets.room_taken import body_mm, heights_mm
from pacewright.wording.locating import LOCATE_CAUTION, say_chance_of, say_located
from pacewright.wording.sheets import say_whose_log

SMALL_EM: Final = 0.9
_SLACK_MM: Final = 2.0


def located_sheet(answer: LocateAnswer, paper: Paper, *, scale: float | None = None) -> Sheet:
    """The places where a log fits, then each on a map page of its own.

    Parameters
    ----------
    answer
        The search.
    paper
        What it is printed on; no card.
    scale
        Of the maps, such as 10000 for 1:10000; None for one that fits the page.

    Raises
    ------
    ValueComplaint
        The paper is a card, or the scale shows no whole figure on the page.
    """
    if paper.is_card:
        raise ValueComplaint("a map of a search has no room on a card", "Take a4, letter or a5")
    title = f"Where this was walked: {answer.log.heading.title or 'travel log'}"
    said = [one for one in say_located(answer) if one != LOCATE_CAUTION]
    blocks: list[Block] = [
        text(say_whose_log(answer.log, answer.walker), size_em=SMALL_EM),
        caution(LOCATE_CAUTION),
        *texts(said),
        *_places(answer),
    ]
    for number in drawn_places(answer):
        blocks += _map_page(answer, number, paper, scale)
    return sheet(title, blocks)


def _places(answer: LocateAnswer) -> list[Block]:
    if not answer.candidates:
        return []
    columns = [
        Column("place", mm=12.0, align="right"),
        Column("chance", share=1.2, align="right"),
        Column("now", share=2.4, bold=True),
        Column("start", share=2.4),
    ]
    rows = [
        (
            str(number),
            say_chance_of(one.probability),
            format_place(one.now, "mgrs"),
            format_place(one.start, "mgrs"),
        )
        for number, one in enumerate(answer.candidates, start=1)
    ]
    return [heading("Places"), table(columns, rows)]


def _map_page(answer: LocateAnswer, number: int, paper: Paper, scale: float | None) -> list[Block]:
    told = heading(f"Place {number + 1}")
    wide, _ = paper.room_mm
    high = body_mm(paper) - heights_mm([told], paper) - _SLACK_MM
    return [new_page(), told, picture(draw_located(answer, number, scale=scale, page_mm=(wide, high)))]
