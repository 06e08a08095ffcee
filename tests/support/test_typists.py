"""What was written over unseen is found in what two typists did, and nothing else."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from support.two_typists import KeptEdits
from support.unseen import unseen_overwritten

Saw = set[tuple[str, str, str]]


def put(count: str, **more: Any) -> dict[str, Any]:
    cells = {"azimuth": "", "count": count, "notes": ""}
    return {"kind": "put", "id": "r", **cells, "only": ["count"], **more}


def found(saw: Saw, *changes: dict[str, Any]) -> list[str]:
    """What is found where a hand that saw this made the last of some changes."""
    edits = [(f"k{at}", change) for at, change in enumerate(changes)]
    hand: Any = SimpleNamespace(name="a", acknowledged={edits[-1][0]: changes[-1]}, saw=saw)
    return unseen_overwritten([hand], edits)[0]


@pytest.mark.parametrize(
    ("saw", "is_wrong"), [(set(), True), ({("r", "azimuth", "1")}, True), ({("r", "count", "1")}, False)]
)
def test_a_value_written_over_was_seen_or_is_found(saw: Saw, is_wrong: bool) -> None:
    assert bool(found(saw, put("1"), put("2"))) == is_wrong
    assert bool(found(saw, put("1"), {"kind": "remove", "ids": ["r"]})) == is_wrong


def test_a_value_that_waited_was_seen_or_is_found() -> None:
    late = put("3", was={"count": "0"})
    saw = {("r", "count", "1")}
    assert found(saw, put("1"), late, put("2", was={"count": "1"}))
    assert not found({*saw, ("r", "beside", "3")}, put("1"), late, put("2", was={"count": "1"}))
    assert not found(saw, put("1"), late, put("2", was={"count": "1"}, known={}))
    # To take what waits is to write it.
    assert not found(saw, put("1"), late, put("3", was={"count": "1"}, known={}))


def test_a_value_kept_beside_another_is_not_lost() -> None:
    assert not found(set(), put("1"), put("2", was={"count": "0"}))


def test_a_change_that_the_desk_let_go_of_is_known_as_it_was(tmp_path: Path) -> None:
    edits = KeptEdits(tmp_path)
    with sqlite3.connect(tmp_path / "desk.sqlite3") as base:
        base.execute("CREATE TABLE desk_edit (number INTEGER, key TEXT, change TEXT)")
        base.execute("INSERT INTO desk_edit VALUES (1, 'k1', ?)", [json.dumps(put("1"))])
        base.commit()
        edits.look()
        base.execute("UPDATE desk_edit SET change = ?", [json.dumps({"kind": "paste", "rows": []})])
        base.execute("INSERT INTO desk_edit VALUES (2, 'k2', ?)", [json.dumps(put("2"))])
    base.close()
    assert edits.look() == [("k1", put("1")), ("k2", put("2"))]
