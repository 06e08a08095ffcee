"""What a browser could not send outlives a browser that is killed, a new page, and a desk at another port."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from support.chromium import SWITCHES, _driver, chromium_path
from support.desk_forks import free_port
from support.desk_server import DeskServer, DeskVisitor
from support.notebook_page import begin, kept, on_page, saved, until

OpenPage = Callable[..., Any]
pytestmark = pytest.mark.slow
ROWS = [("305", "240", ""), ("38", "185", "[at Split oak]"), ("52", "330", "")]


class KilledBrowser:
    """A browser of its own on a profile that stays, so that it can be killed and opened again."""

    def __init__(self, profile: Path) -> None:
        self.profile, self.port = profile, free_port()
        self.open()

    def open(self) -> None:
        for left in self.profile.glob("Singleton*"):
            left.unlink()
        self.process = subprocess.Popen(
            [
                str(chromium_path()),
                *SWITCHES,
                f"--user-data-dir={self.profile}",
                f"--remote-debugging-port={self.port}",
                "about:blank",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        end = time.monotonic() + 30
        while True:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
                break
            except OSError:
                assert time.monotonic() < end, "the browser did not open"
                time.sleep(0.1)
        self.driven = _driver().chromium.connect_over_cdp(f"http://127.0.0.1:{self.port}")
        self.context = self.driven.contexts[0]
        self.page = self.context.new_page()

    def come_in(self, server: DeskServer) -> None:
        self.page.goto(server.link)
        self.page.get_by_role("button").first.click()
        self.page.wait_for_url(server.base + "/")

    def kill(self) -> None:
        """End all its processes at once, as a power cut would."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@pytest.fixture
def killed(tmp_path: Path) -> Iterator[KilledBrowser]:
    if chromium_path() is None:
        pytest.skip("no Chromium is installed")
    made = KilledBrowser(tmp_path / "profile")
    yield made
    made.kill()
    shutil.rmtree(made.profile, ignore_errors=True)


@pytest.mark.browser
def test_rows_and_forms_typed_with_no_desk_outlive_a_browser_killed_a_second_later(
    killed: KilledBrowser, new_desk: Callable[..., DeskServer]
) -> None:
    server = new_desk()
    killed.come_in(server)
    killed.page.goto(server.base + "/walkers")
    killed.page.fill("input[name=name]", "Ines Rowe")
    second = killed.context.new_page()
    second.goto(server.base)
    keys = begin(second)
    keys.rows(ROWS[:1])
    saved(second)
    log = second.url
    server.kill()
    keys.rows(ROWS[1:])
    time.sleep(1.0)
    killed.kill()
    server = new_desk(port=0)
    killed.open()
    # A browser writes its cookies to the disk half a minute late: it may have to be let in anew.
    killed.come_in(server)
    killed.page.goto(log)
    until(killed.page, "() => document.querySelectorAll('#page .row').length === 4", most_s=20)
    saved(killed.page)
    server.owner.cookies.update({one["name"]: one["value"] for one in killed.context.cookies()})
    assert on_page(killed.page) == kept(server.owner, killed.page) == ROWS
    killed.page.goto(server.base + "/walkers")
    until(killed.page, "() => document.querySelector('input[name=name]').value === 'Ines Rowe'")


def test_a_page_that_is_loaded_again_shows_its_unsent_rows_at_once(
    browser_page: OpenPage, new_desk: Callable[..., DeskServer]
) -> None:
    server = new_desk()
    page = browser_page(1440, server=server)
    keys = begin(page)
    keys.rows(ROWS[:1])
    saved(page)
    page.context.route("**/changes", lambda route: route.abort())
    keys.rows(ROWS[1:])
    page.wait_for_timeout(600)
    page.reload()
    until(page, "() => document.querySelectorAll('#page .row').length === 4", most_s=3)
    assert on_page(page) == ROWS
    assert page.inner_text("#rests") == "Before row 2 only; 2 rows not sent."
    page.context.unroute("**/changes")
    saved(page)
    assert kept(server.owner, page) == ROWS


def test_the_desk_keeps_its_port_and_answers_at_the_ones_it_had_before(
    browser_page: OpenPage, new_desk: Callable[..., DeskServer]
) -> None:
    first = new_desk()
    page = browser_page(1440, server=first)
    keys = begin(page)
    keys.rows(ROWS[:1])
    saved(page)
    log = page.url.removeprefix(first.base)
    first.kill()
    keys.rows(ROWS[1:2])
    again = new_desk()
    assert again.port == first.port
    saved(page)
    again.close()
    page.context.route("**/changes", lambda route: route.abort())
    keys.rows(ROWS[2:])
    page.goto("about:blank")
    page.context.unroute("**/changes")
    moved = new_desk(port=free_port())
    assert moved.port != first.port
    # The browser that was let in stays let in, and what lies under the old address comes.
    page.goto(moved.base + log)
    until(page, "() => document.querySelectorAll('#page .row').length === 4", most_s=25)
    assert on_page(page) == ROWS


def test_the_old_door_is_framed_by_the_desk_alone(new_desk: Callable[..., DeskServer]) -> None:
    first = new_desk()
    policy = first.owner.get("/").headers["Content-Security-Policy"]
    assert "frame-src" not in policy
    assert "frame-ancestors 'none'" in policy
    first.close()
    moved = new_desk(port=free_port())
    visitor = DeskVisitor(first.port)
    visitor.cookies = first.owner.cookies
    framed = visitor.get("/left-behind").headers
    assert f"frame-ancestors http://127.0.0.1:{moved.port};" in framed["Content-Security-Policy"]
    assert framed["X-Frame-Options"] is None
    other = visitor.get("/")
    assert other.headers["X-Frame-Options"] == "DENY"
    assert "frame-ancestors 'none'" in other.headers["Content-Security-Policy"]
    assert "left-behind" not in other.body
