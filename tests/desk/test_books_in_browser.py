"""Walkers, books and sheets in a browser: without scripts, with the keyboard, on a phone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pacewright.files.bundled import bundled
from support.desk_server import DeskServer
from support.notebook_page import ready, until

OpenPage = Callable[..., Any]
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
RUNS = [("heath", "level", "8", "100", count) for count in ("62", "63", "61")]


def wrong_by_axe(page: Any) -> list[str]:
    from axe_playwright_python.sync_playwright import Axe

    options = {"runOnly": {"type": "tag", "values": RULES}, "resultTypes": ["violations"]}
    found = Axe().run(page, options=options)
    return [
        f"{page.url}: {one['id']}: {one['nodes'][0]['html'][:160]}" for one in found.response["violations"]
    ]


def is_within(page: Any) -> bool:
    """Nothing stands out of the window at the side."""
    return bool(page.evaluate("document.documentElement.scrollWidth <= innerWidth"))


def test_trials_are_typed_and_a_walker_chosen_without_scripts(browser_page: OpenPage) -> None:
    page = browser_page(390, java_script_enabled=False)
    page.get_by_role("button", name="Show a finished example").click()
    log = page.url
    page.goto("/walkers")
    page.get_by_label("Name").fill("Odo Lark")
    page.get_by_role("button", name="Begin").click()
    page.locator("[name=ground-0]").focus()
    for run in [*RUNS, ("heath", "level", "8", "100", "6x")]:
        for cell in run:
            page.keyboard.type(cell)
            page.keyboard.press("Tab")
    page.get_by_role("button", name="Keep and work out").click()
    assert "6x is not a number" in page.inner_text("#wrong-3")
    assert page.input_value("[name=count-0]") == "62"
    page.locator("[name=count-3]").fill("62")
    page.locator("[name=count-3]").press("Enter")
    assert "62.0 paces to 100 m" in page.inner_text("main")
    page.goto(log)
    page.get_by_label("Walked by").select_option(label="Odo Lark")
    page.get_by_role("link", name="Figures").wait_for()
    assert page.url == log
    assert page.locator("#walked-by option:checked").inner_text() == "Odo Lark"


def test_a_walker_is_chosen_with_scripts_and_typed_rows_stay(browser_page: OpenPage) -> None:
    page = browser_page(1440)
    page.get_by_role("button", name="Show a finished example").click()
    ready(page)
    page.locator(".row .notes").first.fill("typed a moment ago")
    with page.expect_navigation():
        page.get_by_label("Walked by").select_option(index=0)
    page.goto(page.url)
    until(page, "document.querySelector('.row .notes').value === 'typed a moment ago'")
    assert page.locator("#walked-by option:checked").inner_text() == "nobody in particular (defaults)"


@pytest.mark.parametrize(("width", "scheme"), [(1440, "light"), (390, "dark")])
def test_no_page_of_the_books_breaks_a_rule_of_access(
    browser_page: OpenPage, width: int, scheme: str, tmp_path: Path
) -> None:
    page = browser_page(width, color_scheme=scheme)
    page.get_by_role("button", name="Show a finished example").click()
    log = page.url
    page.goto("/walkers")
    page.locator(".logs a").first.click()
    walker = page.url
    page.locator("summary", has_text="Paste runs").click()
    page.fill("#paste", bundled("pace_trials.csv").decode("utf-8"))
    page.get_by_role("button", name="Keep and work out").click()
    page.wait_for_selector(".drawing")
    page.goto(f"{log}/sheets")
    page.get_by_role("button", name="Throw it away").click()
    page.wait_for_load_state()
    (tmp_path / "bad.csv").write_bytes(b"azimuth,count,notes\n361,1,\n")
    page.set_input_files("#files", str(tmp_path / "bad.csv"))
    page.get_by_role("button", name="Import").click()
    page.wait_for_selector("[role=alert]")
    found = wrong_by_axe(page)
    for path in (
        walker,
        f"{walker}/history",
        "/walkers",
        "/books/bin",
        "/books/backup",
        "/sheets",
        f"{log}/sheets",
    ):
        page.goto(path)
        found += wrong_by_axe(page)
        assert is_within(page), path
    page.goto(walker)
    page.locator("[name=count-1]").fill("6x")
    page.get_by_role("button", name="Keep and work out").click()
    page.wait_for_selector("#wrong-1")
    assert is_within(page)
    assert [*found, *wrong_by_axe(page)] == []


def test_a_form_that_was_not_sent_comes_back_with_what_was_typed(
    browser_page: OpenPage, new_desk: Callable[..., DeskServer]
) -> None:
    page = browser_page(1440, server=new_desk())
    page.goto("/walkers")
    name = page.locator("main form input[name=name]").first
    name.fill("Odo Lark")
    page.reload()
    assert name.input_value() == "Odo Lark"
    assert page.get_by_text("What you typed here and did not send is back.").is_visible()
    page.context.set_offline(True)
    name.fill("Odo Larkin")
    page.wait_for_timeout(3200)
    name.fill("Odo Larkins")
    page.wait_for_timeout(300)
    name.press("Enter")
    assert page.get_by_text("The desk does not answer.").is_visible()
    page.context.set_offline(False)
    page.reload()
    assert name.input_value() == "Odo Larkins"
    name.press("Enter")
    page.get_by_role("heading", name="Odo Larkins").wait_for()
    page.goto("/walkers")
    assert name.input_value() == ""
