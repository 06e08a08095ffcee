"""Log pages: three columns with room for the pencil, blank or as a log was written."""

from __future__ import annotations

from typing import Final

from pacewright.core.log.log_heading import format_heading
from pacewright.core.log.travel_log import Leg, TravelLog
from pacewright.drawing.log_grid import DIGITS, HEAD_MM, LogGrid, grid_of_card, grid_of_width
from pacewright.drawing.page_code import MOST_CARD_PAGES, MOST_CARDS
from pacewright.drawing.page_marks import draw_log_marks
from pacewright.sheets.blocks import (
    Block,
    Column,
    fields,
    heading,
    keep,
    new_page,
    over,
    picture,
    table,
    text,
)
from pacewright.sheets.paper import Paper, PaperName, Sheet, sheet
from pacewright.wording.sheets import PAPER_CAUTION, say_north

BLANK_ROWS: Final[dict[PaperName, int]] = {
    "a4": 23,
    "letter": 21,
    "a5": 15,
    "pocket": 70,
    "pocket-letter": 70,
}

_ROW_MM: Final = 7.0
_KEY: Final = (
    ("[at NAME]", "the leg ends at NAME"),
    ("[see NAME]", "bearing from here; no count"),
    ("[back 126]", "read back along the leg"),
    ("[box right 40]", "boxed, 40 out and back; or left"),
    ("[est 15%]", "estimated, not counted"),
    ("[ground brush]", "a class of the pace table"),
    ("[up] [level] [down]", "lie of the leg"),
    ("[cross stream] [no stream]", "on the leg"),
    ("[on ridge] [in valley]", "or [on slope] [on stream]"),
    ("[faces NE] [flat] [slope 9 %]", "ground at the station"),
    ("[alt 512 m] [time 14:32]", "height; time of day"),
    ("[was 52] [or 58 20%]", "struck out; unclear"),
)
_CARD_TOLD: Final = (
    "One digit a box, a row a leg. Tick a remark, or write it in [ ]; all else is prose. A pace is two steps."
)
_TICK_HEADS: Final = ("at", "see", "box\nL", "box\nR", "est")
_HEADING_LABELS: Final = ("title", "date", "walker", "start", "azimuth", "count", "declination", "known")


def blank_log(paper: Paper, pages: int = 1) -> Sheet:
    """Blank log pages with numbered rows, a heading box, and the key of the remarks at the foot.

    Parameters
    ----------
    paper
        What they are printed on.
    pages
        How many; the numbers of the rows run on.
    """
    rows = BLANK_ROWS[paper.name]
    grid = grid_of_width(paper.text_width_mm)
    blocks: list[Block] = []
    for page in range(pages):
        start = 1 + page * rows
        numbers = range(start, start + rows)
        if page:
            blocks.append(new_page())
        blocks.append(_heading_box({}, paper))
        if grid is None:
            numbered = [[str(number), "", "", ""] for number in numbers]
            blocks.append(_rows(numbered, paper, before=start - 1))
        else:
            blocks.append(_boxes(numbers, grid, page + 1))
        blocks.append(_key(paper, is_boxed=grid is not None))
    return sheet("Travel log", blocks)


def blank_logs(paper: Paper, pages: int = 1) -> list[Sheet]:
    """So many blank pages: of a card every page is a card of its own, its rows numbered from 1."""
    return [blank_log(paper)] * pages if paper.is_card else [blank_log(paper, pages)]


