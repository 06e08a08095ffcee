"""Typing a log in a real browser: by keyboard alone, on a desk and on a phone, and without scripts."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from support.desk_server import DeskServer
from support.notebook_page import SIX, Keyboard, begin, cell, kept, on_page, paste, saved, until

OpenPage = Callable[..., Any]
WIDTHS = pytest.mark.parametrize("width", [1440, 390])


@WIDTHS
def test_a_newcomer_sees_the_way_back_by_keyboard_alone(
    browser_page: OpenPage, new_desk: Callable[..., DeskServer], width: int
) -> None:
    server = new_desk()
    page = browser_page(width, server=server)
    keys = Keyboard(page)
    # The page is there for a person when the button is ready to be pressed.
    page.locator("button:focus").wait_for()
    keys.press("Enter")
    page.wait_for_selector("#page .row")
    to_the_page = keys.strokes
    keys.rows(SIX)
    saved(page)
    assert on_page(page) == kept(server.owner, page) == SIX
    page.wait_for_selector("#answer .short")
    # Six legs added up by sine and cosine; boxing changes nothing, for it goes out as far as it comes back.
    legs = [(math.radians(float(azimuth)), float(count)) for azimuth, count, _ in SIX]
    east = sum(count * math.sin(azimuth) for azimuth, count in legs)
    north = sum(count * math.cos(azimuth) for azimuth, count in legs)
    back = math.degrees(math.atan2(-east, -north)) % 360
    assert page.inner_text("#answer .short") == f"{back:.0f}°, {math.hypot(east, north):.0f} paces"
    assert "Start" in page.inner_text("#answer")
    paper = sum(len("".join(row)) for row in SIX)
    beyond = keys.strokes - to_the_page - paper
    # Two keys a row that the paper does not need, and one more before a note.
    assert beyond == 2 * len(SIX) + sum(bool(row[2]) for row in SIX)
    assert to_the_page == 1
    print(f"{to_the_page} keys to the page, {paper} signs of the paper, {beyond} keys between cells")


def test_whoever_has_logs_begins_another_with_four_keys(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    log = desk_server.owner.new_log()
    change = {"key": "a-row-is-there", "kind": "put", "id": "r0", "azimuth": "10", "count": "100"}
    assert desk_server.owner.post_json(f"{log}/changes", {"changes": [change]}).status == 200
    page = browser_page(1440)
    keys = Keyboard(page)
    # The first stop leads past the head of the page.
    keys.press("Tab", "Enter", "Tab", "Enter")
    page.wait_for_selector("#page .row")
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "Azimuth of row 1"


def test_a_wrong_cell_is_named_where_it_stands_and_is_set_right(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(390)
    keys = begin(page)
    keys.rows([("305", "240", ""), ("400", "30", ""), ("38", "185", "[bux right 40]")])
    saved(page)
    wrong = cell(page, 2, "azimuth")
    assert wrong.get_attribute("aria-invalid") == "true"
    says = page.locator("#" + wrong.get_attribute("aria-describedby"))
    assert "400 is not an azimuth in degrees" in says.inner_text()
    assert "Answered for the rows before row 2" in page.inner_text("#answer")
    keys.press("ArrowUp", "ArrowUp")
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "Azimuth of row 2"
    keys.type("40")
    keys.press("Enter")
    until(page, "document.querySelectorAll('[aria-invalid]').length === 1")
    assert cell(page, 3, "notes").get_attribute("aria-invalid") == "true"
    cell(page, 3, "notes").fill("[box right 40]")
    until(page, "!document.querySelector('[aria-invalid]')")
    saved(page)
    assert kept(desk_server.owner, page) == [
        ("305", "240", ""),
        ("40", "30", ""),
        ("38", "185", "[box right 40]"),
    ]


def test_a_whole_page_is_pasted_from_a_spreadsheet_and_one_undo_takes_it_back(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    begin(page)
    heading_lines = "# title: Cinder Fen\t\t\n# start: Gate\t\t\n"
    table = 'azimuth\tcount\tnotes\n305\t240\t\n38\t185\t"[at Split oak] ""dry"""\n'
    paste(page, heading_lines + table)
    saved(page)
    pasted = [("305", "240", ""), ("38", "185", '[at Split oak] "dry"')]
    assert on_page(page) == kept(desk_server.owner, page) == pasted
    assert page.inner_text("#page-title") == "Cinder Fen"
    assert "Gate" in page.inner_text("#answer .lead")
    heading = page.input_value("#heading-text").splitlines()
    assert heading.count("title: Cinder Fen") == 1
    assert heading.count("start: Gate") == 1
    page.keyboard.press("Control+z")
    until(page, "document.querySelectorAll('#page .row').length === 1")
    saved(page)
    assert kept(desk_server.owner, page) == []


