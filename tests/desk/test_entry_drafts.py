"""The finish and the pace count are kept while they are typed, and handed in only by the button."""

from __future__ import annotations

import json

import pytest

from pacewright.course.course import Card, Course, CourseLeg, Post
from pacewright.desk.classes.courses import keep_course
from pacewright.desk.classes.entries import take_card
from pacewright.desk.models import Entry, Exercise
from pacewright.desk.serving.access import new_guest
from support.desk_class import made_exercise, phone


@pytest.fixture
def exercise(owner_member) -> Exercise:
    return made_exercise(owner_member)


@pytest.fixture
def entry(guest_member, exercise) -> Entry:
    return take_card(guest_member, exercise, 1)


def draft(client, entry: Entry, **cells: str):
    return send(client, entry, json.dumps({"cells": cells}))


def send(client, entry: Entry, body: str):
    return client.post(f"/entries/{entry.pk}/draft", body, content_type="application/json")


def test_a_draft_is_on_the_page_again_and_is_not_handed_in(guest, entry):
    assert draft(guest, entry, minutes="24", ends_at="Cedar", pace_count="6").json() == {"refused": {}}
    entry.refresh_from_db()
    assert (entry.minutes, entry.ends_at, entry.pace_typed, entry.handed_at) == ("24", "Cedar", "6", None)
    page = guest.get(f"/logs/{entry.log_id}").content.decode()
    assert 'name="minutes" value="24"' in page and 'name="pace_count" value="6"' in page
    assert "<option selected>Cedar</option>" in page
    assert "Show the counts" in page


def test_a_draft_changes_only_the_cells_that_it_names(guest, entry):
    draft(guest, entry, minutes="24", along_m="3")
    draft(guest, entry, off_m="-2")
    draft(guest, entry, along_m="")
    entry.refresh_from_db()
    assert (entry.minutes, entry.along_m, entry.off_m) == ("24", "", "-2")


def test_what_cannot_be_kept_does_not_hold_up_the_rest(guest, entry):
    told = draft(guest, entry, ends_at="Moon", minutes="24", weight="80").json()["refused"]
    assert set(told) == {"ends_at", "weight"}
    assert "no post called Moon" in told["ends_at"]
    entry.refresh_from_db()
    assert (entry.minutes, entry.ends_at) == ("24", "")


def test_a_card_that_was_handed_in_takes_no_draft(guest, owner, entry):
    guest.post(f"/entries/{entry.pk}/finish", {"minutes": "24", "do": "hand-sure"})
    for client in (guest, owner):
        late = draft(client, entry, minutes="90")
        assert late.status_code == 409
        assert "This was handed in" in late.json()["complaint"]
    entry.refresh_from_db()
    assert entry.minutes == "24"


@pytest.mark.parametrize("body", ["", "[]", "{", '{"cells": []}', '{"cells": {"minutes": 5}}', "[" * 9000])
def test_what_is_no_draft_is_refused(guest, entry, body):
    assert send(guest, entry, body).status_code == 422


def test_nobody_else_writes_a_draft(guest, anonymous, entry, exercise):
    other = phone()
    session = other.session
    session["member"] = str(new_guest("Corin Ash").pk)
    session.save()
    assert draft(other, entry, minutes="90").status_code == 404
    assert draft(anonymous, entry, minutes="90").status_code == 403
    assert guest.get(f"/entries/{entry.pk}/draft").status_code == 405
    entry.refresh_from_db()
    assert entry.minutes == ""


def test_a_pace_count_that_is_refused_stays_to_be_mended(guest, entry):
    page = guest.post(f"/entries/{entry.pk}/pace", {"pace_count": "625"}, follow=True).content.decode()
    assert "625 is not a pace count" in page and 'name="pace_count" value="625"' in page
    page = guest.post(f"/entries/{entry.pk}/pace", {"pace_count": "62.5"}, follow=True).content.decode()
    assert 'name="pace_count" value="62.5"' in page
    entry.refresh_from_db()
    assert entry.pace_typed == ""


def test_a_wrong_cell_of_the_finish_does_not_lose_the_others(guest, entry):
    sent = {"ends_at": "Moon", "minutes": "24", "along_m": "3", "off_m": "-2", "do": "hand"}
    page = guest.post(f"/entries/{entry.pk}/finish", sent, follow=True).content.decode()
    entry.refresh_from_db()
    assert "no post called Moon" in page
    assert (entry.minutes, entry.along_m, entry.off_m, entry.handed_at) == ("24", "3", "-2", None)


def test_words_are_drafted_one_by_one(guest, guest_member, owner_member):
    posts = (
        Post("Gate", (0.0, 0.0)),
        Post("Split oak", (0.0, 99.0), word="A"),
        Post("Fen", (0.0, 9.0), word="B"),
    )
    legs = (CourseLeg(0.0, 99.0, "Split oak"), CourseLeg(180.0, 90.0, "Fen"))
    course = Course("Cinder Fen", "posts", "magnetic", posts, (Card(1, "Gate", legs, "Fen"),))
    exercise = Exercise.objects.create(
        owner=owner_member, course=keep_course(owner_member, course), title="Fen"
    )
    entry = take_card(guest_member, exercise, 1)
    draft(guest, entry, word_1="ktf")
    draft(guest, entry, word_2="b")
    draft(guest, entry, word_1="")
    entry.refresh_from_db()
    assert entry.words == {"Fen": "b"}
