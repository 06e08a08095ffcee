"""A whole page sent as a plain form, as the changes it makes: the way without scripts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pacewright.desk.notebook.page_changes import CELLS, Change


def form_changes(form: Any) -> list[tuple[str, Change]]:
    """Each change that a form makes, with its key.

    The form holds `key`, `row` (a list of identities in order), for each row its cells as
    `IDENTITY-azimuth` and so on, beside `IDENTITY-was-azimuth` as they were served, the heading likewise, and
    the button pressed as `do`. Only what differs from what was served is a change, and what was served goes
    along: a page that lay open for long does not write over what was typed elsewhere since.
    """
    key = str(form.get("key", ""))
    made: list[tuple[str, Change]] = []
    heading, was = _lines(form.get("heading", "")), _lines(form.get("was-heading", ""))
    if heading != was:
        made.append((f"{key}-heading", {"kind": "heading", "heading": heading, "was": was}))
    after = None
    for identity in form.getlist("row"):
        written = {name: _cell(form.get(f"{identity}-{name}", "")) for name in CELLS}
        served = {name: _cell(form.get(f"{identity}-was-{name}", "")) for name in CELLS}
        if written != served:
            only = [name for name in CELLS if written[name] != served[name]]
            stood = {name: served[name] for name in only}
            change: Change = {"kind": "put", "id": identity, **written, "only": only, "was": stood}
            if after is not None:
                change["after"] = after
            made.append((f"{key}-{identity}", change))
        if written != served or any(served.values()):
            after = identity
    return [*made, *_of_button(form, key, form.getlist("row"))]


def _of_button(form: Mapping[str, Any], key: str, order: list[str]) -> list[tuple[str, Change]]:
    verb, _, identity = str(form.get("do", "save")).partition(":")
    if verb == "undo":
        return [(f"{key}-undo", {"kind": "undo"})]
    if verb in ("strike", "unstrike"):
        return [(f"{key}-{verb}", {"kind": "strike", "id": identity, "struck": verb == "strike"})]
    if verb == "remove":
        return [(f"{key}-remove", {"kind": "remove", "ids": [identity]})]
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
