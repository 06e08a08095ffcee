"""Changes of a typed page: put, strike, remove, paste, replace; each gives the change that takes it back.

A page is a list of rows; a row has `id`, `azimuth`, `count`, `notes` and `struck`. A change names rows by
their identity and never by their number, so that two tabs that type at once do not write over each other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pacewright.core.plain_text import clean_text
from pacewright.desk.models import LONGEST_CELL
from pacewright.exceptions import FormatComplaint

Row = dict[str, Any]
Change = dict[str, Any]
CELLS: Final = ("azimuth", "count", "notes")
MOST_ROWS: Final = 5_000
LONGEST_HEADING: Final = 10_000
_IDENTITY: Final = re.compile(r"[A-Za-z0-9_-]{1,40}")
_LINE_BREAKS: Final = re.compile(r"[\r\n]+")


@dataclass(frozen=True, slots=True)
class PageState:
    """A page: its heading lines as one text, and its rows."""

    heading: str
    rows: tuple[Row, ...]


def new_row(identity: str, cells: Sequence[str] = ("", "", ""), *, struck: bool = False) -> Row:
    """Give a row."""
    return {"id": identity, **dict(zip(CELLS, cells, strict=True)), "struck": struck}


def parse_change(sent: Change) -> Change:
    """Give a change with nothing but what its kind knows, its texts such as every database keeps.

    Raises
    ------
    FormatComplaint
        It is none that a page knows, or a text of it is too long.
    """
    kind = sent.get("kind")
    reader = _READERS.get(kind) if isinstance(kind, str) else None
    if reader is None:
        raise FormatComplaint("this is not a change that a page knows", "Load the page again")
    return {"kind": kind, **reader(sent)}


def apply_change(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Give the page after a change that `parse_change` gave, and the change that takes it back.

    Raises
    ------
    FormatComplaint
        It names a row that is not there, or would make the page too large.
    """
    after, inverse = _MAKERS[change["kind"]](state, change)
    if len(after.rows) > MOST_ROWS:
        raise FormatComplaint(
            f"a page holds at most {MOST_ROWS} rows", "Begin another log for the rest of the walk"
        )
    return after, inverse


def _read_put(sent: Change) -> Change:
    put: Change = {"id": _identity(sent), **_cells(sent)}
    only = sent.get("only")
    if isinstance(only, list):
        put["only"] = [name for name in CELLS if name in only]
    return {**put, **_after(sent)}


def _read_strike(sent: Change) -> Change:
    return {"id": _identity(sent), "struck": sent.get("struck", True) is True}


def _read_remove(sent: Change) -> Change:
    identities = sent.get("ids")
    if not isinstance(identities, list):
        raise FormatComplaint("this change names no rows", "Load the page again")
    return {"ids": [_identity({"id": one}) for one in identities]}


def _read_paste(sent: Change) -> Change:
    return {"rows": _rows(sent), **_after(sent)}


def _read_heading(sent: Change) -> Change:
    return {"heading": _heading_text(sent)}


def _read_replace(sent: Change) -> Change:
    heading = {"heading": _heading_text(sent)} if "heading" in sent else {}
    return {"rows": _rows(sent), **heading}


_READERS: Final[dict[str, Callable[[Change], Change]]] = {
    "put": _read_put,
    "strike": _read_strike,
    "remove": _read_remove,
    "paste": _read_paste,
    "heading": _read_heading,
    "replace": _read_replace,
}


