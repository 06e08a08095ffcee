"""Seats: one address does not take them all, and many are freed at once."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from pacewright.desk.models import KeptLog, Member
from pacewright.desk.serving.access import join_code, new_guest
from pacewright.desk.serving.views_door import MOST_JOINS
from support.desk_class import phone


def joined(at: str) -> int:
    return phone().post("/join", {"code": join_code(), "name": "Tamsin Vale"}, REMOTE_ADDR=at).status_code


@pytest.fixture(autouse=True)
def on_network(settings_on_network: None) -> None:
    """The desk takes guests."""


@pytest.fixture
def settings_on_network(monkeypatch: pytest.MonkeyPatch) -> None:
    from django.conf import settings

    monkeypatch.setattr(settings, "IS_ON_NETWORK", True)


def test_one_address_takes_some_seats_and_not_all(owner: Client) -> None:
    assert {joined("10.0.0.7") for _ in range(MOST_JOINS)} == {302}
    assert joined("10.0.0.7") == 429
    assert joined("10.0.0.8") == 302
    owner.post("/devices", {"do": "code"})
    assert joined("10.0.0.7") == 302


def test_many_guests_are_removed_at_once_after_a_question(
    owner: Client, make_log: Callable[..., KeptLog]
) -> None:
    busy = new_guest("Busy Reed")
    make_log(busy, [("15", "38")])
    idle = [new_guest(f"Idle {k}") for k in range(30)]
    asked = owner.post("/devices/guests", {"do": "idle"}).content.decode()
    assert "Remove those ticked (30)" in asked
    # On a phone a guest stands as a card, each figure with its head.
    assert asked.count('data-name="joined"') == asked.count('data-name="cards"') == 31
    assert Member.objects.filter(role="guest").count() == 31
    told = owner.post(
        "/devices/guests", {"do": "remove", "guest": [str(one.pk) for one in idle]}, follow=True
    )
    assert "Removed: 30. Their seats are free again." in told.content.decode()
    assert [one.name for one in Member.objects.filter(role="guest")] == ["Busy Reed"]


def test_nothing_ticked_removes_nobody(owner: Client) -> None:
    new_guest("Tamsin Vale")
    told = owner.post("/devices/guests", {"do": "ask"})
    assert (told.status_code, "Tick whom to remove first." in told.content.decode()) == (422, True)
    assert owner.post("/devices/guests", {"do": "remove", "guest": ["none", ""]}).status_code == 422
    assert Member.objects.filter(role="guest").count() == 1


def test_only_the_owner_sees_the_seats(guest: Client) -> None:
    assert guest.get("/devices/guests").status_code == 404
