"""The traverse table worked as with a pencil: parts of 1 to 9 units, a log summed with them, its way back."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from pacewright.answers.estimate import as_written_in_paces
from pacewright.core.compass import FULL_CIRCLE, AzimuthUnit, from_degrees, to_degrees, unit_vectors
from pacewright.core.log.travel_log import TravelLog
from pacewright.core.pace.tally import whole_count
from pacewright.core.pace.walker import Walker
from pacewright.exceptions import ValueComplaint

DECIMALS: Final = 3
CARD_DECIMALS: Final[dict[AzimuthUnit, int]] = {"degrees": 4, "mils": 3, "gon": 4}
"""Of the parts of one on a pocket card: four figures of an azimuth leave room for no more."""
STEP: Final[dict[AzimuthUnit, int]] = {"degrees": 1, "mils": 20, "gon": 1}


@dataclass(frozen=True, slots=True)
class WorkedLeg:
    """A leg worked with the table.

    Attributes
    ----------
    azimuth
        Of the table's row.
    count
        In whole units of the walker's ordinary ground: paces, or metres.
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
    """The north or east part of 1 to 9 units as the table prints it, without its sign.

    >>> part(15.5, 7, to_north=True), part(90, 5, to_north=False)
    (Decimal('6.745'), Decimal('5.000'))
    """
    east, north = unit_vectors(azimuth_deg)
    return rounded(abs(float(north if to_north else east)) * units)


def part_of_one(azimuth_deg: float, unit: AzimuthUnit, *, to_north: bool) -> Decimal:
    """The north or east part of one unit as the table of a pocket card prints it, without its sign.

    >>> part_of_one(15.5, "degrees", to_north=True)
    Decimal('0.9636')
    """
    east, north = unit_vectors(azimuth_deg)
    return rounded(abs(float(north if to_north else east)), CARD_DECIMALS[unit])


def rounded(value: float, decimals: int = DECIMALS) -> Decimal:
    """A part as a table prints it.

    >>> rounded(0.0005)
    Decimal('0.001')
    """
    # Through twelve digits, so that a half made in binary is rounded as the half that it is.
    return Decimal(f"{value:.12f}").quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)


def worked_leg(azimuth: int, count: int, unit: AzimuthUnit = "degrees", *, by_one: bool = False) -> WorkedLeg:
    """Work one leg with the table, digit by digit; `by_one`, with the parts of one of a pocket card."""
    azimuth_deg = to_degrees(azimuth, unit)
    digits = tuple(_digits(count))
    sign_east, sign_north = (1 if float(v) >= 0 else -1 for v in unit_vectors(azimuth_deg))
    north, east = (
        count * part_of_one(azimuth_deg, unit, to_north=way)
        if by_one
        else sum(
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
    """How far a part worked with the table may lie from the exact one: half its last digit a digit."""
    return sum(
        (Decimal("0.0005") * 10 ** (len(str(one)) - 1) for one in _digits(count)), Decimal("0.0000001")
    )


def worked_way(log: TravelLog, walker: Walker | None = None, *, by_one: bool = False) -> WorkedWay:
    """Work a log with the table, and the way back from its last station to its start.

    With `by_one` it is worked with the parts of one of a pocket card. Azimuths are taken to the table's
    nearest row, counts to the whole unit, those of a class of ground brought to ordinary ground first.

    Raises
    ------
    ValueComplaint
        The log ends where it began, so that there is no way back.
    """
    unit = log.heading.azimuth_unit
    lengths = as_written_in_paces(log, walker or Walker()).length
    legs = tuple(
        worked_leg(_row_of(leg.azimuth_deg, unit), whole_count(float(length)), unit, by_one=by_one)
        for leg, length in zip(log.legs, lengths, strict=True)
    )
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
    of_north, of_east = (
        part_of_one(row_deg, unit, to_north=way) if by_one else part(row_deg, 1, to_north=way)
        for way in (True, False)
    )
    distance = abs(north) * of_north + abs(east) * of_east
    return WorkedWay(legs, north, east, ratio, _in_quarter(row, -north, -east, unit), distance)


def _row_of(azimuth_deg: float, unit: AzimuthUnit) -> int:
    step = STEP[unit]
    return math.floor(from_degrees(azimuth_deg, unit) / step + 0.5) * step % FULL_CIRCLE[unit]


def ratio_of_row(row: int, unit: AzimuthUnit) -> Decimal:
    """The smaller part of a row divided by the larger."""
    parts = sorted(abs(float(v)) for v in unit_vectors(to_degrees(row, unit)))
    return rounded(parts[0] / parts[1])


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
