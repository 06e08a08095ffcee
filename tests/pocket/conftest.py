"""What the tests of the pocket page share: a browser, its engine in a bare page, and the page from a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from pacewright.pocket.page_text import engine_text
from support.chromium import open_chromium

DRIVER = Path(__file__).parents[1] / "support" / "pocket_driver.js"


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A browser for the whole run."""
    with open_chromium() as opened:
        if opened is None:
            pytest.skip("no Chromium is installed")
        yield opened


@pytest.fixture(scope="module")
def engine(browser: Any) -> Iterator[Callable[[list[Any]], list[Any]]]:
    """`engine(pages)`: what the page's engine says of pages, in a real browser."""
    page = browser.new_page()
    page.add_script_tag(content=engine_text() + DRIVER.read_text(encoding="utf-8"))
    yield lambda pages: page.evaluate("(pages) => pages.map(drive)", pages)
    page.close()
