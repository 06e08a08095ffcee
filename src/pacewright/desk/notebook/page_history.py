"""How a page came to stand as it does: who changed what and when, and each of its earlier states."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from pacewright.desk.models import Edit, KeptLog
from pacewright.desk.notebook.keeping import state_of
from pacewright.desk.notebook.page_changes import CELLS, PageState, Row, apply_change
from pacewright.exceptions import MissingComplaint

MOST_SHOWN: Final = 300
_TOGETHER: Final = datetime.timedelta(minutes=2)
MOST_SAID: Final = 6


@dataclass(frozen=True, slots=True)
class Step:
    """Some changes that one person made together, and how the page stood after them.

    Attributes
    ----------
    number
        The revision that it led to.
    who, at
        The name of whoever made it, and when.
    said
        What was changed, a line each.
    """

    number: int
    who: str
    at: datetime.datetime
    said: tuple[str, ...]


def steps_of(log: KeptLog) -> list[Step]:
    """The steps that led to a page, the latest first, as far back as they are kept."""
    found = []
    after = state_of(log)
    for run in reversed(list(_runs(_kept_edits(log)))):
        before = after
        for edit in reversed(run):
            before, _ = apply_change(before, edit.inverse)
        said = _differences(before, after)
        if said:
            found.append(Step(run[-1].number, run[-1].who, run[-1].at, tuple(said)))
        after = before
    return found


def state_at(log: KeptLog, number: int) -> PageState:
    """A page as it stood at a revision.

    Raises
    ------
    MissingComplaint
        That state is not kept any more, or never was.
    """
    edits = _kept_edits(log)
    first = edits[0].number - 1 if edits else log.revision
    if not first <= number <= log.revision:
        raise MissingComplaint("this state of the page is not kept", "Choose another from its history")
    return _unmade(log, number)


def _kept_edits(log: KeptLog) -> list[Edit]:
    """The latest changes in order, from the first after which none was let go."""
    latest = list(log.edits.order_by("-number")[:MOST_SHOWN])
    kept: list[Edit] = []
    for expected, edit in zip(range(log.revision, 0, -1), latest, strict=False):
        was_let_go = edit.is_undone and edit.change == edit.inverse == {"kind": "paste", "rows": []}
        if edit.number != expected or was_let_go:
            break
        kept.append(edit)
    return kept[::-1]


def _runs(edits: Sequence[Edit]) -> Iterator[list[Edit]]:
    """Edits in runs: the same person, and no pause between them."""
    run = list(edits[:1])
    for one, other in pairwise(edits):
        if one.who != other.who or other.at - one.at > _TOGETHER:
            yield run
            run = []
        run.append(other)
    if run:
        yield run


def _unmade(log: KeptLog, number: int) -> PageState:
    state = state_of(log)
    for edit in log.edits.filter(number__gt=number).order_by("-number"):
        state, _ = apply_change(state, edit.inverse)
    return state


def _differences(before: PageState, after: PageState) -> list[str]:
    """Say how two states of a page differ, row by row, rows numbered as in the later state."""
    old = {row["id"]: (at, row) for at, row in enumerate(before.rows, start=1)}
    said = ["the heading"] if before.heading != after.heading else []
    for at, row in enumerate(after.rows, start=1):
        said += _of_row(at, old[row["id"]][1] if row["id"] in old else None, row)
    here = {row["id"] for row in after.rows}
    said += [f"row {at} taken away: {_cells(row)}" for key, (at, row) in old.items() if key not in here]
    order = [row["id"] for row in after.rows if row["id"] in old]
    if order != [key for key in old if key in here]:
        said.append("rows moved")
    left = len(said) - MOST_SAID
    return said if left <= 0 else [*said[:MOST_SAID], f"and {left} more"]


def _of_row(at: int, old: Row | None, row: Row) -> list[str]:
    if old is None:
        return [f"row {at} new: {_cells(row)}" + (", struck out" if row["struck"] else "")]
    said = [
        f"row {at}, {name}: {_shown(old[name])} to {_shown(row[name])}"
        for name in CELLS
        if old[name] != row[name]
    ]
    if old["struck"] != row["struck"]:
        said.append(f"row {at} struck out" if row["struck"] else f"row {at}: stroke taken away")
    return said


def _cells(row: Row) -> str:
    return ", ".join(_shown(row[name]) for name in CELLS if row[name]) or "empty"


def _shown(text: str) -> str:
    return text or "empty"
