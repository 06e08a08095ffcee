"""Workers: one question a member at a time, each once; ended when too long, too much, or asked by nobody."""

from __future__ import annotations

import math
import os
import pickle
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from pacewright.desk.workers.process import WorkerProcess
from pacewright.desk.workers.progress import Progress, say_progress
from pacewright.desk.workers.workshop import MOST_WAITING_OF_ONE, Job, Outcome, Workshop

pytestmark = pytest.mark.slow

SOON_S = 30.0


def call(module: str, name: str, *arguments: Any) -> Callable[[], bytes]:
    return lambda: pickle.dumps((module, name, arguments))


def nap(seconds: float) -> Callable[[], bytes]:
    return call("time", "sleep", seconds)


@pytest.fixture
def open_shop() -> Iterator[Callable[..., Workshop]]:
    opened: list[Workshop] = []

    def make(workers: int = 1, most_mb: int = 200, **more: float) -> Workshop:
        opened.append(Workshop(workers, most_mb, **more))
        return opened[-1]

    yield make
    for shop in opened:
        shop.close()


def settled(shop: Workshop, key: str) -> Outcome | None:
    """What became of a question that is not asked again."""
    until = time.monotonic() + SOON_S
    while time.monotonic() < until and shop.known(key) is None:
        time.sleep(0.05)
    return shop.known(key)


def until(is_so: Callable[[], bool]) -> None:
    end = time.monotonic() + SOON_S
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.02)


def test_an_answer_comes_from_another_process(open_shop: Callable[..., Workshop]) -> None:
    found = open_shop().ask("a", "number", call("os", "getpid"), SOON_S)
    assert found is not None and found.kind == "done"
    assert found.opened() != os.getpid()


