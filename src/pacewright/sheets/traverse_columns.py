"""The columns of the traverse table: one row an azimuth of a quarter, shared out evenly over its pages."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from pacewright.core.compass import FULL_CIRCLE, AzimuthUnit, to_degrees
from pacewright.sheets.blocks import Block, Column, heading, new_page, table
from pacewright.sheets.paper import Paper
from pacewright.sheets.row_heights import CELL_INSET_MM, MONO_ADVANCE_EM, full_width_mm
from pacewright.sheets.traverse_table import CARD_DECIMALS, DECIMALS, STEP, part, part_of_one, ratio_of_row

_GROUP: Final = 5
_QUARTERS: Final = ("N+\nE+", "N-\nE+", "N-\nE-", "N+\nE-")
_DIGITS: Final = range(1, 10)
_PART: Final = len("9.000")
_LEAST_PT: Final = {"a5": 7.0}
"""On half a sheet nine parts of a row have no room side by side in larger type."""
_LEADING_EM: Final = 0.15
_LINE_EM: Final = 0.965
_PAD_MM: Final = 0.4
_TAKEN_EM: Final = 9.5
"""Height that heading, heads and what stands below a table take of its page."""
_MOST_DIGITS_EM: Final = 1.1
_BLANK: Final = "\u00a0"
"""Blanks that are kept, so that numbers written in one cell stand below each other."""


def part_tables(unit: AzimuthUnit, paper: Paper) -> list[Block]:
    """The pages of the table; on a card the parts of one unit, to be multiplied with the pencil."""
    rows_at = list(range(0, FULL_CIRCLE[unit] // 4 + 1, STEP[unit]))
    title = f"North and east parts, azimuth in {unit}"
    if paper.is_card:
        return [new_page(), heading(title), _unit_table(unit, rows_at)]
    pages = math.ceil(len(rows_at) / _most_rows(paper))
    each = math.ceil(len(rows_at) / pages)
    blocks: list[Block] = []
    for start in range(0, len(rows_at), each):
        more = "" if start == 0 else ", continued"
        blocks += [new_page(), heading(title + more)]
        blocks.append(_page(unit, paper, rows_at[start : start + each], start, each))
    return blocks


def _room_mm(paper: Paper) -> float:
    """The height that the rows of a page share."""
    type_mm = paper.text_pt * 25.4 / 72
    return paper.height_mm - 2 * paper.margin_mm - 4.0 - _TAKEN_EM * type_mm


def _least_em(paper: Paper) -> float:
    return _LEAST_PT.get(paper.name, paper.least_pt) / paper.text_pt


def _two_lines_mm(paper: Paper, size_em: float) -> float:
    type_mm = paper.text_pt * 25.4 / 72
    return type_mm * (2 * _LINE_EM * size_em + _LEADING_EM) + 2 * _PAD_MM


def _most_rows(paper: Paper) -> int:
    return math.floor(_room_mm(paper) / _two_lines_mm(paper, _least_em(paper)))


def _digits_em(unit: AzimuthUnit, paper: Paper, rows: int) -> float:
    """The largest type, in hundredths, at which the rows and their nine parts fit the page."""
    least_em = _least_em(paper)
    sizes = range(round(100 * _MOST_DIGITS_EM), math.ceil(100 * least_em), -1)
    for size_em in (size / 100 for size in sizes):
        high = rows * _two_lines_mm(paper, size_em) <= _room_mm(paper)
        if high and _gap(unit, paper, size_em) >= 1:
            return size_em
    return least_em


def _letter_mm(paper: Paper, size_em: float) -> float:
    return MONO_ADVANCE_EM * size_em * paper.text_pt * 25.4 / 72


def _azimuth_width(unit: AzimuthUnit) -> int:
    return len(str(FULL_CIRCLE[unit] - 1))


def _between(paper: Paper) -> str:
    return _BLANK if paper.is_narrow else 2 * _BLANK


def _fixed_mm(unit: AzimuthUnit, paper: Paper) -> tuple[float, float]:
    azimuths = 4 * _azimuth_width(unit) + 3 * len(_between(paper))
    azimuths_mm = azimuths * _letter_mm(paper, _least_em(paper)) + 2 * CELL_INSET_MM + 0.3
    # As wide as the word above it.
    return azimuths_mm, len("small/") * _letter_mm(paper, _least_em(paper)) + 2 * CELL_INSET_MM + 0.3


def _gap(unit: AzimuthUnit, paper: Paper, size_em: float) -> int:
    """How many blanks stand between two parts."""
    parts_mm = full_width_mm(paper) - sum(_fixed_mm(unit, paper)) - 2 * CELL_INSET_MM
    letters = math.floor(parts_mm / _letter_mm(paper, size_em)) - 1
    return (letters - len(_DIGITS) * _PART) // len(_DIGITS)


def _page(unit: AzimuthUnit, paper: Paper, rows_at: list[int], start: int, rows: int) -> Block:
    """The rows of one page.

    The four azimuths of a row stand in one cell, and so do the nine parts to a side, as they are read out:
    a cell for every number would take three times as long to set.
    """
    size_em, least_em = _digits_em(unit, paper, rows), _least_em(paper)
    gap = _gap(unit, paper, size_em)
    fixed_mm = _fixed_mm(unit, paper)
    half = FULL_CIRCLE[unit] // 2
    columns = [
        Column(
            _heads(unit, paper),
            mm=fixed_mm[0],
            bold=True,
            size_em=least_em,
            head_em=least_em,
        ),
        Column("small/\nlarge", mm=fixed_mm[1], align="right", size_em=least_em, head_em=least_em),
        Column(_parts(_BLANK, map(str, _DIGITS), gap), size_em=size_em, head_em=size_em),
    ]
    made = []
    for row in rows_at:
        row_deg = to_degrees(row, unit)
        four = (row, half - row, half + row, (2 * half - row) % (2 * half))
        both = (
            _parts(sign, (str(part(row_deg, n, to_north=sign == "N")) for n in _DIGITS), gap)
            for sign in ("N", "E")
        )
        made.append([_in_line(map(str, four), unit, paper), str(ratio_of_row(row, unit)), "\n".join(both)])
    letter_mm = _letter_mm(paper, size_em)
    left_mm = sum(fixed_mm) + CELL_INSET_MM + (1 + gap / 2) * letter_mm
    uprights = [left_mm + n * (gap + _PART) * letter_mm for n in range(len(_DIGITS))]
    return table(
        columns,
        made,
        pad_mm=0.0,
        heavy_every=_GROUP,
        heavy_from=start,
        fills_page=True,
        leading_em=_LEADING_EM,
        uprights_mm=uprights,
        is_dense=True,
    )


def _heads(unit: AzimuthUnit, paper: Paper) -> str:
    lines = zip(*(head.split("\n") for head in _QUARTERS), strict=True)
    return "\n".join(_in_line(line, unit, paper) for line in lines)


def _in_line(numbers: Iterable[str], unit: AzimuthUnit, paper: Paper) -> str:
    return _between(paper).join(number.rjust(_azimuth_width(unit), _BLANK) for number in numbers)


def _parts(sign: str, parts: Iterable[str], gap: int) -> str:
    return sign + "".join(_BLANK * gap + one.rjust(_PART, _BLANK) for one in parts)


def _unit_table(unit: AzimuthUnit, rows_at: list[int]) -> Block:
    half = FULL_CIRCLE[unit] // 2
    decimals = CARD_DECIMALS[unit]
    azimuth_mm = 6.4 if decimals > DECIMALS else 7.4
    columns = [
        *(Column(head, mm=azimuth_mm, align="right", bold=True) for head in _QUARTERS),
        Column("north\nof 1", decimals + 2.9, align="right"),
        Column("east\nof 1", decimals + 2.9, align="right"),
        Column("s/l", DECIMALS + 2.9, align="right"),
    ]
    rows = []
    for row in rows_at:
        north, east = (part_of_one(to_degrees(row, unit), unit, to_north=way) for way in (True, False))
        azimuths = [str(one) for one in (row, half - row, half + row, (2 * half - row) % (2 * half))]
        rows.append([*azimuths, str(north), str(east), str(ratio_of_row(row, unit))])
    return table(columns, rows, pad_mm=0.45, heavy_every=_GROUP)