def test_a_column_is_pasted_into_the_cells_below(browser_page: OpenPage, desk_server: DeskServer) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("305", "", ""), ("38", "", "")])
    cell(page, 1, "count").focus()
    paste(page, "240\n185\n")
    saved(page)
    assert kept(desk_server.owner, page) == [("305", "240", ""), ("38", "185", "")]


def test_rows_are_inserted_struck_and_taken_back(browser_page: OpenPage, desk_server: DeskServer) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("305", "240", ""), ("38", "185", "")])
    saved(page)
    whole = page.inner_text("#answer .short")
    cell(page, 1, "azimuth").focus()
    keys.press("Control+Enter")
    keys.type("90")
    keys.press("Tab")
    keys.type("50")
    keys.press("Enter")
    saved(page)
    assert kept(desk_server.owner, page) == [("305", "240", ""), ("90", "50", ""), ("38", "185", "")]
    until(page, "was => document.querySelector('#answer .short').textContent !== was", whole)
    cell(page, 2, "notes").focus()
    keys.press("Control+Delete")
    page.wait_for_selector(".row.struck")
    until(page, "was => document.querySelector('#answer .short').textContent === was", whole)
    assert cell(page, 2, "azimuth").input_value() == "90"
    assert not cell(page, 2, "azimuth").is_editable()
    keys.press("Control+z")
    page.wait_for_selector(".row.struck", state="detached")
    page.get_by_role("button", name="Strike out row 2").click()
    page.wait_for_selector(".row.struck")
    page.get_by_role("button", name="Take the stroke off row 2").click()
    page.wait_for_selector(".row.struck", state="detached")
    saved(page)
    assert len(kept(desk_server.owner, page)) == 3


def test_an_undo_in_haste_takes_back_what_was_typed_last(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("305", "240", "")])
    saved(page)
    # Typed, undone and typed on within one pause: nothing of it was sent when the undo was pressed.
    keys.type("9")
    keys.press("Control+z")
    saved(page)
    assert kept(desk_server.owner, page) == [("305", "240", "")]
    assert on_page(page) == [("305", "240", "")]
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "Azimuth of row 2"


def test_a_row_inserted_and_mended_before_it_was_sent_stays_in_its_place(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("10", "1", ""), ("40", "4", "")])
    saved(page)
    page.context.set_offline(True)
    cell(page, 1, "azimuth").focus()
    for azimuth, count in (("20", "2"), ("30", "3")):
        keys.press("Control+Enter")
        keys.type(azimuth)
        keys.press("Tab")
        keys.type(count)
    cell(page, 2, "count").fill("22")
    until(page, "document.getElementById('saved').textContent.startsWith('Not saved yet')")
    page.context.set_offline(False)
    saved(page)
    expected = [("10", "1", ""), ("20", "22", ""), ("30", "3", ""), ("40", "4", "")]
    assert kept(desk_server.owner, page) == on_page(page) == expected


def test_what_the_desk_refuses_stays_in_its_cell_until_it_is_set_right(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("305", "240", "")])
    saved(page)
    paste(page, "38\t185\t" + "n" * 2001)
    page.wait_for_selector("#trouble:not([hidden])")
    assert "A cell holds at most 2000 characters" in page.inner_text("#trouble")
    keys.press("Shift+Tab")
    cell(page, 1, "notes").fill("dry")
    until(page, "document.getElementById('saved').textContent === 'Saved, but for what is marked.'")
    assert len(cell(page, 2, "notes").input_value()) == 2001
    assert "Not saved. A cell holds" in page.inner_text(".row.wrong .says")
    cell(page, 2, "notes").fill("short")
    saved(page)
    assert kept(desk_server.owner, page) == [("305", "240", "dry"), ("38", "185", "short")]


