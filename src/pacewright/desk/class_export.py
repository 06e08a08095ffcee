"""A group's logs and one table of all its cards, in a zip."""

from __future__ import annotations

import csv
import io
import zipfile
from typing import Any, Final

from pacewright.desk.class_courses import course_of
from pacewright.desk.class_entries import live_rows, typed_number
from pacewright.desk.class_marks import marks_of
from pacewright.desk.file_names import slug
from pacewright.desk.log_files import log_csv
from pacewright.desk.models import Exercise, Group
from pacewright.wording.teaching import report_table

TABLE: Final = "cards.csv"
_COLUMNS: Final = (
    *("date", "exercise", "course", "card", "learner", "start", "minute", "rows", "ends_at"),
    *("along_m", "off_m", "minutes", "words", "handed_in", "changed_after", "log"),
)
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")


def group_zip(group: Group) -> bytes:
    """Give every log that a group wrote in its exercises, and a table of its cards, as a zip."""
    held = io.BytesIO()
    table = io.StringIO(newline="")
    writer = csv.writer(table)
    writer.writerow(_COLUMNS)
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, exercise in enumerate(group.exercises.select_related("course").order_by("made_at"), 1):
            _put_exercise(archive, writer, exercise, number)
        _put(archive, TABLE, table.getvalue().encode("utf-8"))
    return held.getvalue()


def _put(archive: zipfile.ZipFile, name: str, data: bytes) -> None:
    # Without the time of a clock that may stand before 1980, which no archive can state.
    archive.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)


def _put_exercise(archive: zipfile.ZipFile, writer: Any, exercise: Exercise, number: int) -> None:
    folder = f"{number:02d}-{slug(exercise.title, 'exercise')}"
    _put_marks(archive, exercise, folder)
    title = course_of(exercise.course).title
    for row in live_rows(exercise):
        entry = row.entry
        name = ""
        if entry.log is not None:
            name = f"{folder}/card-{row.card:03d}-{slug(row.name, 'learner')}.csv"
            _put(archive, name, log_csv(entry.log))
        writer.writerow(
            [
                exercise.made_at.date().isoformat(),
                plain(exercise.title),
                plain(title),
                row.card,
                plain(row.name),
                plain(row.start),
                row.minute,
                row.rows,
                plain(entry.ends_at),
                *(_figure(text) for text in (entry.along_m, entry.off_m, entry.minutes)),
                plain("; ".join(f"{post}: {word}" for post, word in entry.words.items())),
                entry.handed_at.isoformat(timespec="seconds") if entry.handed_at else "",
                "yes" if row.is_late else "",
                name,
            ]
        )


def _put_marks(archive: zipfile.ZipFile, exercise: Exercise, folder: str) -> None:
    report = marks_of(exercise).report
    if report is None:
        return
    header, rows = report_table(report)
    table = io.StringIO(newline="")
    csv.writer(table).writerows([header, *([plain(cell) for cell in row] for row in rows)])
    _put(archive, f"{folder}/marks.csv", table.getvalue().encode("utf-8"))


def _figure(text: str) -> str:
    return text if typed_number(text) is not None else plain(text)


def plain(text: str) -> str:
    """Give a text so that no spreadsheet takes it for a formula.

    >>> plain("=1+1"), plain("Ada")
    ("'=1+1", 'Ada')

    References
    ----------
    OWASP, CSV Injection (from memory).
    """
    return f"'{text}" if text.startswith(_FORMULA) else text