def _put(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Write a row's cells; a row that is not there yet comes in after the one named (or first, or last).

    `only` names the cells that were written where the others merely lay on the page: what another
    tab wrote into those since then stays, but a row that was taken away comes back whole.
    """
    identity = change["id"]
    at = _place(state, identity)
    if at is None:
        row = new_row(identity, [change[name] for name in CELLS])
        return _inserted(state, [row], change.get("after")), {"kind": "remove", "ids": [identity]}
    old = state.rows[at]
    written = {name: change[name] for name in change.get("only", CELLS)}
    inverse = {"kind": "put", "id": identity, **{name: old[name] for name in CELLS}}
    return _with(state, at, {**old, **written}), inverse


def _strike(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Strike a row out, or take the stroke away: the row stays on the page and counts no more."""
    at = _known_place(state, change["id"])
    inverse = {"kind": "strike", "id": change["id"], "struck": state.rows[at]["struck"]}
    return _with(state, at, {**state.rows[at], "struck": change["struck"]}), inverse


def _remove(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Take rows off the page."""
    gone = set(change["ids"])
    kept = tuple(row for row in state.rows if row["id"] not in gone)
    return PageState(state.heading, kept), _put_back(state, gone)


def _put_back(state: PageState, gone: set[str]) -> Change:
    """Give what puts rows back: only they where they stand together, the whole page where they do not."""
    places = [at for at, row in enumerate(state.rows) if row["id"] in gone]
    if not places:
        return {"kind": "paste", "rows": []}
    first, last = places[0], places[-1]
    if last - first + 1 > len(places):
        return _whole(state)
    after = state.rows[first - 1]["id"] if first else ""
    return {"kind": "paste", "rows": list(state.rows[first : last + 1]), "after": after}


def _paste(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Put several new rows in after the one named; those that lie on the page already are left alone."""
    known = {row["id"] for row in state.rows}
    fresh = [row for row in change["rows"] if row["id"] not in known]
    inverse = {"kind": "remove", "ids": [row["id"] for row in fresh]}
    return _inserted(state, fresh, change.get("after")), inverse


def _heading(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Write the heading anew."""
    return PageState(change["heading"], state.rows), {"kind": "heading", "heading": state.heading}


def _replace(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Put another page in the place of this one."""
    return PageState(change.get("heading", state.heading), tuple(change["rows"])), _whole(state)


_MAKERS: Final[dict[str, Callable[[PageState, Change], tuple[PageState, Change]]]] = {
    "put": _put,
    "strike": _strike,
    "remove": _remove,
    "paste": _paste,
    "heading": _heading,
    "replace": _replace,
}


def _identity(sent: Change) -> str:
    identity = sent.get("id")
    if not isinstance(identity, str) or not _IDENTITY.fullmatch(identity):
        raise FormatComplaint("a row of this change has no identity", "Load the page again")
    return identity


def _after(sent: Change) -> Change:
    after = sent.get("after")
    return {"after": after} if after == "" or _is_identity(after) else {}


def _is_identity(found: Any) -> bool:
    return isinstance(found, str) and _IDENTITY.fullmatch(found) is not None


def _rows(sent: Change) -> list[Row]:
    rows = sent.get("rows")
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise FormatComplaint("this change holds no rows", "Load the page again")
    read = [
        new_row(_identity(row), list(_cells(row).values()), struck=row.get("struck") is True) for row in rows
    ]
    if len({row["id"] for row in read}) < len(read):
        raise FormatComplaint("two rows of this change have one identity", "Load the page again")
    return read


def _cells(sent: Change) -> dict[str, str]:
    return {name: _cell(sent, name) for name in CELLS}


def _cell(sent: Change, name: str) -> str:
    text = _LINE_BREAKS.sub(" ", _text(sent.get(name, "")))
    if len(text) > LONGEST_CELL:
        raise FormatComplaint(
            f"a cell holds at most {LONGEST_CELL} characters", "Shorten it, or go on in the next row"
        ).at(column=name)
    return text


def _heading_text(sent: Change) -> str:
    text = _text(sent.get("heading", "")).replace("\r\n", "\n").replace("\r", "\n").strip("\n")
    if len(text) > LONGEST_HEADING:
        raise FormatComplaint(
            f"a heading is at most {LONGEST_HEADING} characters long", "Put the rest into the notes"
        )
    return text


def _text(found: Any) -> str:
    if not isinstance(found, str):
        raise FormatComplaint("this change holds what is no text", "Load the page again")
    return clean_text(found)


def _whole(state: PageState) -> Change:
    return {"kind": "replace", "heading": state.heading, "rows": list(state.rows)}


def _place(state: PageState, identity: str | None) -> int | None:
    return next((at for at, row in enumerate(state.rows) if row["id"] == identity), None)


def _known_place(state: PageState, identity: str) -> int:
    at = _place(state, identity)
    if at is None:
        raise FormatComplaint("the row is not on the page any more", "Load the page again")
    return at


def _with(state: PageState, at: int, row: Row) -> PageState:
    return PageState(state.heading, (*state.rows[:at], row, *state.rows[at + 1 :]))


def _inserted(state: PageState, rows: list[Row], after: str | None) -> PageState:
    place = -1 if after == "" else _place(state, after)
    at = len(state.rows) if place is None else place + 1
    return PageState(state.heading, (*state.rows[:at], *rows, *state.rows[at:]))