def test_the_goal_is_chosen_and_stays_while_typing_goes_on(browser_page: OpenPage) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows(SIX[:3])
    saved(page)
    assert "Start" in page.inner_text("#answer .lead")
    page.get_by_label("to", exact=True).select_option(label="Split oak")
    until(page, "document.querySelector('#answer .lead').textContent.includes('Split oak')")
    cell(page, 4, "azimuth").focus()
    keys.rows(SIX[3:4])
    saved(page)
    assert "Split oak" in page.inner_text("#answer .lead")
    assert page.eval_on_selector("#goal", "one => one.selectedOptions[0].textContent") == "Split oak"


def test_the_figure_is_zoomed_and_moved_by_keys(browser_page: OpenPage) -> None:
    page = browser_page(1440)
    begin(page).rows(SIX[:2])
    saved(page)
    drawing = page.locator("[data-zoom]")
    whole = drawing.locator("svg").get_attribute("viewBox")
    drawing.focus()
    page.keyboard.press("+")
    nearer = drawing.locator("svg").get_attribute("viewBox")
    assert float(nearer.split()[2]) < float(whole.split()[2])
    page.keyboard.press("ArrowRight")
    assert drawing.locator("svg").get_attribute("viewBox") != nearer
    page.keyboard.press("0")
    shown = [float(one) for one in drawing.locator("svg").get_attribute("viewBox").split()]
    assert shown == pytest.approx([float(one) for one in whole.split()], rel=1e-6)


def press(page: Any, name: str) -> None:
    """Press a button that sends the page, and wait for the page that comes back."""
    with page.expect_navigation():
        page.get_by_role("button", name=name, exact=True).click()


@WIDTHS
def test_a_log_is_typed_without_scripts(browser_page: OpenPage, desk_server: DeskServer, width: int) -> None:
    page = browser_page(width, java_script_enabled=False)
    press(page, "Begin an empty page")
    for at, row in enumerate(SIX[:3]):
        for name, text in zip(("Azimuth", "Count", "Notes"), row, strict=True):
            page.get_by_label(f"{name} of a new row").nth(at).fill(text)
    press(page, "Save")
    assert page.locator("#answer .short").is_visible()
    assert cell(page, 3, "notes").input_value() == SIX[2][2]
    cell(page, 1, "count").fill("24x")
    press(page, "Save")
    assert cell(page, 1, "count").get_attribute("aria-invalid") == "true"
    press(page, "Undo")
    assert cell(page, 1, "count").input_value() == "240"
    press(page, "Strike out row 2")
    assert page.locator(".row.struck").count() == 1
    press(page, "Insert a row below row 1")
    cell(page, 2, "azimuth").fill("90")
    press(page, "Save")
    rows = [page.input_value(f"[aria-label='Azimuth of row {at}']") for at in (1, 2, 3, 4)]
    assert rows == ["305", "90", "38", "52"]


