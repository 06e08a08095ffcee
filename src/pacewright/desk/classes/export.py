"""A group's logs and one table of all its cards, in a zip."""

from __future__ import annotations

import io
import zipfile
from typing import Final

from pacewright.core.plain_text import slug
from pacewright.desk.classes.courses import course_of
from pacewright.desk.classes.entries import live_rows
from pacewright.desk.classes.marks import marks_of
from pacewright.desk.models import Exercise, Group
from pacewright.desk.notebook.log_files import log_csv
from pacewright.files.csv_table import write_table
from pacewright.wording.class_table import report_table

TABLE: Final = "cards.csv"
_COLUMNS: Final = (
    *("date", "exercise", "course", "card", "learner", "start", "minute", "rows", "ends_at"),
    *("along_m", "off_m", "minutes", "words", "handed_in", "changed_after", "log"),
)


def group_zip(group: Group) -> bytes:
    """Every log that a group wrote in its exercises, and a table of its cards, as a zip."""
    held = io.BytesIO()
    cards: list[list[object]] = []
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, exercise in enumerate(group.exercises.select_related("course").order_by("made_at"), 1):
            _put_exercise(archive, cards, exercise, number)
        _put(archive, TABLE, write_table(_COLUMNS, cards))
    return held.getvalue()


def _put(archive: zipfile.ZipFile, name: str, data: bytes) -> None:
    # Without the time of a clock that may stand before 1980, which no archive can state.
    archive.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)


def _put_exercise(
    archive: zipfile.ZipFile, cards: list[list[object]], exercise: Exercise, number: int
) -> None:
    folder = f"{number:02d}-{slug(exercise.title, 'exercise')}"
    _put_marks(archive, exercise, folder)
    title = course_of(exercise.course).title
    for row in live_rows(exercise):
        entry = row.entry
        name = ""
        if entry.log is not None:
            name = f"{folder}/card-{row.card:03d}-{slug(row.name, 'learner')}.csv"
            _put(archive, name, log_csv(entry.log))
        cards.append(
            [
                exercise.made_at.date().isoformat(),
                exercise.title,
                title,
                row.card,
                row.name,
                row.start,
                row.minute,
                row.rows,
                entry.ends_at,
                *(entry.along_m, entry.off_m, entry.minutes),
                "; ".join(f"{post}: {word}" for post, word in entry.words.items()),
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
    _put(archive, f"{folder}/marks.csv", write_table(header, rows))
