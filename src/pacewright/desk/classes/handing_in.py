"""Handing in: page and walker as they stand at that revision are what is marked, whatever comes later."""

from __future__ import annotations

from typing import Any, Final

from django.db import transaction
from django.utils import timezone

from pacewright.desk.models import Entry, KeptLog, KeptWalker
from pacewright.desk.notebook.page_changes import CELLS

CHANGED: Final = {
    "log": "The log was changed after it was handed in.",
    "gone": "The log was deleted after it was handed in.",
    "walker": "The walker's figures were changed after it was handed in.",
}
WHAT_COUNTS: Final = (
    "The mark goes by what was handed in. To take the change, open the card and hand it in anew."
)


def hand_in(entry: Entry) -> None:
    """Mark an entry as handed in, now, and keep its page and its walker as they stand at this revision."""
    with transaction.atomic():
        now = Entry.objects.select_for_update().get(pk=entry.pk)
        if now.handed_at is None:
            now.handed_at, now.frozen = timezone.now(), _as_it_stands(now)
            now.save(update_fields=["handed_at", "frozen"])


def open_again(entry: Entry) -> None:
    """Let a learner go on with an entry that was handed in."""
    Entry.objects.filter(pk=entry.pk).update(handed_at=None, frozen=None)


def _as_it_stands(entry: Entry) -> dict[str, Any]:
    if entry.log_id is None:
        return {"page": None, "walker": None}
    log = KeptLog.objects.select_for_update().get(pk=entry.log_id)
    page = {"revision": log.revision, "heading": log.heading, "rows": log.rows}
    return {"page": page, "walker": _figures(log.walker)}


def _figures(walker: KeptWalker | None) -> dict[str, str] | None:
    return None if walker is None else {"name": walker.name, "toml": walker.toml}


def is_frozen(held: Any) -> bool:
    """Whether something is a page and a walker as `hand_in` keeps them."""
    if not isinstance(held, dict) or set(held) != {"page", "walker"}:
        return False
    page, walker = held["page"], held["walker"]
    is_walker = walker is None or (
        isinstance(walker, dict) and all(isinstance(walker.get(name), str) for name in ("name", "toml"))
    )
    return is_walker and (page is None or _is_page(page))


def _is_page(page: Any) -> bool:
    return (
        isinstance(page, dict)
        and type(page.get("revision")) is int
        and isinstance(page.get("heading"), str)
        and isinstance(page.get("rows"), list)
        and all(map(_is_row, page["rows"]))
    )


def _is_row(row: Any) -> bool:
    return (
        isinstance(row, dict)
        and all(isinstance(row.get(name), str) for name in ("id", *CELLS))
        and isinstance(row.get("struck"), bool)
    )


def handed_log(entry: Entry) -> KeptLog | None:
    """The log of an entry as it was handed in, with its walker; None without one. It is not to be saved.

    What was handed in before the desk kept this stands as it is now.
    """
    held = entry.frozen
    if held is None:
        return entry.log
    if held["page"] is None:
        return None
    walker = held["walker"]
    return KeptLog(
        heading=held["page"]["heading"],
        rows=held["page"]["rows"],
        revision=held["page"]["revision"],
        walker=None if walker is None else KeptWalker(name=walker["name"], toml=walker["toml"]),
    )


def changed_since(entry: Entry) -> tuple[str, ...]:
    """Say what was changed after an entry was handed in, by revision; nothing where nothing was."""
    held = entry.frozen
    if entry.handed_at is None or held is None:
        return ()
    page, log = held["page"], entry.log
    if page is None:
        return (CHANGED["log"],) if log is not None and log.rows else ()
    if log is None:
        return (CHANGED["gone"],)
    # A log that was put in the place of one deleted may bear the same number.
    is_same = (log.revision, log.heading, log.rows) == (page["revision"], page["heading"], page["rows"])
    found = [] if is_same else [CHANGED["log"]]
    if _figures(log.walker) != held["walker"]:
        found.append(CHANGED["walker"])
    return tuple(found)
