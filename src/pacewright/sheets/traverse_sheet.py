"""The traverse table on paper: how to use it, a log worked with it, and its pages, evenly filled."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from pacewright.answers.estimate import Estimate
from pacewright.answers.way import WayAsked, answer_way
from pacewright.core.compass import AzimuthUnit, to_degrees
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.tally import whole_count
from pacewright.exceptions import Complaint
from pacewright.sheets.blocks import Block, Column, caution, heading, keep, table, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.sheets.traverse_columns import part_tables
from pacewright.sheets.traverse_form import own_form
from pacewright.sheets.traverse_table import WorkedLeg, WorkedWay, part, part_of_one, worked_way
from pacewright.wording.estimate import say_condemned, say_pencil_sum
from pacewright.wording.numbers import say_azimuth, say_length, say_place, say_whole
from pacewright.wording.sheets import PAPER_CAUTION, say_north

MOST_WORKED_LEGS: Final = 12
MOST_WORKED_LEGS_CARD: Final = 5
"""On a pocket card, whose panel holds no more."""

_FIND: Final = (
    "Find the row by the azimuth: the four columns on the left are the four quarters of the circle, and the "
    "signs above them tell whether a part goes north (+) or south (-), east (+) or west (-)."
)
_SUM: Final = "Sum north and east over all legs: that is where the last station lies from the start."
_BACK: Final = (
    "Back: turn both signs round. Divide the smaller by the larger and look in the column small/large for "
    "the row (above 45 degrees, or its like, east or west is the larger); the signs pick the quarter. The "
    "distance is north times its part of 1 plus east times its part of 1 in that row, both taken as plus."
)
_HOW: Final = (
    _FIND,
    "Take the count apart into its digits: 240 is 200 and 40. Under 2 stands the part of 2; moved two "
    "places it is the part of 200. Add the parts of all digits, with their signs, to north and to east.",
    _SUM,
    _BACK,
)
_HOW_ON_CARD: Final = (
    _FIND,
    "Multiply the count by north of 1 and by east of 1 in that row: so far the leg goes north or south, east "
    "or west, with the signs of its quarter.",
    _SUM,
    _BACK.replace("small/large", "s/l"),
)


def traverse_sheet(estimate: Estimate, paper: Paper, unit: AzimuthUnit | None = None) -> Sheet:
    """The table and how to use it, with a log worked on the page.

    Parameters
    ----------
    estimate
        Of the log that is worked as the example; a long one is left out of the page, not of the sums.
    paper
        What it is printed on.
    unit
        Of the table; by default that of the log. The example is worked only in the log's own.
    """
    log = estimate.log
    unit = unit or log.heading.azimuth_unit
    how = _HOW_ON_CARD if paper.is_card else _HOW
    blocks: list[Block] = [caution(PAPER_CAUTION), *texts(how, size_em=0.9)]
    if unit == log.heading.azimuth_unit:
        blocks += _example(estimate, paper)
    tables = part_tables(unit, paper)
    return sheet("Traverse table", [*blocks, *tables, *own_form(paper, unit)])


def _example(estimate: Estimate, paper: Paper) -> list[Block]:
    log, walker = estimate.log, estimate.walker
    worked = worked_way(log, walker, by_one=paper.is_card)
    counted = f"{estimate.written.frame.unit}s"
    title = log.heading.title or "a log"
    shown = worked.legs[: MOST_WORKED_LEGS_CARD if paper.is_card else MOST_WORKED_LEGS]
    pencilled = [leg.cells.count.strip() for leg in log.legs]
    # A column for the count as written, where ground or steps make another of it.
    is_brought = any(
        leg.count != whole_count(own.count) for leg, own in zip(worked.legs, log.legs, strict=True)
    )
    written = [Column(f"count\n{log.heading.count_unit}", 1.2, align="right")] if is_brought else []
    read, ordinary = say_north(log.heading), "ord." if paper.is_card else "ordinary"
    columns = [
        Column("leg", mm=6 if paper.is_card else 7, align="right"),
        Column("azi-\nmuth" if paper.is_card else f"azimuth\n{read}", 1.1, align="right", bold=True),
        *written,
        Column(f"{ordinary if is_brought else 'count'}\n{counted}", 1.2, align="right", bold=True),
        *([] if paper.is_card else [Column("digits", 1.6)]),
        Column("north", 1.55, align="right"),
        Column("east", 1.55, align="right"),
    ]
    rows = [
        [
            str(i),
            str(leg.azimuth),
            *pencilled[i - 1 : i][: len(written)],
            str(leg.count),
            *([] if paper.is_card else [" + ".join(map(str, leg.digits))]),
            _signed(leg.north),
            _signed(leg.east),
        ]
        for i, leg in enumerate(shown, start=1)
    ]
    blank = [""] * (len(columns) - 4)
    if len(worked.legs) > len(shown):
        rows.append([*blank, "more legs:", str(len(worked.legs) - len(shown)), "", ""])
    rows.append([*blank, "sum", "", _signed(worked.north), _signed(worked.east)])
    first = worked.legs[0]
    said = [
        f"Leg 1, {first.azimuth}: {_said_leg(first, log.heading.azimuth_unit, by_one=paper.is_card)}.",
        *_said_brought(is_brought, counted),
        _said_back(worked, log, counted, by_one=paper.is_card),
        f"{say_pencil_sum(estimate)} {_said_estimate(estimate)}",
    ]
    return [
        *map(caution, say_condemned(estimate)),
        keep(
            [
                heading(f"Worked, the pencil's own sum: {title}"),
                table(columns, rows, row_mm=0.0, pad_mm=0.7),
            ]
        ),
        *texts(said, size_em=0.9),
    ]


def _said_leg(leg: WorkedLeg, unit: AzimuthUnit, *, by_one: bool) -> str:
    azimuth_deg = to_degrees(leg.azimuth, unit)
    said = []
    for name, to_north, total in (("north", True, leg.north), ("east", False, leg.east)):
        if by_one:
            one = part_of_one(azimuth_deg, unit, to_north=to_north)
            said.append(f"{name} {leg.count} x {one} = {_signed(total)}")
            continue
        parts = [
            f"{part(azimuth_deg, int(str(one)[0]), to_north=to_north)} x {10 ** (len(str(one)) - 1)}"
            for one in leg.digits
        ]
        said.append(f"{name} {' + '.join(parts) or '0'} = {_signed(total)}")
    return "; ".join(said)


def _said_brought(is_brought: bool, counted: str) -> list[str]:
    if not is_brought:
        return []
    return [
        f"A count in steps or on a class of ground is first brought to {counted} on ordinary ground: two "
        "steps are a pace; count x ordinary pace count / pace count of the class."
    ]


def _said_estimate(estimate: Estimate) -> str:
    """The way back that every other answer gives."""
    try:
        way = answer_way(estimate, WayAsked(len(estimate.log.legs))).way
    except Complaint:
        return ""
    if way.count == 0 or way.is_there:
        return f"Every other answer says that you stand at {say_place(way.to_name, 0)}."
    azimuth = say_azimuth(way.azimuth_deg, estimate.log.heading.azimuth_unit)
    count = say_length(way.count, way.unit)
    return f"Every other answer gives the way back as {azimuth}, {count}: walk by that."


def _said_back(worked: WorkedWay, log: TravelLog, counted: str, *, by_one: bool) -> str:
    small, large = sorted((abs(worked.north), abs(worked.east)))
    unit = log.heading.azimuth_unit
    row_deg = to_degrees(worked.back_azimuth, unit)
    of_north, of_east = (
        part_of_one(row_deg, unit, to_north=way) if by_one else part(row_deg, 1, to_north=way)
        for way in (True, False)
    )
    return (
        f"Back by this sum: north {_signed(-worked.north)}, east {_signed(-worked.east)}; "
        f"{small} / {large} = {worked.ratio}, nearest to the row of {worked.back_azimuth}; "
        f"{abs(worked.north)} x {of_north} + {abs(worked.east)} x {of_east} = "
        f"{say_whole(float(worked.back_distance))} {counted}."
    )


def _signed(value: Decimal) -> str:
    return f"{value:+.1f}" if round(value, 1) else "0.0"