def card_log(title: str, card: int, legs: int, paper: Paper) -> list[Block]:
    """The log of one course card, its number in the page code: to stand below it, or on pages of its own.

    Parameters
    ----------
    title, card
        Of the course, and the number of the card. One beyond 255 stands in the heading alone.
    legs
        How many it has.
    paper
        What it is printed on; on a pocket card there is none.
    """
    grid = grid_of_card(paper.text_width_mm, legs)
    if grid is None:
        return []
    blocks: list[Block] = []
    for page in range(min(-(-legs // grid.rows), MOST_CARD_PAGES)):
        numbers = range(1 + page * grid.rows, 1 + (page + 1) * grid.rows)
        made = _boxes(numbers, grid, page + 1, card if card <= MOST_CARDS else 0)
        blocks.append(keep([heading(f"{title}: log of card {card}"), made, text(_CARD_TOLD, size_em=0.8)]))
    return blocks


def filled_log(log: TravelLog, paper: Paper) -> Sheet:
    """A log on its pages, every cell to the letter; legs carry their numbers."""
    rows, leg = [], 0
    for row in log.rows:
        is_leg = isinstance(row, Leg)
        leg += is_leg
        rows.append([str(leg) if is_leg else "", row.cells.azimuth, row.cells.count, row.cells.notes])
    return sheet(
        log.heading.title or "Travel log",
        [
            _heading_box(_values(log), paper),
            _rows(rows, paper, head="leg", read=say_north(log.heading)),
            _key(paper),
        ],
    )


def _values(log: TravelLog) -> dict[str, str]:
    values: dict[str, str] = {}
    for line in format_heading(log.heading):
        key, _, value = line.partition(": ")
        # Several known places stand in one box, one after the other.
        values[key] = f"{values[key]}; {value}" if key in values else value
    return values


def _heading_box(values: dict[str, str], paper: Paper) -> Block:
    filled = {label: values.get(label, "") for label in _HEADING_LABELS}
    hints = {
        "azimuth": "azimuth (magnetic/true/grid, degrees/mils/gon)",
        "count": "count (paces/steps/m)",
    }
    labels = {label: label if values else hints.get(label, label) for label in _HEADING_LABELS}
    pairs = (
        [("title",), ("walker", "date"), ("azimuth",), ("count", "declination"), ("start", "known")]
        if paper.is_narrow
        else [("title", "date"), ("walker", "start"), ("azimuth", "count"), ("declination", "known")]
    )
    made = [[(labels[one], filled[one], _SHARES.get(one, 1.0)) for one in row] for row in pairs]
    return fields(made, height_mm=5.0 if paper.is_card else 5.4 if paper.is_narrow else 6.0)


_SHARES: Final = {"title": 2.0, "walker": 2.0, "azimuth": 1.3, "known": 2.0, "start": 1.7}


def _rows(
    rows: list[list[str]],
    paper: Paper,
    *,
    head: str = "no.",
    read: str = "",
    before: int = 0,
) -> Block:
    width = paper.room_mm[0]
    read = read.split()[-1] if paper.is_card and read else read
    number, azimuth, count = (7.0, 12.2, 11.5) if paper.is_card else (9.0, 0.13 * width, 0.13 * width)
    columns = [
        Column(head, mm=number, align="right", size_em=0.82),
        Column(f"azimuth\n{read}" if read else "azimuth", mm=azimuth, align="right", bold=True, size_em=1.15),
        Column("count", mm=count, align="right", bold=True, size_em=1.15),
        Column("notes"),
    ]
    return table(
        columns,
        rows,
        row_mm=_ROW_MM - 1.6,
        heavy_every=5,
        heavy_from=before,
    )


def _boxes(numbers: range, grid: LogGrid, page: int, card: int = 0) -> Block:
    """The rows of a blank page that can be read from a photograph: a box a digit, boxes to tick."""
    digits = DIGITS * grid.digit_mm
    columns = [
        Column("", mm=grid.azimuth_mm, align="right", size_em=0.82),
        Column("azimuth", mm=digits),
        Column("count", mm=digits),
        *(Column(head, mm=grid.tick_mm, align="center", rule=head == _TICK_HEADS[0]) for head in _TICK_HEADS),
        Column("notes"),
    ]
    rows = [[str(number), *[""] * (len(columns) - 1)] for number in numbers]
    made = table(
        columns,
        rows,
        pad_mm=0.0,
        heavy_every=5,
        heavy_from=numbers.start - 1,
        exact_mm=(HEAD_MM, grid.row_mm),
    )
    return over(picture(draw_log_marks(grid, page, card)), made)


def _key(paper: Paper, *, is_boxed: bool = False) -> Block:
    if paper.is_narrow:
        told = " ".join(remark for remark, _ in _KEY)
        boxed = "One digit a box. " if is_boxed else ""
        said = f"{boxed}Remarks: {told}. All else in the notes is prose. A pace is two steps."
        return text(f"{said}\n{PAPER_CAUTION}", size_em=0.85)
    half = len(_KEY) // 2
    columns = [
        Column("remark", mm=45.0, size_em=0.76, rule=False),
        Column("means", size_em=0.76, rule=False),
    ]
    rows = [[*first, *second] for first, second in zip(_KEY[:half], _KEY[half:], strict=True)]
    told = (
        "One digit a box. Tick a remark, or write it in [ ]; all else is prose. A pace is two steps."
        if is_boxed
        else "Remarks in square brackets; all else in the notes is prose. A pace is two steps."
    )
    return keep([text(f"{told}\n{PAPER_CAUTION}", size_em=0.8), table(columns * 2, rows, pad_mm=0.5)])
