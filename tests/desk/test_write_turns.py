"""Writers in a line: the order in which they came, and nobody left holding the pen."""

from __future__ import annotations

import threading
import time

import pytest
from django.db import DatabaseError, connection, transaction

from pacewright.desk.models import Setting
from pacewright.desk.serving.write_turns.line import WRITERS, WriteLine


def test_the_pen_goes_to_whoever_waited_longest() -> None:
    line, came = WriteLine(), []
    assert line.take(0.0)

    def write(number: int) -> None:
        assert line.take(20.0)
        came.append(number)
        line.lay_down()

    threads = [threading.Thread(target=write, args=(number,)) for number in range(8)]
    for many, thread in enumerate(threads, start=1):
        thread.start()
        while len(line._waiting) < many:
            time.sleep(0.001)
    line.lay_down()
    for thread in threads:
        thread.join()
    assert came == list(range(8))
    assert line.take(0.0)


def test_who_waits_in_vain_goes_without_and_leaves_the_line() -> None:
    line = WriteLine()
    assert line.take(0.0)
    assert not line.take(0.01)
    line.lay_down()
    assert line.take(0.0)


@pytest.fixture
def sqlite() -> None:
    if connection.vendor != "sqlite":
        pytest.skip("another database lets its writers wait by itself")


def is_free() -> bool:
    free = WRITERS.take(0.0)
    if free:
        WRITERS.lay_down()
    return free


def test_a_transaction_holds_the_pen_from_its_beginning_to_its_end(sqlite: None) -> None:
    with transaction.atomic():
        assert not is_free()
        with transaction.atomic():
            Setting.objects.create(key="a", value="1")
        assert not is_free()
    assert is_free()


def test_a_transaction_that_fails_lays_the_pen_down(sqlite: None) -> None:
    with pytest.raises(DatabaseError), transaction.atomic():
        Setting.objects.create(key="a", value="1")
        Setting.objects.create(key="a", value="2")
    assert is_free()
    with pytest.raises(RuntimeError), transaction.atomic():
        raise RuntimeError
    assert is_free()


def test_a_connection_that_is_closed_in_the_middle_lays_the_pen_down(sqlite: None) -> None:
    with pytest.raises(DatabaseError), transaction.atomic():
        connection.close()
        Setting.objects.create(key="a", value="1")
    assert is_free()
