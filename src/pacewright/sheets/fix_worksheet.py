"""The worksheet of a fix by bearings: where am I, and where is that, by protractor and pencil."""

from __future__ import annotations

from typing import Final

from pacewright.answers.estimate import Estimate
from pacewright.core.compass import back_azimuth, format_azimuth
from pacewright.core.log.travel_log import Sighting
from pacewright.sheets.blocks import (
    Block,
    Column,
    caution,
    fields,
    heading,
    keep,
    new_page,
    table,
    text,
    texts,
)
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.numbers import say_place
from pacewright.wording.sheets import PAPER_CAUTION, say_north
from pacewright.wording.sheets_field import FIX_INTERSECTION, FIX_RESECTION, FIX_UNTURNED, say_turned_to_grid

_BLANK_ROWS: Final = 5
_BLANK_ROWS_CARD: Final = 3
_MOST_SIGHTED: Final = 12
_CELL_MM: Final = 20.0
_CELL_CARD_MM: Final = 9.5


def fix_worksheet(paper: Paper, estimate: Estimate | None = None) -> Sheet:
    """The worksheet; of a log its bearings stand on it, with their back azimuths.

    Parameters
    ----------
    paper
        What it is printed on.
    estimate
        The log whose bearings are filled in, by the north of the map where the log says where it lies; the
        places are left to the pencil.
    """
    blocks: list[Block] = [caution(PAPER_CAUTION)]
    if estimate is not None:
        blocks += _sighted(estimate, paper)
    resection = [heading("Resection: where am I?"), *texts(FIX_RESECTION)]
    where_i_am = _form("mark that is known", ("read", "by map\nnorth", "back"), "I am at: east", paper)
    intersection = [heading("Intersection: where is that?"), *texts(FIX_INTERSECTION)]
    where_it_is = _form("where I stood", ("read", "by map\nnorth"), "It lies at: east", paper)
    if paper.is_card:
        blocks += [new_page(), *resection, *where_i_am, new_page(), *intersection, *where_it_is]
    else:
        blocks += [keep([*resection, *where_i_am]), keep([*intersection, *where_it_is])]
    return sheet("Fix by bearings", blocks)


def _form(first: str, readings: tuple[str, ...], found: str, paper: Paper) -> list[Block]:
    places = () if paper.is_card else ("east", "north")
    columns = [
        Column(first, 2.4),
        *(Column(head, 1.0) for head in readings),
        *(Column(head, 1.1) for head in places),
    ]
    count = _BLANK_ROWS_CARD if paper.is_card else _BLANK_ROWS
    form = table(columns, [[""] * len(columns)] * count, row_mm=6.5 if paper.is_card else 7.5)
    asked = [[(found, "", 1.3), ("north", "", 1.0)], [("How sure", "", 1.0)]]
    return [form, fields(asked[:1] if paper.is_card else asked, 8.0)]


def _sighted(estimate: Estimate, paper: Paper) -> list[Block]:
    log = estimate.log
    seen, names = list(log.sightings()), log.station_names()
    if not seen:
        return []
    turn_deg = _turn_to_grid_deg(estimate)
    wide = _CELL_CARD_MM if paper.is_card else _CELL_MM
    turned = () if turn_deg is None else ("grid",)
    figures = [Column(head, mm=wide, align="right", bold=True) for head in ("read", *turned, "back")]
    places = [Column("from: seen")] if paper.is_card else [Column("from", 1.4), Column("thing seen", 1.6)]
    rows = []
    for station, one in seen[:_MOST_SIGHTED]:
        ends = [say_place(names[station], station), one.name]
        rows.append([*([": ".join(ends)] if paper.is_card else ends), *_readings(one, turn_deg, estimate)])
    more = f"; {len(seen) - _MOST_SIGHTED} more stand in the log" if len(seen) > _MOST_SIGHTED else ""
    anchor = estimate.known.anchor
    told = (
        FIX_UNTURNED
        if turn_deg is None or anchor is None
        else say_turned_to_grid(turn_deg, log.heading.azimuth_unit, str(anchor.on_grid.zone))
    )
    return [
        heading(f"Bearings of the log, {say_north(log.heading)}{more}"),
        table([*places, *figures], rows),
        text(told),
    ]


def _readings(seen: Sighting, turn_deg: float | None, estimate: Estimate) -> list[str]:
    """What was read, by the map's north too where that is known, and back by the last of them."""
    on_map_deg = seen.azimuth_deg if turn_deg is None else (seen.azimuth_deg + turn_deg) % 360.0
    turned = [] if turn_deg is None else [on_map_deg]
    unit = estimate.log.heading.azimuth_unit
    return [format_azimuth(one, unit) for one in (seen.azimuth_deg, *turned, back_azimuth(on_map_deg))]


def _turn_to_grid_deg(estimate: Estimate) -> float | None:
    """What makes an azimuth of the log one by grid north; None where nothing says where it lies."""
    anchor, north = estimate.known.anchor, estimate.log.heading.azimuth_reference
    if anchor is None or (north == "magnetic" and not anchor.on_grid.knows_magnetic):
        return None
    return anchor.on_grid.norths.added_deg(north, "grid")
