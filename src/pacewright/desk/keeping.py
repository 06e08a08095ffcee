"""Keep what is typed: every change once, in order, on the disk before it is acknowledged."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, Final

from django.db import transaction

from pacewright.core.log_heading import format_heading
from pacewright.core.travel_log import TravelLog
from pacewright.desk.models import Edit, KeptLog, KeptWalker, Member
from pacewright.desk.page_changes import Change, PageState, apply_change, new_row
from pacewright.exceptions import FormatComplaint, MissingComplaint

_KEY: Final = re.compile(r"[A-Za-z0-9_-]{8,64}")
_TITLE: Final = re.compile(r"^[^\S\n]*title[^\S\n]*:(.*)$", re.IGNORECASE | re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of a change: the log as it stands, and whether this very change was kept before."""

    log: KeptLog
    is_repeated: bool


def state_of(log: KeptLog) -> PageState:
    """Give the page of a kept log."""
    return PageState(log.heading, tuple(log.rows))


def keep_change(log_id: Any, key: str, change: Change) -> Kept:
    """Make one change of a log, unless it was made before, and keep it.

    Parameters
    ----------
    log_id
        The log's identity; that its owner asks is the caller's matter.
    key
        Chosen by the browser, one for each change: a change posted twice is made once.

    Raises
    ------
    FormatComplaint
        The key or the change is none.
    """
    if not _KEY.fullmatch(key):
        raise FormatComplaint("this change has no key", "Load the page again")
    with transaction.atomic():
        log = KeptLog.objects.select_for_update().get(pk=log_id)
        if log.edits.filter(key=key).exists():
            return Kept(log, is_repeated=True)
        after, inverse = apply_change(state_of(log), change)
        _record(log, key, change, inverse)
        _store(log, after)
    return Kept(log, is_repeated=False)


def undo_last(log_id: Any, key: str) -> Kept:
    """Take the latest change that still stands back.

    Raises
    ------
    MissingComplaint
        There is none.
    """
    if not _KEY.fullmatch(key):
        raise FormatComplaint("this change has no key", "Load the page again")
    with transaction.atomic():
        log = KeptLog.objects.select_for_update().get(pk=log_id)
        if log.edits.filter(key=key).exists():
            return Kept(log, is_repeated=True)
        last = log.edits.filter(is_undone=False, is_undo=False).order_by("-number").first()
        if last is None:
            raise MissingComplaint("there is nothing to undo", "Go on typing")
        after, inverse = apply_change(state_of(log), last.inverse)
        last.is_undone = True
        last.save(update_fields=["is_undone"])
        _record(log, key, last.inverse, inverse, is_undo=True)
        _store(log, after)
    return Kept(log, is_repeated=False)


def can_undo(log: KeptLog) -> bool:
    """Tell whether a change stands that can be taken back."""
    return bool(log.edits.filter(is_undone=False, is_undo=False).exists())


def new_log(
    owner: Member, state: PageState, walker: KeptWalker | None = None, came_as: bytes | None = None
) -> KeptLog:
    """Keep a new log; its first state cannot be undone."""
    log = KeptLog(owner=owner, walker=walker, came_as=came_as)
    _store(log, state)
    return log


def page_of(log: TravelLog) -> PageState:
    """Give the page of a travel log that was read; prose between its rows stays above the rows."""
    rows = tuple(
        new_row(f"r{at}", (row.cells.azimuth, row.cells.count, row.cells.notes))
        for at, row in enumerate(log.rows)
    )
    return PageState("\n".join(heading_lines(log)), rows)


def heading_lines(log: TravelLog) -> list[str]:
    """Give the heading lines of a log to the letter, as far as it lay on a page."""
    if log.page is None:
        return format_heading(log.heading)
    lines = [line.strip().strip('"') for line in log.page.lines if isinstance(line, str)]
    return [line.lstrip("#").strip().rstrip(",;\t") for line in lines if line.startswith("#")]


def _record(log: KeptLog, key: str, change: Change, inverse: Change, *, is_undo: bool = False) -> None:
    log.revision += 1
    Edit.objects.create(
        log=log, key=key, number=log.revision, change=change, inverse=inverse, is_undo=is_undo
    )


def _store(log: KeptLog, state: PageState) -> None:
    found = _TITLE.search(state.heading)
    log.title = (found[1].strip() if found else "")[:200]
    log.heading, log.rows = state.heading, list(state.rows)
    log.words = " ".join([state.heading, *(row["notes"] for row in state.rows)])
    log.save()
