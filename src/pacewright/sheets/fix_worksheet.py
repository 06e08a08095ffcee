"""The worksheet of a fix by bearings: where am I, and where is that, by protractor and pencil."""

from __future__ import annotations

from typing import Final

from pacewright.core.compass import back_azimuth, format_azimuth
from pacewright.core.log.travel_log import TravelLog
from pacewright.sheets.blocks import Block, Column, caution, heading, keep, lines, new_page, table, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.numbers import say_place
from pacewright.wording.sheets import PAPER_CAUTION, say_north
from pacewright.wording.sheets_field import FIX_INTERSECTION, FIX_RESECTION

_BLANK_ROWS: Final = 5
_MOST_SIGHTED: Final = 12


def fix_worksheet(paper: Paper, log: TravelLog | None = None) -> Sheet:
    """The worksheet; of a log its bearings stand on it, with their back azimuths.

    Parameters
    ----------
    paper
        What it is printed on.
    log
        Whose bearings are filled in; the places are left to the pencil.
    """
    blocks: list[Block] = [caution(PAPER_CAUTION)]
    if log is not None:
        blocks += _sighted(log, paper)
    for title, told, first in (
        ("Resection: where am I?", FIX_RESECTION, "mark that is known"),
        ("Intersection: where is that?", FIX_INTERSECTION, "where I stood"),
    ):
        form = [heading(title), *texts(told), _form(first, paper)]
        blocks += [new_page(), *form] if paper.is_card else [keep([*form, lines(2, 7.0)])]
    return sheet("Fix by bearings", blocks)


def _form(first: str, paper: Paper) -> Block:
    heads: tuple[str, ...] = (first, "read", "by map\nnorth", "back", "east", "north")
    shares: tuple[float, ...] = (2.4, 0.9, 1.1, 0.9, 1.1, 1.1)
    if paper.is_card:
        heads, shares = heads[:4], shares[:4]
    columns = [Column(head, share) for head, share in zip(heads, shares, strict=True)]
    rows = [["" for _ in heads] for _ in range(_BLANK_ROWS)]
    return table(columns, rows, row_mm=7.5)


def _sighted(log: TravelLog, paper: Paper) -> list[Block]:
    seen, names, unit = list(log.sightings()), log.station_names(), log.heading.azimuth_unit
    if not seen:
        return []
    columns = [
        Column("from", 1.4),
        Column("thing seen", 1.6),
        Column("read", mm=11 if paper.is_card else 20, align="right", bold=True),
        Column("back", mm=11 if paper.is_card else 20, align="right", bold=True),
    ]
    rows = [
        [
            say_place(names[station], station),
            one.name,
            format_azimuth(one.azimuth_deg, unit),
            format_azimuth(back_azimuth(one.azimuth_deg), unit),
        ]
        for station, one in seen[:_MOST_SIGHTED]
    ]
    more = f"; {len(seen) - _MOST_SIGHTED} more stand in the log" if len(seen) > _MOST_SIGHTED else ""
    return [heading(f"Bearings of the log, {say_north(log.heading)}{more}"), table(columns, rows)]
