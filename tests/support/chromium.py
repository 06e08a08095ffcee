"""The system's Chromium: where it lies and how it is started for tests."""

from __future__ import annotations

import atexit
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any

SWITCHES = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium_path() -> str | None:
    """Where the system's Chromium lies."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)


@contextmanager
def open_chromium() -> Iterator[Any]:
    """A browser, closed at the end; None where none is installed."""
    path = chromium_path()
    if path is None:
        yield None
        return
    opened = _driver().chromium.launch(executable_path=path, args=SWITCHES)
    yield opened
    opened.close()


@cache
def _driver() -> Any:
    """The one driver of this process: a second one refuses to start while the first one's loop runs."""
    from playwright.sync_api import sync_playwright

    driver = sync_playwright().start()
    atexit.register(driver.stop)
    return driver
