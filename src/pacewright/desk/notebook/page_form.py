"""A whole page sent as a plain form, as the changes it makes: the way without scripts."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pacewright.desk.notebook.page_changes import CELLS, Change


@dataclass(frozen=True, slots=True)
class _FormRow:
    """A row of a form: its cells as written and as served, the values shown as waiting, the one chosen."""

    identity: str
    written: dict[str, str]
    served: dict[str, str]
    shown: dict[str, list[str]]
    chosen: str

    @property
    def changed(self) -> list[str]:
        return [n for n in CELLS if self.written[n] != self.served[n] or n == self.chosen]

    @property
    def is_emptied(self) -> bool:
        return any(self.served.values()) and not any(self.written.values())


def form_changes(form: Any) -> list[tuple[str, Change]]:
    """Each change that a form makes, with its key.

    The form holds `key`, `row` (a list of identities in order), for each row its cells as
    `IDENTITY-azimuth` and so on, beside `IDENTITY-was-azimuth` as they were served, the values shown as
    waiting beside them as `IDENTITY-other`, the heading likewise, and the button pressed as `do`. Only what
    differs from what was served is a change, and what was served goes along: a page that lay open for long
    does not write over what was typed elsewhere since. A row that was emptied goes.
    """
    key = str(form.get("key", ""))
    made: list[tuple[str, Change]] = []
    heading, was = _lines(form.get("heading", "")), _lines(form.get("was-heading", ""))
    if heading != was:
        made.append((f"{key}-heading", {"kind": "heading", "heading": heading, "was": was}))
    verb, _, pressed = str(form.get("do", "save")).partition(":")
    rows = [_row(form, identity, pressed if verb == "choose" else "") for identity in form.getlist("row")]
    after = None
    for row in rows:
        if row.is_emptied and row.identity != pressed and not row.chosen and not row.shown:
            made.append((f"{key}-{row.identity}", _removal(row, row.served)))
            continue
        if row.changed:
            stood = {name: row.served[name] for name in row.changed}
            change: Change = {"kind": "put", "id": row.identity, **row.written, "only": row.changed}
            change |= {"was": stood, "known": row.shown}
            if after is not None:
                change["after"] = after
            made.append((f"{key}-{row.identity}", change))
        if row.changed or any(row.served.values()):
            after = row.identity
    return [*made, *_of_button(key, verb, pressed, rows)]


def _row(form: Mapping[str, Any], identity: str, pressed: str) -> _FormRow:
    """A row of a form; `pressed` is the value of the button that chooses, as `IDENTITY:CELL:PLACE`."""
    written = {name: _cell(form.get(f"{identity}-{name}", "")) for name in CELLS}
    served = {name: _cell(form.get(f"{identity}-was-{name}", "")) for name in CELLS}
    shown = _shown(form.get(f"{identity}-other", ""))
    of, _, choice = pressed.partition(":")
    name, _, place = choice.partition(":")
    if of != identity or name not in CELLS:
        return _FormRow(identity, written, served, shown, "")
    texts = [served[name], *shown.get(name, [])]
    at = int(place) + 1 if place.isdecimal() and len(place) < 3 else 0
    if at < len(texts):
        written[name] = texts[at]
    return _FormRow(identity, written, served, shown, name)


def _shown(text: Any) -> dict[str, list[str]]:
    """The values that a row showed as waiting, by cell; what cannot be read was not shown."""
    try:
        found = json.loads(str(text) or "{}")
    except (ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    lists = {name: found[name] for name in CELLS if isinstance(found.get(name), list)}
    return {name: [one for one in texts if isinstance(one, str)] for name, texts in lists.items()}


def _removal(row: _FormRow, stood: Mapping[str, str]) -> Change:
    """Take a row away as it was seen: one that was written in elsewhere meanwhile stays."""
    return {"kind": "remove", "ids": [row.identity], "was": {row.identity: {**stood, "other": row.shown}}}


def _of_button(key: str, verb: str, identity: str, rows: list[_FormRow]) -> list[tuple[str, Change]]:
    order = [row.identity for row in rows]
    if verb == "undo":
        return [(f"{key}-undo", {"kind": "undo"})]
    if verb in ("strike", "unstrike"):
        return [(f"{key}-{verb}", {"kind": "strike", "id": identity, "struck": verb == "strike"})]
    if verb == "remove":
        return [(f"{key}-remove", _removal(row, row.written)) for row in rows if row.identity == identity]
    if verb in ("up", "down") and identity in order:
        at = order.index(identity)
        to = at - 2 if verb == "up" else at + 1
        after = order[to] if 0 <= to < len(order) else "" if verb == "up" else order[at - 1] if at else ""
        return [(f"{key}-{verb}", {"kind": "move", "id": identity, "after": after})]
    if verb == "insert":
        # The new row's identity follows from the form's key, so that the same form sent twice makes one.
        return [(f"{key}-insert", {"kind": "put", "id": f"i{key}"[:40], "after": identity})]
    return []


def _cell(text: Any) -> str:
    """A cell as one line: notes wrap in their field, and Enter breaks them there."""
    return " ".join(str(text).splitlines())


def _lines(text: Any) -> str:
    return str(text).replace("\r\n", "\n").strip("\n")
