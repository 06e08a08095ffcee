"""Pace trials as a table that is typed on: cells to the letter, the reader's own complaint beside each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Any, Final

from pacewright.core.pace.calibrated import Calibrated, calibrate_runs
from pacewright.core.pace.pace_trials import CountUnit, PaceRun
from pacewright.core.pace.walker import Walker
from pacewright.core.plain_text import clean_line
from pacewright.desk.models import LONGEST_CELL
from pacewright.exceptions import Complaint, FormatComplaint
from pacewright.files.trials_csv import COLUMNS, read_trial_cells, read_trials, write_trials

MOST_TRIALS: Final = 500
BLANK_ROWS: Final = 6
MORE_ROWS: Final = 12
LEAST_RUNS: Final = 3
FAR_FACTOR: Final = 2.0
"""Ground, slope and load together change a pace by less (common practice): what is farther off is a slip."""
_ORDINARY: Final = re.compile(r"ordinary\s*:\s*(?P<label>.+)", re.IGNORECASE)
_FAR: Final = "Far off the other runs. Is a figure too many or too few?"
_COUNT: Final = re.compile(r"count\s*:", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TrialRow:
    """One run as typed: its cells by column, and what is wrong with it, in which column."""

    cells: tuple[str, ...] = ("",) * len(COLUMNS)
    line: int | None = None
    wrong: str = ""
    column: str = ""

    @property
    def is_blank(self) -> bool:
        """True where nothing is typed."""
        return not any(cell.strip() for cell in self.cells)

    @property
    def named(self) -> list[tuple[str, str, bool]]:
        """Column, cell, and whether the complaint is about it."""
        return [(name, cell, name == self.column) for name, cell in zip(COLUMNS, self.cells, strict=True)]


@dataclass(frozen=True, slots=True)
class TrialTable:
    """A table of pace trials.

    Attributes
    ----------
    rows
        Runs as typed, blank ones among them.
    unit
        What was counted.
    ordinary
        The class to count as ordinary; empty for the level class with most runs.
    remarks
        Lines of prose above the table.
    wrong
        What is wrong with the whole.
    """

    rows: tuple[TrialRow, ...] = ()
    unit: CountUnit = "paces"
    ordinary: str = ""
    remarks: tuple[str, ...] = ()
    wrong: str = ""

    @property
    def is_right(self) -> bool:
        """True where nothing is marked."""
        return not self.wrong and not any(row.wrong for row in self.rows)

    @property
    def typed(self) -> tuple[TrialRow, ...]:
        """The rows that are not blank."""
        return tuple(row for row in self.rows if not row.is_blank)


def kept_table(text: str, blanks: int = BLANK_ROWS) -> TrialTable:
    """The table of kept trials, with blank rows below.

    Raises
    ------
    Complaint
        The text is not laid out as pace trials.
    """
    if not text.strip():
        return with_blanks(TrialTable(), blanks)
    unit, rows = read_trial_cells(text.encode("utf-8"))
    told = [line.lstrip("#").strip() for line in text.removeprefix("\ufeff").splitlines() if line[:1] == "#"]
    labels = [found["label"].strip() for line in told if (found := _ORDINARY.fullmatch(line))]
    remarks = list(filter(_is_prose, told))
    typed = tuple(TrialRow(tuple(cells[name] for name in COLUMNS), line) for line, cells in rows)
    return with_blanks(TrialTable(typed, unit, labels[-1] if labels else "", tuple(remarks)), blanks)


def form_table(form: Any) -> TrialTable:
    """The table that a form holds, rows that were pasted with it.

    Raises
    ------
    FormatComplaint
        It holds more rows or longer cells than a table takes.
    """
    count = form.get("rows", "0")
    rows = int(count) if str(count).isdecimal() and len(str(count)) < 6 else 0
    if rows > MOST_TRIALS:
        raise _too_many()
    typed = tuple(
        TrialRow(tuple(_cell(form.get(f"{name}-{at}", "")) for name in COLUMNS)) for at in range(rows)
    )
    told = [_cell(line) for line in form.getlist("remark")][:MOST_TRIALS]
    remarks = tuple(
        line for line in told if line and not _COUNT.match(line) and not _ORDINARY.fullmatch(line)
    )
    unit: CountUnit = "steps" if form.get("unit") == "steps" else "paces"
    return TrialTable(typed, unit, _cell(form.get("ordinary", "")).strip(), remarks)


def with_pasted(table: TrialTable, text: str) -> TrialTable:
    """The table with pasted runs below the typed ones; a line of column names may stand above them.

    Raises
    ------
    Complaint
        What was pasted is not laid out as pace trials.
    """
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        return table
    delimiter = max(",;\t", key=lines[0].count)
    first = {cell.strip().casefold() for cell in lines[0].lstrip("\ufeff").split(delimiter)}
    if not lines[0].startswith("#") and not first & set(COLUMNS):
        lines.insert(0, delimiter.join(COLUMNS))
    unit, rows = read_trial_cells("\n".join(lines).encode("utf-8"))
    pasted = tuple(TrialRow(tuple(_cell(cells[name]) for name in COLUMNS)) for _, cells in rows)
    if len(table.typed) + len(pasted) > MOST_TRIALS:
        raise _too_many()
    return replace(table, rows=(*table.typed, *pasted), unit=table.unit if table.typed else unit)


def with_blanks(table: TrialTable, blanks: int = BLANK_ROWS) -> TrialTable:
    """The table with blank rows at its end."""
    return replace(table, rows=(*table.typed, *[TrialRow()] * blanks))


def csv_of(table: TrialTable) -> bytes:
    """Write the typed rows as the file that the commands read."""
    ordinary = [f"ordinary: {table.ordinary}"] if table.ordinary else []
    remarks = [f"count: {table.unit}", *ordinary, *table.remarks]
    return write_trials([row.cells for row in table.typed], remarks)


def check_table(table: TrialTable) -> TrialTable:
    """The table with the reader's complaint beside each row that it does not take.

    Rows are read one by one, so that all wrong cells are marked at once, then all together.
    """
    top = csv_of(replace(table, rows=())).count(b"\n")
    rows: list[TrialRow] = []
    line = top
    for row in table.rows:
        if row.is_blank:
            rows.append(row)
            continue
        line += 1
        rows.append(_checked(replace(row, line=line), table.unit))
    checked = replace(table, rows=tuple(rows))
    return checked if any(row.wrong for row in rows) else _checked_whole(checked)


def ask_far(table: TrialTable) -> TrialTable:
    """A table that was found right with a question beside each run far off the middle one.

    Such a run is most often a slip of the pen, and one of them would spoil all that is learnt.
    """
    runs = read_trials(csv_of(table)) if len(table.typed) >= LEAST_RUNS else ()
    if not runs:
        return table
    rates = [run.count / run.distance_m for run in runs]
    middle = median(rates)
    far = iter(not middle / FAR_FACTOR < rate < middle * FAR_FACTOR for rate in rates)
    return replace(
        table,
        rows=tuple(
            replace(row, wrong=_FAR, column="count") if not row.is_blank and next(far) else row
            for row in table.rows
        ),
    )


def _checked(row: TrialRow, unit: CountUnit) -> TrialRow:
    try:
        read_trials(csv_of(TrialTable((row,), unit)))
    except Complaint as complaint:
        return replace(row, wrong=complaint.sentence, column=complaint.where.column or "")
    return row


def _checked_whole(table: TrialTable) -> TrialTable:
    try:
        calibrate(table)
    except Complaint as complaint:
        rows = [
            replace(row, wrong=complaint.sentence, column=complaint.where.column or "")
            if row.line is not None and row.line == complaint.where.line
            else row
            for row in table.rows
        ]
        wrong = "" if any(row.wrong for row in rows) else complaint.sentence
        return replace(table, rows=tuple(rows), wrong=wrong)
    return table


def calibrate(table: TrialTable, of: Walker | None = None) -> Calibrated:
    """What the trials come to, as `pacewright calibrate` does.

    Parameters
    ----------
    table
        The trials.
    of
        Whose they are: name and compass stay, what was learnt of counts gives way to the trials.

    Raises
    ------
    Complaint
        A run cannot be read, or no class can count as ordinary.
    """
    runs: Sequence[PaceRun] = read_trials(csv_of(table))
    return calibrate_runs(runs, table.ordinary, of)


def _cell(text: str) -> str:
    clean = clean_line(str(text))
    if len(clean) > LONGEST_CELL:
        raise FormatComplaint(f"a cell holds at most {LONGEST_CELL} characters", "Shorten it")
    return clean


def _is_prose(line: str) -> bool:
    return bool(line) and not _COUNT.match(line) and not _ORDINARY.fullmatch(line)


def _too_many() -> FormatComplaint:
    return FormatComplaint(f"a table holds at most {MOST_TRIALS} runs", "Put the rest under another walker")
