"""One guest's browser never holds all that the desk can serve at once."""

from __future__ import annotations

import logging
from contextlib import ExitStack

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from pacewright.desk.models import Member
from pacewright.desk.serving.guest_turns import FULL_S, MOST_STRANGERS, SHARE, STRANGERS, TURNS, GuestTurns
from pacewright.desk.serving.lines import THREADS


def test_so_many_at_once_and_no_more() -> None:
    turns = GuestTurns(most=2)
    a, b = (lambda: turns.turn("a")), turns.turn("b")
    with a() as first, a() as second, a() as third, b as other:
        assert (first, second, third, other) == (True, True, False, True)
    with turns.turn("a") as again:
        assert again


def test_a_turn_ends_where_serving_failed() -> None:
    turns = GuestTurns(most=1)
    with pytest.raises(ValueError, match="broken"), turns.turn("a"):
        raise ValueError("broken")
    with turns.turn("a") as again:
        assert again


def test_a_guest_who_asks_for_much_at_once_is_asked_to_come_again(
    guest: Client, guest_member: Member, owner: Client, owner_member: Member
) -> None:
    mine = guest_member.pk
    with TURNS.turn(mine), TURNS.turn(mine):
        told = guest.get("/")
        assert (told.status_code, told["Refresh"]) == (503, "1")
        assert "This page opens by itself in a second." in told.content.decode()
        # Saving has turns of its own, and others are not held up.
        assert guest.post("/logs/new", {"what": "empty"}).status_code == 302
        assert owner.get("/").status_code == 200
    assert guest.get("/").status_code == 200


def test_the_owner_is_never_asked_to_come_again(owner: Client, owner_member: Member) -> None:
    mine = owner_member.pk
    with TURNS.turn(mine), TURNS.turn(mine), TURNS.turn(mine):
        assert owner.get("/").status_code == 200


def test_who_had_the_desk_work_for_long_waits_until_others_had_their_share() -> None:
    clock = {"now": 0.0, "worked": 0.0}
    turns = GuestTurns(now=lambda: clock["now"], worked=lambda: clock["worked"])
    with turns.turn("a") as first:
        clock["worked"] += FULL_S + 1.0
    with turns.turn("a") as at_once, turns.turn("a", saves=True) as saving, turns.turn("b") as other:
        assert (first, at_once, saving, other) == (True, False, False, True)
    clock["now"] += 1.0 / SHARE + 0.1
    with turns.turn("a") as later:
        assert later


def test_typing_a_row_a_second_is_never_held_up() -> None:
    clock = {"now": 0.0, "worked": 0.0}
    turns = GuestTurns(now=lambda: clock["now"], worked=lambda: clock["worked"])
    for _ in range(1000):
        with turns.turn("a", saves=True) as may:
            assert may
            clock["worked"] += 0.1
        clock["now"] += 1.0


def test_who_is_known_and_asks_for_too_much_is_refused_before_anybody_asks_the_database(
    guest: Client, guest_member: Member, owner: Client, owner_member: Member
) -> None:
    # The first request tells the desk whose browsers they are.
    assert (guest.get("/").status_code, owner.get("/").status_code) == (200, 200)
    with TURNS.turn(guest_member.pk), TURNS.turn(guest_member.pk):
        with CaptureQueriesContext(connection) as asked:
            told = guest.get("/")
        assert (told.status_code, told["Refresh"], len(asked)) == (503, "1", 0)
        assert b"This page opens by itself in a second." in told.content
    mine, looks, saves = guest_member.pk, {"saves": False}, {"saves": True}
    with TURNS.turn(mine, **saves), TURNS.turn(mine, **saves):
        assert (TURNS.is_full(mine, **saves), TURNS.is_full(mine, **looks)) == (True, False)
        told = guest.post("/logs/new", {"what": "empty"})
        assert (told.status_code, told["Retry-After"], told.has_header("Refresh")) == (503, "1", False)
        assert b"This was not saved: " in told.content
    with TURNS.turn(owner_member.pk), TURNS.turn(owner_member.pk):
        assert owner.get("/").status_code == 200


def test_one_address_before_it_signs_in_never_holds_all_that_the_desk_can_serve(
    anonymous: Client, guest: Client
) -> None:
    assert guest.get("/").status_code == 200
    with ExitStack() as held:
        for _ in range(MOST_STRANGERS):
            assert held.enter_context(STRANGERS.turn("127.0.0.1"))
        assert anonymous.get("/open/none").status_code == 503
        assert anonymous.get("/open/none", REMOTE_ADDR="192.0.2.7").status_code == 200
        # Who was let in is known by the browser, whatever the address.
        assert guest.get("/").status_code == 200
    assert anonymous.get("/open/none").status_code == 200
    assert MOST_STRANGERS < THREADS


def test_who_asks_without_pause_does_not_fill_the_log(guest: Client, guest_member: Member) -> None:
    log = settings.DATA / "desk.log"
    before = log.read_bytes() if log.exists() else b""
    with TURNS.turn(guest_member.pk), TURNS.turn(guest_member.pk):
        assert [guest.get("/").status_code for _ in range(3)] == [503, 503, 503]
    assert (log.read_bytes() if log.exists() else b"") == before
    logging.getLogger("django.request").error("something else")
    assert b"something else" in log.read_bytes()