@WIDTHS
def test_nothing_is_wider_than_the_page(browser_page: OpenPage, width: int) -> None:
    page = browser_page(width)
    begin(page).rows(SIX)
    saved(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.eval_on_selector_all(
        "button, input:not([type=hidden]), select, summary, nav a",
        "all => all.map(one => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])"
        ".filter(([, box]) => box.height && (box.height < 24 || box.width < 24)).map(([name]) => name)",
    )
    # 24 px: WCAG 2.2, success criterion 2.5.8 Target Size (Minimum).
    assert small == []


def test_what_is_typed_on_while_a_row_could_not_be_sent_is_what_is_kept(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    keys = begin(page)
    held: list[Any] = []
    page.route("**/changes", lambda route: held.append(route))
    keys.type("1")
    while not held:
        page.wait_for_timeout(20)
    keys.type("2")
    held[0].abort()
    until(page, "() => document.getElementById('saved').textContent.startsWith('Not saved yet')")
    keys.type("3")
    page.unroute("**/changes")
    keys.press("Tab")
    keys.type("240")
    saved(page)
    assert kept(desk_server.owner, page) == on_page(page) == [("123", "240", "")]


def test_enter_never_leads_into_what_another_tab_wrote_below(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("10", "1", "")])
    saved(page)
    keys.type("20")
    saved(page)
    first = page.get_attribute("#page .row", "data-id")
    log = page.get_attribute("#page", "data-changes")
    # Another tab, which did not see row 2 yet, writes below row 2 in the order that is kept.
    cells = {"azimuth": "90", "count": "9", "notes": "by another tab"}
    second = page.eval_on_selector_all("#page .row", "rows => rows[1].dataset.id")
    change = {"key": f"other-{first}", "kind": "put", "id": "other", "after": second, **cells}
    assert desk_server.owner.post_json(log, {"changes": [change]}).status == 200
    keys.press("Tab")
    keys.type("2")
    until(page, "() => document.querySelectorAll('#page .row').length === 4")
    keys.press("Enter")
    keys.rows([("30", "3", "")])
    saved(page)
    rows = [("10", "1", ""), ("20", "2", ""), ("30", "3", ""), ("90", "9", "by another tab")]
    assert kept(desk_server.owner, page) == rows


def test_a_block_is_laid_over_the_cells_and_its_columns_are_known(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    begin(page)
    # A counted first column is the number of the row, a break inside a cell is a blank.
    paste(page, "1\t10\t100\n2\t20\t200\n")
    saved(page)
    assert kept(desk_server.owner, page) == [("10", "100", ""), ("20", "200", "")]
    cell(page, 1, "count").focus()
    paste(page, '110\t"wet\nground"\n210\tdry\n')
    saved(page)
    assert kept(desk_server.owner, page) == [("10", "110", "wet ground"), ("20", "210", "dry")]
    page.keyboard.press("Control+z")
    saved(page)
    assert kept(desk_server.owner, page) == [("10", "100", ""), ("20", "200", "")]
    cell(page, 3, "azimuth").focus()
    paste(page, "Notes;Count;Azimuth\nat the oak;300;30\n")
    saved(page)
    assert kept(desk_server.owner, page)[2] == ("30", "300", "at the oak")
    # One line cannot tell whether it is numbered: it is asked.
    cell(page, 4, "azimuth").focus()
    page.once("dialog", lambda asked: asked.accept())
    paste(page, "1\t40\t400\n")
    saved(page)
    assert kept(desk_server.owner, page)[3] == ("40", "400", "")


@pytest.mark.parametrize("with_scripts", [True, False])
def test_a_button_stands_on_the_page_only_where_it_does_something(
    browser_page: OpenPage, with_scripts: bool
) -> None:
    page = browser_page(1440, java_script_enabled=with_scripts)
    page.get_by_role("button", name="Begin an empty page").click()
    page.wait_for_selector("#page .rows.scripted .row" if with_scripts else "#page .row")
    # Redo and another row take scripts; the walker is taken at once with them, and by a button without.
    for name in ("Redo", "Another row"):
        assert page.get_by_role("button", name=name, exact=True).is_visible() == with_scripts
    assert page.get_by_role("button", name="Use", exact=True).is_visible() != with_scripts


def test_a_printed_log_has_no_row_to_write_on_in(browser_page: OpenPage) -> None:
    page = browser_page(1440)
    begin(page).rows(SIX)
    saved(page)
    rows = page.locator("#page .row:visible")
    assert rows.count() == len(SIX) + 1
    page.emulate_media(media="print")
    assert rows.count() == len(SIX)


def test_a_command_on_a_phone_is_not_broken_within_an_option(browser_page: OpenPage) -> None:
    page = browser_page(390)
    page.goto("/class")
    command = page.locator("code", has_text="desk --network").first
    assert command.evaluate("one => one.getClientRects().length") == 1
