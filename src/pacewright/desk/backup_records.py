"""The records of the desk as plain values, and back, each value looked at before it is kept."""

from __future__ import annotations

import datetime
import math
import uuid
from collections.abc import Callable, Mapping
from typing import Any, Final

from django.db import models
from django.utils.dateparse import parse_datetime

from pacewright.desk.importing import check_page
from pacewright.desk.models import (
    Edit,
    Entry,
    Exercise,
    Ground,
    Group,
    KeptCourse,
    KeptLog,
    KeptWalker,
    WalkerPast,
)
from pacewright.desk.page_changes import CELLS, PageState, parse_change
from pacewright.exceptions import FormatComplaint
from pacewright.files.walker_toml import read_walker

Record = dict[str, Any]
KINDS: Final[dict[str, type[models.Model]]] = {
    "groups": Group,
    "walkers": KeptWalker,
    "grounds": Ground,
    "logs": KeptLog,
    "edits": Edit,
    "walker_pasts": WalkerPast,
    "courses": KeptCourse,
    "exercises": Exercise,
    "entries": Entry,
}
"""What a backup holds beside the members, in the order in which one may name another."""
OF_A_GUEST: Final = ("walkers", "grounds", "logs", "edits", "walker_pasts")
LONGEST_TEXT: Final = 20_000_000
_DO: Final = "Give the file that the desk made under Backup"


def record_of(kept: models.Model) -> Record:
    """Give a record as plain values, bytes left out."""
    return {field.attname: _plain(getattr(kept, field.attname)) for field in fields_of(type(kept))}


def fields_of(model: type[models.Model]) -> list[Any]:
    """Give the fields of a model that a backup states: no bytes, and no number of this database alone."""
    left_out = (models.BinaryField, models.AutoField)
    return [field for field in model._meta.concrete_fields if not isinstance(field, left_out)]


def _plain(value: Any) -> Any:
    if isinstance(value, uuid.UUID):
        return str(value)
    return value.isoformat() if isinstance(value, datetime.datetime) else value


def values_of(model: type[models.Model], record: Any) -> Record:
    """Give the values of a record that somebody wrote, by field, each such as the field can hold.

    What the record does not state stands at the model's own default.

    Raises
    ------
    FormatComplaint
        It is none of the model.
    """
    if not isinstance(record, dict):
        raise broken(model)
    stated = [field for field in fields_of(model) if field.attname in record]
    return {field.attname: _value(model, field, record[field.attname]) for field in stated}


def _value(model: type[models.Model], field: Any, raw: Any) -> Any:
    if raw is None and field.null:
        return None
    kind = field.target_field if field.is_relation else field
    for of, reader in _READERS:
        if isinstance(kind, of):
            value = reader(kind, raw)
            if value is None:
                raise broken(model, field.attname)
            return value
    raise broken(model, field.attname)


def _text(field: Any, raw: Any) -> str | None:
    most = field.max_length or LONGEST_TEXT
    return raw if isinstance(raw, str) and len(raw) <= most and "\0" not in raw else None


def _identity(field: Any, raw: Any) -> uuid.UUID | None:
    try:
        return uuid.UUID(raw) if isinstance(raw, str) else None
    except ValueError:
        return None


def _moment(field: Any, raw: Any) -> datetime.datetime | None:
    try:
        found = parse_datetime(raw) if isinstance(raw, str) else None
    except ValueError:
        return None
    return found if found is not None and found.tzinfo is not None and found.year > 1970 else None


def _yes_or_no(field: Any, raw: Any) -> bool | None:
    return raw if isinstance(raw, bool) else None


def _whole(field: Any, raw: Any) -> int | None:
    return raw if type(raw) is int and 0 <= raw < 2**31 else None


def _number(field: Any, raw: Any) -> float | None:
    is_number = isinstance(raw, int | float) and not isinstance(raw, bool) and abs(raw) < 1e12
    return float(raw) if is_number and math.isfinite(raw) else None


def _json(field: Any, raw: Any) -> Any:
    return None if _holds_nul(raw) else raw


def _holds_nul(raw: Any) -> bool:
    if isinstance(raw, str):
        return "\0" in raw
    if isinstance(raw, dict):
        return any(_holds_nul(key) or _holds_nul(value) for key, value in raw.items())
    return isinstance(raw, list) and any(map(_holds_nul, raw))


_READERS: Final[tuple[tuple[Any, Callable[[Any, Any], Any]], ...]] = (
    (models.UUIDField, _identity),
    (models.DateTimeField, _moment),
    (models.BooleanField, _yes_or_no),
    (models.FloatField, _number),
    (models.IntegerField, _whole),
    (models.JSONField, _json),
    ((models.CharField, models.TextField), _text),
)


def broken(model: type[models.Model], name: str = "") -> FormatComplaint:
    """Give the complaint about a record that is none."""
    what = f" ({name})" if name else ""
    return FormatComplaint(
        f"a record of this backup is not as the desk keeps it: {model.__name__}{what}", _DO
    )


def check_log(values: Mapping[str, Any]) -> None:
    """Refuse a log that could not have been typed.

    Raises
    ------
    FormatComplaint
        Its rows are none.
    """
    rows = values.get("rows", [])
    if not isinstance(rows, list) or not all(map(_is_row, rows)):
        raise broken(KeptLog, "rows")
    if len({row["id"] for row in rows}) < len(rows):
        raise broken(KeptLog, "rows")
    if rows:
        parse_change({"kind": "remove", "ids": [row["id"] for row in rows]})
    check_page(PageState(values.get("heading", ""), tuple(rows)))


def _is_row(row: Any) -> bool:
    return (
        isinstance(row, dict)
        and set(row) == {"id", *CELLS, "struck"}
        and all(isinstance(row[name], str) for name in ("id", *CELLS))
        and isinstance(row["struck"], bool)
    )


def check_edit(values: Record) -> None:
    """Refuse an edit that could not be taken back; put what its kind does not know out of it.

    Raises
    ------
    FormatComplaint
        Its change is none.
    """
    for name in ("change", "inverse"):
        if not isinstance(values.get(name), dict):
            raise broken(Edit, name)
        values[name] = parse_change(values[name])


def check_walker(values: Mapping[str, Any]) -> None:
    """Refuse a walker whose file cannot be read.

    Raises
    ------
    Complaint
        What is wrong with it.
    """
    if values.get("toml"):
        read_walker(values["toml"].encode("utf-8"))
