"""A page that reads a log says when it rests on less than the log has by now."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from support.desk_server import DeskServer
from support.notebook_page import SIX, begin, cell, saved, until

OpenPage = Callable[..., Any]
OLD = "#old:visible"


@pytest.mark.parametrize("tab", ["way", "closing", "adjusted", "map", "figure", "fixes"])
def test_a_reading_page_says_that_its_log_was_changed_since(
    browser_page: OpenPage, desk_server: DeskServer, tab: str
) -> None:
    page = browser_page(390)
    begin(page).rows(SIX)
    saved(page)
    other = browser_page(1440)
    other.goto(f"{page.url}/{tab}")
    other.wait_for_load_state("load")
    assert other.locator(OLD).count() == 0
    cell(page, 2, "count").fill("190")
    cell(page, 2, "count").blur()
    saved(page)
    other.wait_for_selector(OLD)
    assert "This log was changed since" in other.inner_text(OLD)
    other.get_by_role("link", name="Load it again").click()
    other.wait_for_load_state("load")
    other.wait_for_timeout(3500)
    assert other.locator(OLD).count() == 0


def test_a_reading_page_says_that_rows_of_this_browser_are_not_sent(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    begin(page).rows(SIX)
    saved(page)
    way = page.context.new_page()
    page.route("**/changes", lambda route: route.abort())
    cell(page, 2, "count").fill("190")
    until(page, "document.getElementById('saved').textContent.startsWith('Not saved yet')")
    way.goto(f"{page.url}/way")
    way.wait_for_selector(OLD)
    assert "not sent yet" in way.inner_text(OLD)
    page.unroute("**/changes")
    saved(page)
    until(way, "document.getElementById('old').textContent.startsWith('This log was changed since')")
