"""Logs that come in from files or from the clipboard: each whole or not at all, its bytes kept."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from pacewright.core.log.typed_page import read_typed
from pacewright.desk.models import LONGEST_CELL, KeptLog, KeptWalker, Member
from pacewright.desk.notebook.keeping import new_log, page_of
from pacewright.desk.notebook.page_changes import CELLS, LONGEST_HEADING, MOST_ROWS, PageState, new_row
from pacewright.desk.serving.file_names import handed_in, shown_file_name
from pacewright.exceptions import Complaint, FormatComplaint
from pacewright.files.log_csv import read_cells, read_log

MOST_FILES: Final = 50


@dataclass(frozen=True, slots=True)
class CameIn:
    """What became of the files that were handed in.

    The logs kept, a sentence on each that was not, each that was kept already with the one it repeats, and
    each that is kept with what is wrong in it.
    """

    kept: tuple[KeptLog, ...]
    refused: tuple[str, ...]
    twice: tuple[tuple[KeptLog, KeptLog], ...] = ()
    marked: tuple[tuple[KeptLog, str], ...] = ()


def take_in_files(owner: Member, files: Iterable[Any]) -> CameIn:
    """Keep each file that is a travel log; a bad one is told of and does not stop the rest."""
    kept: list[KeptLog] = []
    refused: list[str] = []
    marked: list[tuple[KeptLog, str]] = []
    for number, file in enumerate(files):
        name = shown_file_name(file)
        try:
            if number >= MOST_FILES:
                raise FormatComplaint(f"more than {MOST_FILES} files at once", "Hand in the rest after these")
            log, wrong = take_in_marked(owner, handed_in(file))
            kept.append(log)
            if wrong is not None:
                marked.append((log, f"{name}: {wrong}"))
        except Complaint as complaint:
            refused.append(f"{name}: {complaint}")
    repeats = [(log, first) for log in kept if (first := same_as(log)) is not None]
    return CameIn(tuple(kept), tuple(refused), tuple(repeats), tuple(marked))


def same_as(log: KeptLog) -> KeptLog | None:
    """An earlier log of the same owner that holds the very same page; None where there is none."""
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


def take_in_marked(owner: Member, data: bytes) -> tuple[KeptLog, Complaint | None]:
    """Keep one travel log, also where cells of it are wrong: its page marks them, and they can be set right.

    Returns
    -------
    tuple
        The log, and what is wrong in it; None where nothing is.

    Raises
    ------
    Complaint
        It is no travel log, or larger than a page.
    """
    try:
        read_log(data)
    except Complaint as wrong:
        page = _page_as_written(data, wrong)
        check_page(page)
        return new_log(owner, page), wrong
    return take_in(owner, data), None


def _page_as_written(data: bytes, wrong: Complaint) -> PageState:
    """The page of a file with wrong cells; what was refused for another reason stays refused."""
    try:
        lines, cells = read_cells(data)
    except Complaint:
        raise wrong from None
    if read_typed(lines, cells).is_whole:
        raise wrong
    texts = [(one.azimuth, one.count, one.notes) for one in cells]
    return PageState("\n".join(lines), tuple(new_row(f"r{at}", one) for at, one in enumerate(texts)))


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
    """The owner's one walker of that name: two of a name are not chosen between."""
    found = list(KeptWalker.objects.filter(owner=owner, name=name)[:2]) if name else []
    return found[0] if len(found) == 1 else None
