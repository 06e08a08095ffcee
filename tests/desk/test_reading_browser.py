"""The reading pages in a browser: parts that come after, drawings that zoom, with and without scripts."""

from __future__ import annotations

import re
from typing import Any

import pytest

from support.notebook_page import until

PAGES = ["way?sight=40&retrace=1&line=40", "closing", "adjusted", "map", "map/ground"]


def example(page: Any) -> str:
    """Begin the finished example, and give its address."""
    page.goto("/")
    page.click("text=Show a finished example")
    page.wait_for_url(re.compile(r"/logs/[0-9a-f-]{36}$"))
    return str(page.url)


def view_of(page: Any, drawing: str) -> list[float]:
    found = page.locator(f"{drawing} svg").first.get_attribute("viewBox")
    return [float(part) for part in found.split()]


def test_the_sheet_comes_by_itself_and_is_zoomed_by_button_and_by_key(browser_page):
    page = browser_page(1440)
    page.goto(example(page) + "/map")
    sheet = "#ground-sheet figure"
    page.wait_for_selector(f"{sheet} .zoom")
    whole = view_of(page, sheet)
    page.click(f'{sheet} button[aria-label="Zoom in"]')
    nearer = view_of(page, sheet)
    assert nearer[2] < whole[2]
    page.focus(sheet)
    page.keyboard.press("ArrowRight")
    assert view_of(page, sheet)[0] > nearer[0]
    page.keyboard.press("0")
    assert view_of(page, sheet) == pytest.approx(whole)


def test_the_way_follows_what_is_chosen_and_its_address_can_be_kept(browser_page):
    page = browser_page(1440)
    page.goto(example(page) + "/way")
    page.select_option("#way-from", "2")
    until(page, "document.querySelector('#found .lead').textContent.includes('From Split oak')")
    page.wait_for_selector("#found figure .zoom")
    said = page.inner_text("#found .lead")
    assert "from=2" in page.url
    page.reload()
    assert page.inner_text("#found .lead") == said


def test_all_of_it_is_reached_without_scripts(browser_page):
    page = browser_page(390, java_script_enabled=False)
    log = example(page)
    page.goto(log + "/way")
    page.select_option("#way-from", "2")
    page.click("text=Show")
    assert "From Split oak" in page.inner_text("#found .lead")
    page.goto(log + "/map")
    page.click("text=Show the log on its ground")
    # On a slow machine the page comes again by itself until the sheet is drawn.
    page.wait_for_selector("#ground-sheet svg", timeout=60_000)


@pytest.mark.parametrize("width", [390, 1440])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_reading_page_is_wider_than_its_window(browser_page, width, scheme):
    page = browser_page(width, color_scheme=scheme)
    log = example(page)
    for name in PAGES:
        page.goto(f"{log}/{name}")
        page.wait_for_load_state("networkidle")
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, name
        targets = page.locator("main button:visible, main select:visible, main input:visible")
        boxes = [targets.nth(k).bounding_box() for k in range(targets.count())]
        assert all(min(box["height"], box["width"]) >= 24 for box in boxes if box), name
