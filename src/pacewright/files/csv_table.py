"""A plain table from CSV: named columns in any order, `#` lines are remarks; every complaint has its line."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from pacewright.core.plausible import decimal_point
from pacewright.exceptions import FormatComplaint, MissingComplaint, ValueComplaint
from pacewright.files.log_csv import is_aside, records
from pacewright.files.text_file import decode_spreadsheet

_NUMBER: Final = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")
_LONGEST_SHOWN: Final = 40
_BARE_NUMBER: Final = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)", re.ASCII)
_FORMULA: Final = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""The signs that begin a formula, and the same in full width."""


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row: its line in the file, and its cells by column, stripped; a column left out is empty."""

    line: int
    cells: dict[str, str]

    def number(self, column: str) -> float | None:
        """A cell as a number; None where it is empty.

        Raises
        ------
        ValueComplaint
            It is no number.
        """
        text = self.cells[column]
        if not text:
            return None
        text = decimal_point(text)
        if not _NUMBER.fullmatch(text) or not math.isfinite(float(text)):
            raise ValueComplaint(
                f"{shown_cell(text)} is not a number", "Write digits, with a point for decimals"
            ).at(line=self.line, column=column)
        return float(text)

    def needed(self, column: str) -> str:
        """A cell that must not be empty.

        Raises
        ------
        MissingComplaint
            It is.
        """
        if not self.cells[column]:
            raise MissingComplaint(f"the {column} of this row is empty", "Fill it in").at(
                line=self.line, column=column
            )
        return self.cells[column]


def read_table(data: bytes, kind: str, columns: Sequence[str], needed: Sequence[str] = ()) -> list[TableRow]:
    """The rows of a table.

    Parameters
    ----------
    data
        The file's bytes.
    kind
        What the file should be, for complaints.
    columns, needed
        The columns it may have, and those it must have.

    Raises
    ------
    FormatComplaint
        It is no text, or not laid out as such a table.
    MissingComplaint
        A column that is needed is missing, or there are no rows.
    """
    text, _ = decode_spreadsheet(data, kind)
    names: list[str] | None = None
    rows = []
    for line, raw, cells in records(text, 1, delimiter_of(text)):
        if is_aside(raw) or not any(cell.strip() for cell in cells):
            continue
        if names is None:
            names = _names(cells, line, columns, needed)
        else:
            rows.append(_row(cells, names, line, columns))
    if not rows:
        raise MissingComplaint("there is no row in this table", f"Give {kind}")
    return rows


def write_table(heading: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """Write a table for a spreadsheet: its texts such as none takes for a formula; numbers as they are."""
    out = io.StringIO(newline="")
    cells = ([plain_cell(one) if isinstance(one, str) else one for one in row] for row in rows)
    csv.writer(out, lineterminator="\n").writerows([heading, *cells])
    return out.getvalue().encode("utf-8")


def with_decimal_comma(table: bytes) -> bytes:
    """A table that was written here as a spreadsheet with decimal comma reads it, cells by semicolons.

    >>> with_decimal_comma(b"name,east_m\\nGate,-12.50\\n")
    b'name;east_m\\nGate;-12,50\\n'
    """
    out = io.StringIO(newline="")
    rows = csv.reader(io.StringIO(table.decode("utf-8"), newline=""))
    writer = csv.writer(out, delimiter=";", lineterminator="\n")
    writer.writerows(
        [one.replace(".", ",") if _BARE_NUMBER.fullmatch(one) else one for one in row] for row in rows
    )
    return out.getvalue().encode("utf-8")


def plain_cell(text: str) -> str:
    """A text so that no spreadsheet takes it for a formula; a number in digits stays one.

    >>> plain_cell("=1+1"), plain_cell(" @x"), plain_cell("-12.5"), plain_cell("Ada")
    ("'=1+1", "' @x", '-12.5', 'Ada')

    References
    ----------
    OWASP, CSV Injection (from memory).
    """
    bare = text.lstrip()
    is_formula = bare.startswith(_FORMULA) or text[:1] in ("\t", "\r")
    return f"'{text}" if is_formula and not _BARE_NUMBER.fullmatch(text) else text


def delimiter_of(text: str) -> str:
    """What parts the cells: comma, semicolon or tab, whichever the line of column names has most of."""
    for line in text.splitlines():
        bare = line.strip().lstrip('"')
        if bare and not is_aside(bare):
            return max(",;\t", key=line.count)
    return ","


def _names(cells: Sequence[str], line: int, columns: Sequence[str], needed: Sequence[str]) -> list[str]:
    names = [cell.strip().casefold() for cell in cells]
    while names and not names[-1]:
        names.pop()
    written = ",".join(columns)
    for name in names:
        if name not in columns:
            raise FormatComplaint(
                f"there is no column called {shown_cell(name) or 'nothing'} here",
                f"The columns are {written}",
            ).at(line=line)
        if names.count(name) > 1:
            raise FormatComplaint(f"the column {name} is there twice", "Keep one of them").at(line=line)
    for name in needed:
        if name not in names:
            raise MissingComplaint(f"the column {name} is missing", f"The columns are {written}").at(
                line=line
            )
    return names


def _row(cells: Sequence[str], names: Sequence[str], line: int, columns: Sequence[str]) -> TableRow:
    if any(cell.strip() for cell in cells[len(names) :]):
        raise FormatComplaint(
            f"this row has {len(cells)} columns, not {len(names)}",
            "Put a cell that holds the delimiter into quotation marks",
        ).at(line=line)
    found = dict(zip(names, (cell.strip() for cell in cells), strict=False))
    return TableRow(line, {name: found.get(name, "") for name in columns})


def shown_cell(text: str) -> str:
    """A cell as a complaint may show it: short, on one line."""
    clean = "".join(letter if letter.isprintable() else "?" for letter in text)
    return clean if len(clean) <= _LONGEST_SHOWN else clean[:_LONGEST_SHOWN] + "..."
