"""The traverse table: north and east parts of 1 to 9 units for every degree, and a log worked with it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from pacewright.core.compass import FULL_CIRCLE, AzimuthUnit, from_degrees, to_degrees, unit_vectors
from pacewright.core.travel_log import TravelLog
from pacewright.exceptions import ValueComplaint
from pacewright.sheets.blocks import Block, Column, heading, keep, lines, new_page, table, text, texts
from pacewright.sheets.paper import Paper, Sheet, sheet
from pacewright.wording.sheets import PAPER_CAUTION, say_north

DECIMALS: Final = 3
STEP: Final[dict[AzimuthUnit, int]] = {"degrees": 1, "mils": 20, "gon": 1}
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


@dataclass(frozen=True, slots=True)
class WorkedLeg:
    """A leg worked with the table.

    Attributes
    ----------
    azimuth
        Of the table's row.
    count
        In whole units.
    digits
        The count taken apart, such as 200 and 40.
    north, east
        The sums of the digits' parts, with their signs.
    """

    azimuth: int
    count: int
    digits: tuple[int, ...]
    north: Decimal
    east: Decimal


@dataclass(frozen=True, slots=True)
class WorkedWay:
    """A log worked with the table: its legs, their sums, and the way back."""

    legs: tuple[WorkedLeg, ...]
    north: Decimal
    east: Decimal
    ratio: Decimal
    back_azimuth: int
    back_distance: Decimal


def part(azimuth_deg: float, units: int, *, to_north: bool) -> Decimal:
    """Give the north or east part of 1 to 9 units as the table prints it, without its sign.

    >>> part(15.5, 7, to_north=True), part(90, 5, to_north=False)
    (Decimal('6.745'), Decimal('5.000'))
    """
    east, north = unit_vectors(azimuth_deg)
    return _rounded(abs(float(north if to_north else east)) * units)


def _rounded(value: float, decimals: int = DECIMALS) -> Decimal:
    # Through twelve digits, so that a half made in binary is rounded as the half that it is.
    return Decimal(f"{value:.12f}").quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)


def worked_leg(azimuth: int, count: int, unit: AzimuthUnit = "degrees") -> WorkedLeg:
    """Work one leg with the table, digit by digit."""
    azimuth_deg = to_degrees(azimuth, unit)
    digits = tuple(_digits(count))
    sign_east, sign_north = (1 if float(v) >= 0 else -1 for v in unit_vectors(azimuth_deg))
    north, east = (
        sum(
            (part(azimuth_deg, int(str(one)[0]), to_north=way) * 10 ** (len(str(one)) - 1) for one in digits),
            Decimal(0),
        )
        for way in (True, False)
    )
    return WorkedLeg(azimuth, count, digits, sign_north * north, sign_east * east)


def _digits(count: int) -> Iterator[int]:
    written = str(count)
    for place, digit in enumerate(written):
        if digit != "0":
            yield int(digit) * 10 ** (len(written) - place - 1)


def table_bound(count: int) -> Decimal:
    """Give how far a part worked with the table may lie from the exact one: half its last digit a digit."""
    return sum(
        (Decimal("0.0005") * 10 ** (len(str(one)) - 1) for one in _digits(count)), Decimal("0.0000001")
    )


def worked_way(log: TravelLog) -> WorkedWay:
    """Work a log with the table, and the way back from its last station to its start.

    Azimuths are taken to the table's nearest row, counts to the whole unit.

    Raises
    ------
    ValueComplaint
        The log ends where it began, so that there is no way back.
    """
    unit = log.heading.azimuth_unit
    legs = tuple(worked_leg(_row_of(leg.azimuth_deg, unit), round(leg.count), unit) for leg in log.legs)
    # A pencil carries the sums on to a tenth.
    north, east = (
        sum((getattr(leg, name) for leg in legs), Decimal(0)).quantize(Decimal("0.1"), ROUND_HALF_UP)
        for name in ("north", "east")
    )
    small, large = sorted((abs(north), abs(east)))
    if large == 0:
        raise ValueComplaint("this log ends where it began", "Work another log; there is no way back here")
    ratio = (small / large).quantize(Decimal("0.001"), ROUND_HALF_UP)
    row = _row_of_ratio(ratio, abs(east) > abs(north), unit)
    row_deg = to_degrees(row, unit)
    distance = abs(north) * part(row_deg, 1, to_north=True) + abs(east) * part(row_deg, 1, to_north=False)
    return WorkedWay(legs, north, east, ratio, _in_quarter(row, -north, -east, unit), distance)


def _row_of(azimuth_deg: float, unit: AzimuthUnit) -> int:
    step = STEP[unit]
    return math.floor(from_degrees(azimuth_deg, unit) / step + 0.5) * step % FULL_CIRCLE[unit]


def ratio_of_row(row: int, unit: AzimuthUnit) -> Decimal:
    """Give the smaller part of a row divided by the larger."""
    parts = sorted(abs(float(v)) for v in unit_vectors(to_degrees(row, unit)))
    return _rounded(parts[0] / parts[1])


def _row_of_ratio(ratio: Decimal, east_is_larger: bool, unit: AzimuthUnit) -> int:
    quarter = FULL_CIRCLE[unit] // 4
    rows = [
        row
        for row in range(0, quarter + 1, STEP[unit])
        if (row > quarter / 2) == east_is_larger or 2 * row == quarter
    ]
    return min(rows, key=lambda row: abs(ratio_of_row(row, unit) - ratio))


def _in_quarter(row: int, north: Decimal, east: Decimal, unit: AzimuthUnit) -> int:
    half, full = FULL_CIRCLE[unit] // 2, FULL_CIRCLE[unit]
    turned = (row if east >= 0 else full - row) if north >= 0 else (half - row if east >= 0 else half + row)
    return turned % full


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
    blocks += [new_page(), heading(f"North and east parts, azimuth in {unit}"), _table(unit, paper)]
    return sheet("Traverse table", [*blocks, text(PAPER_CAUTION, size_em=0.85)])


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
        keep([text("Your own:", size_em=0.9), lines(2 if paper.is_card else 5, 7.0)]),
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
        f"{abs(worked.east)} x {of_east} = {worked.back_distance:.0f} {log.heading.count_unit}."
    )


def _signed(value: Decimal) -> str:
    return f"{value:+.1f}" if round(value, 1) else "0.0"


def _table(unit: AzimuthUnit, paper: Paper) -> Block:
    quarter = FULL_CIRCLE[unit] // 4
    rows_at = range(0, quarter + 1, STEP[unit])
    if paper.is_card:
        return _unit_table(unit, rows_at)
    digits = [Column(str(n), align="right", size_em=0.94) for n in range(1, 10)]
    half = FULL_CIRCLE[unit] // 2
    quarters = [
        Column(head, mm=_AZIMUTH_MM[unit], align="right", bold=True, size_em=0.86)
        for head in ("N+\nE+", "N-\nE+", "N-\nE-", "N+\nE-")
    ]
    columns = [
        *quarters,
        Column("small/\nlarge", mm=11, align="right", size_em=0.8),
        Column("to", mm=6.5, align="center"),
        *digits,
    ]
    rows = []
    for row in rows_at:
        azimuths = [str(one) for one in (row, half - row, half + row, (2 * half - row) % (2 * half))]
        parts = [
            "\n".join(str(part(to_degrees(row, unit), n, to_north=way)) for way in (True, False))
            for n in range(1, 10)
        ]
        rows.append([*azimuths, str(ratio_of_row(row, unit)), "N\nE", *parts])
    return table(columns, rows, pad_mm=0.5, heavy_every=5)


_AZIMUTH_MM: Final[dict[AzimuthUnit, float]] = {"degrees": 8.0, "mils": 9.5, "gon": 8.0}


def _unit_table(unit: AzimuthUnit, rows_at: range) -> Block:
    """Give a table for a narrow panel: the parts of one unit, to be multiplied with the pencil."""
    half = FULL_CIRCLE[unit] // 2
    columns = [
        *(
            Column(head, mm=7.6, align="right", bold=True, size_em=0.85)
            for head in ("N+\nE+", "N-\nE+", "N-\nE-", "N+\nE-")
        ),
        Column("north\nof 1", align="right", size_em=0.9),
        Column("east\nof 1", align="right", size_em=0.9),
        Column("small/\nlarge", align="right", size_em=0.9),
    ]
    rows = []
    for row in rows_at:
        azimuth_deg = to_degrees(row, unit)
        east, north = (_rounded(abs(float(v)), 4) for v in unit_vectors(azimuth_deg))
        azimuths = [str(one) for one in (row, half - row, half + row, (2 * half - row) % (2 * half))]
        rows.append([*azimuths, str(north), str(east), str(ratio_of_row(row, unit))])
    return table(columns, rows, pad_mm=0.45, heavy_every=5)
