"""The records of the desk as plain values, and back, each value looked at before it is kept."""

from __future__ import annotations

import datetime
import math
import re
import uuid
from collections.abc import Callable, Mapping
from typing import Any, Final

from django.db import models
from django.utils.dateparse import parse_datetime

from pacewright.core.plain_text import clean_line, clean_text
from pacewright.desk.books.importing import check_page
from pacewright.desk.classes.backup import CLASS_CHECKS
from pacewright.desk.clean_fields import clean_json
from pacewright.desk.models import (
    Edit,
    Entry,
    Exercise,
    Ground,
    Group,
    KeptCourse,
    KeptLog,
    KeptWalker,
    LandFeatures,
    PagePhoto,
    WalkerPast,
)
from pacewright.desk.notebook.page_changes import CELLS, PageState, parse_change
from pacewright.desk.photographs.kept_reading import is_read
from pacewright.exceptions import FormatComplaint
from pacewright.files.plan_features import check_geojson
from pacewright.files.walker_toml import read_walker

Record = dict[str, Any]
KINDS: Final[dict[str, type[models.Model]]] = {
    "groups": Group,
    "walkers": KeptWalker,
    "grounds": Ground,
    "features": LandFeatures,
    "logs": KeptLog,
    "edits": Edit,
    "walker_pasts": WalkerPast,
    "courses": KeptCourse,
    "exercises": Exercise,
    "photographs": PagePhoto,
    "entries": Entry,
}
"""What a backup holds beside the members, in the order in which one may name another."""
OF_A_GUEST: Final = ("walkers", "grounds", "logs", "photographs", "edits", "walker_pasts")
COUNTED: Final = {
    "logs": ("log", "logs"),
    "photographs": ("photograph", "photographs"),
    "walkers": ("walker", "walkers"),
    "grounds": ("ground", "grounds"),
    "features": ("set of lines", "sets of lines"),
    "courses": ("course", "courses"),
    "exercises": ("exercise", "exercises"),
    "entries": ("card of a learner", "cards of learners"),
}
"""What a reader is told of, as one and as many."""
_PARTS: Final = {"edits": "step of undo", "walker_pasts": "earlier state of a walker"}
LONGEST_TEXT: Final = 20_000_000
# A day inside what a clock can show, so that every zone of the earth can still show it.
_FIRST: Final = datetime.datetime(1, 1, 3, tzinfo=datetime.UTC)
_LAST: Final = datetime.datetime(9999, 12, 29, tzinfo=datetime.UTC)
_DO: Final = "Give the file that the desk made under Backup"


def record_of(kept: models.Model) -> Record:
    """A record as plain values, bytes left out."""
    return {field.attname: _plain(getattr(kept, field.attname)) for field in fields_of(type(kept))}


def fields_of(model: type[models.Model]) -> list[Any]:
    """The fields of a model that a backup states: no bytes, and no number of this database alone."""
    left_out = (models.BinaryField, models.AutoField)
    return [field for field in model._meta.concrete_fields if not isinstance(field, left_out)]


def _plain(value: Any) -> Any:
    if isinstance(value, uuid.UUID):
        return str(value)
    return value.isoformat() if isinstance(value, datetime.datetime) else value


def values_of(model: type[models.Model], record: Any) -> Record:
    """The values of a record that somebody wrote, by field, each such as the field can hold.

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
    clean = clean_text(raw) if isinstance(raw, str) else None
    return clean if clean is not None and len(clean) <= most else None


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
    if found is None or found.tzinfo is None:
        return None
    try:
        return min(max(found.astimezone(datetime.UTC), _FIRST), _LAST)
    except OverflowError:
        return _FIRST if found.year == 1 else _LAST


def _yes_or_no(field: Any, raw: Any) -> bool | None:
    return raw if isinstance(raw, bool) else None


def _whole(field: Any, raw: Any) -> int | None:
    return raw if type(raw) is int and 0 <= raw < 2**31 else None


def _number(field: Any, raw: Any) -> float | None:
    is_number = isinstance(raw, int | float) and not isinstance(raw, bool) and abs(raw) < 1e12
    return float(raw) if is_number and math.isfinite(raw) else None


def _json(field: Any, raw: Any) -> Any:
    return clean_json(raw)


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
    """The complaint about a record that is none."""
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
        and set(row) - {"other"} == {"id", *CELLS, "struck"}
        and all(isinstance(row[name], str) for name in ("id", *CELLS))
        and isinstance(row["struck"], bool)
        and _is_other(row.get("other", {}))
    )


def _is_other(other: Any) -> bool:
    return isinstance(other, dict) and all(
        name in CELLS and isinstance(texts, list) and all(isinstance(text, str) for text in texts)
        for name, texts in other.items()
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


def check_features(values: Mapping[str, Any]) -> None:
    """Refuse lines and areas that no plan could read.

    Raises
    ------
    Complaint
        What is wrong with them.
    """
    check_geojson(values.get("geojson", ""))


def check_photo(values: Mapping[str, Any]) -> None:
    """Refuse a photograph of which nothing could have been read so.

    Raises
    ------
    FormatComplaint
        What was read is not as the desk keeps it.
    """
    if not is_read(values.get("read", {})):
        raise broken(PagePhoto, "read")


_CHECKS: Final[dict[type[models.Model], Callable[[Record], None]]] = {
    KeptLog: check_log,
    Edit: check_edit,
    KeptWalker: check_walker,
    LandFeatures: check_features,
    PagePhoto: check_photo,
    **CLASS_CHECKS,
}


def checked_values(model: type[models.Model], record: Any) -> Record:
    """The values of a record, by field, after all that it can be looked at for by itself.

    Raises
    ------
    Complaint
        What is wrong with it.
    """
    values = values_of(model, record)
    if not is_part_model(model) and values.get("id") is None:
        raise broken(model, "id")
    check = _CHECKS.get(model)
    if check is not None:
        check(values)
    return values


def related_fields(model: type[models.Model]) -> list[Any]:
    """The fields that name another record."""
    return [field for field in model._meta.concrete_fields if field.is_relation]


def is_part_model(model: type[models.Model]) -> bool:
    """Whether a model's records are parts of another record, and bear no identity of their own."""
    return model in (Edit, WalkerPast)


def is_part(kind: str) -> bool:
    """Whether records of a kind are parts of another record."""
    return kind in _PARTS


def ground_name(identity: str) -> str:
    """The name of a terrain file in a backup."""
    return f"grounds/{identity}.tif"


def photo_name(identity: str, kind: str) -> str:
    """The name of a photograph in a backup."""
    return f"photographs/{identity}{kind}"


def say_record(kind: str, record: Any) -> str:
    """Name a record for a reader, as far as it bears a name.

    >>> say_record("logs", {"title": "Cinder Fen"}), say_record("edits", {}), say_record("groups", 3)
    ('The log Cinder Fen', 'A step of undo', 'A group')
    """
    one = _PARTS.get(kind) or COUNTED.get(kind, (kind.removesuffix("s"), ""))[0]
    name = ""
    if isinstance(record, dict):
        name = str(record.get("title") or record.get("name") or "")
    words = f"the {one} {clean_line(name)[:60]}" if name and kind not in _PARTS else f"a {one}"
    words = re.sub("^a (?=[aeiou])", "an ", words)
    return words[0].upper() + words[1:]
