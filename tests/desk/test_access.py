"""Who may see and do what, asked at every address of the desk."""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.conf import settings
from django.test import Client, override_settings
from django.utils import timezone

from pacewright.desk.classes.entries import add_on_paper
from pacewright.desk.models import Ground, KeptLog, KeptWalker, Member, OnceLink
from pacewright.desk.notebook.beginning import example_log
from pacewright.desk.serving.access import (
    LINK_HOURS,
    join_code,
    new_guest,
    new_once_link,
    renew_join_code,
    the_owner,
)
from pacewright.desk.serving.guards import MOST_TRIES, MOST_TRIES_OF_ALL, TRY_WINDOW_S, Tries
from support.desk_addresses import Address, addresses, identities, kept_records
from support.desk_class import made_exercise
from support.desk_setup import HOST
from support.read_photo import read_photo, row

MakeLog = Callable[..., KeptLog]
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
OPEN = {"open", "join"}
"""The door itself; all else is closed to whoever is not known."""
OFFERED = {"card_take"}
"""Whoever joined may take a card of an exercise that is open."""
on_network = override_settings(IS_ON_NETWORK=True)
ALL = addresses()
CLOSED = [one for one in ALL if not one.is_open]
OF_RECORDS = [one for one in CLOSED if any(kind in ("uuid", "int") for _, kind in one.takes)]


