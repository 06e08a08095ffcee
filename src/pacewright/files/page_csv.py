"""A typed page from and to the travel log's CSV, its struck rows with it.

A struck row counts no more, so it stands in the file as a line of prose at its place. The reader of travel
logs passes over prose; this one brings the row back. What would end a cell, or look like a heading, is
written by its number in hexadecimal after a per cent sign.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final
from urllib.parse import quote, unquote

from pacewright.core.log.log_heading import format_heading
from pacewright.core.log.travel_log import Cells, Page, TravelLog
from pacewright.files.log_csv import COLUMNS, format_cells, heading_text
from pacewright.files.text_file import BOM

TypedCells = tuple[Cells, bool]
"""The cells of a row, and whether it is struck out."""
_STRUCK: Final = re.compile(r"#\s*struck\s(?P<cells>[^|]*\|[^|]*\|[^|]*)")
_UNSAFE: Final = re.compile(r"^\s+|\s+$|[%:\"|,;\x00-\x1f\x7f\x85\u2028\u2029]")


def write_page(heading: Iterable[str], rows: Iterable[TypedCells], came: TravelLog | None = None) -> bytes:
    """Write a typed page.

    Parameters
    ----------
    heading
        Heading lines without their mark.
    rows
        Every row in order.
    came
        The log that the page once was: its layout (delimiter, row ends, byte order mark) stays, and a row
        that still has the same cells stays to the letter.

    >>> write_page(["start: Gate"], [(Cells("52", "330", "pond: dry"), True), (Cells("9", "24", ""), False)])
    b'# start: Gate\\nazimuth,count,notes\\n# struck 52 | 330 | pond%3A dry\\n9,24,\\n'
    """
    layout = came.page if came is not None and came.page is not None else Page()
    mark = layout.mark and layout.encoding == "utf-8"
    as_came = {row.cells: row.raw.rstrip("\r\n") for row in (came.rows if came else ()) if row.raw}
    top = [f"# {line}".rstrip() for line in heading]
    lines = [line + layout.newline for line in (*top, layout.delimiter.join(COLUMNS))]
    for cells, is_struck in rows:
        if is_struck:
            lines.append(_struck_line(cells) + layout.newline)
        elif cells in as_came:
            lines.append(as_came[cells] + layout.newline)
        else:
            lines.append(format_cells(cells, layout))
    return (BOM if mark else b"") + "".join(lines).encode("utf-8")


def page_rows(log: TravelLog) -> list[TypedCells]:
    """Every row of a log that was read, struck rows at their place."""
    if log.page is None:
        return [(row.cells, False) for row in log.rows]
    rows: list[TypedCells] = []
    for line in log.page.lines:
        if isinstance(line, int):
            rows.append((log.rows[line].cells, False))
        elif (struck := _struck_cells(line)) is not None:
            rows.append((struck, True))
    return rows


def page_heading(log: TravelLog) -> list[str]:
    """The heading lines of a log that was read, to the letter; other prose comes with them."""
    if log.page is None:
        return format_heading(log.heading)
    lines = [line for line in log.page.lines if isinstance(line, str) and _is_marked(line)]
    return [heading_text(line) for line in lines if _struck_cells(line) is None]


def _is_marked(line: str) -> bool:
    return line.strip().lstrip('"').startswith("#")


def _struck_line(cells: Cells) -> str:
    return "# struck " + " | ".join(_safe(cell) for cell in (cells.azimuth, cells.count, cells.notes))


def _struck_cells(line: str) -> Cells | None:
    found = _STRUCK.fullmatch(line.strip().rstrip(",;\t"))
    if found is None:
        return None
    azimuth, count, notes = (unquote(cell.strip()) for cell in found["cells"].split("|"))
    return Cells(azimuth, count, notes)


def _safe(cell: str) -> str:
    return _UNSAFE.sub(lambda found: quote(found[0], safe=""), cell)
