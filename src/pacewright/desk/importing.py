"""Logs that come in from files or from the clipboard: each whole or not at all, its bytes kept."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from pacewright.desk.file_names import handed_in, shown_file_name
from pacewright.desk.keeping import new_log, page_of
from pacewright.desk.models import LONGEST_CELL, KeptLog, KeptWalker, Member
from pacewright.desk.page_changes import CELLS, LONGEST_HEADING, MOST_ROWS, PageState
from pacewright.exceptions import Complaint, FormatComplaint
from pacewright.files.log_csv import read_log

MOST_FILES: Final = 50


@dataclass(frozen=True, slots=True)
class CameIn:
    """What became of the files that were handed in.

    The logs kept, a sentence on each that was not, and each that was kept already with the one it repeats.
    """

    kept: tuple[KeptLog, ...]
    refused: tuple[str, ...]
    twice: tuple[tuple[KeptLog, KeptLog], ...] = ()


def take_in_files(owner: Member, files: Iterable[Any]) -> CameIn:
    """Keep each file that is a travel log; a bad one is told of and does not stop the rest."""
    kept: list[KeptLog] = []
    refused: list[str] = []
    for number, file in enumerate(files):
        name = shown_file_name(file)
        try:
            if number >= MOST_FILES:
                raise FormatComplaint(f"more than {MOST_FILES} files at once", "Hand in the rest after these")
            kept.append(take_in(owner, handed_in(file)))
        except Complaint as complaint:
            refused.append(f"{name}: {complaint}")
    repeats = [(log, first) for log in kept if (first := same_as(log)) is not None]
    return CameIn(tuple(kept), tuple(refused), tuple(repeats))


def same_as(log: KeptLog) -> KeptLog | None:
    """Give an earlier log of the same owner that holds the very same page; None where there is none."""
    others = KeptLog.objects.filter(owner=log.owner, words=log.words, heading=log.heading, thrown_at=None)
    cells = _cells(log)
    earlier = others.exclude(pk=log.pk).filter(made_at__lte=log.made_at).order_by("made_at")
    return next((one for one in earlier if _cells(one) == cells), None)


def _cells(log: KeptLog) -> list[tuple[str, ...]]:
    return [tuple(row[name] for name in CELLS) for row in log.rows]


def take_in(owner: Member, data: bytes) -> KeptLog:
    """Keep one travel log.

    Raises
    ------
    Complaint
        It is none, or larger than a page.
    """
    log = read_log(data)
    page = page_of(log)
    check_page(page)
    return new_log(owner, page, _walker_named(owner, log.heading.walker), came_as=data)


def check_page(page: PageState) -> None:
    """Refuse a page that could not have been typed on the desk.

    Raises
    ------
    FormatComplaint
        It has too many rows, or too long a heading or cell.
    """
    if len(page.rows) > MOST_ROWS:
        raise FormatComplaint(f"a page holds at most {MOST_ROWS} rows", "Split the log")
    if len(page.heading) > LONGEST_HEADING:
        raise FormatComplaint(f"a heading is at most {LONGEST_HEADING} characters long", "Shorten it")
    for number, row in enumerate(page.rows, start=1):
        if any(len(row[name]) > LONGEST_CELL for name in CELLS):
            raise FormatComplaint(
                f"a cell of row {number} holds more than {LONGEST_CELL} characters", "Shorten it"
            )


def _walker_named(owner: Member, name: str) -> KeptWalker | None:
    """Give the owner's one walker of that name: two of a name are not chosen between."""
    found = list(KeptWalker.objects.filter(owner=owner, name=name)[:2]) if name else []
    return found[0] if len(found) == 1 else None
