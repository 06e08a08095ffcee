"""Changes of a typed page: put, strike, move, remove, paste, replace; each gives what takes it back.

A page is a list of rows; a row has `id`, `azimuth`, `count`, `notes` and `struck`. A change names rows by
their identity and never by their number, so that two tabs that type at once do not write over each other.

A put may tell by `was` what stood in its cells when they were written. Where something else stands there by
now, neither is lost: what stands stays, what was sent is kept under the row's `other`, and the cell asks. By
`known` it tells which of those the writer saw waiting: the others wait on. A removal may tell both too: a row
that was written in meanwhile stays on the page.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pacewright.core.plain_text import clean_text
from pacewright.desk.models import LONGEST_CELL
from pacewright.exceptions import FormatComplaint

Row = dict[str, Any]
Change = dict[str, Any]
CELLS: Final = ("azimuth", "count", "notes")
MOST_ROWS: Final = 5_000
MOST_OTHER: Final = 5
"""Values kept beside the one that stands in a cell; the oldest go first, and stand in the history."""
LONGEST_HEADING: Final = 10_000
_IDENTITY: Final = re.compile(r"[A-Za-z0-9_-]{1,40}")
_LINE_BREAKS: Final = re.compile(r"[\r\n]+")


@dataclass(frozen=True, slots=True)
class PageState:
    """A page: its heading lines as one text, and its rows."""

    heading: str
    rows: tuple[Row, ...]


def new_row(
    identity: str,
    cells: Sequence[str] = ("", "", ""),
    *,
    struck: bool = False,
    other: Mapping[str, list[str]] | None = None,
) -> Row:
    """A row; `other` holds by cell what was sent where something else stood by then."""
    row = {"id": identity, **dict(zip(CELLS, cells, strict=True)), "struck": struck}
    return {**row, "other": dict(other)} if other else row


def parse_change(sent: Change) -> Change:
    """A change with nothing but what its kind knows, its texts such as every database keeps.

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
    """The page after a change that `parse_change` gave, and the change that takes it back.

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
    was = sent.get("was")
    if isinstance(was, dict):
        put["was"] = {name: _cell(was, name) for name in CELLS if name in was}
    if isinstance(sent.get("known"), dict):
        put["known"] = _waiting(sent["known"])
    if "other" in sent:
        put["other"] = _waiting(sent["other"])
    return {**put, **_after(sent)}


def _read_move(sent: Change) -> Change:
    return {"id": _identity(sent), "after": sent["after"] if _after(sent) else ""}


def _read_strike(sent: Change) -> Change:
    return {"id": _identity(sent), "struck": sent.get("struck", True) is True}


def _read_remove(sent: Change) -> Change:
    identities = sent.get("ids")
    if not isinstance(identities, list):
        raise FormatComplaint("this change names no rows", "Load the page again")
    ids = [_identity({"id": one}) for one in identities]
    was = sent.get("was")
    if not isinstance(was, dict):
        return {"ids": ids}
    return {"ids": ids, "was": {one: _seen(was[one]) for one in ids if isinstance(was.get(one), dict)}}


def _seen(row: Change) -> Change:
    other = {"other": _waiting(row["other"])} if "other" in row else {}
    return {**_cells(row), **other}


def _read_paste(sent: Change) -> Change:
    return {"rows": _rows(sent), **_after(sent)}


def _read_heading(sent: Change) -> Change:
    was = {"was": _heading_text({"heading": sent["was"]})} if isinstance(sent.get("was"), str) else {}
    return {"heading": _heading_text(sent), **was}


def _read_replace(sent: Change) -> Change:
    heading = {"heading": _heading_text(sent)} if "heading" in sent else {}
    return {"rows": _rows(sent), **heading}


_READERS: Final[dict[str, Callable[[Change], Change]]] = {
    "put": _read_put,
    "strike": _read_strike,
    "move": _read_move,
    "remove": _read_remove,
    "paste": _read_paste,
    "heading": _read_heading,
    "replace": _read_replace,
}


def _put(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Write a row's cells; a row that is not there yet comes in after the one named (or first, or last).

    `only` names the cells that were written where the others merely lay on the page: what another
    tab wrote into those since then stays, but a row that was taken away comes back whole. To write a cell
    that asks which of its values counts is the answer, for those values that the writer saw.
    """
    identity = change["id"]
    at = _place(state, identity)
    if at is None:
        row = new_row(identity, [change[name] for name in CELLS], other=change.get("other"))
        return _inserted(state, [row], change.get("after")), {"kind": "remove", "ids": [identity]}
    old = state.rows[at]
    written, other = _met(old, change)
    inverse = {"kind": "put", "id": identity, **{name: old[name] for name in CELLS}}
    if "other" in old or other:
        inverse["other"] = old.get("other", {})
    cells: list[str] = [written[name] if name in written else old[name] for name in CELLS]
    return _with(state, at, new_row(identity, cells, struck=old["struck"], other=other)), inverse


