"""A whole class with browsers: thirty phones, some lost on the way, one learner on paper, one laptop."""

from __future__ import annotations

import csv
import io
import time
import zipfile
from collections.abc import Iterator
from typing import Any

import pytest

from support.axe_rules import violations
from support.class_phones import SETTING_MS, Phone, begin_exercise
from support.notebook_page import ready

PHONES = 30
LOST = (4, 11, 23)
"""Whose phones are gone after two legs."""
BY_HAND = (*LOST, 0, 8, 15, 19, 27)
"""Who join by the page and type key by key; the others' pages are the same, and cost less to drive."""

pytestmark = pytest.mark.slow


def legs_of(k: int) -> list[tuple[str, str]]:
    """What learner k writes down: like nobody else's."""
    return [(str(10 + 3 * k), str(40 + k)), (str(120 + 2 * k), str(70 + k)), (str(200 + k), str(100 + k))]


@pytest.fixture
def phones(browser: Any) -> Iterator[list[Phone]]:
    made: list[Phone] = []
    yield made
    for phone in made:
        phone.context.close()
    wrong = [said for phone in made for said in phone.wrong]
    assert not wrong, wrong


def test_thirty_phones_three_of_them_lost_and_one_paper_end_on_the_laptop(
    browser, browser_page, new_desk, phones
):
    server = new_desk(network=True)
    owner = browser_page(1440, server=server)
    exercise, group = begin_exercise(owner)
    owner.goto(f"{exercise}/board")
    code = owner.inner_text(".board-code")

    # All do the same thing at about the same time, as a class does: none waits for another's page.
    phones.extend(Phone(browser, server.base) for _ in range(PHONES))
    for k in BY_HAND:
        phones[k].open(code)
    for k, phone in enumerate(phones):
        if k in BY_HAND:
            phone.join(f"Learner {k}")
            phone.take(k + 1)
        else:
            phone.come_in(code, f"Learner {k}", k + 1)
    for leg in range(2):
        type_leg(phones, leg)
    for k in LOST:
        phones[k].wait_saved()
        phones[k].context.close()
        phones[k] = new_phone(browser, owner, exercise, server.base, k)
    type_leg(phones, 2)
    for k, phone in enumerate(phones):
        phone.wait_saved()
        phone.hand_in(20 + k)
    for phone in phones:
        phone.wait_handed()

    type_paper(owner, exercise)
    owner.goto(exercise)
    # Paper was brought in by hand; nobody pressed that they set out.
    assert f"0 out; 1 back, {PHONES} not yet out." in owner.inner_text(".counted")
    assert f"{PHONES + 1} of {PHONES + 1} handed in." in owner.inner_text(".counted")
    export = owner.context.request.get(f"{group}/export", timeout=SETTING_MS)
    archive = zipfile.ZipFile(io.BytesIO(export.body()))
    table = list(csv.DictReader(io.StringIO(archive.read("cards.csv").decode("utf-8"))))
    found = {
        row["learner"]: (row["card"], row["minutes"], rows_in(archive.read(row["log"]))) for row in table
    }
    wanted = {f"Learner {k}": (str(k + 1), str(20 + k), legs_of(k)) for k in range(PHONES)}
    assert found == {**wanted, "Corin Ash": ("31", "55", legs_of(PHONES))}
    is_graded(owner, exercise, {*wanted, "Corin Ash"})
    is_debriefed(owner, exercise, phones[0], "Learner 0")


def is_graded(owner: Any, exercise: str, names: set[str]) -> None:
    """Everybody has a row in the table of marks, sentences of their walk, and a word on what to practise."""
    owner.goto(f"{exercise}/marks")
    table = owner.locator("table.marks tbody tr").all_inner_texts()
    assert {name for name in names for row in table if f"\t{name}\t" in row} == names
    for walk in owner.locator("details.walk").all():
        assert "by the rule" in (walk.text_content() or "")
    paragraphs = owner.inner_text("main")
    assert all(f"{name}, 1 walk:" in paragraphs for name in names)


def is_debriefed(owner: Any, exercise: str, phone: Phone, name: str) -> None:
    """A learner sees how it went once the exercise is closed, and nobody else's walk."""
    assert phone.page.locator("text=You will see here how it went").count()
    owner.goto(exercise)
    owner.locator("details:has(button[value=close]) > summary").click()
    owner.click("button[value=close]")
    phone.page.reload()
    phone.page.click("a:has-text('How it went')")
    said = phone.page.inner_text("main")
    assert name in said
    assert "Learner 1" not in said


def type_leg(phones: list[Phone], leg: int) -> None:
    """Let every learner write a leg down: some key by key, most cell by cell."""
    for k, phone in enumerate(phones):
        phone.type_row(*legs_of(k)[leg], by_keys=k in BY_HAND)


