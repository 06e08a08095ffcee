"""Every page of the desk against the rules of WCAG 2.2, levels A and AA, as far as axe-core can tell.

Source: axe-core (the version that its wheel ships), rules tagged wcag2a to wcag22aa and best-practice.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from support.axe_rules import violations
from support.desk_server import DeskServer
from support.notebook_page import SIX, begin, cell, saved

OpenPage = Callable[..., Any]
ELSEWHERE = (
    "/nothing-at-all",
    "/plan?example=1",
    "/class/courses/new/field",
    "/class/courses/new/pace",
    "/class/courses/new/posts",
)
OF_A_LOG = ("map/unknown-start", "map/ground")
"""Pages of a log that no tab leads to."""
ASKED = (
    "/ask/right-angle?asked=1&base=40&azimuth_from_start_deg=308&azimuth_from_end_deg=278",
    "/ask/leg?asked=1&places=local 0 0%0Alocal 300 400%0Alocal 0 400",
    "/ask/sun?asked=1&place=47 8.5&date=2026-05-14&zone=UTC&time=x",
)
"""Questions that are asked: an answer with its drawing, one with a table, and one that cannot be read."""
LEAST_PAGES = 41
LOOKS = [(1440, "light"), (390, "dark"), (1440, "dark"), (390, "light")]


@pytest.fixture(scope="module")
def axe() -> Any:
    from axe_playwright_python.sync_playwright import Axe

    return Axe()


@pytest.mark.slow
@pytest.mark.parametrize(("width", "scheme"), LOOKS)
def test_no_page_breaks_a_rule(browser_page: OpenPage, axe: Any, width: int, scheme: str) -> None:
    page = browser_page(width, color_scheme=scheme)
    found = violations(axe, page)
    page.get_by_role("button", name="Show a finished example").click()
    page.wait_for_selector("#answer .short")
    found += violations(axe, page)
    seen = {page.url}
    log = page.url.partition("?")[0]
    waiting = [*addresses_of(page), *ASKED, *ELSEWHERE, *(f"{log}/{one}" for one in OF_A_LOG)]
    while waiting:
        address = waiting.pop(0)
        if address in seen:
            continue
        seen.add(address)
        page.goto(address)
        found += violations(axe, page)
        waiting += addresses_of(page)
    # Every page of questions, and every tab of a log and of a walker, is among them.
    assert len(seen) >= LEAST_PAGES
    assert not found, "\n".join(found)


def addresses_of(page: Any) -> list[str]:
    """Every page that the head of a page, its tabs and its lists lead to; of a list the first."""
    lists = "nav a, .tabs a, .asks-index a, .logs li:first-child a"
    found = page.eval_on_selector_all(lists, "all => all.map(one => one.href)")
    return sorted({one.partition("#")[0] for one in found})


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
def test_a_page_under_work_breaks_no_rule(browser_page: OpenPage, axe: Any, width: int, scheme: str) -> None:
    page = browser_page(width, color_scheme=scheme)
    keys = begin(page)
    assert violations(axe, page) == []
    keys.rows([*SIX[:2], ("400", "x", "[bux]"), *SIX[3:]])
    saved(page)
    cell(page, 2, "notes").focus()
    page.keyboard.press("Control+Delete")
    page.wait_for_selector(".row.struck")
    saved(page)
    for summary in page.locator("summary:visible").all():
        summary.click()
    cell(page, 1, "count").focus()
    assert violations(axe, page) == []


@pytest.mark.parametrize(("width", "scheme"), LOOKS[:2])
def test_the_door_breaks_no_rule(
    browser_page: OpenPage, new_desk: Callable[..., DeskServer], axe: Any, width: int, scheme: str
) -> None:
    server = new_desk(network=True)
    link = server.link
    page = browser_page(width, server=server, color_scheme=scheme)
    page.goto("/devices")
    found = violations(axe, page)
    page.context.clear_cookies()
    for address in ("/", "/join", link):
        page.goto(address)
        found += violations(axe, page)
    page.goto("/join")
    page.get_by_label("Join code").fill("ZZZZZZ")
    page.get_by_label("Your name").fill("Tamsin Vale")
    page.get_by_role("button", name="Join").click()
    page.wait_for_selector("[role=alert]")
    assert [*found, *violations(axe, page)] == []
