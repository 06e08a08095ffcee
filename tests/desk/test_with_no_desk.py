"""The desk is down: pages open again on the machine itself, and on a network it is said that they do not."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from pacewright.desk.models import KeptLog
from pacewright.desk.notebook.keeping import new_log
from pacewright.desk.notebook.page_changes import PageState
from support.desk_server import DeskServer
from support.notebook_page import begin, cell, kept, on_page, saved, until

OpenPage = Callable[..., Any]
ROWS = [("305", "240", ""), ("38", "185", "[at Split oak]"), ("52", "330", "")]
IS_KEPT = """async () => (await caches.match(location.href)) !== undefined"""


@pytest.mark.slow
def test_a_page_opens_again_with_no_desk_as_it_stood_and_is_typed_on(
    browser_page: OpenPage, new_desk: Callable[..., DeskServer]
) -> None:
    server = new_desk()
    page = browser_page(1440, server=server, service_workers="allow")
    keys = begin(page)
    until(page, IS_KEPT)
    keys.rows(ROWS[:2])
    saved(page)
    until(page, "() => document.querySelector('#answer .short')")
    short = page.inner_text("#answer .short")
    page.wait_for_timeout(1500)
    server.kill()
    keys.rows(ROWS[2:])
    page.reload()
    assert "The desk does not answer. This is what this browser saw of it last." in page.inner_text(
        "#kept-page"
    )
    until(page, "() => document.querySelectorAll('#page .row').length === 4", most_s=5)
    assert on_page(page) == ROWS
    until(page, "document.getElementById('rests').textContent === 'Before row 3 only; 1 row not sent.'")
    assert page.inner_text("#answer .short") == short
    cell(page, 1, "notes").fill("dry")
    page.reload()
    until(page, "document.querySelector('#page .notes').value === 'dry'", most_s=5)
    page.goto(server.base + "/walkers")
    assert "The desk does not answer" in page.inner_text("h1")
    page.get_by_role("link").first.click()
    until(page, "document.querySelector('#page .notes').value === 'dry'", most_s=5)
    again = new_desk()
    server.owner.close()
    saved(page)
    until(page, "() => !document.getElementById('kept-page')", most_s=5)
    assert again.port == server.port
    assert kept(server.owner, page) == [("305", "240", "dry"), *ROWS[1:]]
    page.goto("/devices")
    page.get_by_role("button", name="Leave the desk").click()
    page.wait_for_load_state()
    assert page.evaluate("async () => (await caches.keys()).includes('desk-pages')") is False


@pytest.mark.slow
def test_a_form_that_was_sent_while_the_desk_was_down_stays_kept(
    browser_page: OpenPage, new_desk: Callable[..., DeskServer]
) -> None:
    server = new_desk()
    page = browser_page(1440, server=server, service_workers="allow")
    page.goto("/walkers")
    until(page, IS_KEPT)
    page.fill("main input[name=name]", "Ines Rowe")
    page.wait_for_timeout(300)
    server.kill()
    page.locator("main form", has=page.locator("input[name=name]")).get_by_role("button").first.click()
    page.wait_for_selector("h1:has-text('The desk does not answer')")
    page.wait_for_timeout(500)
    page.goto(server.base + "/walkers")
    assert page.input_value("main input[name=name]") == "Ines Rowe"
    assert ", on 20" in page.inner_text("#kept-page")
    new_desk()
    page.goto(server.base + "/walkers")
    assert page.input_value("main input[name=name]") == "Ines Rowe"
    assert page.locator("#kept-page").count() == 0


def test_the_worker_and_the_manifest_are_served(anonymous: Any, owner: Any) -> None:
    assert anonymous.get("/worker.js").status_code == 403
    answered = owner.get("/worker.js")
    assert answered.headers["Content-Type"].startswith("text/javascript")
    first = answered.content.decode("utf-8").split("\n")[0]
    names = json.loads(first.removeprefix("const STATICS = ").removesuffix(";"))
    assert "/static/desk/notebook.js" in names
    for name in names:
        assert anonymous.get(name).status_code == 200, name
    assert '<link rel="manifest" href="/static/desk/desk.webmanifest">' in owner.get("/").content.decode()
    made = anonymous.get("/static/desk/desk.webmanifest")
    assert made.headers["Content-Type"] == "application/manifest+json"
    told = json.loads(b"".join(made.streaming_content))
    assert told["start_url"] == told["scope"] == "/"
    assert anonymous.get(f"/static/desk/{told['icons'][0]['src']}").status_code == 200


@pytest.mark.slow
def test_over_a_network_the_page_says_that_it_cannot_be_loaded_again(
    browser: Any, browser_page: OpenPage, new_desk: Callable[..., DeskServer]
) -> None:
    server = new_desk(network=True)
    address = server.said.split("Others on this network: ")[1].split()[0]
    page = browser_page(390, server=server)
    page.context.add_cookies(
        [{"name": name, "value": value, "url": address} for name, value in server.owner.cookies.items()]
    )
    page.goto(address)
    assert page.evaluate("isSecureContext") is False
    keys = begin(page)
    keys.rows(ROWS[:1])
    saved(page)
    page.get_by_text("Keys and remarks").click()
    assert page.get_by_text("Over the network leave this page open").is_visible()
    server.kill()
    cell(page, 2, "azimuth").focus()
    keys.rows(ROWS[1:2])
    until(page, "() => document.getElementById('saved').textContent.includes('Leave this page open')")
    new_desk(network=True)
    saved(page)
    server.owner.close()
    assert kept(server.owner, page) == ROWS[:2]


@pytest.mark.slow
def test_rows_of_a_log_that_was_deleted_for_good_make_a_new_one(
    browser_page: OpenPage, desk_server: DeskServer
) -> None:
    page = browser_page(1440)
    keys = begin(page)
    keys.rows(ROWS[:1])
    saved(page)
    page.context.set_offline(True)
    keys.rows(ROWS[1:])
    other = browser_page(1440)
    other.goto("/books")
    other.get_by_role("button", name="Throw away").first.click()
    other.goto("/books/bin")
    other.locator("summary", has_text="Delete").first.click()
    other.get_by_role("button", name="for good").first.click()
    page.context.set_offline(False)
    until(page, "() => document.getElementById('trouble').textContent.includes('deleted for good')")
    page.reload()
    assert "was deleted for good" in page.inner_text("main")
    until(page, "() => document.querySelector('textarea') && document.querySelector('textarea').value")
    page.get_by_role("button", name="Keep as a new log").click()
    page.wait_for_selector("#page .row")
    assert on_page(page) == ROWS[1:]


def test_nothing_of_a_log_in_the_bin_is_changed(owner: Any, owner_member: Any) -> None:
    log = new_log(owner_member, PageState("start: Gate", ()))
    owner.post(f"/logs/{log.pk}/throw", {"do": "throw"})
    for path, fields in (
        ("walker", {"walker": ""}),
        ("map/start", {"place": "46.5 7.5", "sd_m": "5"}),
        ("map/ground/new", {"name": "Fen"}),
    ):
        answered = owner.post(f"/logs/{log.pk}/{path}", fields)
        assert answered.status_code == 422, path
        assert "lies in the bin" in answered.content.decode(), path
    assert KeptLog.objects.get(pk=log.pk).start_place == ""
    page = owner.get(f"/logs/{log.pk}").content.decode()
    assert 'name="walker" form="walker-form" disabled' in page or "walked-by" not in page
