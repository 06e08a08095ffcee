"""Travel log from and to CSV, to the letter.

What is read is written back byte for byte; spreadsheet exports (`;` or tab, byte order mark,
carriage returns) keep their layout.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from typing import Final, Literal

from pacewright.core.log.log_heading import format_heading, parse_heading
from pacewright.core.log.travel_log import Cells, Page, Row, TravelLog, check_numbers, compose_log, parse_row
from pacewright.exceptions import Complaint, FormatComplaint, raise_together
from pacewright.files.text_file import BOM, decode_spreadsheet, encode

COLUMNS: Final = ("azimuth", "count", "notes")
COLUMN_LINE: Final = ",".join(COLUMNS)
MOST_COMPLAINTS: Final = 100
"""Of one file: who has more to mend begins with these."""
_SEPARATOR: Final = re.compile(r"sep=.?", re.IGNORECASE)
LONGEST_RECORD: Final = 100_000
"""A row with quotation marks; what is longer is a mark that was never closed."""


def read_log(data: bytes, file: str | None = None) -> TravelLog:
    """Read a travel log.

    Parameters
    ----------
    data
        The file's bytes.
    file
        Its name, for complaints.

    Raises
    ------
    Complaint
        What is wrong, with file, line and column, and what to do; `others` holds what else is.
    """
    try:
        return _read(data)
    except Complaint as complaint:
        raise complaint.at(file=file) from None


def read_cells(data: bytes) -> tuple[list[str], list[Cells]]:
    """The heading lines of a travel log, and its cells as they are written, right or wrong.

    A row that is not laid out as three columns stands whole in its first cell, where it is no azimuth:
    nothing of it is guessed. Prose between the rows comes with the heading lines.

    Raises
    ------
    Complaint
        This is no travel log, or a quotation mark in it is not closed.
    """
    text, _ = decode_spreadsheet(data, "a travel log: heading lines, then azimuth,count,notes")
    _, heading, delimiter, rest, line = _take_heading(text)
    lines, found = [words for _, words in heading], []
    for number, raw, cells in records(rest, line, delimiter):
        if raw.startswith("#"):
            lines.append(heading_text(raw, number))
        elif raw.strip():
            found.append(_cells_or_whole(raw, cells, number, delimiter))
    return lines, found


def _cells_or_whole(raw: str, cells: Sequence[str], number: int, delimiter: str) -> Cells:
    try:
        if delimiter == "," and '"' not in raw:
            _check_decimal_comma(cells, number)
        return _three_cells(cells, number, delimiter)
    except Complaint:
        return Cells(raw.strip(), "", "")


def write_log(log: TravelLog) -> bytes:
    """Write a travel log; one that was read comes out as it was, but for rows changed since."""
    page = log.page or _fresh_page(log)
    parts = [line if isinstance(line, str) else _row_text(log.rows[line], page) for line in page.lines]
    return encode("".join(parts), page.encoding, page.mark)


def is_aside(raw: str) -> bool:
    """Whether a line is a heading or prose, or the line in which a spreadsheet names its delimiter."""
    bare = raw.strip().lstrip('"')
    return bare.startswith("#") or _SEPARATOR.fullmatch(bare.rstrip('"')) is not None


def records(text: str, first_line: int, delimiter: str) -> Iterator[tuple[int, str, list[str]]]:
    """Each record of a CSV text: its line number, its raw text, its cells.

    A record is more than one line where a quoted cell holds a line break.

    Raises
    ------
    FormatComplaint
        A quotation mark is not closed or stands where none can.
    """
    number, raw, start, is_open = first_line - 1, "", first_line, False
    for line in io.StringIO(text, newline=""):
        number += 1
        start = start if is_open else number
        if is_open or '"' in line:
            is_open = _stays_open(line, delimiter, is_open)
        raw += line
        if not is_open:
            yield start, raw, _split(raw, delimiter, start)
            raw = ""
    if raw:
        raise FormatComplaint("a quotation mark is not closed", 'Close it, or write "" for one in a text').at(
            line=start
        )


def _stays_open(line: str, delimiter: str, is_open: bool) -> bool:
    """Whether a quoted cell is open at a line's end; `is_open` tells it of the line's start.

    A quotation mark opens a cell only where the cell begins: the seconds of `S68°05'35"W` open none.
    """
    is_just_closed = False
    for i, before in enumerate(line.split('"')[:-1]):
        if is_open:
            is_open, is_just_closed = False, True
        elif before.endswith(delimiter) or (not before and (i == 0 or is_just_closed)):
            is_open = True
        else:
            is_just_closed = False
    return is_open


def _split(raw: str, delimiter: str, line: int) -> list[str]:
    if '"' not in raw:
        return raw.rstrip("\r\n").split(delimiter)
    if len(raw) > LONGEST_RECORD:
        raise FormatComplaint(
            f"this row is longer than {LONGEST_RECORD} characters", "Look for a quotation mark never closed"
        ).at(line=line)
    try:
        (cells,) = csv.reader(io.StringIO(raw, newline=""), delimiter=delimiter, strict=True)
        return cells
    except (csv.Error, ValueError):
        raise FormatComplaint(
            "a quotation mark stands where none can",
            'Put the whole cell in quotation marks and write "" for one in it',
        ).at(line=line) from None


def _read(data: bytes) -> TravelLog:
    text, encoding = decode_spreadsheet(data, "a travel log: heading lines, then azimuth,count,notes")
    top, heading_texts, delimiter, rest, line = _take_heading(text)
    heading = parse_heading([(at, *_pair(words)) for at, words in heading_texts if ":" in words])
    rows: list[Row] = []
    wrong: list[Complaint] = []
    lines: list[str | int] = [*top]
    for number, raw, cells in records(rest, line, delimiter):
        try:
            if raw.startswith("#") or not raw.strip():
                _check_prose(raw, number)
                lines.append(raw)
                continue
            if delimiter == "," and '"' not in raw:
                _check_decimal_comma(cells, number)
            rows.append(parse_row(_three_cells(cells, number, delimiter), heading, number, raw))
            lines.append(len(rows) - 1)
        except Complaint as complaint:
            wrong.append(complaint)
            if len(wrong) > MOST_COMPLAINTS:
                break
    raise_together(wrong)
    check_numbers(rows)
    newline = "\r\n" if top[-1].endswith("\r\n") else top[-1][-1] if top[-1][-1] in "\r\n" else "\n"
    page = Page(
        delimiter, newline, data.startswith(BOM) or encoding.startswith("utf-16"), tuple(lines), encoding
    )
    return compose_log(heading, rows, page)


def _take_heading(text: str) -> tuple[list[str], list[tuple[int, str]], str, str, int]:
    """Split a text into its top lines, its heading texts, the delimiter, and the rows below."""
    top, texts, used = [], [], 0
    for number, raw in enumerate(io.StringIO(text, newline=""), start=1):
        top.append(raw)
        used += len(raw)
        bare = raw.strip().lstrip('"')
        if bare.startswith("#"):
            texts.append((number, heading_text(raw, number)))
        elif bare and not is_aside(raw):
            return top, texts, _delimiter(raw, number), text[used:], number + 1
    raise FormatComplaint(
        "there is only a heading and no rows",
        f"Write the line {COLUMN_LINE} and the rows of the log below it",
    )


def _pair(words: str) -> tuple[str, str]:
    key, _, value = words.partition(":")
    return key, value


def heading_text(raw: str, number: int = 1) -> str:
    """The words of a heading line, without its mark and what a spreadsheet put round it."""
    bare = raw.strip()
    if bare.startswith('"'):
        # A spreadsheet puts a heading with a comma in it into quotation marks.
        for delimiter in ",;\t":
            cells = _split(bare, delimiter, number) if bare.count('"') % 2 == 0 else [bare]
            if not any(cells[1:]):
                bare = cells[0].strip()
                break
    for empties in (",,", ";;", "\t\t"):
        bare = bare.removesuffix(empties)
    return bare.lstrip("#").strip()


def _delimiter(raw: str, number: int) -> str:
    for delimiter in ",;\t":
        cells = [cell.strip().strip('"').lower() for cell in raw.split(delimiter)]
        if tuple(cells[:3]) == COLUMNS and not any(cells[3:]):
            return delimiter
    shown = raw.strip()[:40]
    raise FormatComplaint(
        f"{shown} is not the line that names the columns",
        f"Write {COLUMN_LINE} above the rows (the log has these three columns)",
    ).at(line=number)


def _check_prose(text: str, number: int) -> None:
    if ":" in text:
        raise FormatComplaint(
            "a heading line stands among the rows", f"Move it above the line {COLUMN_LINE}"
        ).at(line=number)


def _three_cells(cells: Sequence[str], number: int, delimiter: str) -> Cells:
    if len(cells) < 3:
        count = "one column" if len(cells) == 1 else "2 columns"
        raise FormatComplaint(
            f"this row has {count}, not 3", f"Write {COLUMN_LINE}; notes may be empty, such as 305,240,"
        ).at(line=number)
    if len(cells) == 3 or not any(cells[3:]):
        return Cells(cells[0], cells[1], cells[2])
    if _is_number(cells[2]):
        raise FormatComplaint(
            f"this row has {len(cells)} columns, not 3, and the third is a number",
            "Write decimals with a point; put notes that begin with a number into quotation marks",
        ).at(line=number)
    # The third column is the rest of the line: nobody quotes a comma in a notebook.
    return Cells(cells[0], cells[1], delimiter.join(cells[2:]))


def _check_decimal_comma(cells: Sequence[str], number: int) -> None:
    # 30,5,240 may be 30.5 and 240: three bare numbers are not guessed at.
    if len(cells) > 2 and not any(cells[3:]) and _is_number(cells[2]):
        raise FormatComplaint(
            f"the notes of this row are a bare number ({cells[2].strip()[:40]})",
            "Write decimals with a point; put such a note into quotation marks",
        ).at(line=number, column="notes")


def _is_number(cell: str) -> bool:
    return cell.strip().replace(".", "", 1).isdecimal()


def _fresh_page(log: TravelLog) -> Page:
    top = [f"# {line}\n" for line in format_heading(log.heading)]
    return Page(lines=(*top, COLUMN_LINE + "\n", *range(len(log.rows))))


def _row_text(row: Row, page: Page) -> str:
    return row.raw if row.raw is not None else format_cells(row.cells, page)


def format_cells(cells: Cells, page: Page) -> str:
    """Write the cells of one row as the reader takes them back, in the layout of a page."""
    three = (cells.azimuth, cells.count, cells.notes)
    text = _delimited(three, page.delimiter, csv.QUOTE_MINIMAL)
    if text.startswith("#") or not text.strip():
        # Neither prose nor a blank line: a row all the same.
        text = _delimited(three, page.delimiter, csv.QUOTE_ALL)
    elif _is_number(cells.notes) and not text.endswith('"'):
        text = f'{text.removesuffix(cells.notes)}"{cells.notes}"'
    return text + page.newline


def _delimited(cells: Sequence[str], delimiter: str, quoting: Literal[0, 1]) -> str:
    out = io.StringIO(newline="")
    # With its own row end the writer also quotes a cell that holds the other kind of line break.
    csv.writer(out, delimiter=delimiter, lineterminator="\r\n", quoting=quoting).writerow(cells)
    return out.getvalue().removesuffix("\r\n")
