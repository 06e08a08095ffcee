"""A search over several machines, and one that was stopped: the same answer as in one go."""

from __future__ import annotations

import os
import signal
from functools import partial

import numpy as np
import pytest

from pacewright.answers.locate import answer_locate
from pacewright.files.cluster import searcher_on
from pacewright.files.log_csv import read_log
from pacewright.files.search_keeping import SearchKeeping
from pacewright.ground.locate.search import blocks_of, search
from support.made_land_walks import hilly_land, walk_on
from support.searches import searched, terrain_of

LAND = hilly_land(120, 0.16, seed=4)
WALK = walk_on(LAND, 5, {"trend", "side"}, seed=11)
SIDE = 60


def in_blocks():
    return searched(LAND, WALK, searcher=partial(search, side=SIDE))


def test_blocks_together_are_the_whole():
    """A block stands alone: nothing of a neighbour is needed, and what lies at its edge is not lost."""
    whole, parts = searched(LAND, WALK), in_blocks()
    assert parts.found.log_chance == pytest.approx(whole.found.log_chance, abs=0.1)
    # Each block weighs lies against its own land, and looks finely where it matters to itself.
    assert np.abs(parts.found.now - whole.found.now).sum() / 2.0 < 0.05


def test_blocks_that_a_survey_rules_out_would_have_changed_next_to_nothing(monkeypatch):
    land = hilly_land(300, 0.16, seed=8)
    walk = walk_on(land, 12, {"trend", "side"}, seed=3)
    looked_at = []

    def keep(found):
        if found.is_searched:
            looked_at.append(found.block)

    parts = searched(land, walk, searcher=partial(search, side=60), keep=keep)
    surveyed, count = len(looked_at), len(blocks_of(np.ones(land.height_m.shape, np.float32), 60))
    assert 0 < surveyed < count
    assert parts.found.searched == pytest.approx(1.0)
    monkeypatch.setattr("pacewright.ground.locate.search.WORTH_BITS", np.inf)
    every = searched(land, walk, searcher=partial(search, side=60), keep=keep)
    assert len(looked_at) == surveyed + count
    # As much as tiles that are left out within a block come to: one or two thousandths of the belief.
    assert parts.found.log_chance == pytest.approx(every.found.log_chance, abs=2e-3)
    assert np.abs(parts.found.now - every.found.now).sum() / 2.0 < 2e-3
    assert np.abs(parts.found.start - every.found.start).sum() / 2.0 < 2e-3


def test_a_search_that_was_stopped_goes_on_from_there(tmp_path):
    keeping = SearchKeeping(str(tmp_path / "kept"), (WALK.text,), terrain_of(LAND), None, None)
    count = 0

    def keep(found):
        nonlocal count
        keeping.keep(found)
        count += found.is_searched
        if count == 2:
            raise KeyboardInterrupt

    stopped = searched(LAND, WALK, searcher=partial(search, side=SIDE), keep=keep)
    assert 0.2 < stopped.found.searched < 0.6
    assert any("was stopped after" in one for one in stopped.remarks)
    again = []
    gone_on = searched(
        LAND, WALK, searcher=partial(search, side=SIDE), kept=keeping.kept, keep=lambda one: again.append(one)
    )
    assert len(again) == 4 - 2
    assert all(one.is_searched for one in again)
    assert np.abs(gone_on.found.now - in_blocks().found.now).max() < 1e-6
    other = SearchKeeping(str(tmp_path / "kept"), ("another log",), terrain_of(LAND), None, None)
    prior = np.ones(LAND.height_m.shape, np.float32)
    assert all(other.kept(block) is None for block in blocks_of(prior, SIDE))


@pytest.mark.slow
def test_a_worker_that_is_killed_in_the_midst_changes_nothing():
    distributed = pytest.importorskip("distributed")
    land = terrain_of(LAND)
    log = read_log(WALK.text.encode(), "made.csv")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    ) as cluster:
        killed = []

        def kill_one(share):
            if not killed:
                victim = next(iter(cluster.workers.values()))
                killed.append(victim.pid)
                os.kill(victim.pid, signal.SIGKILL)

        spread = searcher_on(cluster.scheduler_address, side=40)
        answer = answer_locate(log, None, land, searcher=spread, progress=kill_one)
    assert killed
    alone = searched(LAND, WALK, searcher=partial(search, side=40))
    assert np.abs(answer.found.now - alone.found.now).max() < 1e-6
    assert answer.found.log_chance == pytest.approx(alone.found.log_chance, abs=1e-6)


def test_where_no_scheduler_answers_one_sentence_says_so(monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr("pacewright.files.cluster._WAIT_S", 1)
    with pytest.raises(Exception, match="no scheduler answers") as refused:
        searched(LAND, WALK, searcher=searcher_on("tcp://127.0.0.1:9"))
    assert type(refused.value).__name__ == "ValueComplaint"
