"""What is typed before the scripts of a page are there is kept as if they had been."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from support.desk_server import DeskServer
from support.notebook_page import SIX, begin, kept, on_page, ready, saved, until

OpenPage = Callable[..., Any]
LATE_MS = 1000


@contextmanager
def scripts_come_late(page: Any) -> Iterator[None]:
    """Load the page anew without its scripts; they come when what is done here is done, a second later."""
    held: list[Any] = []
    page.route("**/*.js", lambda route: held.append(route))
    page.reload(wait_until="commit")
    page.wait_for_selector("main form")
    yield
    page.wait_for_timeout(LATE_MS)
    # What is held now comes; what is asked for after it is not held at all.
    for route in held:
        route.continue_()
    page.unroute("**/*.js")


def test_cells_typed_before_the_scripts_and_left_by_a_link_are_kept(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    begin(page).rows(SIX)
    saved(page)
    log = page.url
    with scripts_come_late(page):
        page.locator("#page .count").nth(0).fill("250")
        page.locator("#page .notes").nth(4).fill("dry\nground")
        page.evaluate("document.querySelector('details.heading').open = true")
        _, *lines = page.input_value("#heading-text").split("\n")
        page.fill("#heading-text", "\n".join(["title: Typed early", *lines]))
    ready(page)
    page.get_by_role("link", name="Books").first.click()
    page.wait_for_url("**/books")
    wanted = [*SIX]
    wanted[0] = ("305", "250", "")
    wanted[4] = ("180", "120", "dry ground")
    page.goto(log)
    ready(page)
    saved(page)
    assert kept(desk_server.owner, page) == on_page(page) == wanted
    assert page.inner_text("#page-title") == "Typed early"


def test_what_was_typed_before_the_scripts_is_taken_back_cell_by_cell(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    begin(page).rows(SIX)
    saved(page)
    with scripts_come_late(page):
        page.locator("#page .count").nth(0).fill("250")
        page.locator("#page .azimuth").nth(1).fill("39")
    ready(page)
    saved(page)
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    until(page, "document.querySelectorAll('#page .count')[0].value === '240'")
    saved(page)
    assert kept(desk_server.owner, page) == on_page(page) == SIX


def test_an_early_text_over_one_that_another_wrote_meanwhile_asks(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    begin(page).rows(SIX)
    saved(page)
    log = page.get_attribute("#page", "data-changes")
    with scripts_come_late(page):
        page.locator("#page .count").nth(0).fill("250")
        row = page.locator("#page .row").nth(0).get_attribute("data-id")
        change = {
            "key": f"other-{row}",
            "kind": "put",
            "id": row,
            "azimuth": "305",
            "count": "260",
            "notes": "",
        }
        change |= {"only": ["count"], "was": {"count": "240"}}
        assert desk_server.owner.post_json(log, {"changes": [change]}).status == 200
    ready(page)
    page.wait_for_selector(".asks button")
    shown = page.locator(".asks button").all_inner_texts()
    assert sorted(one.split()[-1] for one in shown) == ["250", "260"]


def test_a_form_typed_before_the_scripts_is_kept_and_comes_back(browser_page: OpenPage) -> None:
    page = browser_page(1440)
    page.goto("/class/courses/new/field")
    with scripts_come_late(page):
        page.fill("#title", "Early course")
    page.wait_for_load_state("load")
    page.get_by_role("link", name="Books").first.click()
    page.wait_for_url("**/books")
    page.goto("/class/courses/new/field")
    until(page, "document.getElementById('title').value === 'Early course'")
