"""Phones of a class: the board, joining, a lost phone."""

from __future__ import annotations

import re

import pytest
from django.test import override_settings

from pacewright.desk.classes.entries import take_card
from pacewright.desk.models import Exercise, Member
from pacewright.desk.serving import access, serve
from pacewright.desk.serving.access import join_code, new_guest
from support.desk_class import ROWS, made_exercise, phone, write_rows


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return made_exercise(owner_member)


@pytest.fixture
def on_network():
    with override_settings(IS_ON_NETWORK=True, NETWORK_HOST="192.0.2.7"):
        yield


def test_the_board_shows_address_code_and_a_square_for_cameras(owner, exercise, on_network):
    page = owner.get(f"/class/exercises/{exercise.pk}/board").content.decode()
    assert "http://192.0.2.7:80/join" in page
    assert join_code() in page
    assert re.search(r"<svg[^>]*><path", page) and "style=" not in page


def test_without_the_network_the_board_says_how_to_start(owner, exercise):
    page = owner.get(f"/class/exercises/{exercise.pk}/board").content.decode()
    assert "pacewright desk --network" in page
    assert join_code() not in page


def test_the_join_page_holds_the_code_that_the_square_gave(anonymous, on_network):
    assert 'value="ABC346"' in anonymous.get("/join?code=ABC346").content.decode()


def test_a_whole_class_behind_one_address_joins_within_a_minute(on_network):
    for k in range(30):
        joined = phone().post("/join", {"code": join_code(), "name": f"Learner {k}"})
        assert joined.status_code == 302, k
    assert Member.objects.filter(role="guest").count() == 30


def test_wrong_codes_are_still_counted(on_network):
    tried = [phone().post("/join", {"code": "WRONG", "name": "Nobody"}).status_code for _ in range(11)]
    assert tried == [422] * 10 + [429]


def test_no_more_people_join_than_the_desk_takes(anonymous, on_network, monkeypatch):
    monkeypatch.setattr(access, "MOST_GUESTS", 2)
    new_guest("Corin Ash"), new_guest("Wyn Harrow")
    page = anonymous.post("/join", {"code": join_code(), "name": "Tamsin Vale"})
    assert page.status_code == 422
    assert "takes no more" in page.content.decode()
    assert Member.objects.filter(role="guest").count() == 2


def phone_link(owner, entry) -> str:
    page = owner.post(f"/class/entries/{entry.pk}/change", {"do": "phone"}).content.decode()
    found = re.search(r"http://192\.0\.2\.7:80(/open/[A-Z0-9]+)", page)
    assert found
    return found[1]


def test_a_new_phone_goes_on_with_the_same_page(owner, guest_member, exercise, on_network):
    entry = take_card(guest_member, exercise, 1)
    write_rows(entry.log)
    link = phone_link(owner, entry)
    new = phone()
    new.post(link)
    page = new.get(f"/logs/{entry.log_id}").content.decode()
    assert all(f'value="{azimuth}"' in page for azimuth, _ in ROWS)
    assert phone().post(link).status_code == 403


def test_who_joined_again_first_is_one_learner_after_the_link(owner, guest_member, exercise, on_network):
    entry = take_card(guest_member, exercise, 1)
    new = phone()
    new.post("/join", {"code": join_code(), "name": guest_member.name})
    again = Member.objects.exclude(pk=guest_member.pk).get(role="guest")
    new.post(phone_link(owner, entry))
    assert new.get(f"/logs/{entry.log_id}").status_code == 200
    assert not Member.objects.filter(pk=again.pk).exists()


def test_a_second_link_ends_the_first(owner, guest_member, exercise, on_network):
    entry = take_card(guest_member, exercise, 1)
    first, second = phone_link(owner, entry), phone_link(owner, entry)
    assert phone().post(first).status_code == 403
    assert phone().post(second).status_code == 302


def test_a_phone_link_lets_nobody_in_as_owner(owner, guest_member, exercise, on_network):
    new = phone()
    new.post(phone_link(owner, take_card(guest_member, exercise, 1)))
    assert new.get("/class").status_code == 404


def test_the_sessions_of_a_lost_phone_can_be_ended(owner, guest, guest_member, exercise):
    entry = take_card(guest_member, exercise, 1)
    owner.post(f"/class/entries/{entry.pk}/change", {"do": "end"})
    assert guest.get("/").status_code == 403
    assert owner.get("/class").status_code == 200


class NoWayOut:
    """A socket on a machine that makes the network 10.42.0.0/24 itself and has no other."""

    def __init__(self, *kind: object) -> None:
        self.reached = ""

    def __enter__(self) -> NoWayOut:
        return self

    def __exit__(self, *what: object) -> None:
        return None

    def connect(self, address: tuple[str, int]) -> None:
        if not address[0].startswith("10.42.0."):
            raise OSError("network is unreachable")
        self.reached = address[0]

    def getsockname(self) -> tuple[str, int]:
        return "10.42.0.1", 9


def test_a_laptop_that_makes_the_network_itself_knows_its_address(monkeypatch):
    monkeypatch.setattr(serve.socket, "socket", NoWayOut)
    assert serve.network_address() == "10.42.0.1"