def test_the_same_question_is_worked_out_once(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop()
    first = shop.ask("a", "moment", call("time", "monotonic_ns"), SOON_S)
    assert first is not None
    assert shop.ask("b", "moment", call("time", "monotonic_ns"), SOON_S) == first


def test_what_is_not_ready_is_none_and_comes_later(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop()
    assert shop.ask("a", "root", call("math", "sqrt", 2.0)) is None
    found = shop.ask("a", "root", call("math", "sqrt", 2.0), SOON_S)
    assert found is not None and found.opened() == math.sqrt(2.0)


def test_a_complaint_comes_as_it_was_made(open_shop: Callable[..., Workshop]) -> None:
    found = open_shop().ask("a", "word", call("pacewright.core.compass", "parse_azimuth", "?"), SOON_S)
    assert found is not None and found.kind == "complaint"
    assert str(found.opened()).startswith("? is not an azimuth")


def test_what_takes_too_long_is_ended_and_the_next_is_answered(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop(longest_s=0.5)
    shop.ask("a", "nap", nap(600.0))
    found = settled(shop, "nap")
    assert found is not None and found.kind == "time"
    after = open_shop().ask("a", "root", call("math", "sqrt", 4.0), SOON_S)
    assert after is not None and after.opened() == 2.0


def test_once_others_wait_a_long_answer_has_had_its_time(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop(fair_s=0.5)
    shop.ask("a", "nap", nap(600.0))
    until(lambda: bool(shop.workers()))
    other = shop.ask("b", "root", call("math", "sqrt", 9.0), SOON_S)
    assert other is not None and other.opened() == 3.0
    stopped = shop.known("nap")
    assert stopped is not None and stopped.kind == "fair"


@pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="this system refuses no memory")  # noqa: PTH110
def test_what_takes_too_much_memory_is_refused_and_the_worker_goes_on(
    open_shop: Callable[..., Workshop],
) -> None:
    shop = open_shop(most_mb=200)
    found = shop.ask("a", "much", call("numpy", "ones", 10**8), SOON_S)
    assert found is not None and found.kind == "memory"
    after = shop.ask("a", "root", call("math", "sqrt", 4.0), SOON_S)
    assert after is not None and after.opened() == 2.0


def test_who_waits_longer_than_one_that_has_left_is_worked_for(open_shop: Callable[..., Workshop]) -> None:
    found = open_shop(left_s=0.2).ask("a", "nap", nap(1.0), SOON_S)
    assert found is not None and found.kind == "done"


def test_who_has_left_is_worked_for_no_more(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop(left_s=0.5)
    shop.ask("a", "nap", nap(600.0))
    until(lambda: bool(shop.workers()))
    (number,) = shop.workers()
    until(lambda: not shop.workers())
    with pytest.raises(ProcessLookupError):
        until(lambda: os.kill(number, 0) is not None)
    assert shop.known("nap") is None


def test_a_member_has_one_worker_and_the_others_theirs(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop(workers=2)
    shop.ask("a", "nap", nap(600.0))
    shop.ask("a", "another", nap(600.0))
    found = shop.ask("b", "root", call("math", "sqrt", 16.0), SOON_S)
    assert found is not None and found.opened() == 4.0
    assert len(shop.workers()) == 1


def test_whoever_was_served_longest_ago_is_next(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop()
    for key in ("one", "two", "three"):
        shop.ask("a", key, nap(0.3))
    shop.ask("b", "root", call("math", "sqrt", 25.0))
    assert settled(shop, "root") is not None
    assert shop.known("three") is None


def test_of_many_questions_of_one_member_the_latest_wait(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop()
    for k in range(20):
        shop.ask("a", f"nap {k}", nap(0.05))
    assert settled(shop, "nap 19") is not None
    assert sum(shop.known(f"nap {k}") is not None for k in range(20)) <= MOST_WAITING_OF_ONE + 1


def test_a_worker_that_dies_takes_nothing_with_it(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop()
    found = shop.ask("a", "death", call("os", "_exit", 3), SOON_S)
    assert found is not None and found.kind == "ended"
    after = shop.ask("a", "root", call("math", "sqrt", 36.0), SOON_S)
    assert after is not None and after.opened() == 6.0


def test_what_a_work_tells_of_its_progress_comes_before_its_answer() -> None:
    told: list[tuple[float, float]] = []
    worker = WorkerProcess(200)
    try:
        message = call("pacewright.desk.workers.progress", "tell_progress", 3, 10)()
        kind, found = worker.ask(message, lambda done, of: told.append((done, of)))
        assert (kind, pickle.loads(found), told) == ("done", None, [(3, 10)])
        # The next question of the same worker is answered as ever.
        kind, found = worker.ask(call("math", "sqrt", 9.0)(), lambda done, of: told.append((done, of)))
        assert (kind, pickle.loads(found), len(told)) == ("done", 3.0, 1)
    finally:
        worker.close()


def test_the_rest_is_as_long_as_what_was_done_since_it_was_told_first() -> None:
    # 42 % less the 20 % of an earlier day in 21 s, so 58 % in 55.
    progress = Progress(0.42, 1.0, first=0.2, begun_s=100.0, now_s=121.0)
    assert progress.left_s == pytest.approx(55.4, abs=0.1)
    assert say_progress(progress) == "40 % is done; the rest takes about 55 s."
    # One part in a hundred is no measure of the pace.
    assert say_progress(Progress(0.21, 1.0, 0.2, 0.0, 9.0)) == "20 % is done."
    assert say_progress(None) == "It has begun."


def test_what_is_told_again_keeps_where_it_began() -> None:
    job = Job("a", "key", b"", 0.0)
    job.tell(3, 10)
    job.tell(7, 10)
    assert job.progress is not None
    assert (job.progress.first, job.progress.done, job.progress.shown) == (3, 7, "70")


def test_how_far_is_known_only_where_the_work_tells(open_shop: Callable[..., Workshop]) -> None:
    shop = open_shop()
    shop.ask("a", "nap", nap(600.0))
    until(lambda: bool(shop.workers()))
    assert shop.how_far("nap") is None and shop.how_far("never asked") is None