def named(found: list[Address]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("address", found, ids=[one.name for one in found])


_PHOTO = uuid.UUID("00000000-0000-4000-8000-000000000020")


@pytest.fixture
def belongings(owner_member: Member) -> tuple[list[uuid.UUID], list[int]]:
    """The identities of a log, its walker and a ground, and of a class with a learner: all the owner's."""
    log = example_log(owner_member)
    log.ground = Ground.objects.create(owner=owner_member, name="Cinder Fen")
    log.save()
    join_code()
    exercise = made_exercise(owner_member)
    entry = add_on_paper(exercise, "Corin Ash", 1)
    of_class = [exercise.pk, exercise.course_id, exercise.group_id, entry.pk, entry.member_id, entry.log_id]
    # Photographs are asked for by what they were handed in as, and each by itself.
    photo = read_photo(owner_member, [row(1, "12", "34")], id=_PHOTO, batch=_PHOTO)
    return [log.pk, log.walker.pk, log.ground.pk, *of_class, photo.pk], [1]


def test_only_the_door_is_open_to_all() -> None:
    assert {one.name for one in ALL if one.is_open} == OPEN


@named(CLOSED)
@pytest.mark.slow
def test_whoever_is_not_known_meets_the_door(
    address: Address, anonymous: Client, belongings: tuple[list[uuid.UUID], list[int]]
) -> None:
    before = kept_records()
    for path in address.paths(*belongings):
        for method in METHODS:
            found = anonymous.generic(method, path)
            assert found.status_code == 403
            assert method == "HEAD" or "This desk is closed to you for now" in found.content.decode()
    assert kept_records() == before


@named([one for one in OF_RECORDS if one.name not in OFFERED])
@pytest.mark.slow
def test_what_is_anothers_does_not_exist(
    address: Address, guest: Client, belongings: tuple[list[uuid.UUID], list[int]]
) -> None:
    before = kept_records()
    for path in address.paths(*belongings):
        for method in METHODS:
            found = guest.generic(method, path, b"{}", content_type="application/json")
            assert found.status_code in (404, 405), (method, path)
            form = guest.post(path, {"do": "x"})
            assert form.status_code in (404, 405), path
    assert kept_records() == before


def test_a_guest_who_asks_with_a_number_that_nobody_has_hears_the_same(
    guest: Client, belongings: tuple[list[uuid.UUID], list[int]]
) -> None:
    said = [guest.get(f"/logs/{one}").content.decode() for one in (belongings[0][0], uuid.uuid4())]
    assert len({re.sub(r'(X-CSRFToken": |csrfmiddlewaretoken" value=)"\w+"', "", one) for one in said}) == 1


@named(CLOSED)
@pytest.mark.slow
def test_looking_changes_nothing(
    address: Address, owner: Client, belongings: tuple[list[uuid.UUID], list[int]]
) -> None:
    before = kept_records()
    with on_network:
        for path in address.paths(*belongings):
            for method in ("GET", "HEAD", "OPTIONS"):
                assert owner.generic(method, path).status_code < 500, (method, path)
    assert kept_records() == before


@named(ALL)
@pytest.mark.slow
def test_a_form_from_elsewhere_is_refused(
    address: Address, owner_member: Member, belongings: tuple[list[uuid.UUID], list[int]]
) -> None:
    wary = Client(enforce_csrf_checks=True, headers={"host": HOST})
    session = wary.session
    session["member"] = str(owner_member.pk)
    session.save()
    before = kept_records()
    with on_network:
        for path in address.paths(*belongings):
            for method in ("POST", "PUT", "PATCH", "DELETE"):
                found = wary.generic(method, path, b"{}", content_type="application/json")
                assert found.status_code == 403
                assert "This form was not taken" in found.content.decode()
    assert kept_records() == before


def test_a_form_with_its_pass_is_taken(owner_member: Member) -> None:
    wary = Client(enforce_csrf_checks=True, headers={"host": HOST})
    session = wary.session
    session["member"] = str(owner_member.pk)
    session.save()
    wary.get("/")
    token = wary.cookies[settings.CSRF_COOKIE_NAME].value
    assert wary.post("/logs/new", {"what": "empty", "csrfmiddlewaretoken": token}).status_code == 302
    far = {"origin": "http://elsewhere.invalid"}
    sent = wary.post("/logs/new", {"what": "empty", "csrfmiddlewaretoken": token}, headers=far)
    assert sent.status_code == 403
    assert KeptLog.objects.count() == 1


def test_what_only_the_owner_may_see_does_not_exist_for_a_guest(guest: Client, owner: Client) -> None:
    assert owner.get("/devices").status_code == 200
    assert guest.get("/devices").status_code == 404
    assert guest.post("/devices", {"do": "link"}).status_code == 404
    assert not OnceLink.objects.exists()


def test_a_guest_sees_only_what_is_theirs(
    owner: Client, guest: Client, guest_member: Member, owner_member: Member, make_log: MakeLog
) -> None:
    make_log(owner_member, heading="title: Of the owner")
    make_log(guest_member, [("10", "100")], heading="title: Of the guest")
    told = guest.get("/").content.decode()
    assert "Of the guest" in told
    assert "Of the owner" not in told


def test_a_link_works_once(anonymous: Client) -> None:
    token = new_once_link()
    assert anonymous.get(f"/open/{token}").status_code == 200
    assert anonymous.get("/").status_code == 403
    assert anonymous.post(f"/open/{token}").status_code == 302
    assert anonymous.get("/").status_code == 200
    late = Client(headers={"host": HOST})
    assert late.post(f"/open/{token}").status_code == 403
    assert late.get("/").status_code == 403


def test_a_link_is_good_for_a_day() -> None:
    assert LINK_HOURS == 24
    for hours, status in ((23.9, 302), (24.1, 403)):
        token = new_once_link()
        OnceLink.objects.filter(used_at=None).update(made_at=timezone.now() - timedelta(hours=hours))
        assert Client(headers={"host": HOST}).post(f"/open/{token}").status_code == status


def test_the_link_itself_is_not_kept() -> None:
    token = new_once_link()
    assert token not in repr(kept_records())


def test_signing_in_gives_the_session_another_key(anonymous: Client) -> None:
    session = anonymous.session
    session["planted"] = "by another"
    session.save()
    planted = session.session_key
    anonymous.post(f"/open/{new_once_link()}")
    assert anonymous.cookies[settings.SESSION_COOKIE_NAME].value != planted
    thief = Client(headers={"host": HOST})
    thief.cookies[settings.SESSION_COOKIE_NAME] = planted
    assert thief.get("/").status_code == 403


def test_leaving_ends_the_session_and_keeps_what_was_typed(owner: Client, owner_member: Member) -> None:
    owner.post("/logs/new", {"what": "empty"})
    kept = owner.cookies[settings.SESSION_COOKIE_NAME].value
    assert owner.post("/leave").status_code == 302
    thief = Client(headers={"host": HOST})
    thief.cookies[settings.SESSION_COOKIE_NAME] = kept
    assert thief.get("/").status_code == 403
    assert KeptLog.objects.filter(owner=owner_member).count() == 1


def test_a_member_who_is_gone_is_nobody(guest: Client, guest_member: Member) -> None:
    assert guest.get("/").status_code == 200
    guest_member.delete()
    assert guest.get("/").status_code == 403


def test_nobody_joins_unless_the_desk_is_on_the_network(anonymous: Client) -> None:
    sent = {"code": join_code(), "name": "Tamsin Vale"}
    assert anonymous.get("/join").status_code == 404
    assert anonymous.post("/join", sent).status_code == 404
    with on_network:
        assert anonymous.get("/join").status_code == 200
        assert anonymous.post("/join", sent).status_code == 302
    assert [member.role for member in Member.objects.filter(name="Tamsin Vale")] == ["guest"]


@on_network
def test_the_code_is_read_without_regard_to_case_and_blanks(anonymous: Client) -> None:
    code = join_code()
    typed = f" {code[:3]} {code[3:]} ".lower()
    assert anonymous.post("/join", {"code": typed, "name": "Tamsin Vale"}).status_code == 302


@on_network
def test_a_code_that_was_renewed_opens_nothing(anonymous: Client) -> None:
    old = join_code()
    assert renew_join_code() != old
    wrong = anonymous.post("/join", {"code": old, "name": "Tamsin Vale"})
    assert wrong.status_code == 422
    assert "This is not the join code" in wrong.content.decode()
    assert 'value="Tamsin Vale"' in wrong.content.decode()


@on_network
@pytest.mark.parametrize("name", ["", "  ", "n" * 81])
def test_a_guest_needs_a_name(anonymous: Client, name: str) -> None:
    said = anonymous.post("/join", {"code": join_code(), "name": name})
    assert said.status_code == 422
    assert "Write a name of at most 80 letters." in said.content.decode()


@on_network
def test_a_code_is_tried_ten_times_a_minute_from_one_address(anonymous: Client) -> None:
    wrong, right = ({"code": code, "name": "Tamsin Vale"} for code in ("ZZZZZZ", join_code()))
    found = [anonymous.post("/join", wrong).status_code for _ in range(11)]
    assert found == [422] * 10 + [429]
    assert anonymous.post("/join", right).status_code == 429
    assert anonymous.post(f"/open/{new_once_link()}").status_code == 429
    forged = anonymous.post(
        "/join", right, headers={"x-forwarded-for": "192.0.2.7", "forwarded": "for=192.0.2.7"}
    )
    assert forged.status_code == 429
    assert Client(headers={"host": HOST}, REMOTE_ADDR="192.0.2.8").post("/join", right).status_code == 302


def test_tries_are_forgotten_after_a_minute() -> None:
    now = [0.0]
    tries = Tries(now=lambda: now[0])
    assert [tries.is_allowed("a") for _ in range(MOST_TRIES + 1)] == [True] * MOST_TRIES + [False]
    now[0] = TRY_WINDOW_S + 0.1
    assert tries.is_allowed("a")


def test_many_addresses_together_are_held_back_too() -> None:
    tries = Tries(now=lambda: 0.0)
    assert all(tries.is_allowed(str(at)) for at in range(MOST_TRIES_OF_ALL))
    assert not tries.is_allowed("one more")


@pytest.mark.parametrize(
    "host", ["elsewhere.invalid", "127.0.0.1.elsewhere.invalid", "", "a b", "192.0.2.1:8731"]
)
def test_a_desk_asked_by_another_name_does_not_answer(owner: Client, host: str) -> None:
    found = owner.get("/", headers={"host": host})
    assert found.status_code == 400
    assert "Content-Security-Policy" in found.headers


@pytest.mark.parametrize(
    ("kind", "size", "status"),
    [
        ("application/json", settings.MOST_FORM_BYTES + 1, 413),
        ("application/x-www-form-urlencoded", settings.MOST_FORM_BYTES + 1, 413),
        ("multipart/form-data; boundary=x", settings.MOST_FILE_BYTES + 1, 413),
        ("text/plain", "many", 413),
    ],
)
def test_what_is_too_large_is_refused_unread(
    owner: Client, owner_member: Member, make_log: MakeLog, kind: str, size: object, status: int
) -> None:
    path = f"/logs/{make_log(owner_member).pk}/changes"
    found = owner.generic("POST", path, b"", content_type=kind, CONTENT_LENGTH=str(size))
    assert found.status_code == status
    assert "Content-Security-Policy" in found.headers


def test_owner_is_made_once() -> None:
    assert the_owner() == the_owner()
    assert not new_guest("Tamsin Vale").is_owner


def test_the_tests_meet_every_kind_of_record(
    owner: Client, belongings: tuple[list[uuid.UUID], list[int]]
) -> None:
    # Were these addresses made up, another's 404 would show nothing: the owner finds something at each.
    assert KeptWalker.objects.count() == 1
    assert set(belongings[0]) < set(identities()[0])
    for address in OF_RECORDS:
        # A course that is being set is no record: nothing of it is kept before it is done.
        of_a_job = address.name.startswith("course_setting")
        if not of_a_job and all(kind == "uuid" for _, kind in address.takes):
            found = [owner.get(path).status_code for path in address.paths(*belongings)]
            assert any(status != 404 for status in found), address.name
