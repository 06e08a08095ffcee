"""What is typed is kept: every change once, in order, and each can be taken back."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pacewright.desk.models import Edit, KeptLog, KeptWalker, Member
from pacewright.desk.notebook import keeping
from pacewright.desk.notebook.keeping import can_undo, keep_change, new_log, page_of, state_of, undo_last
from pacewright.desk.notebook.page_changes import Change, PageState
from pacewright.desk.serving.access import the_owner
from pacewright.exceptions import Complaint, FormatComplaint, MissingComplaint, OutputComplaint
from pacewright.files.bundled import DEMO_LOG, bundled
from pacewright.files.log_csv import read_log
from support.made_changes import CHANGES

MakeLog = Callable[..., KeptLog]


def put(identity: str, azimuth: str = "305", **more: Any) -> Change:
    return {"kind": "put", "id": identity, "azimuth": azimuth, "count": "240", "notes": "", **more}


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(changes=st.lists(CHANGES, max_size=8), repeats=st.lists(st.booleans(), min_size=8, max_size=8))
def test_as_many_undos_as_kept_changes_give_the_page_back(changes: list[Change], repeats: list[bool]) -> None:
    log = new_log(the_owner(), PageState("start: Gate", ()))
    began, kept = state_of(log), 0
    for at, (change, repeat) in enumerate(zip(changes, repeats, strict=False)):
        try:
            log = keep_change(log.pk, f"change-{at}", change).log
        except Complaint:
            continue
        kept += 1
        if repeat:
            again = keep_change(log.pk, f"change-{at}", change)
            assert again.is_repeated
            assert state_of(again.log) == state_of(log)
    for at in range(kept):
        log = undo_last(log.pk, f"undo-no-{at}").log
    assert state_of(log) == began
    assert not can_undo(log)
    assert [edit.number for edit in log.edits.all()] == list(range(1, 2 * kept + 1))
    with pytest.raises(MissingComplaint, match="there is nothing to undo"):
        undo_last(log.pk, "one-too-many")


def test_the_same_key_changes_a_log_once_even_with_another_content(
    owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member)
    assert not keep_change(log.pk, "key-number-1", put("a")).is_repeated
    second = keep_change(log.pk, "key-number-1", put("b"))
    assert second.is_repeated
    assert [row["id"] for row in second.log.rows] == ["a"]


def test_the_same_key_on_two_logs_is_two_changes(owner_member: Member, make_log: MakeLog) -> None:
    first, second = make_log(owner_member), make_log(owner_member)
    keep_change(first.pk, "key-number-1", put("a"))
    assert not keep_change(second.pk, "key-number-1", put("a")).is_repeated


def test_an_undo_sent_twice_takes_one_change_back(owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member)
    keep_change(log.pk, "key-number-1", put("a"))
    keep_change(log.pk, "key-number-2", put("b"))
    undo_last(log.pk, "undo-number-1")
    again = undo_last(log.pk, "undo-number-1")
    assert again.is_repeated
    assert [row["id"] for row in again.log.rows] == ["a"]


def test_a_change_after_an_undo_is_the_next_to_be_undone(owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member)
    for at, identity in enumerate("ab"):
        keep_change(log.pk, f"key-number-{at}", put(identity))
    undo_last(log.pk, "undo-number-1")
    keep_change(log.pk, "key-number-3", put("c"))
    undo_last(log.pk, "undo-number-2")
    assert [row["id"] for row in undo_last(log.pk, "undo-number-3").log.rows] == []


@pytest.mark.parametrize("key", ["", "short", "with blank!", "x" * 65, "newline-at-end\n"])
def test_a_change_without_a_fit_key_is_refused(owner_member: Member, make_log: MakeLog, key: str) -> None:
    log = make_log(owner_member)
    with pytest.raises(FormatComplaint, match="this change has no key"):
        keep_change(log.pk, key, put("a"))
    with pytest.raises(FormatComplaint, match="this change has no key"):
        undo_last(log.pk, key)
    assert not Edit.objects.exists()


def test_a_refused_change_leaves_no_trace(owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member, [("305", "240")])
    with pytest.raises(FormatComplaint):
        keep_change(log.pk, "key-number-1", {"kind": "strike", "id": "gone"})
    log.refresh_from_db()
    assert log.revision == 0
    assert not Edit.objects.exists()
    # Its key was not used up: the change may be sent again when the row is there.
    keep_change(log.pk, "key-number-2", put("gone"))
    assert not keep_change(log.pk, "key-number-1", {"kind": "strike", "id": "gone"}).is_repeated


def test_threads_that_write_at_once_lose_and_double_nothing(owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member)
    wrong: list[Exception] = []

    def write(thread: int) -> None:
        try:
            for at in range(8):
                after = f"t{thread // 2}-{at - 1}" if at else None
                # Every key is used by two threads, as when a tab and its successor both send what waited.
                keep_change(
                    log.pk, f"key-{thread // 2}-number-{at}", put(f"t{thread // 2}-{at}", after=after)
                )
        except Exception as found:
            wrong.append(found)
        finally:
            connection.close()

    threads = [threading.Thread(target=write, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong
    log.refresh_from_db()
    found = [row["id"] for row in log.rows]
    assert len(found) == len(set(found)) == 32
    for writer in range(4):
        assert [one for one in found if one.startswith(f"t{writer}-")] == [
            f"t{writer}-{at}" for at in range(8)
        ]
    assert [edit.number for edit in log.edits.all()] == list(range(1, 33))


def test_the_title_is_taken_from_the_heading(owner_member: Member, make_log: MakeLog) -> None:
    log = make_log(owner_member, heading="walker: Ines Rowe\n  Title :  Cinder Fen \ntitles: none")
    assert log.title == "Cinder Fen"
    assert keep_change(log.pk, "key-number-1", {"kind": "heading", "heading": "x"}).log.title == ""
    long = keep_change(log.pk, "key-number-2", {"kind": "heading", "heading": "title: " + "t" * 300}).log
    assert len(long.title) == 200


def test_a_log_that_was_read_lies_on_the_page_to_the_letter() -> None:
    page = page_of(read_log(bundled(DEMO_LOG), DEMO_LOG))
    lines = bundled(DEMO_LOG).decode("utf-8").splitlines()
    assert [f"# {line}" for line in page.heading.splitlines()] == [x for x in lines if x.startswith("#")]
    body = [line for line in lines if not line.startswith("#")][1:]
    assert [row["azimuth"] for row in page.rows] == [line.split(",")[0] for line in body]


def test_what_was_acknowledged_is_on_the_disk() -> None:
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL is durable unless its owner says otherwise")
    with connection.cursor() as cursor:
        found = [cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous")]
        # 2 is FULL (SQLite documentation, PRAGMA synchronous).
        assert found == ["wal", 2]
        assert cursor.execute("PRAGMA foreign_keys").fetchone()[0] == 1


def test_a_change_is_made_before_the_turn_to_write_comes(
    owner_member: Member, make_log: MakeLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    made, log, apply = [], make_log(owner_member), keeping.apply_change

    def looked_at(state: PageState, change: Change) -> tuple[PageState, Change]:
        made.append(connection.in_atomic_block)
        return apply(state, change)

    monkeypatch.setattr(keeping, "apply_change", looked_at)
    keep_change(log.pk, "key-number-1", put("a"))
    undo_last(log.pk, "undo-number-1")
    assert made == [False, False]


def test_what_was_written_while_a_change_was_made_stays(
    owner_member: Member, make_log: MakeLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    log, apply, between = make_log(owner_member), keeping.apply_change, iter(["b", "c"])

    def overtaken(state: PageState, change: Change) -> tuple[PageState, Change]:
        identity = None if connection.in_atomic_block else next(between, None)
        if identity is not None:
            monkeypatch.setattr(keeping, "apply_change", apply)
            keep_change(log.pk, f"key-of-{identity}-0", put(identity))
            monkeypatch.setattr(keeping, "apply_change", overtaken)
        return apply(state, change)

    monkeypatch.setattr(keeping, "apply_change", overtaken)
    kept = keep_change(log.pk, "key-number-1", put("a")).log
    assert [row["id"] for row in kept.rows] == ["b", "a"]
    # Taken back is the latest change by then.
    kept = undo_last(log.pk, "undo-number-1").log
    assert [row["id"] for row in kept.rows] == ["b", "a"]
    log.refresh_from_db()
    assert (log.rows, log.revision) == (kept.rows, 4)
    assert [edit.number for edit in log.edits.all()] == [1, 2, 3, 4]


def test_a_log_thrown_away_while_a_change_was_made_takes_it_no_more(
    owner_member: Member, make_log: MakeLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    log, apply = make_log(owner_member), keeping.apply_change

    def thrown(state: PageState, change: Change) -> tuple[PageState, Change]:
        KeptLog.objects.filter(pk=log.pk).update(thrown_at=timezone.now())
        return apply(state, change)

    monkeypatch.setattr(keeping, "apply_change", thrown)
    with pytest.raises(OutputComplaint, match="this log lies in the bin"):
        keep_change(log.pk, "key-number-1", put("a"))
    assert not Edit.objects.exists()


def test_a_walker_chosen_while_a_change_was_made_stays_chosen(
    owner_member: Member, make_log: MakeLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    log, apply = make_log(owner_member), keeping.apply_change
    walker = KeptWalker.objects.create(owner=owner_member, name="Ines Rowe")

    def chosen(state: PageState, change: Change) -> tuple[PageState, Change]:
        KeptLog.objects.filter(pk=log.pk).update(walker=walker)
        return apply(state, change)

    monkeypatch.setattr(keeping, "apply_change", chosen)
    keep_change(log.pk, "key-number-1", put("a"))
    log.refresh_from_db()
    assert (log.walker_id, [row["id"] for row in log.rows]) == (walker.pk, ["a"])


def test_a_change_of_nothing_is_kept_without_writing_the_page_anew(
    owner_member: Member, make_log: MakeLog
) -> None:
    log = make_log(owner_member, [("305", "240"), ("38", "185")])
    with CaptureQueriesContext(connection) as asked:
        kept = keep_change(log.pk, "key-number-1", {"kind": "remove", "ids": []}).log
    written = [one["sql"] for one in asked if one["sql"].startswith("UPDATE")]
    assert len(written) == 1 and "revision" in written[0] and '"rows"' not in written[0]
    assert keep_change(log.pk, "key-number-1", {"kind": "remove", "ids": []}).is_repeated
    before = log.rows
    log.refresh_from_db()
    assert (log.rows, log.revision, kept.revision) == (before, 1, 1)


def test_a_change_sent_again_while_it_is_being_kept_is_told_with_the_page_that_holds_it(
    owner_member: Member, make_log: MakeLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    log, known_keys = make_log(owner_member), keeping._known_keys

    def overtaken(kept: KeptLog, keys: list[str]) -> set[str]:
        monkeypatch.setattr(keeping, "_known_keys", known_keys)
        keep_change(log.pk, "key-number-1", put("a"))
        return known_keys(kept, keys)

    monkeypatch.setattr(keeping, "_known_keys", overtaken)
    told = keep_change(log.pk, "key-number-1", put("a"))
    assert told.is_repeated
    assert ([row["id"] for row in told.log.rows], told.log.revision) == (["a"], 1)