def _met(old: Row, change: Change) -> tuple[dict[str, str], dict[str, list[str]]]:
    """What a put writes into a row, and by cell what waits beside it from then on."""
    sent = {name: change[name] for name in change.get("only", CELLS)}
    was = change.get("was", {})
    late = {name for name in sent if name in was and old[name] not in (was[name], sent[name])}
    written = {name: text for name, text in sent.items() if name not in late}
    if "other" in change:
        return written, change["other"]
    other = _still_waiting(old, written, change.get("known"))
    for name in sorted(late):
        known = other.get(name, [])
        if sent[name] not in known:
            other[name] = [*known, sent[name]][-MOST_OTHER:]
    return written, other


def _still_waiting(
    old: Row, written: Mapping[str, str], known: Mapping[str, list[str]] | None
) -> dict[str, list[str]]:
    """What waits beside the cells once some were written; a writer who tells not what was seen saw all."""
    left = {}
    for name, texts in old.get("other", {}).items():
        seen = texts if known is None else [written.get(name), *known.get(name, [])]
        left[name] = _unseen(texts, seen) if name in written else list(texts)
    return {name: texts for name, texts in left.items() if texts}


def _move(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Put a row after another, or first; it stays where the other is not on the page any more."""
    at = _known_place(state, change["id"])
    before = state.rows[at - 1]["id"] if at else ""
    inverse = {"kind": "move", "id": change["id"], "after": before}
    after = change["after"]
    if after == change["id"] or (after and _place(state, after) is None):
        return state, inverse
    without = PageState(state.heading, (*state.rows[:at], *state.rows[at + 1 :]))
    return _inserted(without, [state.rows[at]], after), inverse


def _strike(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Strike a row out, or take the stroke away: the row stays on the page and counts no more."""
    at = _known_place(state, change["id"])
    inverse = {"kind": "strike", "id": change["id"], "struck": state.rows[at]["struck"]}
    return _with(state, at, {**state.rows[at], "struck": change["struck"]}), inverse


def _remove(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Take rows off the page, but for those that were written in since whoever took them away saw them."""
    if not change["ids"]:
        return state, {"kind": "paste", "rows": []}
    was = change.get("was", {})
    late = {row["id"] for row in state.rows if row["id"] in was and _is_late(row, was[row["id"]])}
    gone = set(change["ids"]) - late
    if late and not gone:
        raise FormatComplaint(
            "the row was written in elsewhere meanwhile, and stays", "Take it away again if it is to go"
        )
    kept = tuple(row for row in state.rows if row["id"] not in gone)
    return PageState(state.heading, kept), _put_back(state, gone)


def _is_late(row: Row, was: Change) -> bool:
    waiting = row.get("other", {}) if "other" in was else {}
    unseen = [text for name, texts in waiting.items() for text in _unseen(texts, was["other"].get(name, []))]
    return _cells(row) != _cells(was) or bool(unseen)


def _unseen(texts: Sequence[str], seen: Sequence[str | None]) -> list[str]:
    return [text for text in texts if text not in seen]


def _put_back(state: PageState, gone: set[str]) -> Change:
    """What puts rows back: only they where they stand together, the whole page where they do not."""
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
    """Write the heading anew; where it was changed meanwhile, both lines that differ stay."""
    heading, was = change["heading"], change.get("was", state.heading)
    if state.heading not in (was, heading):
        mine, old, theirs = heading.split("\n"), was.split("\n"), state.heading.split("\n")
        stay = [line for line in theirs if line in mine or line not in old]
        heading = "\n".join([*stay, *(line for line in mine if line not in old and line not in stay)])
    return PageState(heading, state.rows), {"kind": "heading", "heading": state.heading}


def _replace(state: PageState, change: Change) -> tuple[PageState, Change]:
    """Put another page in the place of this one."""
    return PageState(change.get("heading", state.heading), tuple(change["rows"])), _whole(state)


_MAKERS: Final[dict[str, Callable[[PageState, Change], tuple[PageState, Change]]]] = {
    "put": _put,
    "strike": _strike,
    "move": _move,
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
        new_row(
            _identity(row),
            list(_cells(row).values()),
            struck=row.get("struck") is True,
            other=_waiting(row.get("other")),
        )
        for row in rows
    ]
    if len({row["id"] for row in read}) < len(read):
        raise FormatComplaint("two rows of this change have one identity", "Load the page again")
    return read


def _waiting(other: Any) -> dict[str, list[str]]:
    """By cell the values that wait beside the one that stands there."""
    if not isinstance(other, dict):
        return {}
    found = {name: other[name] for name in CELLS if isinstance(other.get(name), list)}
    return {
        name: [_cell({name: text}, name) for text in texts][-MOST_OTHER:]
        for name, texts in found.items()
        if texts
    }


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
