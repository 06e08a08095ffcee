"""The area of an unknown start is drawn on the map of a ground, by mouse and by keys."""

from __future__ import annotations

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from support.axe_rules import violations

pytestmark = pytest.mark.browser
MAP = "[data-area]"


def opened(browser_page: Any, width: int, **more: Any) -> Any:
    page = browser_page(width, **more)
    page.click("text=Show a finished example")
    page.wait_for_url("**/logs/**")
    page.goto(f"{page.url.split('?')[0].rstrip('/')}/map/unknown-start")
    page.locator("#ground").select_option(index=1)
    page.get_by_role("button", name="Draw the area on the map").click()
    page.wait_for_selector(MAP, timeout=90_000)
    page.wait_for_load_state("load")
    return page


def test_corners_are_set_by_mouse_and_taken_back(browser_page):
    page = opened(browser_page, 1440)
    page.locator(MAP).scroll_into_view_if_needed()
    box = page.locator(f"{MAP} > svg").bounding_box()
    for across, down in ((0.2, 0.2), (0.6, 0.2), (0.6, 0.5)):
        page.locator(f"{MAP} > svg").click(position={"x": across * box["width"], "y": down * box["height"]})
    corners = page.input_value("#area").split("; ")
    assert len(corners) == 3 and page.locator(f"{MAP} polygon").count() == 1
    # The first two lie on one latitude, within what a grid turns; the third lies south of them.
    latitudes = [float(one.split()[0]) for one in corners]
    assert abs(latitudes[0] - latitudes[1]) < 0.005 < latitudes[1] - latitudes[2]
    page.click("#area-back")
    expect(page.locator("#area-said")).to_have_text("2 corners left.")
    assert violations(Axe(), page) == []


def test_an_area_is_drawn_by_keys_alone_and_asked_for(browser_page):
    page = opened(browser_page, 390, color_scheme="dark")
    page.locator(MAP).focus()
    for keys in (["ArrowLeft"] * 4, ["ArrowRight"] * 8, ["ArrowDown"] * 6):
        for key in keys:
            page.keyboard.press(key)
        page.keyboard.press("Enter")
    expect(page.locator("#area-said")).to_contain_text("Corner 3 at")
    page.keyboard.press("Backspace")
    page.keyboard.press("Enter")
    assert len(page.input_value("#area").split(";")) == 3
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert violations(Axe(), page) == []
    page.get_by_role("button", name="Find it").click()
    page.wait_for_url("**area=37.*")
