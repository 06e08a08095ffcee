"""The notebook as a person handles it in a browser: keys, what stands in the cells, what is kept."""

from __future__ import annotations

import time
from typing import Any

from support.desk_server import DeskVisitor

CELLS = ("azimuth", "count", "notes")
SIX = [
    ("305", "240", ""),
    ("38", "185", "[at Split oak] dry so far"),
    ("52", "330", "[box right 40] pond"),
    ("97", "70", "[est 15%] river"),
    ("180", "120", ""),
    ("213", "160", ""),
]
"""Six legs as they stand on paper."""


class Keyboard:
    """Types, and counts every key that was pressed."""

    def __init__(self, page: Any) -> None:
        self.page, self.strokes = page, 0

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.strokes += len(text)

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
        self.strokes += len(keys)

    def rows(self, rows: list[tuple[str, str, str]]) -> None:
        """Type rows: azimuth Tab count Tab notes Enter, and Enter at once where there is no note."""
        for azimuth, count, notes in rows:
            self.type(azimuth)
            self.press("Tab")
            self.type(count)
            if notes:
                self.press("Tab")
                self.type(notes)
            self.press("Enter")


def begin(page: Any) -> Keyboard:
    """Begin an empty page from home, and stand in its first cell."""
    page.get_by_role("button", name="Begin an empty page").click()
    ready(page)
    return Keyboard(page)


def ready(page: Any) -> None:
    """Wait until the page's scripts take what is typed."""
    page.wait_for_selector("#page .rows.scripted .row")


def until(page: Any, expression: str, argument: Any = None, most_s: float = 15.0) -> None:
    """Wait until an expression holds; asked from outside, as the page's policy lets no text run in it."""
    end = time.monotonic() + most_s
    while not page.evaluate(expression, argument):
        assert time.monotonic() < end, f"{expression} never came about"
        time.sleep(0.02)


def saved(page: Any, said: str = "Saved.") -> None:
    """Wait until the page says that all is kept."""
    until(page, "said => document.getElementById('saved').textContent === said", said)


def on_page(page: Any) -> list[tuple[str, ...]]:
    """The cells that are not blank, row by row as they stand."""
    found = page.eval_on_selector_all(
        "#page .row",
        "(rows, names) => rows.map(row => names.map(name => row.querySelector('.' + name).value))",
        list(CELLS),
    )
    return [tuple(row) for row in found if any(row)]


def kept(visitor: DeskVisitor, page: Any) -> list[tuple[str, ...]]:
    """The rows that the desk keeps of the log that a page shows."""
    log = page.get_attribute("#page", "data-changes")
    told = visitor.post_json(log, {"changes": []}).json
    return [tuple(row[name] for name in CELLS) for row in told["rows"]]


def cell(page: Any, row: int, name: str) -> Any:
    """A cell of a row, from 1."""
    return page.get_by_label(f"{name.capitalize()} of row {row}", exact=True)


def paste(page: Any, text: str) -> None:
    """Paste a text into the cell that has the cursor, as from a spreadsheet."""
    page.evaluate(
        """text => {
            const data = new DataTransfer();
            data.setData('text/plain', text);
            const options = { clipboardData: data, bubbles: true, cancelable: true };
            document.activeElement.dispatchEvent(new ClipboardEvent('paste', options));
        }""",
        text,
    )
