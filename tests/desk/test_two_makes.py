"""Two browsers of different makes on one log: Chromium and Firefox type, lose the desk, and end alike."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from support.desk_server import DeskServer
from support.firefox import Firefox, open_firefox
from support.notebook_page import CELLS, begin, cell, kept, on_page, saved, until

pytestmark = pytest.mark.slow
NOTE = "along the wall to the second gate, then over the stile, down to the ford and up the far bank again"
ROWS = f"""return [...document.querySelectorAll('#page .row')]
  .map(row => {list(CELLS)}.map(name => row.querySelector('.' + name).value))
  .filter(row => row.some(Boolean))"""
SELECT = "document.querySelectorAll('#page .row')[arguments[0]].querySelector('.' + arguments[1]).select()"
HIGH = "return document.querySelectorAll('#page .notes')[arguments[0]].offsetHeight"
SAID = "return document.getElementById('saved').textContent"


@pytest.fixture
def firefox() -> Iterator[Firefox]:
    """A Firefox with nothing in it."""
    with open_firefox() as opened:
        if opened is None:
            pytest.skip("no Firefox is installed")
        yield opened


def comes(firefox: Firefox, script: str, wanted: Any, *given: Any) -> None:
    """Wait until a script gives what is wanted."""
    end = time.monotonic() + 20
    while (found := firefox.run(script, *given)) != wanted:
        assert time.monotonic() < end, f"{script} gives {found}, and never {wanted}"
        time.sleep(0.05)


def type_in(firefox: Firefox, row: int, name: str, text: str) -> None:
    """Type over a cell with keys, and leave it."""
    firefox.run(SELECT, row - 1, name)
    asked = {"using": "css selector", "value": f"#page .row[data-id]:nth-of-type({row + 1}) .{name}"}
    found = firefox.ask("WebDriver:FindElement", asked)["value"]
    (element,) = found.values()
    # U+E004 is the Tab key (W3C WebDriver, keyboard actions).
    firefox.ask("WebDriver:ElementSendKeys", {"id": element, "text": text + "\ue004"})


def test_chromium_and_firefox_end_alike_after_the_desk_was_gone(
    browser_page: Callable[..., Any], firefox: Firefox, tmp_path: Path
) -> None:
    server = DeskServer(tmp_path / "desk")
    try:
        one = browser_page(1440, server=server)
        begin(one).rows([("305", "240", ""), ("38", "185", "")])
        saved(one)
        firefox.open(server.link)
        firefox.run("document.querySelector('main form button').click()")
        comes(firefox, "return location.pathname", "/")
        firefox.open(one.url)
        two_rows = [["305", "240", ""], ["38", "185", ""]]
        comes(firefox, ROWS, two_rows)
        type_in(firefox, 2, "count", "190")
        until(one, "document.querySelectorAll('#page .count')[1].value === '190'")
        cell(one, 1, "notes").fill(NOTE)
        cell(one, 1, "notes").blur()
        comes(firefox, ROWS, [["305", "240", NOTE], ["38", "190", ""]])
        # The note wraps here as well.
        assert firefox.run(HIGH, 0) > 1.4 * firefox.run(HIGH, 1)
        saved(one)
        server.kill()
        cell(one, 1, "count").fill("250")
        type_in(firefox, 2, "notes", "dry")
        until(one, "document.getElementById('saved').textContent.startsWith('Not saved yet')")
        server = DeskServer(tmp_path / "desk", port=server.port)
        wanted = [["305", "250", NOTE], ["38", "190", "dry"]]
        comes(firefox, ROWS, wanted)
        comes(firefox, SAID, "Saved.")
        saved(one)
        until(one, "document.querySelectorAll('#page .notes')[1].value === 'dry'")
        assert [list(row) for row in on_page(one)] == wanted
        assert [list(row) for row in kept(server.owner, one)] == wanted
    finally:
        server.close()
