"""The desk is killed while a person types in a real browser: every row is kept once, also of closed pages."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from support.desk_forks import Forks
from support.desk_server import DeskVisitor
from support.notebook_page import Keyboard, begin, cell, kept, on_page, saved, until

OpenPage = Callable[..., Any]
pytestmark = pytest.mark.slow


class Door:
    """A desk that may be down, as `browser_page` wants to know it."""

    def __init__(self, forks: Forks) -> None:
        self.base = f"http://127.0.0.1:{forks.port}"
        self.owner = DeskVisitor(forks.port)
        self.owner.come_in(forks.link)


@pytest.fixture
def forks(tmp_path: Path) -> Iterator[Forks]:
    made = Forks(tmp_path / "desk")
    made.open()
    yield made
    made.close()


def rows(first: int, last: int) -> list[tuple[str, str, str]]:
    return [(str(number), str(100 + number), f"row {number}") for number in range(first, last)]


def unsaved(page: Any) -> None:
    until(page, "() => document.getElementById('saved').textContent.startsWith('Not saved yet')")


def test_rows_typed_while_the_desk_is_killed_again_and_again_are_kept_once(
    browser_page: OpenPage, forks: Forks
) -> None:
    door = Door(forks)
    page = browser_page(1440, server=door)
    keys = begin(page)
    at = 0
    for typed_before, typed_down in ((2, 1), (0, 2), (3, 0), (1, 1)):
        keys.rows(rows(at, at + typed_before))
        forks.kill()
        keys.rows(rows(at + typed_before, at + typed_before + typed_down))
        forks.open()
        at += typed_before + typed_down
    saved(page)
    door.owner.close()
    assert on_page(page) == kept(door.owner, page) == rows(0, at)
    page.reload()
    assert on_page(page) == rows(0, at)


def test_two_tabs_that_type_at_once_while_the_desk_is_killed_lose_nothing(
    browser_page: OpenPage, forks: Forks
) -> None:
    door = Door(forks)
    one = browser_page(1440, server=door)
    first = begin(one)
    first.rows(rows(0, 1))
    saved(one)
    two = one.context.new_page()
    two.goto(one.url)
    second = Keyboard(two)
    cell(two, 2, "azimuth").focus()
    for at in range(1, 5):
        first.rows(rows(at, at + 1))
        second.rows(rows(at + 100, at + 101))
        if at in (2, 3):
            forks.kill()
            forks.open()
    saved(one)
    saved(two)
    door.owner.close()
    found = kept(door.owner, one)
    assert sorted(found) == sorted([*rows(0, 5), *rows(101, 105)])
    assert [row for row in found if row in rows(0, 5)] == rows(0, 5)
    assert [row for row in found if row not in rows(0, 5)] == rows(101, 105)
    # Both tabs of one row: what each wrote into its own cell stands.
    one.reload()
    two.reload()
    cell(one, 1, "notes").fill("by the first tab")
    cell(two, 1, "count").fill("7")
    saved(one)
    saved(two)
    assert kept(door.owner, one)[0] == ("0", "7", "by the first tab")


def test_rows_of_a_page_that_was_closed_unsaved_are_sent_by_the_next_one(
    browser_page: OpenPage, forks: Forks
) -> None:
    door = Door(forks)
    page = browser_page(1440, server=door)
    keys = begin(page)
    keys.rows(rows(0, 1))
    saved(page)
    log = page.url
    forks.kill()
    keys.rows(rows(1, 4))
    unsaved(page)
    context = page.context
    page.close()
    forks.open()
    door.owner.close()
    again = context.new_page()
    again.goto(log)
    # The rows of the closed page wait until it is sure that it beats no more; then they stand here too.
    until(again, "() => document.querySelectorAll('#page .row').length === 5", most_s=20)
    saved(again)
    assert on_page(again) == kept(door.owner, again) == rows(0, 4)
    assert again.evaluate("() => Object.keys(localStorage).filter(one => one.startsWith('desk:'))") == []


def test_a_browser_that_was_shut_out_keeps_what_was_typed_until_it_is_let_in_again(
    browser_page: OpenPage, forks: Forks
) -> None:
    door = Door(forks)
    page = browser_page(390, server=door)
    keys = begin(page)
    keys.rows(rows(0, 1))
    saved(page)
    pass_of_forms = [one for one in page.context.cookies() if not one["name"].startswith("pacewright_desk")]
    session = [one for one in page.context.cookies() if one["name"].startswith("pacewright_desk")]
    page.context.clear_cookies()
    page.context.add_cookies(pass_of_forms)
    keys.rows(rows(1, 2))
    unsaved(page)
    assert "The desk does not know this browser any more" in page.inner_text("#trouble")
    page.context.add_cookies(session)
    saved(page)
    assert page.is_hidden("#trouble")
    assert kept(door.owner, page) == rows(0, 2)
