"""Dated copies of the desk's own database file, made by itself, checked, and thrown away in their turn."""

from __future__ import annotations

import contextlib
import logging
import os
import sqlite3
import threading
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from pacewright.exceptions import FormatComplaint, ValueComplaint

FOLDER: Final = "backups"
USUAL_KEPT: Final = 14
USUAL_DAYS: Final = 60
ALWAYS_KEPT: Final = 3
"""However old: a clock that jumped must not throw the last of them away."""
MOST_THROWN: Final = 2
"""At a time, for the same reason."""
EVERY: Final = timedelta(hours=20)
_LOOK_S: Final = 1800.0
_NAME: Final = "desk-%Y-%m-%d-%H%M%S.sqlite3"
_LOG: Final = logging.getLogger("django.desk")


def copies_in(folder: Path) -> list[Path]:
    """The dated copies of a data folder, the oldest first."""
    return sorted(path for path in (folder / FOLDER).glob("desk-*.sqlite3") if time_of(path) is not None)


def time_of(copy: Path) -> datetime | None:
    """When a copy was made, by its name."""
    try:
        return datetime.strptime(copy.name, _NAME)
    except ValueError:
        return None


def find_damage(path: Path) -> str:
    """Say what is wrong with a database file; nothing where it is whole.

    References
    ----------
    SQLite, PRAGMA integrity_check (from memory).
    """
    try:
        with contextlib.closing(sqlite3.connect(path, timeout=20)) as base:
            said = str(base.execute("PRAGMA integrity_check(1)").fetchone()[0])
    except sqlite3.Error as refused:
        return str(refused)
    return "" if said == "ok" else " ".join(said.split())[:200]


def is_due(folder: Path, now: datetime) -> bool:
    """Whether no copy is of these hours; one that a wrong clock dated into the future does not count."""
    return not any(abs(now - made) < EVERY for copy in copies_in(folder) if (made := time_of(copy)))


def make_copy(database: Path, folder: Path, now: datetime) -> Path:
    """Make a dated copy of a database that is in use, and check it before it takes its name.

    Raises
    ------
    FormatComplaint
        The copy is not whole.
    OSError, sqlite3.Error
        The system refuses: most often, the disk is full.
    """
    target = folder / FOLDER / now.strftime(_NAME)
    target.parent.mkdir(mode=0o700, exist_ok=True)
    draft = target.with_suffix(".part")
    try:
        with (
            contextlib.closing(sqlite3.connect(database, timeout=20)) as base,
            contextlib.closing(sqlite3.connect(draft)) as copy,
        ):
            base.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")
        damage = find_damage(draft)
        if damage:
            raise FormatComplaint(f"the copy is not whole ({damage})", "Look at the disk of this machine")
        draft.chmod(0o600)
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        draft.replace(target)
    finally:
        draft.unlink(missing_ok=True)
    return target


def throw_old(folder: Path, now: datetime, kept: int = USUAL_KEPT, days: int = USUAL_DAYS) -> list[Path]:
    """Throw away the oldest copies beyond so many, or older than so many days; give which."""
    copies = copies_in(folder)
    oldest = now - timedelta(days=days)
    surplus = [
        copy
        for at, copy in enumerate(copies[: max(0, len(copies) - ALWAYS_KEPT)])
        if len(copies) - at > kept or (time_of(copy) or now) < oldest
    ]
    for copy in surplus[:MOST_THROWN]:
        copy.unlink(missing_ok=True)
    return surplus[:MOST_THROWN]


def asked_setting(kept: str, days: str) -> tuple[int, int]:
    """How many copies to keep, and for how many days, as they were typed.

    Raises
    ------
    ValueComplaint
        One is no such number.
    """
    found = []
    for typed, most in ((kept, 500), (days, 5000)):
        bare = typed.strip()
        if not (bare.isdecimal() and len(bare) < 6 and ALWAYS_KEPT <= int(bare) <= most):
            raise ValueComplaint(
                f"{bare[:20] or 'nothing'} is not a number of copies or days",
                f"Write a whole number from {ALWAYS_KEPT} to {most}",
            )
        found.append(int(bare))
    return found[0], found[1]


def keep_copies(database: Path, folder: Path, setting: Sequence[int] = (USUAL_KEPT, USUAL_DAYS)) -> None:
    """Make a copy if one is due and throw old ones away; what goes wrong stands in the desk's log."""
    now = datetime.now()
    try:
        if is_due(folder, now):
            make_copy(database, folder, now)
            throw_old(folder, now, *setting)
    except (OSError, sqlite3.Error, FormatComplaint) as refused:
        _LOG.error("no dated copy of the database could be made: %s", refused)


def begin_copying(database: Path, folder: Path, setting: Callable[[], tuple[int, int]]) -> threading.Event:
    """Keep dated copies for as long as the desk is open; setting what is given ends it."""
    ended = threading.Event()

    def work() -> None:
        from django.db import connection

        while True:
            try:
                keep_copies(database, folder, setting())
            finally:
                connection.close()
            if ended.wait(_LOOK_S):
                return

    threading.Thread(target=work, name="dated copies", daemon=True).start()
    return ended
