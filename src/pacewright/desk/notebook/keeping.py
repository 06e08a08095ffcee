"""Keep what is typed: every change once, in order, on the disk before it is acknowledged."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from django.db import transaction
from django.utils import timezone

from pacewright.core.log.travel_log import TravelLog
from pacewright.desk.models import Edit, KeptLog, KeptWalker, Member
from pacewright.desk.notebook.kept_bytes import SHARES, bound_undo, bytes_of
from pacewright.desk.notebook.page_changes import Change, PageState, apply_change, new_row, parse_change
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, OutputComplaint
from pacewright.files.page_csv import page_heading, page_rows

MOST_GUEST_LOGS: Final = 200
UNTOUCHED: Final[dict[str, Any]] = {"revision": 0, "rows": [], "came_as": None, "entries": None}
"""What is true of a page that was begun and never typed on."""
_KEY: Final = re.compile(r"[A-Za-z0-9_-]{8,64}")


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of a change: the log as it stands, and whether this very change was kept before."""

    log: KeptLog
    is_repeated: bool


def state_of(log: KeptLog) -> PageState:
    """The page of a kept log."""
    return PageState(log.heading, tuple(log.rows))


def keep_change(log_id: Any, key: str, change: Change, who: str = "") -> Kept:
    """Make one change of a log, unless it was made before, and keep it.

    Parameters
    ----------
    log_id
        The log's identity; that its owner asks is the caller's matter.
    key
        Chosen by the browser, one for each change: a change posted twice is made once.
    change
        What is to be made.
    who
        The name of whoever makes it.

    Raises
    ------
    FormatComplaint
        The key or the change is none.
    OutputComplaint
        The log lies in the bin.
    """
    kept = keep_changes(log_id, [(key, change)], who)
    for complaint in kept.refused.values():
        raise complaint
    return Kept(kept.log, is_repeated=key in kept.repeated)


@dataclass(frozen=True, slots=True)
class KeptAll:
    """What became of several changes: the log, the keys that were known, and why a change was refused."""

    log: KeptLog
    repeated: frozenset[str]
    refused: Mapping[str, Complaint]


def keep_changes(log_id: Any, changes: Sequence[tuple[str, Change]], who: str = "") -> KeptAll:
    """Make several changes of a log in order, each unless it was made before, and keep them all at once.

    A change that is refused does not stop those after it.

    Parameters
    ----------
    log_id
        The log's identity; that its owner asks is the caller's matter.
    changes
        Each with its key, chosen by the browser.
    who
        The name of whoever makes them.

    Raises
    ------
    OutputComplaint
        The log lies in the bin.
    """
    made = _written(log_id, lambda log: _changed(log, changes, who))
    return KeptAll(made.log, frozenset(made.repeated), made.refused)


@dataclass(slots=True)
class _Made:
    """A log after changes, not stored yet: at which revision they were made, and the records of them."""

    log: KeptLog
    before: int
    edits: list[Edit]
    repeated: set[str] = field(default_factory=set)
    refused: dict[str, Complaint] = field(default_factory=dict)
    undone: Edit | None = None
    is_same_page: bool = False


def _written(log_id: Any, make: Callable[[KeptLog], _Made]) -> _Made:
    """Make changes of a log and store them.

    They are made before the turn to write comes: all others wait while one has it, and a long page takes
    its time. Where the log was written on meanwhile, they are made once more with the turn in hand.
    """
    logs = KeptLog.objects.select_related("owner")
    made = make(logs.get(pk=log_id))
    if not made.edits:
        # What was kept before may have been kept a moment ago, by the same change sent twice.
        made.log = logs.get(pk=log_id)
    else:
        with transaction.atomic():
            if not _is_stored(made):
                made = make(logs.select_for_update(of=("self",)).get(pk=log_id))
                assert not made.edits or _is_stored(made), "whoever has the turn writes alone"
    return made


def _changed(log: KeptLog, changes: Sequence[tuple[str, Change]], who: str) -> _Made:
    known = _known_keys(log, [key for key, _ in changes])
    if not known.issuperset(key for key, _ in changes):
        check_not_thrown(log)
    state, made = state_of(log), _Made(log, log.revision, [])
    for key, change in changes:
        if key in known:
            made.repeated.add(key)
            continue
        try:
            state, edit = _after_one(log, state, key, change)
        except Complaint as complaint:
            made.refused[key] = complaint
            continue
        known.add(key)
        edit.who = who
        made.edits.append(edit)
    try:
        if made.edits and not log.owner.is_owner:
            SHARES.spend(log.owner, _more_bytes(log, state, made.edits))
    except OutputComplaint as complaint:
        refused = made.refused | {edit.key: complaint for edit in made.edits}
        return _Made(KeptLog.objects.get(pk=log.pk), made.before, [], made.repeated, refused)
    made.is_same_page = state == state_of(log)
    _write_on(log, state)
    return made


