"""Several logs at once: their files in one archive, one kind of sheet of each in one PDF."""

from __future__ import annotations

import datetime
import io
import zipfile
from collections.abc import Mapping, Sequence
from typing import Final

from pacewright.core.plain_text import slug
from pacewright.desk.books.sheet_kinds import log_sheet, paper_of
from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.log_files import KINDS, log_file
from pacewright.desk.serving.habits import habits_of
from pacewright.desk.workers.progress import tell_progress
from pacewright.exceptions import Complaint, MissingComplaint

MOST_LOGS: Final = 50
LEFT_OUT: Final = "left-out.txt"


def archive_of(logs: Sequence[KeptLog], kind: str, read: Mapping[str, str]) -> bytes:
    """The files of several logs as one archive; a text beside them names those that have no such file.

    `read` holds the habits of whoever reads them.

    Raises
    ------
    MissingComplaint
        None of them has such a file.
    """
    held, left_out, written = io.BytesIO(), [], 0
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, log in enumerate(logs, start=1):
            tell_progress(number - 1, len(logs))
            try:
                data = log_file(log, kind, read)
            except Complaint as complaint:
                left_out.append(f"{_called(log)}: {complaint.sentence}\n")
                continue
            written += 1
            # Without the time of a clock that may stand before 1980, which no archive can state.
            name = f"{number:02d}-{slug(log.title)}{KINDS[kind]}"
            archive.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
        if left_out:
            archive.writestr(zipfile.ZipInfo(LEFT_OUT), "".join(left_out).encode("utf-8"))
    if not written:
        raise MissingComplaint("no log of these has such a file", f"Look at the first: {left_out[0][:-2]}")
    return held.getvalue()


def sheets_of(logs: Sequence[KeptLog], kind: str, asked: Mapping[str, str]) -> bytes:
    """One kind of sheet of several logs as one PDF.

    Raises
    ------
    Complaint
        A log has no such sheet: which, and why.
    """
    from pacewright.sheets.typesetting import typeset

    made = []
    for number, log in enumerate(logs):
        tell_progress(number, len(logs))
        try:
            made.append(log_sheet(kind, asked, log))
        except Complaint as complaint:
            raise type(complaint)(f"{_called(log)}: {complaint.what}", complaint.do) from None
    written = None if kind == "log" else habits_of(asked).figures
    return typeset(made, paper_of(asked), printed_on=datetime.date.today().isoformat(), written=written)


def _called(log: KeptLog) -> str:
    return log.title or "A log without a title"
