"""Changes of a typed page: put, strike, remove, paste, replace; each gives the change that takes it back.

A page is a list of rows; a row has `id`, `azimuth`, `count`, `notes` and `struck`. A change names rows by
their identity and never by their number, so that two tabs that type at once do not write over each other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pacewright.desk.models import LONGEST_CELL
from pacewright.exceptions import FormatComplaint

Row = dict[str, Any]
Change = dict[str, Any]
CELLS: Final = ("azimuth", "count", "notes")
MOST_ROWS: Final = 5_000
LONGEST_HEADING: Final = 10_000
_IDENTITY: Final = re.compile(r"[A-Za-z0-9_-]{1,40}")
_LINE_BREAKS: Final = re.compile(r"[\r\n\v\f\x85\u2028\u2029]+")


@dataclass(frozen=True, slots=True)
class PageState:
    """A page: its heading lines as one text, and its rows."""

    heading: str
    rows: tuple[Row, ...]


def new_row(identity: str, cells: Sequence[str] = ("", "", ""), *, struck: bool = False) -> Row:
    """Give a row."""
    return {"id": identity, **dict(zip(CELLS, cells, strict=True)), "struck": struck}


def apply_change(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Give the page after a change, and the change that takes it back.

    Raises
    ------
    FormatComplaint
        The change is none that a page knows, or would make the page too large.
    """
    maker = _MAKERS.get(str(change.get("kind")))
    if maker is None:
        raise FormatComplaint("this is not a change that a page knows", "Load the page again")
    after, inverse = maker(state, change)
    if len(after.rows) > MOST_ROWS:
        raise FormatComplaint(
            f"a page holds at most {MOST_ROWS} rows", "Begin another log for the rest of the walk"
        )
    return after, inverse


def _put(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Write a row's cells; a row that is not there yet comes in after the one named (or first, or last)."""
    identity = _identity(change)
    written = {name: _cell(change, name) for name in CELLS}
    at = _place(state, identity)
    if at is not None:
        old = state.rows[at]
        rows = _with(state, at, {**old, **written})
        return rows, {"kind": "put", "id": identity, **{name: old[name] for name in CELLS}}
    row = new_row(identity, tuple(written.values()))
    return _inserted(state, [row], change.get("after")), {"kind": "remove", "ids": [identity]}


def _strike(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Strike a row out, or take the stroke away: the row stays on the page and counts no more."""
    at = _known_place(state, _identity(change))
    struck = bool(change.get("struck", True))
    was = bool(state.rows[at]["struck"])
    after = _with(state, at, {**state.rows[at], "struck": struck})
    return after, {"kind": "strike", "id": state.rows[at]["id"], "struck": was}


def _remove(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Take rows off the page."""
    identities = change.get("ids")
    if not isinstance(identities, list):
        raise FormatComplaint("this change names no rows", "Load the page again")
    gone = set(map(str, identities))
    kept = tuple(row for row in state.rows if row["id"] not in gone)
    inverse = {"kind": "replace", "heading": state.heading, "rows": list(state.rows)}
    return PageState(state.heading, kept), inverse


def _paste(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Put several new rows in after the one named; a first row that is empty is taken up by them."""
    rows = change.get("rows")
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise FormatComplaint("this change holds no rows", "Load the page again")
    new = [new_row(_identity(row), _cells(row)) for row in rows]
    known = {row["id"] for row in state.rows}
    fresh = [row for row in new if row["id"] not in known]
    inverse = {"kind": "remove", "ids": [row["id"] for row in fresh]}
    return _inserted(state, fresh, change.get("after")), inverse


def _heading(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Write the heading anew."""
    text = str(change.get("heading", "")).replace("\r\n", "\n").strip("\n")
    if len(text) > LONGEST_HEADING:
        raise FormatComplaint(
            f"a heading is at most {LONGEST_HEADING} characters long", "Put the rest into the notes"
        )
    return PageState(text, state.rows), {"kind": "heading", "heading": state.heading}


def _replace(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Put another page in the place of this one."""
    rows = change.get("rows")
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise FormatComplaint("this change holds no rows", "Load the page again")
    written = tuple(new_row(_identity(row), _cells(row), struck=bool(row.get("struck"))) for row in rows)
    heading = str(change.get("heading", state.heading))
    inverse = {"kind": "replace", "heading": state.heading, "rows": list(state.rows)}
    return PageState(heading, written), inverse


_MAKERS: Final[dict[str, Callable[[PageState, Change], tuple[PageState, Change]]]] = {
    "put": _put,
    "strike": _strike,
    "remove": _remove,
    "paste": _paste,
    "heading": _heading,
    "replace": _replace,
}


def _identity(change: Change) -> str:
    identity = change.get("id")
    if not isinstance(identity, str) or not _IDENTITY.fullmatch(identity):
        raise FormatComplaint("a row of this change has no identity", "Load the page again")
    return identity


def _cell(change: Change, name: str) -> str:
    text = _LINE_BREAKS.sub(" ", str(change.get(name, "")).replace("\0", ""))
    if len(text) > LONGEST_CELL:
        raise FormatComplaint(
            f"a cell holds at most {LONGEST_CELL} characters", "Shorten it, or go on in the next row"
        ).at(column=name)
    return text


def _cells(row: Row) -> tuple[str, ...]:
    return tuple(_cell(row, name) for name in CELLS)


def _place(state: PageState, identity: str) -> int | None:
    return next((at for at, row in enumerate(state.rows) if row["id"] == identity), None)


def _known_place(state: PageState, identity: str) -> int:
    at = _place(state, identity)
    if at is None:
        raise FormatComplaint("the row is not on the page any more", "Load the page again")
    return at


def _with(state: PageState, at: int, row: Row) -> PageState:
    return PageState(state.heading, (*state.rows[:at], row, *state.rows[at + 1 :]))


def _inserted(state: PageState, rows: list[Row], after: Any) -> PageState:
    if after == "":
        at = 0
    else:
        place = _place(state, str(after)) if after is not None else None
        at = len(state.rows) if place is None else place + 1
    return PageState(state.heading, (*state.rows[:at], *rows, *state.rows[at:]))
