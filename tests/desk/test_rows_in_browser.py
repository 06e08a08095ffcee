"""How the rows of a page lie in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from support.notebook_page import SIX, begin, cell, saved

OpenPage = Callable[..., Any]


def test_a_row_is_forty_pixels_high_where_its_explanation_fits_beside(browser_page: OpenPage) -> None:
    page = browser_page(1440)
    begin(page).rows(SIX)
    saved(page)
    for at in (2, 3):
        cell(page, at, "notes").focus()
        rows = page.eval_on_selector_all(
            "#page .row", "all => all.map(one => one.getBoundingClientRect().height)"
        )
        assert max(rows) <= 41
    tools = page.locator("#page .row").nth(2).locator(".tools")
    assert tools.evaluate("one => getComputedStyle(one).opacity") == "0"
    page.locator("#page .row").nth(2).hover()
    assert tools.evaluate("one => getComputedStyle(one).opacity") == "1"
    tools.get_by_role("button").first.click()
    assert page.locator("#page .row").count() == 8