def new_phone(browser: Any, owner: Any, exercise: str, base: str, k: int) -> Phone:
    """Let learner k go on with another phone, by the link that the instructor shows."""
    owner.goto(exercise)
    owner.click(f"button[aria-label='New phone for Learner {k}']")
    path = owner.inner_text(".link-out").partition("/open/")[2].strip()
    phone = Phone(browser, base)
    phone.page.goto(f"/open/{path}")
    phone.page.click("button:has-text('Open the desk')")
    phone.page.click(f"text=card {k + 1}")
    phone.page.wait_for_selector("#page")
    kept = [row.input_value() for row in phone.page.locator(".row .count").all()][:2]
    assert kept == [count for _, count in legs_of(k)[:2]]
    return phone


def type_paper(owner: Any, exercise: str) -> None:
    """Type a learner's paper with the keyboard alone, from the table to the handing in."""
    owner.goto(exercise)
    owner.focus("#name")
    owner.keyboard.type("Corin Ash")
    owner.keyboard.press("Enter")
    ready(owner)
    for azimuth, count in legs_of(PHONES):
        owner.keyboard.type(azimuth)
        owner.keyboard.press("Tab")
        owner.keyboard.type(count)
        owner.keyboard.press("Enter")
    owner.wait_for_selector("#saved:text-is('Saved.')")
    owner.wait_for_selector(".row.unsent", state="detached")
    owner.select_option("#ends-at", index=2)
    owner.fill("#minutes", "55")
    owner.keyboard.press("Enter")
    owner.wait_for_selector("text=is handed in")


def rows_in(log: bytes) -> list[tuple[str, str]]:
    lines = [line for line in log.decode("utf-8").splitlines() if not line.startswith("#")]
    return [(row["azimuth"], row["count"]) for row in csv.DictReader(lines)]


@pytest.mark.parametrize(("width", "scheme"), [(1440, "light"), (390, "dark")])
def test_the_pages_of_a_class_break_no_rule_and_fit_the_screen(
    browser, browser_page, new_desk, phones, width, scheme
):
    """Source: axe-core (the version that its wheel ships)."""
    from axe_playwright_python.sync_playwright import Axe

    axe, found = Axe(), []

    def look(page: Any, address: str = "") -> None:
        if address:
            page.goto(address)
        page.wait_for_load_state()
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        found.extend([*violations(axe, page), *([f"{page.url} is {wide} too wide"] if wide > 0 else [])])

    server = new_desk(network=True)
    owner = browser_page(width, server=server, color_scheme=scheme)
    look(owner, "/class")
    exercise, group = begin_exercise(owner)
    look(owner, f"{exercise}/board")
    code = owner.inner_text(".board-code")
    phones.append(Phone(browser, server.base))
    phone = phones[0]
    phone.open(code)
    phone.join("Marlo Finch")
    phone.page.wait_for_selector("input[name=card]")
    look(phone.page)
    phone.take(1)
    phone.type_row("15", "38")
    phone.wait_saved()
    look(phone.page)
    phone.hand_in(20)
    phone.wait_handed()
    type_paper(owner, exercise)
    for address in (
        exercise,
        f"{exercise}/marks",
        f"{exercise}/delete",
        group,
        f"{group}/progress",
        "/class",
    ):
        look(owner, address)
    for kind in ("field", "pace", "posts"):
        owner.goto(f"/class/courses/new/{kind}")
        owner.click("main summary")
        owner.fill("#learners", "many")
        owner.click("button:has-text('Set the course')")
        look(owner)
    owner.goto(exercise)
    owner.click("button[aria-label='New phone for Marlo Finch']")
    look(owner)
    look_at_links(owner, look, exercise)
    phone.page.reload()
    phone.page.click("text=How it went")
    look(phone.page)
    assert not found, "\n".join(found)


def look_at_links(owner: Any, look: Any, exercise: str) -> None:
    """Look at a learner's page, the page that deletes it, a learner's log and the course; close."""
    owner.goto(exercise)
    owner.click("text=Close, rename")
    look(owner)
    owner.click("button:has-text('Close the exercise')")
    for link in ("text=Course", "a.small-link >> nth=0", "a.row-link >> nth=0"):
        owner.goto(exercise)
        owner.click(link)
        look(owner)
    owner.goto(exercise)
    owner.click("a.small-link >> nth=0")
    owner.click("text=Delete all data")
    look(owner)


def test_a_row_that_is_still_on_its_way_is_handed_in_with_the_card(browser, browser_page, new_desk, phones):
    server = new_desk(network=True)
    owner = browser_page(1440, server=server)
    exercise, _ = begin_exercise(owner)
    owner.goto(f"{exercise}/board")
    phones.append(Phone(browser, server.base))
    phone = phones[0]
    phone.open(owner.inner_text(".board-code"))
    phone.join("Learner 1")
    phone.take(1)

    def slow(route: Any) -> None:
        time.sleep(0.7)
        route.continue_()

    phone.page.route("**/changes", slow)
    phone.page.locator(".row").last.locator(".azimuth").fill("15")
    phone.hand_in(24)
    phone.wait_handed()
    owner.goto(exercise)
    assert "changed since" not in owner.inner_text("main")
    assert owner.locator("table.live tbody tr td").nth(5).inner_text() == "1"
