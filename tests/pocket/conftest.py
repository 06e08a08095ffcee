"""What the tests of the pocket page share: a browser, its engine in a bare page, and the page from a file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

from pacewright.core.pace.walker import Walker
from pacewright.pocket.carried import carry
from pacewright.pocket.page_text import engine_text, page_text
from support.chromium import open_chromium

ROWE = Walker("Ines Rowe", 62.5)
LOCAL = ("file://", "blob:fi", "data:im", "blob:nu")
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


@pytest.fixture
def pocket(browser: Any, tmp_path: Path) -> Iterator[Callable[..., Any]]:
    """`pocket(width, logs=(), walker=...)`: the page opened from a file, with no network at all.

    A script's error, or a request for anything but the file, fails the test when it ends.
    """
    contexts: list[Any] = []
    wrong: list[str] = []

    def open_page(width: int = 360, *, logs: Sequence[str] = (), walker: Walker = ROWE, **more: Any) -> Any:
        file = tmp_path / "pocket.html"
        file.write_text(page_text(carry(walker, logs)), encoding="utf-8")
        given = {"viewport": {"width": width, "height": 740}, "reduced_motion": "reduce", **more}
        context = browser.new_context(**given)
        contexts.append(context)
        context.set_default_timeout(10_000)
        context.set_offline(True)
        context.on("weberror", lambda found: wrong.append(str(found.error)))
        context.on("request", lambda asked: wrong.append(asked.url) if asked.url[:7] not in LOCAL else None)
        page = context.new_page()
        page.goto(file.as_uri())
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not wrong
