"""Rows that were read, confirmed in a real browser: keys counted, on a phone, every look."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from support.axe_rules import violations
from support.desk_server import DeskServer
from support.put_photo import WALK, put_cards, put_photo

OpenPage = Callable[..., Any]
NewDesk = Callable[..., DeskServer]
LOOKS = [(1440, "light"), (390, "dark"), (1440, "dark"), (390, "light")]
MOST_KEYS = 12


class Keys:
    """The keyboard of a page, with every key that is pressed counted."""

    def __init__(self, page: Any) -> None:
        self._page, self.pressed = page, 0

    def press(self, *names: str) -> None:
        for name in names:
            self.pressed += 1
            self._page.keyboard.press(name)


def opened(browser_page: OpenPage, new_desk: NewDesk, tmp_path: Path, unsure: int = 0, **more: Any) -> Any:
    server = new_desk()
    page = browser_page(server=server, **more)
    page.goto(put_photo(tmp_path / "desk", unsure))
    return page


def rows_on(page: Any) -> list[tuple[str, str]]:
    cells = [page.locator(f'#rows .row [data-cell="{name}"]') for name in ("azimuth", "count")]
    values = [cell.evaluate_all("all => all.map(one => one.value)") for cell in cells]
    return [pair for pair in zip(*values, strict=True) if any(pair)]


def test_ten_rows_without_an_error_are_confirmed_in_twelve_keys(browser_page, new_desk, tmp_path):
    page = opened(browser_page, new_desk, tmp_path)
    page.wait_for_function("document.activeElement.dataset.cell === 'azimuth'")
    keys = Keys(page)
    keys.press(*["Enter"] * 10)
    assert page.locator(".confirm-row.confirmed").count() == 10
    assert page.evaluate("document.activeElement.id") == "confirm-keep"
    with page.expect_navigation():
        keys.press("Enter")
    assert "/logs/" in page.url
    assert keys.pressed <= MOST_KEYS
    found = page.locator("body").inner_html()
    assert all(f'value="{azimuth}"' in found and f'value="{count}"' in found for azimuth, count in WALK)


def test_what_is_unsure_is_first_and_digits_write_over_it(browser_page, new_desk, tmp_path):
    page = opened(browser_page, new_desk, tmp_path, unsure=1)
    page.wait_for_function("document.activeElement.dataset.cell === 'count'")
    assert page.locator(".confirm-row").first.get_by_role("heading").inner_text().startswith("Row 10")
    assert page.evaluate("document.activeElement.value") == "118"
    keys = Keys(page)
    keys.press("8", "1", "8", "Enter")
    # The nine that are sure, together.
    keys.press("Shift+Enter", "Enter")
    page.wait_for_url("**/logs/**")
    found = page.locator("body").inner_html()
    assert 'value="818"' in found and 'value="118"' not in found
    assert keys.pressed == 6


def test_the_page_beside_shows_where_the_row_stands(browser_page, new_desk, tmp_path):
    page = opened(browser_page, new_desk, tmp_path)
    here = page.locator(".confirm-photo .here")
    places = []
    for _ in range(3):
        places.append(float(here.get_attribute("y")))
        page.keyboard.press("Enter")
    assert places == sorted(places) and places[0] < places[1] < places[2]
    strip = page.locator(".confirm-row svg.strip").first
    assert page.evaluate("e => e.querySelector('image').href.baseVal", strip.element_handle())
    assert strip.bounding_box()["height"] > 25


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
def test_every_page_keeps_the_rules_and_fits_its_window(browser_page, new_desk, tmp_path, width, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page = opened(browser_page, new_desk, tmp_path, unsure=2, width=width, color_scheme=scheme)
    address = page.url
    found = []
    for at in ("/photographs", address, address):
        page.goto(at)
        if at == address:
            page.keyboard.press("Enter")
        found += violations(Axe(), page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        if os.environ.get("PICTURES"):
            name = "upload" if at == "/photographs" else "confirm"
            page.screenshot(path=f"{os.environ['PICTURES']}/{name}-{width}-{scheme}.png")
    photo = page.locator("[data-photo]").first.get_attribute("data-photo")
    page.goto(f"/photographs/{photo}/row/3")
    found += violations(Axe(), page)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert not found, "\n".join(found)


@pytest.mark.parametrize(("width", "scheme"), LOOKS[:2])
def test_cards_of_a_class_are_confirmed_one_after_the_other_and_handed_in(
    browser_page, new_desk, tmp_path, width, scheme
):
    from axe_playwright_python.sync_playwright import Axe

    server = new_desk()
    page = browser_page(server=server, width=width, color_scheme=scheme)
    address = put_cards(tmp_path / "desk")
    found = []

    def seen(name: str) -> None:
        found.extend(violations(Axe(), page))
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
        if os.environ.get("PICTURES"):
            page.screenshot(
                path=f"{os.environ['PICTURES']}/class-{name}-{width}-{scheme}.png", full_page=True
            )

    page.goto(address)
    seen("waiting")
    page.click("text=Card 1, Bea Lisk")
    for name in ("Bea Lisk", "Tam Orrin"):
        assert name in page.inner_text("h1")
        page.wait_for_function("document.activeElement.dataset.cell !== undefined")
        seen(name.split()[0])
        for _ in range(6):
            page.keyboard.press("Enter")
        page.fill("#minutes", "31")
        page.click("#confirm-keep")
    # Nobody has card 4: it is left to be asked about.
    assert page.url.endswith("/photographs")
    page.click("text=Card 4")
    assert "Nobody has card 4 here" in page.inner_text("main")
    seen("whose")
    page.fill("#name", "Pia Kestle")
    page.click("text=Add the learner")
    assert "Pia Kestle" in page.inner_text("h1")
    page.goto(address.removesuffix("/photographs"))
    assert page.inner_text("main").count("from paper") == 2
    seen("live")
    assert not found, "\n".join(found)


def test_without_scripts_every_row_is_ticked_and_kept(browser_page, new_desk, tmp_path):
    page = opened(browser_page, new_desk, tmp_path, java_script_enabled=False)
    for box in page.get_by_label("as on the page").all():
        box.check()
    page.get_by_role("button", name="Keep these rows").click()
    page.wait_for_url("**/logs/**")
    assert "The rows are in the log" in page.content()


def field(page: Any, name: str) -> float:
    return float(page.input_value(f"[name={name}]"))


@pytest.mark.parametrize(("width", "scheme"), LOOKS)
def test_corners_and_lines_are_set_by_keys_and_by_pointer(browser_page, new_desk, tmp_path, width, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page = opened(browser_page, new_desk, tmp_path, unsure=-1, width=width, color_scheme=scheme)
    page.get_by_role("link", name="Show where its rows are").click()
    page.wait_for_selector(".frame-handle", state="attached")
    assert page.locator(".frame-handle").count() == 6
    page.locator(".frame-handle").first.focus()
    for key in ("ArrowRight", "Shift+ArrowDown", "ArrowUp"):
        page.keyboard.press(key)
    assert (field(page, "x0"), field(page, "y0")) == pytest.approx((0.102, 0.218))
    assert page.locator("#frame-told").inner_text() == "Corner upper left: 0.102 across, 0.218 down."
    page.locator(".frame-handle").nth(4).focus()
    page.keyboard.press("ArrowLeft")
    assert field(page, "column0") < 0.25
    ring = page.locator(".frame-handle .ring").nth(2)
    ring.scroll_into_view_if_needed()
    box = ring.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 20, y - 15, steps=4)
    page.mouse.up()
    assert field(page, "x2") < 0.9 and field(page, "y2") < 0.9
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert not violations(Axe(), page)
    if os.environ.get("PICTURES"):
        page.screenshot(path=f"{os.environ['PICTURES']}/frame-{width}-{scheme}.png")
