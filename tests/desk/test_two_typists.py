"""Two browsers against each other by chance, offline spells and kills of the desk: one truth at the end."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from support.desk_forks import Forks
from support.desk_server import DeskVisitor
from support.notebook_page import CELLS, SIX, begin, saved
from support.two_typists import Match
from support.unseen import unseen_overwritten

OpenPage = Callable[..., Any]
pytestmark = pytest.mark.slow
SECONDS = 40


class Door:
    """A desk that may be down, as `browser_page` wants to know it."""

    def __init__(self, forks: Forks) -> None:
        self.base = f"http://127.0.0.1:{forks.port}"
        self.owner = DeskVisitor(forks.port)
        self.owner.come_in(forks.link)


@pytest.fixture
def forks(tmp_path: Path) -> Iterator[Forks]:
    made = Forks(tmp_path / "desk")
    made.open()
    yield made
    made.close()


@pytest.mark.parametrize("seed", [1, 2])
def test_two_who_type_by_chance_end_with_what_the_desk_has_and_lose_nothing(
    browser_page: OpenPage, forks: Forks, seed: int
) -> None:
    door = Door(forks)
    one = browser_page(1440, server=door, service_workers="allow")
    begin(one).rows(SIX)
    saved(one)
    other = browser_page(1440, server=door, service_workers="allow")
    other.goto(one.url)
    match = Match(forks, [one, other], seed)
    end = time.monotonic() + SECONDS / 2
    while time.monotonic() < end:
        match.turn()
    match.end()

    door.owner.close()
    log = one.get_attribute("#page", "data-changes")
    told = door.owner.post_json(log, {"changes": []}).json
    states = [typist.state() for typist in match.typists]
    assert states[0] == states[1]
    assert states[0]["heading"] == told["heading"]
    rows = [([row[name] for name in CELLS], row["struck"]) for row in told["rows"]]
    assert [(row["cells"], row["struck"]) for row in states[0]["rows"]] == rows
    edits = match.edits.look()
    acknowledged = set().union(*(typist.acknowledged for typist in match.typists))
    assert len(acknowledged) > 20
    assert acknowledged <= {key for key, _ in edits}
    unseen, last = unseen_overwritten(match.typists, edits)
    assert [row["id"] for row in last.rows] == [row["id"] for row in told["rows"]]
    assert unseen == []
    print(seed, match.kills, "kills;", len(acknowledged), "acknowledged;", match.did())
