"""Pace trials from CSV: a row a run."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from typing import Final

from pacewright.core.pace.pace_trials import CountUnit, PaceRun, paces_from_steps
from pacewright.core.pace.walker import Slope
from pacewright.core.plausible import decimal_point
from pacewright.core.written_lengths import length_m
from pacewright.exceptions import (
    Complaint,
    FormatComplaint,
    MissingComplaint,
    ValueComplaint,
    raise_together,
)
from pacewright.files.csv_table import delimiter_of, shown_cell
from pacewright.files.log_csv import MOST_COMPLAINTS, is_aside, records
from pacewright.files.text_file import decode_spreadsheet

COLUMNS: Final = ("ground", "slope", "load_kg", "distance_m", "count")
COLUMN_LINE: Final = ",".join(COLUMNS)
_KIND: Final = f"pace trials: the line {COLUMN_LINE} and a row a run"

NEEDED: Final = ("distance_m", "count")
"""What a run cannot do without; a slope left out is level, a ground or a load left out is none."""

_HEADING: Final = re.compile(
    r"#\s*(?P<key>count|walker|date|course|measured by)\s*:\s*(?P<value>.*)", re.IGNORECASE
)
_NUMBER: Final = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)")


def read_trials(data: bytes, file: str | None = None) -> tuple[PaceRun, ...]:
    """Read pace trials.

    The columns may stand in any order; `ground`, `slope` and `load_kg` may be left out, and a slope left
    out is level. Lines that begin with `#` are a heading or remarks; `# count: steps` says that the counts
    are steps and not paces.

    Parameters
    ----------
    data
        The file's bytes.
    file
        Its name, for complaints.

    Raises
    ------
    Complaint
        What is wrong, with file, line and column, and what to do.
    """
    try:
        return _read(data)
    except Complaint as complaint:
        raise complaint.at(file=file) from None


def read_trials_heading(data: bytes) -> dict[str, str]:
    """What stands after `# walker:`, `# date:`, `# course:` and `# measured by:`, by those words.

    Raises
    ------
    Complaint
        The file is no text.
    """
    return _take_remarks(decode_spreadsheet(data, _KIND)[0])[1]


def read_trial_cells(data: bytes) -> tuple[CountUnit, list[tuple[int, dict[str, str]]]]:
    """The unit of the counts, and each row's line and cells by the names of their columns.

    What the cells say is not looked at.

    Raises
    ------
    Complaint
        The file is not laid out as pace trials.
    """
    text, _ = decode_spreadsheet(data, _KIND)
    unit, _, body = _take_remarks(text)
    return unit, list(_rows(body, delimiter_of(text)))


def write_trials(rows: Sequence[Sequence[str]], remarks: Sequence[str] = ()) -> bytes:
    """Write pace trials from cells in the order of the columns, under lines of remarks without their mark."""
    out = io.StringIO(newline="")
    out.writelines(f"# {' '.join(remark.split())}\n" for remark in remarks)
    csv.writer(out, lineterminator="\n").writerows([COLUMNS, *rows])
    return out.getvalue().encode("utf-8")


def _rows(body: str, delimiter: str) -> Iterator[tuple[int, dict[str, str]]]:
    columns: list[str] | None = None
    for number, _, cells in records(body, 1, delimiter):
        if not any(cell.strip() for cell in cells):
            continue
        if columns is None:
            columns = _columns(cells, number)
        else:
            yield number, _by_column(cells, columns, number)


def _read(data: bytes) -> tuple[PaceRun, ...]:
    text, _ = decode_spreadsheet(data, _KIND)
    runs: list[PaceRun] = []
    wrong: list[Complaint] = []
    unit, _, body = _take_remarks(text)
    first: dict[str, PaceRun] = {}
    for number, cells in _rows(body, delimiter_of(text)):
        try:
            runs.append(_run(cells, number, unit))
            _check_spelling(runs[-1], first)
        except Complaint as complaint:
            wrong.append(complaint)
            if len(wrong) > MOST_COMPLAINTS:
                break
    raise_together(wrong)
    if not runs:
        raise MissingComplaint(
            "there is only a heading and no run",
            "Write a row for every run, such as heath,level,0,100,62 below " + COLUMN_LINE,
        )
    return tuple(runs)


def _take_remarks(text: str) -> tuple[CountUnit, dict[str, str], str]:
    """The unit and the heading that the `#` lines state, and the text with those lines left blank.

    A quotation mark in a remark is prose, so remarks go before cells are parted.
    """
    unit: CountUnit = "paces"
    heading: dict[str, str] = {}
    body: list[str] = []
    for number, line in enumerate(io.StringIO(text, newline=""), start=1):
        if is_aside(line):
            found = _HEADING.match(line.strip().strip('"'))
            key = found["key"].lower() if found else ""
            if key == "count" and any(kept.strip(" \t\r\n,;") for kept in body):
                raise FormatComplaint(
                    "the unit of the counts stands below the column names", "Move it to the top of the file"
                ).at(line=number, column="count")
            unit = _count_unit(found["value"], number) if found and key == "count" else unit
            if found and key != "count":
                heading[key] = found["value"].strip(' \t,;"')
            body.append("\n")
        else:
            body.append(line)
    return unit, heading, "".join(body)


def _count_unit(text: str, number: int) -> CountUnit:
    word = text.strip(' \t,;"').casefold()
    if word == "paces":
        return "paces"
    if word == "steps":
        return "steps"
    raise ValueComplaint(
        f"{shown_cell(word)} is not what a count is made of",
        "Write # count: paces (two steps each) or # count: steps",
    ).at(line=number, column="count")


def _columns(cells: Sequence[str], number: int) -> list[str]:
    names = [cell.strip().casefold() for cell in cells]
    while names and not names[-1]:
        names.pop()
    for name in names:
        if name not in COLUMNS:
            raise FormatComplaint(
                f"there is no column called {shown_cell(name)} in pace trials",
                f"Write the line {COLUMN_LINE}",
            ).at(line=number)
        if names.count(name) > 1:
            raise FormatComplaint(f"the column {name} is there twice", "Keep one of them").at(line=number)
    missing = [name for name in NEEDED if name not in names]
    if missing:
        raise MissingComplaint(
            f"the column {missing[0]} is missing",
            f"Write the line {COLUMN_LINE}; ground, slope and load_kg may be left out",
        ).at(line=number)
    return names


def _by_column(cells: Sequence[str], columns: Sequence[str], number: int) -> dict[str, str]:
    if any(cell.strip() for cell in cells[len(columns) :]):
        raise FormatComplaint(
            f"this row has {len(cells)} columns, not {len(columns)}",
            "Write decimals with a point, and one value in every column",
        ).at(line=number)
    if len(cells) < len(columns):
        have = "1 column" if len(cells) == 1 else f"{len(cells)} columns"
        raise FormatComplaint(
            f"this row has {have}, not {len(columns)}",
            f"Write {','.join(columns)}; an empty value keeps its comma",
        ).at(line=number)
    return dict.fromkeys(COLUMNS, "") | dict(zip(columns, (cell.strip() for cell in cells), strict=False))


def _run(row: dict[str, str], number: int, unit: CountUnit) -> PaceRun:
    written = _number(row["count"], "count", number)
    try:
        return PaceRun(
            ground=" ".join(row["ground"].split()),
            slope=_slope(row["slope"], number),
            load_kg=_number(row["load_kg"], "load_kg", number) if row["load_kg"] else None,
            distance_m=_distance_m(row["distance_m"], number),
            count=paces_from_steps(written) if unit == "steps" else written,
            line=number,
            counted_in=unit,
        )
    except Complaint as complaint:
        raise complaint.at(line=number) from None


def _slope(text: str, number: int) -> Slope | float:
    word = text.casefold()
    if word == "up":
        return "up"
    if word in ("level", ""):
        return "level"
    if word == "down":
        return "down"
    bare = decimal_point(word.removesuffix("%").strip())
    if _NUMBER.fullmatch(bare):
        return float(bare)
    raise ValueComplaint(
        f"{shown_cell(text)} is not a slope",
        "Write up, level or down in the direction walked, or the slope in per cent such as 12 or -8",
    ).at(line=number, column="slope")


def _distance_m(text: str, number: int) -> float:
    """The metres of a course, which may be written with a unit of its own (`198 ft`)."""
    own_m = length_m(text)
    return _number(text, "distance_m", number) if own_m is None else own_m


def _number(text: str, column: str, number: int) -> float:
    bare = decimal_point(text)
    if _NUMBER.fullmatch(bare):
        return float(bare)
    shown = shown_cell(text) if text else "an empty value"
    raise ValueComplaint(f"{shown} is not a number", "Write digits, with a point for decimals").at(
        line=number, column=column
    )


def _check_spelling(run: PaceRun, first: dict[str, PaceRun]) -> None:
    """Refuse a ground written in two ways: they would silently be two classes."""
    before = first.setdefault(run.ground.casefold(), run)
    if before.ground != run.ground:
        raise ValueComplaint(
            f"{shown_cell(run.ground)} is written {shown_cell(before.ground)} in line {before.line}",
            "Write a ground the same way in every row",
        ).at(line=run.line, column="ground")
