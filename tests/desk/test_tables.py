"""Tables on pages: figures to the right, heads explained, and nothing wider than a small phone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.serving.tables import HEADS, lay_out
from support.page_words import words_of

OpenPage = Callable[..., Any]
LEG = "/ask/leg?asked=1&places=Gate = 37.4521 -119.2984%0ACamp = 37.4702 -119.2911%0AHut = 37.48 -119.28"


@pytest.mark.parametrize(
    ("cell", "is_figure"),
    [
        *(
            (figure, True)
            for figure in ("12", "-3.5", "98 deg", "+2 +-1 %", "1 h 05 min", "-", "392 paces", "41 m (23-70)")
        ),
        *((figure, True) for figure in ("-0.2 (-5.8 to +5.5)", "1 (1-19)", "10 (9.5-10)")),
        *((words, False) for words in ("Gate", "240 on 305 deg", "29 x 26", "12b", "leg 3")),
    ],
)
def test_a_column_of_figures_stands_to_the_right(cell: str, is_figure: bool) -> None:
    table = lay_out(("name", "it"), [("Gate", cell), ("Oak", "")])
    assert [one.is_figure for one in table.heads] == [False, is_figure]
    assert table.rows[1][1].is_figure is is_figure


def test_one_word_among_figures_keeps_the_column_to_the_left() -> None:
    assert not lay_out(("it",), [("12",), ("none",)]).heads[0].is_figure


def test_heads_that_need_it_are_explained_once() -> None:
    table = lay_out(("leg", "within", "within"), [("1", "2", "3")])
    assert table.meanings == (("within", HEADS["within"]),)


def test_a_leg_card_explains_its_heads(owner: Client) -> None:
    assert f"cord: {HEADS['cord']}" in words_of(owner.get(LEG)).replace(" :", ":")


def test_a_station_is_found_by_its_name_on_the_large_figure(
    owner: Client, owner_member: Member, make_log: Callable[..., KeptLog]
) -> None:
    rows = [(str(37 * k % 360), "100", f"[at Post {k}]") for k in range(1, 31)]
    log = make_log(owner_member, rows)
    whole = owner.get(f"/logs/{log.pk}/figure").content.decode()
    assert '<option value="25"' in whole
    assert ">Post 25</option>" in whole
    about = owner.get(f"/logs/{log.pk}/figure", {"at": "25"}).content.decode()
    drawn = about[about.index("<svg") :]
    assert ">Post 25<" in drawn
    assert ">Post 3<" not in drawn
    assert ">Post 3<" in whole[whole.index("<svg") :]


@pytest.mark.parametrize("letters", ["usual", "largest"])
def test_tables_and_long_words_fit_a_phone_of_320_pixels(browser_page: OpenPage, letters: str) -> None:
    page = browser_page(320)
    page.goto("/settings")
    page.select_option("#habit-letters", letters)
    page.get_by_role("button", name="Keep").click()
    page.goto("/")
    page.click("text=Show a finished example")
    page.wait_for_selector("#answer .short")
    log = page.url
    for address in (LEG, "/ask/norths?asked=1&place=47 8.5", "/books", *(f"{log}/{one}" for one in TABS)):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, address
        wide = page.eval_on_selector_all(
            ".table", "all => all.filter(one => one.scrollWidth > one.clientWidth + 1).length"
        )
        assert wide == 0, address
    page.goto("/settings")
    page.select_option("#habit-letters", "usual")
    page.get_by_role("button", name="Keep").click()


TOO_WIDE = "all => all.filter(one => one.scrollWidth > one.clientWidth + 1).length"
TABS = ("way?retrace=1", "closing", "adjusted", "map")


def test_a_page_is_printed_as_a_sheet_with_nothing_to_press(browser_page: OpenPage) -> None:
    page = browser_page(1280, color_scheme="dark")
    page.click("text=Show a finished example")
    page.wait_for_selector("#answer .short")
    log = page.url
    page.emulate_media(media="print", color_scheme="dark")
    for address in (f"{log}/way", f"{log}/adjusted", LEG, "/books"):
        page.goto(address)
        shown = page.locator("button:visible, .button:visible, nav:visible, input[type=file]:visible")
        assert shown.count() == 0, address
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
        assert page.evaluate("getComputedStyle(document.querySelector('h1')).color") == "rgb(0, 0, 0)"
