"""A marking rule from and to TOML, so that it can be stated, kept and edited."""

from __future__ import annotations

from typing import Any, Final

import tomli_w

from pacewright.course.marking import MarkingRule
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, ValueComplaint
from pacewright.files.toml_tables import known_keys, parse_toml

_KEYS: Final = ("name", "kind", "full_marks", "steps", "forgives", "minutes_allowed", "off_a_minute")
_KIND: Final = "a marking rule: name, kind, full_marks, and steps where the kind needs them"


def read_rule(data: bytes, file: str | None = None) -> MarkingRule:
    """Read a marking rule.

    Raises
    ------
    Complaint
        What is wrong, with file and key, and what to do.
    """
    try:
        return _read(data)
    except Complaint as complaint:
        raise complaint.at(file=file) from None


def write_rule(rule: MarkingRule) -> bytes:
    """Write a marking rule; `read_rule` gives it back."""
    table: dict[str, Any] = {"name": rule.name, "kind": rule.kind, "full_marks": rule.full_marks}
    if rule.steps:
        table["steps"] = [list(step) for step in rule.steps]
    table["forgives"] = rule.forgives
    if rule.minutes_allowed is not None:
        table |= {"minutes_allowed": rule.minutes_allowed, "off_a_minute": rule.off_a_minute}
    return tomli_w.dumps(table).encode("utf-8")


def _read(data: bytes) -> MarkingRule:
    table = parse_toml(
        data, _KIND, 'Write key = value, such as full_marks = 10 and texts in "quotation marks"'
    )
    known_keys(table, _KEYS, "")
    for key in ("name", "kind", "full_marks"):
        if key not in table:
            raise MissingComplaint(f"the key {key} is missing", f"Give {_KIND}")
    allowed = table.get("minutes_allowed")
    return MarkingRule(
        name=_text(table, "name"),
        kind=_text(table, "kind"),  # type: ignore[arg-type]
        full_marks=_number(table, "full_marks"),
        steps=_steps(table.get("steps", [])),
        forgives=_truth(table.get("forgives", False)),
        minutes_allowed=None if allowed is None else _number(table, "minutes_allowed"),
        off_a_minute=_number(table, "off_a_minute") if "off_a_minute" in table else 0.0,
    )


def _text(table: dict[str, Any], key: str) -> str:
    value = table[key]
    if not isinstance(value, str) or not value.strip():
        raise FormatComplaint(f"{key} is not a text", "Write it in quotation marks").at(column=key)
    return value


def _number(table: dict[str, Any], key: str) -> float:
    value = table[key]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise FormatComplaint(f"{key} is not a number", "Write it bare, without quotation marks").at(
            column=key
        )
    return plain_float(value, key)


def plain_float(value: float, key: str) -> float:
    """A number as it is reckoned with; one with hundreds of digits is none.

    Raises
    ------
    ValueComplaint
        It is larger than any.
    """
    try:
        return float(value)
    except OverflowError:
        raise ValueComplaint(f"{key} is larger than any number here", "Write a smaller one").at(
            column=key
        ) from None


def _steps(value: Any) -> tuple[tuple[float, float], ...]:
    wrong = FormatComplaint("steps are no pairs of limit and mark", "Write steps = [[1.7, 10], [2.5, 8]]")
    if not isinstance(value, list):
        raise wrong.at(column="steps")
    for pair in value:
        if not isinstance(pair, list) or len(pair) != 2:
            raise wrong.at(column="steps")
        if any(isinstance(one, bool) or not isinstance(one, int | float) for one in pair):
            raise wrong.at(column="steps")
    return tuple((plain_float(limit, "steps"), plain_float(mark, "steps")) for limit, mark in value)


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise FormatComplaint("forgives is neither true nor false", "Write true or false").at(
            column="forgives"
        )
    return value
