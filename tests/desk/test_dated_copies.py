"""The desk's own copies; a database that is damaged, gone or newer is noticed at start and said."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from pacewright.desk.models import Member
from pacewright.desk.serving import dated_copies, serve
from pacewright.desk.serving.copy_setting import kept_setting
from pacewright.desk.serving.dated_copies import (
    copies_in,
    find_damage,
    is_due,
    keep_copies,
    make_copy,
    throw_old,
)
from pacewright.desk.serving.start_check import check_file, check_version
from pacewright.exceptions import OutputComplaint

NOW = datetime(2026, 5, 14, 12, 0)


@pytest.fixture
def database(tmp_path: Path) -> Path:
    path = tmp_path / "desk.sqlite3"
    base = sqlite3.connect(path)
    base.execute("PRAGMA journal_mode=WAL")
    base.execute("CREATE TABLE log (words TEXT)")
    base.executemany("INSERT INTO log VALUES (?)", [("bracken " * 50,) for _ in range(2000)])
    base.commit()
    base.close()
    return path


def damage(path: Path) -> None:
    data = bytearray(path.read_bytes())
    data[4096 : len(data) - 4096] = b"\xa5" * (len(data) - 8192)
    path.write_bytes(bytes(data))


def test_a_copy_is_the_whole_database_while_it_is_written(database: Path) -> None:
    writer = sqlite3.connect(database)
    writer.execute("INSERT INTO log VALUES ('not committed')")
    copy = make_copy(database, database.parent, NOW)
    writer.rollback()
    writer.close()
    assert copy.name == "desk-2026-05-14-120000.sqlite3" and find_damage(copy) == ""
    found = sqlite3.connect(copy)
    assert found.execute("SELECT count(*) FROM log").fetchone() == (2000,)
    found.close()
    assert [path.name for path in copy.parent.iterdir()] == [copy.name]


def test_a_copy_is_due_once_a_day_whatever_a_wrong_clock_dated(database: Path) -> None:
    folder = database.parent
    assert is_due(folder, NOW)
    make_copy(database, folder, NOW + timedelta(days=9000))
    assert is_due(folder, NOW)
    make_copy(database, folder, NOW)
    assert not is_due(folder, NOW + timedelta(hours=3))
    assert is_due(folder, NOW + timedelta(hours=21))


def test_old_copies_go_a_few_at_a_time_and_never_the_last(database: Path) -> None:
    folder = database.parent
    for day in range(10):
        make_copy(database, folder, NOW + timedelta(days=day))
    now = NOW + timedelta(days=9)
    assert throw_old(folder, now, kept=20, days=60) == []
    assert len(throw_old(folder, now, kept=9, days=60)) == 1
    assert len(throw_old(folder, now + timedelta(days=20_000), kept=20, days=60)) == 2
    for _ in range(9):
        throw_old(folder, now + timedelta(days=20_000), kept=20, days=60)
    assert [copy.name[5:15] for copy in copies_in(folder)] == ["2026-05-21", "2026-05-22", "2026-05-23"]


def test_a_damaged_database_is_said_with_the_latest_whole_copy(database: Path) -> None:
    folder = database.parent
    check_file(database)
    make_copy(database, folder, NOW)
    later = make_copy(database, folder, NOW + timedelta(days=1))
    damage(database)
    damage(later)
    with pytest.raises(OutputComplaint) as said:
        check_file(database)
    assert "the database of this desk is damaged (" in str(said.value)
    assert "copy backups/desk-2026-05-14-120000.sqlite3 to desk.sqlite3" in str(said.value)
    shutil.copy(folder / "backups" / "desk-2026-05-14-120000.sqlite3", database)
    check_file(database)


@pytest.mark.parametrize(("is_there", "says"), [(True, "is empty"), (False, "is gone")])
def test_a_database_that_is_empty_or_gone_is_no_first_start_where_there_are_copies(
    database: Path, is_there: bool, says: str
) -> None:
    make_copy(database, database.parent, NOW)
    database.write_bytes(b"") if is_there else database.unlink()
    with pytest.raises(OutputComplaint, match=f"the database of this desk {says}"):
        check_file(database)
    shutil.rmtree(database.parent / "backups")
    check_file(database)


def test_what_is_no_database_is_said(tmp_path: Path) -> None:
    (tmp_path / "desk.sqlite3").write_bytes(b"no database at all" * 400)
    with pytest.raises(OutputComplaint, match=r"damaged \(file is not a database\)\. Open a desk in a new"):
        check_file(tmp_path / "desk.sqlite3")


def test_a_database_of_a_newer_desk_is_said() -> None:
    known = {("desk", "0001_the_desk"), ("sessions", "0001_initial")}
    check_version(known | {("elsewhere", "0009_x")}, known)
    with pytest.raises(OutputComplaint, match=r"used by a newer pacewright \(it holds 0007_later\)"):
        check_version(known | {("desk", "0007_later")}, known)


def test_a_full_disk_stands_in_the_log_and_stops_nothing(
    database: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def full(*_: object) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    said: list[str] = []
    monkeypatch.setattr(dated_copies, "make_copy", full)
    monkeypatch.setattr(dated_copies._LOG, "error", lambda words, *more: said.append(words % more))
    keep_copies(database, database.parent)
    assert said == ["no dated copy of the database could be made: database or disk is full"]


def test_a_clock_that_jumped_ahead_ends_no_session(owner: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    ahead = timezone.now() + timedelta(days=9000)
    monkeypatch.setattr("django.utils.timezone.now", lambda: ahead)
    serve._bring_up_to_date()
    monkeypatch.undo()
    assert owner.get("/").status_code == 200
    monkeypatch.setattr(serve, "MOST_SESSIONS", 2)
    for day in range(4):
        Session.objects.create(
            session_key=f"k{day}", session_data="", expire_date=ahead + timedelta(days=day)
        )
    serve._drop_surplus_sessions()
    assert sorted(Session.objects.values_list("pk", flat=True)) == ["k2", "k3"]


def test_how_many_copies_and_how_old_is_a_setting(owner: Client, guest: Client, owner_member: Member) -> None:
    assert kept_setting() == (14, 60)
    assert "There is none yet." in owner.get("/books/backup").content.decode()
    assert owner.post("/books/backup/copies", {"kept": "30", "days": "365"}).status_code == 302
    assert kept_setting() == (30, 365)
    assert owner.post("/books/backup/copies", {"kept": "0", "days": "x"}).status_code == 422
    assert guest.post("/books/backup/copies", {"kept": "3", "days": "3"}).status_code == 404
    assert "Dated copies" not in guest.get("/books/backup").content.decode()
    assert kept_setting() == (30, 365)
