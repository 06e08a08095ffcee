"""The desk is killed in the midst of writing, as by a power cut: what it acknowledged is there, once."""

from __future__ import annotations

import http.client
import random
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from support.desk_forks import Forks
from support.desk_server import DeskVisitor

KILLS = 50


@pytest.fixture
def forks(tmp_path: Path) -> Iterator[Forks]:
    made = Forks(tmp_path / "desk")
    yield made
    made.close()


class Writer(threading.Thread):
    """One tab: it types rows, keeps what is not acknowledged, and sends that again with the same keys.

    `expected` is what the page must hold of this tab's rows: each as it was typed last.
    """

    def __init__(self, name: str, visitor: DeskVisitor, log: str, seed: int, *, undoes: bool = False) -> None:
        super().__init__(daemon=True)
        self.tab, self.visitor, self.log = name, visitor, log
        self.chance = random.Random(seed)
        self.undoes = undoes
        self.expected: dict[str, tuple[str, str]] = {}
        self.acknowledged: list[str] = []
        self.unanswered: set[str] = set()
        self.waiting: list[dict[str, Any]] = []
        self.made = 0
        self.stopped = threading.Event()

    def run(self) -> None:
        while not self.stopped.is_set() or self.waiting:
            if not self.waiting:
                for _ in range(self.chance.randint(1, 3)):
                    self._type()
            self._send()

    def _type(self) -> None:
        self.made += 1
        key = f"{self.tab}-key-{self.made:06d}"
        kind = self.chance.random()
        cells = {"azimuth": str(self.chance.randrange(360)), "count": str(self.made)}
        last = next(reversed(self.expected), "")
        if kind < 0.25 and last:
            put = {"key": key, "kind": "put", "id": last, **cells, "notes": "", "only": ["azimuth", "count"]}
            if not self.undoes:
                self.waiting.append(put)
                self.expected[last] = (cells["azimuth"], cells["count"])
                return
            # A tab that is alone on its log knows what an undo takes back.
            self.waiting += [put, {"key": f"{key}-undo", "kind": "undo"}]
            return
        identity = f"{self.tab}-{self.made}"
        self.waiting.append({"key": key, "kind": "put", "id": identity, **cells, "notes": "", "after": last})
        self.expected[identity] = (cells["azimuth"], cells["count"])

    def _send(self) -> None:
        keys = [change["key"] for change in self.waiting]
        try:
            answered = self.visitor.post_json(f"{self.log}/changes", {"changes": self.waiting})
        except (OSError, http.client.HTTPException):
            self.unanswered.update(keys)
            time.sleep(0.01)
            return
        assert answered.status == 200, answered.body
        assert answered.json["refused"] == []
        self.acknowledged += keys
        self.waiting = []


def heard_by(writers: list[Writer]) -> int:
    return sum(len(writer.acknowledged) for writer in writers)


def wait_until(is_so: Callable[[], bool], most_s: float = 20.0) -> None:
    end = time.monotonic() + most_s
    while not is_so():
        assert time.monotonic() < end, "nothing came of it"
        time.sleep(0.002)


def edits_of(folder: Path) -> list[tuple[str, str, int]]:
    """Log, key and number of every change that is in the database file."""
    with sqlite3.connect(folder / "desk.sqlite3") as base:
        assert base.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        found = base.execute("SELECT log_id, key, number FROM desk_edit ORDER BY log_id, number").fetchall()
    base.close()
    return found


def rows_of(visitor: DeskVisitor, log: str) -> list[tuple[str, str, str]]:
    told = visitor.post_json(f"{log}/changes", {"changes": []}).json
    return [(row["id"], row["azimuth"], row["count"]) for row in told["rows"]]


@pytest.mark.slow
def test_every_acknowledged_row_is_there_once_after_fifty_kills(forks: Forks, tmp_path: Path) -> None:
    chance = random.Random(20261125)
    forks.open()
    first = DeskVisitor(forks.port)
    first.come_in(forks.link)
    logs = [first.new_log() for _ in range(2)]
    writers = [
        Writer("ta", first.twin(), logs[0], 1),
        Writer("tb", first.twin(), logs[0], 2),
        Writer("tc", first.twin(), logs[1], 3, undoes=True),
    ]
    # A row that is not understood, above all others: the answer is short, so that most kills meet a write.
    for log in logs:
        wrong = {"key": "wrong-row-1", "kind": "put", "id": "wrong", "azimuth": "x", "count": "", "after": ""}
        assert first.post_json(f"{log}/changes", {"changes": [wrong]}).status == 200
    for writer in writers:
        writer.start()
    kept_unheard = 0
    for _ in range(KILLS):
        heard = heard_by(writers)
        wait_until(lambda heard=heard: heard_by(writers) > heard + 2)
        time.sleep(chance.uniform(0.0, 0.06))
        forks.kill()
        kept = {key for _, key, _ in edits_of(tmp_path / "desk")}
        kept_unheard += sum(change["key"] in kept for writer in writers for change in list(writer.waiting))
        forks.open()
    for writer in writers:
        writer.stopped.set()
    for writer in writers:
        writer.join(timeout=20)
        assert not writer.is_alive()

    first.close()
    edits = edits_of(tmp_path / "desk")
    keys = [key for _, key, _ in edits if key != "wrong-row-1"]
    acknowledged = [key for writer in writers for key in writer.acknowledged]
    assert len(keys) == len(set(keys))
    assert set(keys) == set(acknowledged)
    assert len(acknowledged) == len(set(acknowledged))
    for log in {log for log, _, _ in edits}:
        numbers = [number for one, _, number in edits if one == log]
        assert numbers == list(range(1, len(numbers) + 1))
    for writer in writers:
        found = [row for row in rows_of(first, writer.log) if row[0].startswith(writer.tab)]
        assert found == [(one, *cells) for one, cells in writer.expected.items()]
    unanswered = set().union(*(writer.unanswered for writer in writers))
    # Had no kill met a write, nothing would have been shown: some changes were kept and never acknowledged.
    assert kept_unheard > 0
    print(f"{KILLS} kills, {len(keys)} changes, {len(unanswered)} unanswered, {kept_unheard} kept unheard")


def test_a_desk_that_was_killed_opens_again_with_what_it_acknowledged(new_desk: Any) -> None:
    server = new_desk()
    log = server.owner.new_log()
    row = {"key": "key-number-1", "kind": "put", "id": "a", "azimuth": "305", "count": "240", "notes": ""}
    assert server.owner.post_json(f"{log}/changes", {"changes": [row]}).status == 200
    server.kill()
    again = new_desk(port=server.port)
    server.owner.close()
    # The browser that was let in before stays let in.
    assert rows_of(server.owner, log) == [("a", "305", "240")]
    again.close()
