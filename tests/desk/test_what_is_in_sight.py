"""What stands in sight at once is not more than is known."""

from __future__ import annotations

from django.test import Client, override_settings

from pacewright.desk.notebook.page_reading import answer_page, read_page

SQUARE = [("0", "200", ""), ("90", "200", ""), ("180", "200", ""), ("270", "300", "[at Gate]")]


def test_at_the_goal_no_way_is_told_to_walk(make_log, owner_member) -> None:
    log = make_log(owner_member, SQUARE)
    found = answer_page(log, read_page(log))
    assert found.short == "at Gate"


def test_the_line_in_sight_says_where_understanding_ends(owner, make_log, owner_member) -> None:
    log = make_log(owner_member, [("0", "200", ""), ("400", "3", "")])
    page = owner.get(f"/logs/{log.pk}").content.decode()
    assert "Before row 2 only: 180°, 200 paces" in page


def test_the_line_in_sight_warns_of_a_mistake(owner, make_log, owner_member) -> None:
    log = make_log(owner_member, SQUARE)
    page = owner.get(f"/logs/{log.pk}?to=2").content.decode()
    assert "Take care: read this first." in page


def test_an_address_that_only_takes_forms_says_so(owner) -> None:
    found = owner.get("/logs/new")
    assert found.status_code == 405
    assert "It only takes what a page sends to it" in found.content.decode()


@override_settings(IS_ON_NETWORK=True)
def test_the_bare_address_of_the_board_leads_to_joining(anonymous: Client) -> None:
    found = anonymous.get("/")
    assert (found.status_code, found.headers["Location"]) == (302, "/join")
    assert anonymous.get("/books").status_code == 403


def test_on_this_machine_alone_the_bare_address_shows_the_door(anonymous: Client) -> None:
    assert anonymous.get("/").status_code == 403


def test_the_heading_line_follows_the_heading(owner, make_log, owner_member) -> None:
    log = make_log(owner_member, SQUARE)
    change = {"key": "k" * 12, "kind": "heading", "heading": "azimuth: grid gon\ncount: steps\nstart: Ford"}
    told = owner.post(
        f"/logs/{log.pk}/changes", {"changes": [change]}, content_type="application/json"
    ).json()
    assert told["heading_says"] == "Heading: grid gon, steps, from Ford"