def _is_stored(made: _Made) -> bool:
    """Store what was made; false where the log is not as it was then any more."""
    log = made.log
    as_it_was = KeptLog.objects.filter(pk=log.pk, revision=made.before, thrown_at__isnull=True)
    log.changed_at = timezone.now()
    # Nothing but what a change of the page is: its walker may have been chosen meanwhile. And a page that is
    # as it was is not written anew: whoever takes nothing away from a long one keeps nobody waiting.
    page = () if made.is_same_page else ("title", "heading", "rows", "words")
    names = (*page, "revision", "changed_at")
    if not as_it_was.update(**{name: getattr(log, name) for name in names}):
        return False
    if made.undone is not None:
        made.undone.save(update_fields=["is_undone"])
    Edit.objects.bulk_create(made.edits, batch_size=500)
    bound_undo(log, made.edits)
    return True


def _more_bytes(log: KeptLog, after: PageState, edits: Sequence[Edit]) -> int:
    grown = bytes_of([after.heading, after.rows]) - bytes_of([log.heading, log.rows])
    return max(0, grown) + sum(bytes_of(edit.change) + bytes_of(edit.inverse) for edit in edits)


def _known_keys(log: KeptLog, keys: Sequence[str]) -> set[str]:
    asked = [key for key in keys if _KEY.fullmatch(key)]
    found: set[str] = set()
    for at in range(0, len(asked), 500):
        found |= set(log.edits.filter(key__in=asked[at : at + 500]).values_list("key", flat=True))
    return found


def _after_one(log: KeptLog, state: PageState, key: str, change: Change) -> tuple[PageState, Edit]:
    if not _KEY.fullmatch(key):
        raise FormatComplaint("this change has no key", "Load the page again")
    parsed = parse_change(change)
    after, inverse = apply_change(state, parsed)
    return after, _edit(log, key, parsed, inverse)


def check_not_thrown(log: KeptLog) -> None:
    """Refuse to write on a log that lies in the bin.

    Raises
    ------
    OutputComplaint
        It does.
    """
    if log.thrown_at is not None:
        raise OutputComplaint("this log lies in the bin", "Take it back first, then write on it")


def undo_last(log_id: Any, key: str, who: str = "") -> Kept:
    """Take the latest change that still stands back.

    Raises
    ------
    MissingComplaint
        There is none.
    OutputComplaint
        The log lies in the bin.
    """
    if not _KEY.fullmatch(key):
        raise FormatComplaint("this change has no key", "Load the page again")
    made = _written(log_id, lambda log: _taken_back(log, key, who))
    return Kept(made.log, is_repeated=not made.edits)


def _taken_back(log: KeptLog, key: str, who: str) -> _Made:
    before = log.revision
    if log.edits.filter(key=key).exists():
        return _Made(log, before, [])
    check_not_thrown(log)
    last = log.edits.filter(is_undone=False, is_undo=False).order_by("-number").first()
    if last is None:
        raise MissingComplaint("there is nothing to undo", "Go on typing")
    after, inverse = apply_change(state_of(log), last.inverse)
    last.is_undone = True
    edit = _edit(log, key, last.inverse, inverse, is_undo=True)
    edit.who = who
    _write_on(log, after)
    return _Made(log, before, [edit], undone=last)


def can_undo(log: KeptLog) -> bool:
    """Whether a change stands that can be taken back."""
    return bool(log.edits.filter(is_undone=False, is_undo=False).exists())


def new_log(
    owner: Member, state: PageState, walker: KeptWalker | None = None, came_as: bytes | None = None
) -> KeptLog:
    """Keep a new log; its first state cannot be undone.

    Raises
    ------
    OutputComplaint
        A guest keeps as many, or as much, as a guest may.
    """
    if not owner.is_owner and owner.logs.count() >= MOST_GUEST_LOGS:
        raise OutputComplaint(
            f"a guest of this desk keeps at most {MOST_GUEST_LOGS} logs", "Delete some for good, under Books"
        )
    SHARES.spend(owner, bytes_of([state.heading, state.rows]) + len(came_as or b""))
    log = KeptLog(owner=owner, walker=walker, came_as=came_as)
    _write_on(log, state)
    log.save()
    return log


def page_of(log: TravelLog) -> PageState:
    """The page of a travel log that was read; prose between its rows stays above the rows."""
    rows = tuple(
        new_row(f"r{at}", (cells.azimuth, cells.count, cells.notes), struck=is_struck)
        for at, (cells, is_struck) in enumerate(page_rows(log))
    )
    return PageState("\n".join(page_heading(log)), rows)


def _edit(log: KeptLog, key: str, change: Change, inverse: Change, *, is_undo: bool = False) -> Edit:
    """The record of a change, which is the log's next revision."""
    log.revision += 1
    return Edit(log=log, key=key, number=log.revision, change=change, inverse=inverse, is_undo=is_undo)


def title_of(heading: str) -> str:
    """What a log is called: its title, else the place and the day where it began.

    >>> title_of("title: Fen"), title_of("title: \\ndate: 2026-05-14\\nstart: Gate"), title_of("")
    ('Fen', 'Gate, 2026-05-14', '')
    """
    lines = {name.strip().lower(): text.strip() for name, mark, text in _parted(heading) if mark}
    return lines.get("title") or ", ".join(filter(None, (lines.get("start"), lines.get("date"))))


def _parted(heading: str) -> list[tuple[str, str, str]]:
    return [line.partition(":") for line in heading.splitlines()]


def _write_on(log: KeptLog, state: PageState) -> None:
    log.title = title_of(state.heading)[:200]
    log.heading, log.rows = state.heading, list(state.rows)
    log.words = " ".join([state.heading, *(row["notes"] for row in state.rows)])
