"""A full disk is said as such, on the page and where the desk was started; nothing that was saved is lost."""

from __future__ import annotations

import errno
import json
import stat
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from django.db import OperationalError, connection
from django.test import Client

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.serving import guards, serve
from pacewright.desk.serving.guards import is_disk_full
from support.command import run

MakeLog = Callable[..., KeptLog]


@pytest.fixture
def full_disk() -> Any:
    """A database file that may not grow by a page: SQLite then says what it says on a full disk."""
    if connection.vendor != "sqlite":
        pytest.skip("only SQLite can be held so")
    with connection.cursor() as cursor:
        # What earlier tests deleted leaves free pages inside the file.
        cursor.execute("VACUUM")
        pages = cursor.execute("PRAGMA page_count").fetchone()[0]
        before = cursor.execute("PRAGMA max_page_count").fetchone()[0]
        cursor.execute(f"PRAGMA max_page_count = {pages}")
        yield
        cursor.execute(f"PRAGMA max_page_count = {before}")


def test_a_full_disk_is_said_and_logged_and_what_was_saved_stays(
    owner: Client, owner_member: Member, make_log: MakeLog, monkeypatch: pytest.MonkeyPatch, request: Any
) -> None:
    log = make_log(owner_member, [("305", "240")])
    said: list[str] = []
    monkeypatch.setattr(guards._LOG, "critical", lambda words, *more: said.append(words % more))
    request.getfixturevalue("full_disk")
    rows = [{"id": f"n{k}", "azimuth": "9", "count": "9", "notes": "x" * 1900} for k in range(400)]
    change = {"key": "key-of-the-page", "kind": "paste", "rows": rows}
    answer = owner.post(
        f"/logs/{log.pk}/changes", json.dumps({"changes": [change]}), content_type="application/json"
    )
    assert answer.status_code == 507
    assert answer.json()["complaint"].startswith("the disk of the desk's machine is full")
    (why,) = said
    assert why == f"the disk is full: POST /logs/{log.pk}/changes was not kept (database or disk is full)"
    fields = {"key": "form-key-one", "heading": "title: " + "x" * 9000, "was-heading": log.heading, "row": []}
    fields["row"] = [f"n{k}" for k in range(200)]
    fields |= {f"n{k}-notes": "x" * 1900 for k in range(200)}
    page = owner.post(f"/logs/{log.pk}/page", fields)
    assert page.status_code == 507 and "is full, and this was not saved" in page.content.decode()
    log.refresh_from_db()
    assert [row["azimuth"] for row in log.rows] == ["305"]


@pytest.mark.parametrize(
    ("exception", "is_full"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), True),
        (OSError(errno.ENOENT, "No such file"), False),
        (OperationalError("database or disk is full"), True),
        (OperationalError("could not extend file: No space left on device"), True),
        (OperationalError("database is locked"), False),
        (ValueError("disk is full"), False),
    ],
)
def test_only_a_full_disk_is_called_one(exception: Exception, is_full: bool) -> None:
    assert is_disk_full(exception) is is_full


def test_the_opening_link_is_on_nobodys_command_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    link = "http://127.0.0.1:8731/open/token-of-the-link"
    page = serve.write_opening_page(tmp_path, link)
    assert stat.S_IMODE(page.stat().st_mode) == 0o600 and f'url={link}"' in page.read_text(encoding="utf-8")
    ran: list[bool] = []
    server = SimpleNamespace(run=lambda: ran.append(page.exists()), close=lambda: None)
    desk = serve.OpenDesk(server, link, "http://127.0.0.1:8731/", None, None, "", tmp_path, page)
    launched: list[str] = []
    monkeypatch.setattr(serve, "open_desk", lambda asked: desk)
    monkeypatch.setattr("click.launch", launched.append)
    assert run("desk").code == 0
    assert launched == [page.as_uri()] and "token-of-the-link" not in launched[0]
    assert ran == [True] and not page.exists()
