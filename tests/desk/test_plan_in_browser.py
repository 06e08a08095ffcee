"""Planning on the map: points set and ends of legs moved by mouse and keys, old numbers greyed meanwhile."""

from __future__ import annotations

import re
from typing import Any

import pytest

LONG_MS = 120_000
"""The inner loops may be compiled for the first time."""
OPACITY = "[...document.querySelectorAll('[data-plan] .walk')].map(one => getComputedStyle(one).opacity)"
NUMBERS = "section.plan-numbers .lead"


def opened(page: Any) -> Any:
    page.goto("/plan?example=1")
    page.wait_for_load_state("load")
    page.wait_for_selector("[data-plan] .plan-handles", state="attached", timeout=LONG_MS)
    return page


def chance_of(page: Any) -> str:
    return str(page.locator(NUMBERS).inner_text())


def typed(page: Any, name: str) -> tuple[float, float]:
    found = re.fullmatch(r"grid ([\d.]+) ([\d.]+)", page.input_value(f"[name={name}]"))
    assert found is not None
    return float(found[1]), float(found[2])


def shift(page: Any, key: str, times: int) -> None:
    for _ in range(times):
        page.keyboard.press(f"Shift+{key}")


def test_points_are_set_and_ends_moved_and_the_chance_follows(browser_page):
    page = opened(browser_page(1440))
    box = page.locator("[data-plan] > svg").bounding_box()
    for across, down in ((0.45, 0.45), (0.5, 0.52)):
        page.mouse.click(box["x"] + box["width"] * across, box["y"] + box["height"] * down)
    page.wait_for_selector(NUMBERS, timeout=LONG_MS)
    start, goal = typed(page, "start"), typed(page, "goal")
    assert goal[0] > start[0] and goal[1] < start[1]
    said = chance_of(page)
    # A new end halfway along the first leg, by key; then it is dragged.
    page.locator(".plan-handle.start").focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("text=Proved as you set the legs", timeout=LONG_MS)
    end = page.locator(".plan-handle.end .ring").first.bounding_box()
    x, y = end["x"] + end["width"] / 2, end["y"] + end["height"] / 2
    ends = page.input_value("[name=ends]")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y + 25, steps=3)
    # While it is dragged the legs at it lead to where it is, and the ones of before are greyed.
    ring = page.locator(".plan-handle.end .ring").first.bounding_box()
    assert (ring["x"] + ring["width"] / 2, ring["y"]) == pytest.approx((x + 30, end["y"] + 25), abs=2)
    moved = page.locator(".plan-moved").get_attribute("d")
    grips = page.eval_on_selector_all(
        ".plan-handle", "all => all.map(one => one.getAttribute('transform').match(/[\\d.]+/g).join(' '))"
    )
    assert moved == f"M{grips[0]}L{grips[1]}M{grips[1]}L{grips[2]}"
    assert page.evaluate(OPACITY) == ["0.3", "0.3"]
    page.mouse.up()
    page.wait_for_selector("section.plan-numbers.old", state="attached")
    page.wait_for_selector("section.plan-numbers:not(.old)", timeout=LONG_MS)
    assert page.evaluate(OPACITY) == ["1", "1"] and page.locator(".plan-moved").count() == 0
    assert page.input_value("[name=ends]") != ends
    assert "ends=" in page.url and chance_of(page) != said
    # The drawing did not move along with what was dragged on it.
    assert page.locator("[data-plan] > svg").get_attribute("viewBox").startswith("0 0 ")
    page.click("text=Plan anew")
    page.wait_for_selector("text=Proved as you set the legs", state="detached", timeout=LONG_MS)
    assert chance_of(page) == said


def test_the_keyboard_does_all_that_dragging_does(browser_page):
    page = opened(browser_page(390, color_scheme="dark"))
    for name, key in (("start", "ArrowLeft"), ("goal", "ArrowDown")):
        page.locator(f"[data-put={name}]").focus()
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith(name)
        shift(page, key, 4)
    page.wait_for_selector(NUMBERS, timeout=LONG_MS)
    page.wait_for_selector("section.plan-numbers:not(.old)", timeout=LONG_MS)
    page.wait_for_function("document.querySelectorAll('.plan-handle').length >= 2")
    before = typed(page, "goal")
    page.locator(".plan-handle.goal").focus()
    page.keyboard.press("ArrowUp")
    page.wait_for_selector("section.plan-numbers.old", state="attached")
    page.wait_for_selector("section.plan-numbers:not(.old)", timeout=LONG_MS)
    assert typed(page, "goal") == (before[0], before[1] + 10.0)
    # Whoever moves by keys stays on what was moved.
    assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("goal")
