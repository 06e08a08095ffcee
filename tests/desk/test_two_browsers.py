"""Two browsers on one log, and one without a desk: nothing is lost, no answer is taken for a newer one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from support.desk_server import DeskServer
from support.notebook_page import SIX, Keyboard, begin, cell, kept, on_page, saved, until

OpenPage = Callable[..., Any]
RESTS = "document.getElementById('rests').textContent"


def second(browser_page: OpenPage, page: Any, width: int = 1440) -> Any:
    """Open the log of a page in another browser."""
    other = browser_page(width)
    other.goto(page.url)
    other.wait_for_selector("#page .row")
    return other


def two_rows_in_two(browser_page: OpenPage, width: int = 1440) -> tuple[Any, Any]:
    """Two rows typed in one browser, the page open in another too."""
    one = browser_page(1440)
    begin(one).rows(SIX[:2])
    saved(one)
    return one, second(browser_page, one, width)


def test_what_one_browser_writes_the_other_shows_within_two_seconds(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    one, other = two_rows_in_two(browser_page)
    cell(one, 2, "count").fill("190")
    saved(one)
    until(other, "document.querySelectorAll('#page .count')[1].value === '190'", most_s=2.0)
    until(other, "() => !document.querySelector('.stale')")
    assert one.inner_text("#answer .short") == other.inner_text("#answer .short")
    cell(other, 1, "notes").fill("dry")
    cell(other, 1, "notes").blur()
    until(one, "document.querySelector('#page .notes').value === 'dry'", most_s=3.0)


def test_two_values_for_a_cell_are_both_kept_and_both_browsers_ask(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    one, other = two_rows_in_two(browser_page, 390)
    other.context.set_offline(True)
    cell(other, 2, "count").fill("180")
    until(other, "document.getElementById('saved').textContent.startsWith('Not saved yet')")
    cell(one, 2, "count").fill("190")
    saved(one)
    other.context.set_offline(False)
    asks = "document.getElementById('saved').textContent === 'Saved. Row 2 holds two values: choose one.'"
    until(other, asks)
    until(one, asks)
    assert kept(desk_server.owner, one)[1][1] == "190"
    assert cell(other, 2, "count").input_value() == cell(one, 2, "count").input_value() == "190"
    assert other.get_by_role("button", name="Keep 190").is_visible()
    other.get_by_role("button", name="Take 180").click()
    saved(other)
    saved(one)
    assert kept(desk_server.owner, one)[1][1] == cell(one, 2, "count").input_value() == "180"
    # Typed over by the other meanwhile, the step is not taken back; what is one's own is.
    cell(one, 2, "count").focus()
    one.keyboard.press("Control+z")
    saved(one)
    assert kept(desk_server.owner, one)[1][1] == "180"


def test_a_value_that_came_beside_a_cell_is_kept_when_one_who_never_saw_it_writes_there(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    one, other = two_rows_in_two(browser_page)
    other.context.set_offline(True)
    cell(other, 2, "count").fill("180")
    cell(one, 2, "count").fill("190")
    saved(one)
    one.context.set_offline(True)
    other.context.set_offline(False)
    asks = "document.getElementById('saved').textContent === 'Saved. Row 2 holds two values: choose one.'"
    until(other, asks)
    # That 190 met another value has not come here.
    cell(one, 2, "count").fill("195")
    one.context.set_offline(False)
    until(one, asks)
    until(other, "document.querySelectorAll('#page .count')[1].value === '195'")
    for page in (one, other):
        assert page.locator(".asks button").all_inner_texts() == ["Keep 195", "Take 180"]
    # Seen, the cell is answered by writing in it.
    cell(one, 1, "count").focus()
    cell(one, 2, "count").fill("200")
    saved(one)
    saved(other)
    assert kept(desk_server.owner, one)[1][1] == "200"


def test_a_value_that_comes_beside_a_cell_under_the_typing_hand_waits_on(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    one, other = two_rows_in_two(browser_page)
    other.context.set_offline(True)
    cell(other, 2, "count").fill("190")
    cell(one, 2, "count").focus()
    one.keyboard.press("Control+a")
    one.keyboard.type("2")
    saved(one)
    other.context.set_offline(False)
    until(one, "document.querySelectorAll('.asks button').length > 0")
    one.keyboard.type("00")
    saved(one, "Saved. Row 2 holds two values: choose one.")
    assert one.locator(".asks button").all_inner_texts() == ["Keep 200", "Take 190"]
    assert kept(desk_server.owner, one)[1][1] == "200"


def test_an_undo_into_a_row_that_another_brought_back_does_not_write_over_theirs(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    one = browser_page(1440)
    keys = begin(one)
    keys.rows(SIX[:1])
    keys.type("77")
    keys.press("Enter")
    saved(one)
    other = second(browser_page, one)
    other.context.set_offline(True)
    cell(other, 2, "azimuth").fill("78")
    # Emptied here, the row goes, and comes back by what is written in it there.
    cell(one, 2, "azimuth").fill("")
    cell(one, 1, "count").focus()
    saved(one)
    one.context.set_offline(True)
    other.context.set_offline(False)
    saved(other)
    one.keyboard.press("Control+z")
    one.context.set_offline(False)
    until(one, "document.querySelectorAll('.asks button').length > 0")
    assert kept(desk_server.owner, one)[1][0] == "78"
    assert one.locator(".asks button").all_inner_texts() == ["Keep 78", "Take 77"]


def test_an_answer_without_the_latest_rows_says_so_in_its_place_and_in_the_bar(
    browser_page: OpenPage, new_desk: Callable[..., DeskServer]
) -> None:
    server = new_desk()
    page = browser_page(390, server=server)
    keys = begin(page)
    keys.rows(SIX[:3])
    saved(page)
    before = page.inner_text(".at-hand")
    page.context.set_offline(True)
    keys.rows(SIX[3:])
    expected = "Before row 4 only; 3 rows not sent."
    until(page, f"{RESTS} === '{expected}'")
    assert page.locator("#answer-side.stale").count() == 1
    assert page.inner_text(".at-hand").split("\n") == [expected, before]
    bar, fresh = page.locator(".at-hand"), "rgb(138, 51, 36)"
    assert bar.evaluate("one => getComputedStyle(one).backgroundColor") != fresh
    page.context.set_offline(False)
    saved(page)
    until(page, "() => !document.querySelector('.stale')")
    assert page.inner_text("#rests") == ""
    assert bar.evaluate("one => getComputedStyle(one).backgroundColor") == fresh
    page.context.set_offline(True)
    cell(page, 2, "count").fill("186")
    until(page, f"{RESTS} === 'Without what you typed in row 2: not sent.'")


def test_undo_and_redo_work_offline_cell_by_cell(browser_page: OpenPage, desk_server: DeskServer) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("305", "240", "")])
    saved(page)
    page.context.set_offline(True)
    keys.type("3")
    page.wait_for_timeout(500)
    keys.type("8")
    keys.press("Tab")
    keys.type("185")
    keys.press("Control+z")
    assert on_page(page) == [("305", "240", ""), ("38", "", "")]
    keys.press("Control+z")
    assert on_page(page) == [("305", "240", "")]
    keys.press("Control+z")
    assert on_page(page) == [("305", "", "")]
    keys.press("Shift+Control+Z", "Shift+Control+Z", "Shift+Control+Z")
    assert on_page(page) == [("305", "240", ""), ("38", "185", "")]
    page.context.set_offline(False)
    saved(page)
    assert kept(desk_server.owner, page) == on_page(page) == [("305", "240", ""), ("38", "185", "")]


def test_a_row_emptied_here_and_written_in_elsewhere_stays_with_what_was_written(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    one = browser_page(1440)
    begin(one).rows(SIX[:1])
    cell(one, 2, "azimuth").focus()
    one.keyboard.type("77")
    saved(one)
    other = second(browser_page, one)
    one.context.set_offline(True)
    # Undone, the row is empty: it is the one to write on again, for the cursor stands in it.
    one.keyboard.press("Control+z")
    until(one, "document.getElementById('saved').textContent.startsWith('Not saved yet')")
    cell(other, 2, "notes").fill("wet")
    saved(other)
    one.context.set_offline(False)
    until(one, "document.querySelectorAll('#page .notes')[1].value === 'wet'")
    assert on_page(one)[1] == kept(desk_server.owner, one)[1] == ("", "", "wet")


def test_undo_takes_back_what_was_done_here_and_nothing_of_others(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    one, other = two_rows_in_two(browser_page)
    assert other.locator("#undo").is_disabled()
    cell(other, 1, "notes").fill("theirs")
    saved(other)
    until(one, "document.querySelector('#page .notes').value === 'theirs'")
    cell(one, 1, "azimuth").focus()
    one.keyboard.press("Control+z")
    saved(one)
    assert kept(desk_server.owner, one) == [("305", "240", "theirs"), (*SIX[1][:2], "")]


def test_rows_are_moved_taken_away_and_brought_back(browser_page: OpenPage, desk_server: DeskServer) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("10", "1", ""), ("20", "2", ""), ("30", "3", "")])
    saved(page)
    cell(page, 3, "azimuth").focus()
    keys.press("Alt+ArrowUp", "Alt+ArrowUp")
    assert [row[0] for row in on_page(page)] == ["30", "10", "20"]
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "Azimuth of row 1"
    keys.press("Alt+ArrowDown")
    saved(page)
    assert [row[0] for row in kept(desk_server.owner, page)] == ["10", "30", "20"]
    keys.press("Alt+Shift+Delete")
    saved(page)
    assert [row[0] for row in kept(desk_server.owner, page)] == ["10", "20"]
    keys.press("Control+z")
    saved(page)
    assert [row[0] for row in kept(desk_server.owner, page)] == ["10", "30", "20"]
    # An emptied row goes when it is left, and comes back cell by cell.
    cell(page, 1, "azimuth").fill("")
    cell(page, 1, "count").fill("")
    cell(page, 3, "azimuth").focus()
    saved(page)
    assert [row[0] for row in kept(desk_server.owner, page)] == ["30", "20"]
    keys.press("Control+z", "Control+z")
    saved(page)
    assert kept(desk_server.owner, page)[0] == ("10", "1", "")
    cell(page, 2, "notes").focus()
    keys.press("Control+Delete")
    until(page, "() => document.querySelector('.row.struck')")
    assert "Struck out" in page.inner_text(".row.struck .says")
    keys.type("x")
    assert "This row is struck out" in page.inner_text("#announce")


def test_a_cell_is_judged_when_it_is_left(browser_page: OpenPage) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("305", "240", "")])
    saved(page)
    short = page.inner_text("#answer .short")
    keys.type("400")
    saved(page)
    assert page.locator("[aria-invalid]").count() == 0
    assert page.inner_text("#answer .short") == short
    assert page.inner_text("#rests") == "Without the row that is being typed."
    keys.press("Tab")
    until(page, "() => document.querySelector('[aria-invalid]')")
    assert "Row 2, azimuth: 400 is not an azimuth" in page.inner_text("#announce")


def test_a_log_in_the_bin_says_so_and_a_deleted_one_too(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows([("305", "240", "")])
    saved(page)
    other = second(browser_page, page)
    other.get_by_role("link", name="Books").click()
    other.get_by_role("button", name="Throw away").first.click()
    until(page, "() => document.getElementById('trouble').textContent.includes('lies in the bin')")
    assert not cell(page, 1, "count").is_editable()
    page.reload()
    assert page.get_by_text("This log lies in the bin: it can be read").is_visible()
    assert not cell(page, 1, "count").is_editable()
    log = page.get_attribute("#page", "data-changes")
    sent = {"key": "key-of-late", "kind": "heading", "heading": "title: Late"}
    assert desk_server.owner.post_json(log, {"changes": [sent]}).status == 423
    other.goto("/books/bin")
    other.locator("summary", has_text="Delete").first.click()
    other.get_by_role("button", name="for good").first.click()
    until(page, "() => document.getElementById('trouble').textContent.includes('deleted for good')")


def test_the_history_says_who_changed_what_and_brings_a_state_back(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    keys: Keyboard = begin(page)
    keys.rows([("305", "240", ""), ("38", "185", "")])
    saved(page)
    number = page.evaluate("desk.page.revision()")
    cell(page, 1, "count").fill("250")
    cell(page, 2, "azimuth").focus()
    saved(page)
    page.get_by_role("link", name="History").click()
    assert "Owner" in page.inner_text(".past")
    page.goto(page.url + f"?at={number}")
    assert "240" in page.inner_text("table")
    page.get_by_role("button", name="Bring this state back").click()
    page.wait_for_selector("#page .row")
    assert on_page(page) == [("305", "240", ""), ("38", "185", "")]
