"""The drawing is zoomed and moved by mouse and by touch; by keys it is in the tests of typing."""

from __future__ import annotations

import io
from typing import Any

import pytest
from PIL import Image

DRAWING = "#answer [data-zoom]"


def opened(browser_page: Any, width: int, **more: Any) -> Any:
    page = browser_page(width, **more)
    page.click("text=Show a finished example")
    page.wait_for_selector(f"{DRAWING} .zoom")
    page.locator(DRAWING).scroll_into_view_if_needed()
    return page


def view_of(page: Any) -> list[float]:
    return [float(part) for part in page.locator(f"{DRAWING} > svg").get_attribute("viewBox").split()]


def middle_of(page: Any) -> tuple[float, float]:
    box = page.locator(f"{DRAWING} > svg").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + min(box["height"], 300) / 2


def test_a_mouse_zooms_with_the_wheel_and_moves_by_dragging(browser_page):
    page = opened(browser_page, 1440)
    whole, (x, y) = view_of(page), middle_of(page)
    page.mouse.move(x, y)
    page.keyboard.down("Control")
    page.mouse.wheel(0, -300)
    page.keyboard.up("Control")
    nearer = view_of(page)
    assert nearer[2] < whole[2]
    page.mouse.down()
    page.mouse.move(x - 60, y - 40, steps=4)
    page.mouse.up()
    moved = view_of(page)
    assert moved[0] > nearer[0]
    assert moved[1] > nearer[1]
    assert moved[2:] == nearer[2:]
    # The wheel alone scrolls the page: whoever passes over a drawing is not caught by it.
    page.mouse.wheel(0, 50)
    assert view_of(page) == moved


def test_two_fingers_zoom_and_one_moves_what_is_zoomed(browser_page):
    page = opened(browser_page, 390, has_touch=True)
    whole, (x, y) = view_of(page), middle_of(page)
    fingers = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        at = [{"x": px, "y": py, "id": k} for k, (px, py) in enumerate(points)]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": at})

    touch("touchStart", (x - 20, y), (x + 20, y))
    for reach in (30, 45, 60):
        touch("touchMove", (x - reach, y), (x + reach, y))
    touch("touchEnd")
    nearer = view_of(page)
    assert nearer[2] < 0.7 * whole[2]
    touch("touchStart", (x, y))
    for step in (10, 25, 40):
        touch("touchMove", (x - step, y))
    touch("touchEnd")
    moved = view_of(page)
    assert moved[0] > nearer[0]
    assert moved[2:] == pytest.approx(nearer[2:])


def is_red_on_black(page: Any, what: str) -> bool:
    """Whether all that is bright in a picture of something is red, as the pages are at night."""
    picture = Image.open(io.BytesIO(page.locator(what).first.screenshot())).convert("RGB")
    bright = [one for one in picture.getdata() if max(one) > 60]
    # A box to tick is filled.
    is_black = "checkbox" in what or len(bright) < picture.width * picture.height / 2
    return bool(bright) and is_black and all(red > 2 * max(green, blue) for red, green, blue in bright)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_at_night_drawings_and_what_a_browser_draws_are_red_on_black(browser_page, desk_server, scheme):
    desk_server.owner.post_form("/settings", {"colours": "night"})
    try:
        page = opened(browser_page, 390, color_scheme=scheme)
        assert is_red_on_black(page, f"{DRAWING} > svg")
        assert is_red_on_black(page, ".key svg")
        page.goto("/ask/sun")
        assert is_red_on_black(page, "input[type=date]")
        page.goto("/ask/leg")
        hint = (
            "one => getComputedStyle(one, '::placeholder').color === getComputedStyle(one, '').outlineColor"
        )
        page.locator("textarea[placeholder]").evaluate("one => { one.style.outlineColor = 'var(--faint)'; }")
        assert page.locator("textarea[placeholder]").evaluate(hint)
        # With the corner that it is drawn larger by.
        assert is_red_on_black(page, "textarea[placeholder]")
        page.goto("/books")
        assert is_red_on_black(page, "input[type=file]")
        assert is_red_on_black(page, "main input[type=checkbox]")
    finally:
        desk_server.owner.post_form("/settings", {"colours": "device"})
