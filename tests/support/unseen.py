"""What was written over, or taken away, on a log by one whose page never showed it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pacewright.desk.notebook.page_changes import MOST_OTHER, PageState, apply_change
from support.notebook_page import CELLS
from support.two_typists import Typist


def unseen_overwritten(
    typists: Sequence[Typist], edits: Sequence[tuple[str, dict[str, Any]]]
) -> tuple[list[str], PageState]:
    """What was taken that the page of whoever did it never showed; and the page at last."""
    state, wrong = PageState("", ()), []
    for key, change in edits:
        after = apply_change(state, change)[0]
        for one in typists:
            if key in one.acknowledged:
                lost = [what for what in _lost(state, after) if what not in one.saw]
                wrong += [f"{one.name}'s {change} took {what}" for what in lost]
        state = after
    return wrong, state


def _lost(before: PageState, after: PageState) -> list[tuple[str, str, str]]:
    """Row, cell and text of what stood on a page, or waited there, and is not there any more."""
    left = {row["id"]: row for row in after.rows}
    lost = []
    for row in before.rows:
        now = left.get(row["id"], {})
        lost += [(row["id"], name, row[name]) for name in CELLS if row[name] not in ("", now.get(name))]
        for name, texts in row.get("other", {}).items():
            beside = now.get("other", {}).get(name, [])
            # Of very many the oldest go.
            is_full = len(beside) == MOST_OTHER
            gone = () if is_full else [one for one in texts if one not in (*beside, now.get(name))]
            lost += [(row["id"], "beside", one or "empty") for one in gone]
    return lost
