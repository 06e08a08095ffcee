"""A backup that was made, read back by the checks of a restore: what of it would not come back, and why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any, Final

from pacewright.desk.books.backup_records import (
    KINDS,
    Record,
    broken,
    checked_values,
    is_part,
    related_fields,
    say_record,
)
from pacewright.desk.models import KeptLog, Member
from pacewright.exceptions import Complaint
from pacewright.files.backup_zip import Backup

MOST_LISTED: Final = 20


def find_faults(backup: Backup, kinds: Iterable[str]) -> tuple[str, ...]:
    """Say which records of a backup a restore on an empty desk would skip, and why.

    Parameters
    ----------
    backup
        As it was read.
    kinds
        The kinds that the restore takes, in their order.
    """
    known: set[tuple[Any, Any]] = set()
    faults: list[tuple[str, Any, Complaint]] = []
    for kind in ("members", *kinds):
        model = Member if kind == "members" else KINDS[kind]
        for record in backup.manifest.get(kind, []):
            try:
                values = checked_values(model, record)
                if model is not Member:
                    _check_named(model, values, record, known, backup)
            except Complaint as complaint:
                faults.append((kind, record, complaint))
                continue
            known.add((model, values.get("id")))
    return say_skipped(faults)


def _check_named(
    model: Any, values: Record, record: Mapping[str, Any], known: set[tuple[Any, Any]], backup: Backup
) -> None:
    for field in related_fields(model):
        old = values.get(field.attname)
        if old is None and not field.null:
            raise broken(model, field.attname)
        if old is not None and (field.related_model, old) not in known and not field.null:
            raise broken(model, field.attname)
    if model is KeptLog and record.get("came_as") is not None and record["came_as"] not in backup.files:
        raise broken(model, "came_as")


def say_skipped(skipped: Iterable[tuple[str, Any, Complaint]]) -> tuple[str, ...]:
    """Say which records do not come back, a sentence each; parts of others are counted, not listed."""
    listed, parts = [], Counter[tuple[str, str]]()
    for kind, record, complaint in skipped:
        if is_part(kind):
            parts[kind, complaint.what] += 1
        else:
            listed.append(f"{say_record(kind, record)}: {complaint.what}.")
    more = [f"And {len(listed) - MOST_LISTED} more."] if len(listed) > MOST_LISTED else []
    counted = [f"{count} times {say_record(kind, {})}: {what}." for (kind, what), count in parts.items()]
    return (*listed[:MOST_LISTED], *more, *counted[:MOST_LISTED])
