"""Helps beside typing: heading as fields, remarks from a palette, keys at a question mark, the goal kept."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from support.notebook_page import SIX, begin, cell, saved, until

OpenPage = Callable[..., Any]


def heading_of(page: Any) -> list[str]:
    return str(page.input_value("#heading-text")).split("\n")


def test_the_heading_is_filled_in_by_fields_and_kept(browser_page: OpenPage) -> None:
    page = browser_page(390)
    begin(page)
    page.click("#heading-says")
    page.fill("#h-title", "Fen, east side")
    page.fill("#h-date", "2026-05-14")
    page.select_option("#h-north", "grid")
    page.select_option("#h-unit", "mils")
    page.fill("#h-known", "Fire tower = local 120 300\nBarn = local 0 50")
    page.locator("#h-known").blur()
    saved(page)
    until(page, "document.getElementById('page-title').textContent === 'Fen, east side'")
    page.reload()
    lines = heading_of(page)
    for line in (
        "title: Fen, east side",
        "date: 2026-05-14",
        "azimuth: grid mils",
        "known: Barn = local 0 50",
    ):
        assert line in lines
    page.click("#heading-says") if not page.is_visible("#h-title") else None
    assert page.input_value("#h-known") == "Fire tower = local 120 300\nBarn = local 0 50"
    assert page.input_value("#h-unit") == "mils"
    # What is typed as text stands in the fields too.
    page.fill("#heading-text", page.input_value("#heading-text").replace("mils", "gon"))
    assert page.input_value("#h-unit") == "gon"


def test_a_remark_is_put_in_by_key_and_by_touch(browser_page: OpenPage) -> None:
    page = browser_page(1280)
    keys = begin(page)
    keys.rows(SIX[:2])
    saved(page)
    cell(page, 1, "notes").focus()
    page.keyboard.press("F2")
    page.keyboard.press("Enter")
    page.keyboard.type("Oak")
    assert cell(page, 1, "notes").input_value().endswith("[at Oak]")
    cell(page, 2, "count").focus()
    page.click("#palette summary") if not page.is_visible("[data-remark='[est]']") else None
    cell(page, 2, "count").focus()
    page.click("[data-remark='[est]']")
    assert cell(page, 2, "notes").input_value().endswith("[est]")
    saved(page)
    page.reload()
    assert cell(page, 1, "notes").input_value().endswith("[at Oak]")


def test_a_question_mark_shows_the_keys_but_in_notes(browser_page: OpenPage) -> None:
    page = browser_page(1280)
    begin(page)
    cell(page, 1, "notes").focus()
    page.keyboard.type("pond?")
    assert cell(page, 1, "notes").input_value() == "pond?"
    cell(page, 1, "azimuth").focus()
    page.keyboard.press("?")
    assert page.is_visible("dt:text-is('Ctrl + Enter')")
    assert cell(page, 1, "azimuth").input_value() == ""


def test_the_goal_of_the_way_back_is_remembered(browser_page: OpenPage) -> None:
    page = browser_page(1280)
    page.click("text=Show a finished example")
    page.wait_for_selector("#goal")
    # The page's own scripts run last: only then does a choice reach anybody.
    page.wait_for_load_state("load")
    page.select_option("#goal", label="Split oak")
    until(page, "document.querySelector('#answer .lead').textContent.includes('Split oak')")
    page.reload()
    until(page, "document.querySelector('#answer .lead').textContent.includes('to Split oak')")
    assert page.locator("#goal option:checked").inner_text() == "Split oak"


def test_known_places_are_drawn_beside_their_field(browser_page: OpenPage) -> None:
    page = browser_page(390)
    begin(page)
    page.click("#heading-says")
    page.fill("#h-known", "Fire tower = local 120 300\nBarn = local 0 50")
    page.locator("#h-known").blur()
    page.wait_for_selector("#known-map svg text:has-text('Fire tower')")
    page.fill("#h-known", "Fire tower = local 120 300\nBarn = nowhere")
    page.locator("#h-known").blur()
    page.wait_for_selector("#known-map .notice")
    page.fill("#h-known", "")
    page.locator("#h-known").blur()
    until(page, "document.getElementById('known-map').childElementCount === 0")


def test_a_long_note_wraps_and_stays_one_line(browser_page: OpenPage) -> None:
    page = browser_page(390)
    keys = begin(page)
    note = "along the wall to the second gate, then over the stile and down to the ford"
    keys.rows([("90", "100", note), ("180", "50", "")])
    saved(page)
    high = "(at) => document.querySelectorAll('.row .notes')[at].offsetHeight"
    assert page.evaluate(high, 0) > 1.5 * page.evaluate(high, 1)
    field = cell(page, 1, "notes")
    assert field.evaluate("(one) => one.scrollHeight <= one.clientHeight + 1")
    field.evaluate(
        "(one) => { one.value = 'dry\\nand flat'; one.dispatchEvent(new Event('input', { bubbles: true })); }"
    )
    assert field.input_value() == "dry and flat"
