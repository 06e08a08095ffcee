"""The traverse table on paper: how to use it, a log worked with it, and its pages, evenly filled."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from pacewright.core.compass import AzimuthUnit, to_degrees
from pacewright.core.log.travel_log import TravelLog
from pacewright.sheets.blocks import Block, Column, heading, keep, lines, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.sheets.traverse_columns import part_tables
from pacewright.sheets.traverse_table import WorkedLeg, WorkedWay, part, worked_way
from pacewright.wording.numbers import say_whole
from pacewright.wording.sheets import PAPER_CAUTION, say_north

MOST_WORKED_LEGS: Final = 12
MOST_WORKED_LEGS_CARD: Final = 5
"""On a pocket card, whose panel holds no more."""

_HOW: Final = (
    "Find the row by the azimuth: the four columns on the left are the four quarters of the circle, and the "
    "signs above them tell whether a part goes north (+) or south (-), east (+) or west (-).",
    "Take the count apart into its digits: 240 is 200 and 40. Under 2 stands the part of 2; moved two "
    "places it is the part of 200. Add the parts of all digits, with their signs, to north and to east.",
    "Sum north and east over all legs: that is where the last station lies from the start.",
    "Back: turn both signs round. Divide the smaller by the larger and look in the column small/large for "
    "the row (above 45 degrees, or its like, east or west is the larger); the signs pick the quarter. The "
    "distance is north times its part of 1 plus east times its part of 1 in that row, both taken as plus.",
)


def traverse_sheet(log: TravelLog, paper: Paper, unit: AzimuthUnit | None = None) -> Sheet:
    """Give the table and how to use it, with a log worked on the page.

    Parameters
    ----------
    log
        Worked as the example; a long one is left out of the page, not of the sums.
    paper
        What it is printed on.
    unit
        Of the table; by default that of the log. The example is worked only in the log's own.
    """
    unit = unit or log.heading.azimuth_unit
    blocks: list[Block] = [*texts(_HOW, size_em=0.9)]
    if unit == log.heading.azimuth_unit:
        blocks += _example(log, paper)
    said = text(PAPER_CAUTION, size_em=0.85)
    # Below the table of a card it would have a panel to itself.
    parts = [said, *part_tables(unit, paper)] if paper.is_card else [*part_tables(unit, paper), said]
    return sheet("Traverse table", [*blocks, *parts])


def _example(log: TravelLog, paper: Paper) -> list[Block]:
    worked = worked_way(log)
    title = log.heading.title or "a log"
    shown = worked.legs[: MOST_WORKED_LEGS_CARD if paper.is_card else MOST_WORKED_LEGS]
    columns = [
        Column("leg", mm=7, align="right"),
        Column(f"azimuth\n{say_north(log.heading)}", 1.4, align="right", bold=True),
        Column(f"count\n{log.heading.count_unit}", 1.2, align="right", bold=True),
        Column("digits", 1.6),
        Column("north", 1.3, align="right"),
        Column("east", 1.3, align="right"),
    ]
    rows = [
        [
            str(i),
            str(leg.azimuth),
            str(leg.count),
            " + ".join(map(str, leg.digits)),
            _signed(leg.north),
            _signed(leg.east),
        ]
        for i, leg in enumerate(shown, start=1)
    ]
    if len(worked.legs) > len(shown):
        rows.append(["", "", "", f"{len(worked.legs) - len(shown)} more legs", "", ""])
    rows.append(["", "", "", "sum", _signed(worked.north), _signed(worked.east)])
    first = worked.legs[0]
    said = [f"Leg 1, {first.azimuth}: {_said_leg(first, log.heading.azimuth_unit)}.", _said_back(worked, log)]
    return [
        keep([heading(f"Worked: {title}"), table(columns, rows, row_mm=0.0, pad_mm=0.7)]),
        *texts(said, size_em=0.9),
        keep([text("Your own:", size_em=0.9), lines(5, 7.0)]),
    ]


def _said_leg(leg: WorkedLeg, unit: AzimuthUnit) -> str:
    azimuth_deg = to_degrees(leg.azimuth, unit)
    said = []
    for name, to_north, total in (("north", True, leg.north), ("east", False, leg.east)):
        parts = [
            f"{part(azimuth_deg, int(str(one)[0]), to_north=to_north)} x {10 ** (len(str(one)) - 1)}"
            for one in leg.digits
        ]
        said.append(f"{name} {' + '.join(parts) or '0'} = {_signed(total)}")
    return "; ".join(said)


def _said_back(worked: WorkedWay, log: TravelLog) -> str:
    small, large = sorted((abs(worked.north), abs(worked.east)))
    row_deg = to_degrees(worked.back_azimuth, log.heading.azimuth_unit)
    of_north, of_east = (part(row_deg, 1, to_north=way) for way in (True, False))
    return (
        f"Back: north {_signed(-worked.north)}, east {_signed(-worked.east)}; {small} / {large} = "
        f"{worked.ratio}, nearest to the row of {worked.back_azimuth}; {abs(worked.north)} x {of_north} + "
        f"{abs(worked.east)} x {of_east} = {say_whole(float(worked.back_distance))} {log.heading.count_unit}."
    )


def _signed(value: Decimal) -> str:
    return f"{value:+.1f}" if round(value, 1) else "0.0"
